// Package container finds its way through the files photos come in: JPEG, PNG,
// WebP, TIFF with the raw files built on it, and the box files of HEIC and AVIF.
//
// It knows where such a file keeps its size, its turning and its Exif
// directories, which of its bytes are the picture, what smaller pictures lie
// inside, and where the file has to end. Of films it knows what pairs them with a
// photo. It does not know what a tag means, decodes no pixels and keeps no text
// but what the directories hold.
//
// It promises an answer on any bytes: no panic, no endless walk, and memory that
// does not grow with what a length field claims. Every count and offset is
// checked in 64 bits before it is followed.
package container

import (
	"errors"
	"fmt"
	"io"
)

// Format names the kind of file a photo is, in lower case.
type Format string

// The formats known here. Raw stands for the camera makers' own files: most are
// TIFF inside, some are boxes or a wrapper around a JPEG.
const (
	JPEG Format = "jpeg"
	PNG  Format = "png"
	WebP Format = "webp"
	TIFF Format = "tiff"
	HEIC Format = "heic"
	AVIF Format = "avif"
	Raw  Format = "raw"
)

// ErrNotPhoto says that the bytes are no photo of a format known here.
var ErrNotPhoto = errors.New("not a photo of a known format")

// Completeness says whether a file has all of its bytes, as far as its structure tells.
type Completeness int

// Unknown is the zero value: the structure does not tell. Incomplete means that
// the file needs bytes it does not have, so more may come. Whole means that
// everything the structure asks for is there; bytes after the end do not count.
const (
	Unknown Completeness = iota
	Incomplete
	Whole
)

// Contents is what a walk through one file found.
type Contents struct {
	Format        Format
	Width, Height int          // pixels as stored, before any turning; 0 unknown
	Turn          int          // 1..8 in Exif's words, from the boxes of HEIC and AVIF; 0 for every other format
	Exif          Directories  // empty when there are none
	Embedded      Embedded     // the largest JPEG inside a raw file or a HEIC
	Thumbnail     Thumbnail    // a smaller picture of the same inside a HEIC
	Damage        string       // "" for a file without visible damage, else one fragment of a sentence
	State         Completeness // whether bytes are missing at the end
}

// The fragments Damage is made of. They end up in front of the user after the
// file's name, so they name what the user can see and not the marker missed.
const (
	damageShort   = "the file ends before the picture does"
	damageEmpty   = "it holds no picture that can be found"
	damageGarbled = "its structure is garbled"
)

// Bounds on what one file may make us do. They lie well above what cameras and
// phones write and far below what hurts.
const (
	maxBlock   = 1 << 20 // bytes of one Exif block; JPEG allows 64 KiB, others no limit
	maxTable   = 4 << 20 // bytes of one item table in a box file
	maxMembers = 1 << 16 // boxes, chunks or items on one level
)

// Read walks the size bytes of r. Bytes of no known format give an error that is
// ErrNotPhoto; a failing r gives its error. A recognised file that is damaged is
// no error: Contents says what was found and what is wrong.
func Read(r io.ReaderAt, size int64) (Contents, error) {
	s := newSource(r, size)
	format := Sniff(s.at(0, 512))
	if s.err() != nil {
		return Contents{}, fmt.Errorf("read the first bytes: %w", s.err())
	}
	var c Contents
	switch format {
	case JPEG:
		c = readJPEG(s)
	case PNG:
		c = readPNG(s)
	case WebP:
		c = readWebP(s)
	case HEIC, AVIF:
		c = readHEIF(s)
	case TIFF, Raw:
		c = readTIFFOrRaw(s)
	default:
		return Contents{}, ErrNotPhoto
	}
	if s.err() != nil {
		return Contents{}, fmt.Errorf("read the photo: %w", s.err())
	}
	// A walk may know better: a TIFF turns out to be a raw file. It says so itself.
	if c.Format == "" {
		c.Format = format
	}
	return c, nil
}

// Complete tells from the structure alone whether the size bytes of r are all
// there. No bytes at all, or nothing but zeros (some shares show the full size
// before the content has come), are Incomplete; bytes of no known format, and an
// r that fails, are Unknown.
func Complete(r io.ReaderAt, size int64) Completeness {
	if size <= 0 {
		return Incomplete
	}
	c, err := Read(r, size)
	if err == nil {
		return c.State
	}
	if errors.Is(err, ErrNotPhoto) && blank(newSource(r, size).at(0, 512)) {
		return Incomplete
	}
	return Unknown
}

// blank reports whether b holds zeros only, and at least one.
func blank(b []byte) bool {
	for _, c := range b {
		if c != 0 {
			return false
		}
	}
	return len(b) > 0
}
