package metadata

import (
	"bytes"

	"github.com/rwcarlsen/goexif/exif"
	"github.com/rwcarlsen/goexif/tiff"

	"haulbook/metadata/container"
)

// Numbers of the tags used here (CIPA DC-008, 4.6.4 to 4.6.8).
const (
	idMake           = 0x010f
	idModel          = 0x0110
	idOrientation    = 0x0112
	idExifIFD        = 0x8769
	idGPSIFD         = 0x8825
	idOriginal       = 0x9003
	idDigitized      = 0x9004
	idOffset         = 0x9011
	idSubSecOriginal = 0x9291
	idSubSecDigital  = 0x9292
	idBodySerial     = 0xa431
	idLensModel      = 0xa434

	idGPSTimeStamp = 0x0007 // in the GPS directory
	idGPSDateStamp = 0x001d
	idContent      = 0x0011 // in the maker note
)

// textTag reports whether a tag holds text by the standard.
func textTag(tag uint16) bool {
	switch tag {
	case idMake, idModel, idOriginal, idDigitized, idOffset, idSubSecOriginal, idSubSecDigital, idBodySerial, idLensModel,
		idGPSDateStamp:
		return true
	}
	return false
}

// tags are the decoded tags of one photo. The zero value has none.
type tags struct {
	main map[uint16]*tiff.Tag // of the main and the Exif directory
	gps  map[uint16]*tiff.Tag // of the GPS directory
}

// decode runs the decoder over a clean block. Its panics end here: a photo whose
// tags cannot be decoded has none.
func decode(d container.Directories) (t tags) {
	block := cleanBlock(d)
	if block == nil {
		return tags{}
	}
	defer func() {
		if recover() != nil {
			t = tags{}
		}
	}()
	x, err := exif.Decode(bytes.NewReader(block))
	if x == nil || err != nil && exif.IsCriticalError(err) {
		return tags{}
	}
	t.main = map[uint16]*tiff.Tag{}
	for _, tag := range x.Tiff.Dirs[0].Tags {
		t.main[tag.Id] = tag
	}
	// The decoder drops the tags it has no name for, among them the offsets of
	// times and the serial number. Registering names would change it for
	// everybody in the program, so the one directory is read once more.
	for _, tag := range t.directory(x, idExifIFD) {
		t.main[tag.Id] = tag
	}
	t.gps = map[uint16]*tiff.Tag{}
	for _, name := range []exif.FieldName{
		exif.GPSLatitudeRef, exif.GPSLatitude, exif.GPSLongitudeRef, exif.GPSLongitude, exif.GPSTimeStamp, exif.GPSDateStamp,
	} {
		if tag, err := x.Get(name); err == nil {
			t.gps[tag.Id] = tag
		}
	}
	return t
}

// directory reads the directory that a pointer of the main one leads to.
func (t tags) directory(x *exif.Exif, pointer uint16) []*tiff.Tag {
	at := t.integer(pointer)
	if at <= 0 || at >= len(x.Raw) {
		return nil
	}
	r := bytes.NewReader(x.Raw)
	if _, err := r.Seek(int64(at), 0); err != nil {
		return nil
	}
	dir, _, err := tiff.DecodeDir(r, x.Tiff.Order)
	if err != nil {
		return nil
	}
	return dir.Tags
}

// text gives the text of a tag up to its first NUL, "" when it holds none.
func (t tags) text(id uint16) string { return textOf(t.main[id]) }

func textOf(tag *tiff.Tag) string {
	if tag == nil || tag.Format() != tiff.StringVal {
		return ""
	}
	s, err := tag.StringVal()
	if err != nil {
		return ""
	}
	return s
}

// integer gives the first whole number of a tag, 0 when it holds none.
func (t tags) integer(id uint16) int {
	tag := t.main[id]
	if tag == nil || tag.Format() != tiff.IntVal || tag.Count == 0 {
		return 0
	}
	n, err := tag.Int(0)
	if err != nil {
		return 0
	}
	return n
}
