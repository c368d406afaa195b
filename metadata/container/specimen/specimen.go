// Package specimen builds small photo files of every format the program reads,
// byte by byte, for tests.
//
// It knows how the files are put together, including how to put them together
// wrongly: a count that overflows, an offset outside, a box too long. It does not
// know the readers it serves and shares no code with them, so that a mistake on
// one side is not excused by the same mistake on the other.
//
// It promises that JPEG and PNG can be decoded, that the same call gives the same
// bytes, and that nothing in them was taken from anybody's photo.
package specimen

import (
	"encoding/binary"
	"slices"
)

// Types of TIFF 6.0, for Tag.Type.
const (
	Byte      = 1
	ASCII     = 2
	Short     = 3
	Long      = 4
	Rational  = 5
	Undefined = 7
	SLong     = 9
)

// Tag is one entry of a directory. Numbers are written in the byte order of the
// block, two for each rational; Text is written as it is.
type Tag struct {
	ID, Type uint16
	Numbers  []uint32
	Text     string

	// Place puts the place or the length of the JPEG of a RawTIFF here.
	Place Place

	// For broken files: what the entry claims instead of the truth, when not 0.
	ClaimCount, ClaimOffset uint32
}

// Text is a tag of text with the NUL that ends it.
func Text(id uint16, s string) Tag { return Tag{ID: id, Type: ASCII, Text: s + "\x00"} }

// Number is a tag of one SHORT.
func Number(id uint16, n uint16) Tag { return Tag{ID: id, Type: Short, Numbers: []uint32{uint32(n)}} }

// Rationals is a tag of rationals, given as numerator, denominator and so on.
func Rationals(id uint16, n ...uint32) Tag { return Tag{ID: id, Type: Rational, Numbers: n} }

// Exif is the content of an Exif block. Directories without tags are left out.
type Exif struct {
	BigEndian       bool
	Main, Exif, GPS []Tag
	Next            uint32 // offset of a directory behind the main one; 0 none
}

// MainOffset is where the main directory begins in a block.
const MainOffset = 8

// Block is the TIFF block of e, as it stands behind "Exif\0\0".
func (e Exif) Block() []byte {
	order, block := e.order(), []byte("II*\x00\x08\x00\x00\x00")
	if e.BigEndian {
		block = []byte("MM\x00*\x00\x00\x00\x08")
	}
	// The pointers have a fixed length, so that lengths are known before places.
	main := slices.Clone(e.Main)
	if len(e.Exif) > 0 {
		main = append(main, Tag{ID: 0x8769, Type: Long, Numbers: []uint32{0}})
	}
	if len(e.GPS) > 0 {
		main = append(main, Tag{ID: 0x8825, Type: Long, Numbers: []uint32{0}})
	}
	next := uint32(MainOffset + len(directory(order, main, 0, 0)))
	for i := len(e.Main); i < len(main); i++ {
		main[i].Numbers[0] = next
		if main[i].ID == 0x8769 {
			next += uint32(len(directory(order, e.Exif, 0, 0)))
		}
	}
	block = append(block, directory(order, main, len(block), e.Next)...)
	for _, tags := range [][]Tag{e.Exif, e.GPS} {
		if len(tags) > 0 {
			block = append(block, directory(order, tags, len(block), 0)...)
		}
	}
	return block
}

func (e Exif) order() binary.AppendByteOrder {
	if e.BigEndian {
		return binary.BigEndian
	}
	return binary.LittleEndian
}

// directory writes a directory that begins at the given place, values behind it.
func directory(order binary.AppendByteOrder, tags []Tag, at int, next uint32) []byte {
	tags = slices.Clone(tags)
	slices.SortStableFunc(tags, func(a, b Tag) int { return int(a.ID) - int(b.ID) })
	valuesAt := at + 2 + 12*len(tags) + 4
	var values []byte
	d := order.AppendUint16(nil, uint16(len(tags)))
	for _, t := range tags {
		v, count := t.value(order)
		if t.ClaimCount != 0 {
			count = t.ClaimCount
		}
		d = order.AppendUint16(d, t.ID)
		d = order.AppendUint16(d, t.Type)
		d = order.AppendUint32(d, count)
		switch {
		case t.ClaimOffset != 0:
			d = order.AppendUint32(d, t.ClaimOffset)
		case len(v) <= 4:
			d = append(d, append(v, make([]byte, 4-len(v))...)...)
		default:
			d = order.AppendUint32(d, uint32(valuesAt+len(values)))
			values = append(values, v...)
			if len(values)%2 == 1 {
				values = append(values, 0)
			}
		}
	}
	d = order.AppendUint32(d, next)
	return append(d, values...)
}

// value gives the bytes of a tag and how many values they are.
func (t Tag) value(order binary.AppendByteOrder) (v []byte, count uint32) {
	if t.Text != "" {
		return []byte(t.Text), uint32(len(t.Text))
	}
	for _, n := range t.Numbers {
		switch t.Type {
		case Byte, Undefined:
			v = append(v, byte(n))
		case Short:
			v = order.AppendUint16(v, uint16(n))
		default:
			v = order.AppendUint32(v, n)
		}
	}
	count = uint32(len(t.Numbers))
	if t.Type == Rational {
		count /= 2
	}
	return v, count
}
