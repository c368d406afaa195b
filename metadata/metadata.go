// Package metadata reads from a photo's bytes what the camera said about it:
// when, with which body, which way up, where, and how large the picture is.
//
// It knows the Exif tags and their habits, tells whether two files are the same
// picture, and which film belongs to a still; package container below it knows the
// files. It does not know clocks, zones beyond the one written, file names or
// file times, does not decode pixels, and never guesses: what the camera left
// open stays open, and what it wrote is kept as written beside what we made of it.
//
// It promises an answer on any bytes, in bounded time and memory, and without a
// panic: photos come from memory cards, and memory cards rot.
package metadata

import (
	"errors"
	"fmt"
	"io"
	"time"

	"haulbook/metadata/container"
)

// Format names the kind of file a photo is: "jpeg", "png", "webp", "tiff",
// "heic", "avif" or "raw". The zero value "" is no photo we know.
type Format string

// The formats. HEIC is every item file that is not AVIF, whatever its codec. Raw
// is the camera makers' own files: TIFF inside, boxes, or a wrapped JPEG.
const (
	FormatJPEG Format = "jpeg"
	FormatPNG  Format = "png"
	FormatWebP Format = "webp"
	FormatTIFF Format = "tiff"
	FormatHEIC Format = "heic"
	FormatAVIF Format = "avif"
	FormatRaw  Format = "raw"
)

// ErrNotPhoto says that the bytes are no photo of a format we know: text, an
// archive, a film, a drawing, or nothing at all. Test with errors.Is.
var ErrNotPhoto = errors.New("not a photo")

// Info is what a photo says about itself. The zero value of a field means that
// it does not say.
type Info struct {
	Format        Format
	Width, Height int // pixels as stored, before any turning; 0 unknown

	// Orientation says how to turn the stored pixels upright, 1 to 8 in Exif's
	// words, 1 when nothing valid is said. For HEIC and AVIF it comes from the
	// container's irot and imir alone: decoders apply those, and the Exif tag,
	// which phones write as well, would turn the picture twice.
	Orientation int
	// ExifOrientation is the tag as written, 0 when missing or out of range.
	ExifOrientation int

	Taken    Taken
	Make     string // maker of the camera, as written but trimmed; so the next three
	Model    string
	Lens     string
	Position *Position // nil unknown

	// GPSTime is the satellites' time in UTC, zero when date or time are missing or
	// impossible. It is the time of the last fix, minutes or hours before the photo
	// where there was no sky: good for telling the zone of the camera's clock, and
	// never for when the photo was taken.
	GPSTime time.Time
	// ContentID is what a phone gives a still and the short film taken with it, ""
	// for none. See ReadVideo.
	ContentID string

	BodySerial string // serial number of the camera's body, digits and zeros as written

	// Embedded is the largest JPEG inside a raw file, or among the thumbnails of a
	// HEIC; no length where there is none. Thumbnail is the largest picture of the
	// same inside a HEIC that is coded as the HEIC is.
	Embedded  Embedded
	Thumbnail Thumbnail

	// Damage is "" for a photo without visible damage, else a fragment of a
	// sentence to stand behind the file's name: "the file ends before the picture does".
	Damage string
}

// Taken is when the photo was taken, by the camera's clock.
type Taken struct {
	Raw, RawSubSec, RawOffset string // as written, up to the first NUL

	// Wall is the time on the camera's clock, carried in time.UTC whatever the
	// zone was, with the parts of a second. Zero: unknown, because nothing was
	// written, or blanks, or a time that no calendar has.
	Wall time.Time
	// Offset is the zone as "+02:00", from OffsetTimeOriginal alone; "" unknown.
	Offset string
	// From names the tag that gave Wall: "DateTimeOriginal", or "CreateDate"
	// (0x9004) where that one is missing; "" for none. The time of the last change
	// and the file's own times never count: they move with every copy and edit.
	From string
}

// Position is where the photo was taken, in degrees, north and east positive.
type Position struct{ Latitude, Longitude float64 }

// Embedded is a JPEG that is bytes Offset to Offset+Length of the photo's file: a
// file of its own that any decoder of JPEG draws. Width and Height are its pixels
// as stored, Orientation, 1 to 8, turns them upright.
type Embedded struct {
	Offset, Length int64
	Width, Height  int
	Orientation    int
}

// Thumbnail is a small picture inside a HEIC. WithPrimary makes a file of it that
// decoders draw. Width and Height are its pixels as stored; Orientation is what
// its own boxes do to them, so what decoders apply, as Info's. Item 0 is none.
type Thumbnail struct {
	Item          uint32
	Width, Height int
	Orientation   int
}

// WithPrimary returns a copy of a HEIC that shows the item with that number in
// the place of its picture, and nil where the file has no room to say so. With
// Info.Thumbnail.Item a decoder draws the small picture where the large one would
// take more memory than there is.
func WithPrimary(heic []byte, item uint32) []byte { return container.WithPrimary(heic, item) }

// Read reads the size bytes of r. The error is ErrNotPhoto for what is no photo,
// and the reader's own when reading fails. A photo that is damaged but
// recognised gives no error: Info has what could be read, and says what is wrong.
func Read(r io.ReaderAt, size int64) (Info, error) {
	c, err := container.Read(r, size)
	if errors.Is(err, container.ErrNotPhoto) {
		return Info{}, ErrNotPhoto
	}
	if err != nil {
		return Info{}, fmt.Errorf("read metadata: %w", err)
	}
	info := Info{
		Format: Format(c.Format),
		Width:  c.Width,
		Height: c.Height,
		Damage: c.Damage,
	}
	info.describe(decode(c.Exif))
	info.ContentID = contentID(c.Exif.Maker)
	info.Orientation = max(1, info.ExifOrientation)
	if c.Turn != 0 {
		info.Orientation = c.Turn
	}
	info.Embedded = Embedded(c.Embedded)
	if info.Embedded.Length > 0 {
		info.Embedded.Orientation = max(1, c.Embedded.Orientation)
	}
	info.Thumbnail = Thumbnail{c.Thumbnail.Item, c.Thumbnail.Width, c.Thumbnail.Height, c.Thumbnail.Turn}
	return info, nil
}

// describe fills in what the tags say.
func (info *Info) describe(t tags) {
	if n := t.integer(idOrientation); n >= 1 && n <= 8 {
		info.ExifOrientation = n
	}
	info.Make = tidy(t.text(idMake))
	info.Model = tidy(t.text(idModel))
	info.BodySerial = tidy(t.text(idBodySerial))
	info.Lens = tidy(t.text(idLensModel))
	info.Taken = t.taken()
	info.Position = t.position()
	info.GPSTime = t.gpsTime()
}

// Sniff tells the format from the first bytes of a file; 32 are enough for all
// but unusual box files. A raw file built as a TIFF often shows only in its
// directories: Sniff says TIFF then, and Read says raw.
func Sniff(head []byte) Format { return Format(container.Sniff(head)) }

// Completeness says whether a file has all of its bytes, as far as its structure tells.
type Completeness int

// Unknown is the zero value: the structure does not tell. Incomplete means that
// more bytes may come. Whole means that everything the structure asks for is
// there; bytes behind the end do not count.
const (
	Unknown Completeness = iota
	Incomplete
	Whole
)

// Complete tells from the structure whether the size bytes of r are all there: a
// JPEG has its end marker, a PNG its last chunk, the lengths of WebP and of the
// boxes of HEIC and AVIF add up, the strips of a TIFF lie inside the file. No
// bytes, or zeros alone, are Incomplete. A WebP or TIFF whose space was set aside
// but whose content has not arrived can be Whole by its lengths, and a second
// picture behind a JPEG's end is not asked for: the caller waits for a file to
// stand still as well.
func Complete(r io.ReaderAt, size int64) Completeness {
	switch container.Complete(r, size) {
	case container.Whole:
		return Whole
	case container.Incomplete:
		return Incomplete
	}
	return Unknown
}
