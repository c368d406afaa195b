package container

import (
	"errors"
	"fmt"
	"io"
	"math"
)

// ErrNotVideo says that the bytes are no film of a form known here.
var ErrNotVideo = errors.New("not a film of a known form")

// Video is what is read from a film beside a photo.
type Video struct {
	ContentID string // the identifier a phone gives a still and its film
	Created   string // the time as written beside it, ISO 8601 with a zone
	Made      int64  // the film's own time, in seconds from 1904 on; 0 unknown
}

// Names of the two values (from the QuickTime File Format: metadata keys).
const (
	keyContentID = "com.apple.quicktime.content.identifier"
	keyCreated   = "com.apple.quicktime.creationdate"
)

// Bounds on the keys of one film: phones write about ten.
const (
	maxKeys     = 1 << 10
	maxKeyValue = 256 // bytes of one value that is kept
)

// ReadVideo reads a MOV or MP4: boxes as in HEIC, with a moov box that says what
// the film is. A film without that box, because its bytes are not all there, is
// none; r's own errors come back as they are.
func ReadVideo(r io.ReaderAt, size int64) (v Video, err error) {
	s := newSource(r, size)
	found := false
	if SniffVideo(s.at(0, 512)) {
		walkBoxes(s, 0, s.size, func(b box) bool {
			if found = b.kind == "moov"; found {
				v.movie(s, b)
			}
			return !found
		})
	}
	switch {
	case s.err() != nil:
		return Video{}, fmt.Errorf("read the film: %w", s.err())
	case !found:
		return Video{}, ErrNotVideo
	}
	return v, nil
}

// SniffVideo reports whether the first bytes of a file, 32 or more, may be those
// of a film: boxes that are no photo's. Old films begin without a brand.
func SniffVideo(head []byte) bool {
	if len(head) < 8 {
		return false
	}
	switch string(head[4:8]) {
	case "ftyp":
		return Sniff(head) == ""
	case "moov", "mdat", "wide", "free", "skip":
		return true
	}
	return false
}

// movie reads the time of the film and its list of named values.
func (v *Video) movie(s *source, movie box) {
	walkBoxes(s, movie.start, movie.end, func(b box) bool {
		switch b.kind {
		case "mvhd": // ISO/IEC 14496-12, 8.2.2
			t := cursor{b: s.copyAt(b.start, int(min(b.end-b.start, 12)))}
			version := t.number(1)
			t.number(3)
			made := t.number(4 + 4*int(min(version, 1)))
			if !t.spent && made <= math.MaxUint32*2 {
				v.Made = int64(made)
			}
		case "meta":
			v.values(s, b)
		}
		return true
	})
}

// values reads a keys box, whose entries are numbered from 1, and the values that
// an ilst box gives under those numbers.
func (v *Video) values(s *source, meta box) {
	from := meta.start
	if string(s.at(meta.start+4, 4)) != "hdlr" {
		from += 4 // MP4 has a version before the boxes, QuickTime has none
	}
	var keys []string
	walkBoxes(s, from, meta.end, func(b box) bool {
		switch b.kind {
		case "keys":
			keys = readKeys(s, b)
		case "ilst":
			items := 0
			walkBoxes(s, b.start, b.end, func(b box) bool {
				if i := be32([]byte(b.kind)); i >= 1 && i <= int64(len(keys)) {
					v.value(s, keys[i-1], b)
				}
				items++
				return items < maxKeys
			})
		}
		return true
	})
}

// readKeys reads the names: each with its length, which counts itself, and a
// name space of four characters.
func readKeys(s *source, b box) (keys []string) {
	_, _, t := table(s, b)
	for n := min(t.number(4), maxKeys); n > 0 && !t.spent; n-- {
		length := t.number(4)
		t.number(4)
		if length < 8 || length > 8+maxKeyValue {
			break // the rest cannot be found
		}
		keys = append(keys, t.text(int(length-8)))
	}
	return keys
}

// value keeps the text of a named value: a data box with kind and language first.
func (v *Video) value(s *source, key string, item box) {
	data, ok := within(s, item, "data")
	if !ok || data.end-data.start < 8 || data.end-data.start > 8+maxKeyValue {
		return
	}
	text := string(s.at(data.start+8, int(data.end-data.start-8)))
	switch key {
	case keyContentID:
		v.ContentID = text
	case keyCreated:
		v.Created = text
	}
}
