package drawn

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"time"
)

// EXIF is what a camera writes beside a picture. An empty or zero field is not
// written at all, so that a photo without a time or a camera can be made too.
type EXIF struct {
	Make, Model, BodySerial string
	Orientation             int       // 1 to 8 as Exif 2.32 has it, 0 none
	Taken                   time.Time // its wall clock is written, in its own zone
	SubSec                  string    // digits after the second, "417"
	Offset                  string    // "+02:00"; most compact cameras write none
}

// Tags of Exif 2.32, tables 4 and 8 (CIPA DC-008-2019).
const (
	tagMake        = 0x010F
	tagModel       = 0x0110
	tagOrientation = 0x0112
	tagExifIFD     = 0x8769
	tagVersion     = 0x9000
	tagTaken       = 0x9003
	tagOffset      = 0x9011
	tagSubSec      = 0x9291
	tagBodySerial  = 0xA431
)

const (
	typeASCII     = 2
	typeShort     = 3
	typeLong      = 4
	typeUndefined = 7
)

// WithEXIF returns a copy of a JPEG with an EXIF segment right after its start,
// where every reader looks first. The pixels are not touched. A file that is no
// JPEG or already has EXIF, and text that is not printable ASCII, are errors.
func WithEXIF(jpeg []byte, e EXIF) ([]byte, error) {
	if !bytes.HasPrefix(jpeg, []byte{0xFF, 0xD8, 0xFF}) {
		return nil, errors.New("write exif: not a JPEG")
	}
	if bytes.Contains(jpeg[:min(len(jpeg), 1<<16)], []byte("Exif\x00\x00")) {
		return nil, errors.New("write exif: the JPEG already has EXIF")
	}
	block, err := e.tiff()
	if err != nil {
		return nil, fmt.Errorf("write exif: %w", err)
	}
	payload := append([]byte("Exif\x00\x00"), block...)
	if len(payload)+2 > 0xFFFF {
		return nil, fmt.Errorf("write exif: %d bytes do not fit a JPEG segment", len(payload))
	}
	out := append([]byte{0xFF, 0xD8, 0xFF, 0xE1}, binary.BigEndian.AppendUint16(nil, uint16(len(payload)+2))...)
	out = append(out, payload...)
	return append(out, jpeg[2:]...), nil
}

// pngWithEXIF puts an eXIf chunk behind the header chunk: the bare TIFF block,
// no "Exif" before it (PNG third edition, 11.3.3.3).
func pngWithEXIF(png []byte, e EXIF) ([]byte, error) {
	const header = 8 + 4 + 4 + 13 + 4 // signature and IHDR
	if len(png) < header || string(png[:4]) != "\x89PNG" {
		return nil, errors.New("write exif: not a PNG")
	}
	block, err := e.tiff()
	if err != nil {
		return nil, fmt.Errorf("write exif: %w", err)
	}
	chunk := append([]byte("eXIf"), block...)
	out := append([]byte(nil), png[:header]...)
	out = binary.BigEndian.AppendUint32(out, uint32(len(block)))
	out = append(out, chunk...)
	out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(chunk))
	return append(out, png[header:]...), nil
}

// entry is one field of an IFD, its value in little-endian bytes.
type entry struct {
	tag, kind uint16
	count     uint32
	value     []byte
}

func ascii(tag uint16, s string) entry {
	return entry{tag, typeASCII, uint32(len(s) + 1), append([]byte(s), 0)}
}

// tiff builds the TIFF block: header, IFD0, Exif IFD, each directly followed by
// the values that do not fit its entries.
func (e EXIF) tiff() ([]byte, error) {
	for _, s := range []string{e.Make, e.Model, e.BodySerial, e.SubSec, e.Offset} {
		for _, r := range s {
			if r < ' ' || r > '~' {
				return nil, fmt.Errorf("%q is not printable ASCII", s)
			}
		}
	}
	if e.Orientation < 0 || e.Orientation > 8 {
		return nil, fmt.Errorf("orientation %d is not 1 to 8", e.Orientation)
	}
	exif := []entry{{tagVersion, typeUndefined, 4, []byte("0232")}}
	if !e.Taken.IsZero() {
		exif = append(exif, ascii(tagTaken, e.Taken.Format("2006:01:02 15:04:05")))
	}
	for _, t := range []struct {
		tag  uint16
		text string
	}{{tagOffset, e.Offset}, {tagSubSec, e.SubSec}, {tagBodySerial, e.BodySerial}} {
		if t.text != "" {
			exif = append(exif, ascii(t.tag, t.text))
		}
	}
	var main []entry
	if e.Make != "" {
		main = append(main, ascii(tagMake, e.Make))
	}
	if e.Model != "" {
		main = append(main, ascii(tagModel, e.Model))
	}
	if e.Orientation != 0 {
		main = append(main, entry{tagOrientation, typeShort, 1, []byte{byte(e.Orientation), 0}})
	}
	main = append(main, entry{tagExifIFD, typeLong, 1, make([]byte, 4)})
	const start = 8
	next := start + len(ifd(main, start))
	binary.LittleEndian.PutUint32(main[len(main)-1].value, uint32(next))
	out := []byte{'I', 'I', 42, 0, start, 0, 0, 0}
	out = append(out, ifd(main, start)...)
	return append(out, ifd(exif, next)...), nil
}

// ifd lays out entries, already in the order of their tags, for a directory
// that begins at offset at. Values start on even offsets (TIFF 6.0, page 15).
func ifd(entries []entry, at int) []byte {
	le := binary.LittleEndian
	head := le.AppendUint16(nil, uint16(len(entries)))
	heap := at + 2 + 12*len(entries) + 4
	var values []byte
	for _, e := range entries {
		head = le.AppendUint16(head, e.tag)
		head = le.AppendUint16(head, e.kind)
		head = le.AppendUint32(head, e.count)
		if len(e.value) <= 4 {
			head = append(head, append(e.value[:len(e.value):len(e.value)], make([]byte, 4-len(e.value))...)...)
			continue
		}
		head = le.AppendUint32(head, uint32(heap+len(values)))
		values = append(values, e.value...)
		if len(values)%2 == 1 {
			values = append(values, 0)
		}
	}
	return append(append(head, 0, 0, 0, 0), values...)
}
