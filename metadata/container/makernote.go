package container

import (
	"encoding/binary"
	"strings"
)

const tagMakerNote = 0x927c

// Names that maker notes begin with, from files seen; no maker has published its
// own. Behind each stands a directory whose offsets count from the note's start.
const (
	noteOfPhones    = "Apple iOS\x00" // version, byte order, directory at 14
	noteWithPreview = "OLYMPUS\x00"   // byte order, version, directory at 12
	noteOfHeirs     = "OM SYSTEM\x00" // likewise, directory at 16
)

// Tags inside of maker notes.
const (
	tagNoteContent      = 0x0011 // identifier shared by a still and its film
	tagNoteCamera       = 0x2020 // directory of the camera's settings
	tagNotePreviewStart = 0x0101 // in that directory
	tagNotePreviewCount = 0x0102
)

// makerNote takes two things out of the maker notes whose form is known: the
// identifier that pairs a still with its film, which stands nowhere else, and the
// place of a raw file's only large preview.
func (t *tiffFile) makerNote(fields []field) {
	for _, f := range fields {
		if f.tag != tagMakerNote {
			continue
		}
		note := t.s.section(f.at, f.size())
		switch head := string(t.s.copyAt(f.at, 16)); {
		case f.size() < 16 || len(head) < 16:
		case strings.HasPrefix(head, noteOfPhones):
			in := insideNote(note, head[12:14])
			list, _ := in.directory(14)
			t.dirs.Maker = in.entries(list, func(tag uint16) bool { return tag == tagNoteContent })
		case strings.HasPrefix(head, noteWithPreview):
			t.notedPreview(insideNote(note, head[8:10]), 12, f.at)
		case strings.HasPrefix(head, noteOfHeirs):
			t.notedPreview(insideNote(note, head[12:14]), 16, f.at)
		}
		return
	}
}

// insideNote is a walk through a maker note, with the byte order it names.
func insideNote(note *source, order string) *tiffFile {
	in := &tiffFile{s: note, order: binary.BigEndian, seen: map[int64]bool{}, room: maxFields}
	if order == "II" {
		in.order = binary.LittleEndian
	}
	return in
}

// notedPreview notes the preview that the camera's settings name. Its offset
// counts from the note's start, although the preview lies behind the note.
func (t *tiffFile) notedPreview(in *tiffFile, directory, noteAt int64) {
	list, _ := in.directory(directory)
	for _, f := range list {
		if f.tag != tagNoteCamera {
			continue
		}
		at, ok := in.integer(f, 0)
		if !ok { // older cameras have the directory itself as the value
			at = f.at
		}
		settings, _ := in.directory(at)
		var start, count int64
		for _, f := range settings {
			switch v, _ := in.integer(f, 0); f.tag {
			case tagNotePreviewStart:
				start = v
			case tagNotePreviewCount:
				count = v
			}
		}
		if start > 0 {
			t.streams = append(t.streams, stream{off: noteAt + start, n: count})
		}
	}
}
