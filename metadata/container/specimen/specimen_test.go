package specimen_test

import (
	"bytes"
	"encoding/binary"
	"image"
	_ "image/jpeg"
	_ "image/png"
	"testing"

	"github.com/rwcarlsen/goexif/exif"
	"golang.org/x/image/tiff"

	"haulbook/metadata/container/specimen"
)

// The pictures are read back by the standard library, the block by a published
// decoder: a specimen that only our own reader understands proves nothing.

var said = specimen.Exif{
	Main: []specimen.Tag{specimen.Text(0x010f, "Oak & Iron"), specimen.Number(0x0112, 6)},
	Exif: []specimen.Tag{specimen.Text(0x9003, "2024:05:17 14:30:00")},
	GPS:  []specimen.Tag{specimen.Text(1, "N"), specimen.Rationals(2, 47, 1, 30, 1, 0, 1)},
}

func TestPicturesDecode(t *testing.T) {
	tests := []struct {
		name, format string
		file         []byte
	}{
		{"jpeg", "jpeg", specimen.JPEG(31, 17)},
		{"jpeg with exif", "jpeg", specimen.JPEG(31, 17, specimen.ExifSegment(said.Block()))},
		{"png", "png", specimen.PNG(31, 17)},
		{"png with chunks", "png", specimen.PNG(31, 17, specimen.Chunk("tEXt", []byte("a\x00b")), nil, specimen.Chunk("eXIf", said.Block()))},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m, format, err := image.Decode(bytes.NewReader(tt.file))
			if err != nil {
				t.Fatal(err)
			}
			if got, want := m.Bounds().Size(), image.Pt(31, 17); got != want || format != tt.format {
				t.Errorf("decoded %s %v, want %s %v", format, got, tt.format, want)
			}
		})
	}
}

func TestTIFFDecodes(t *testing.T) {
	m, err := tiff.Decode(bytes.NewReader(specimen.TIFF(12, 10, said)))
	if err != nil {
		t.Fatal(err)
	}
	if got, want := m.Bounds().Size(), image.Pt(12, 10); got != want {
		t.Errorf("decoded %v, want %v", got, want)
	}
}

func TestBlockDecodes(t *testing.T) {
	for _, big := range []bool{false, true} {
		e := said
		e.BigEndian = big
		x, err := exif.Decode(bytes.NewReader(e.Block()))
		if err != nil {
			t.Fatal(err)
		}
		for name, want := range map[exif.FieldName]string{
			exif.Make:             `"Oak & Iron"`,
			exif.Orientation:      "6",
			exif.DateTimeOriginal: `"2024:05:17 14:30:00"`,
			exif.GPSLatitude:      `["47/1","30/1","0/1"]`,
		} {
			tag, err := x.Get(name)
			if err != nil {
				t.Errorf("big-endian %v: %s: %v", big, name, err)
			} else if got := tag.String(); got != want {
				t.Errorf("big-endian %v: %s %s, want %s", big, name, got, want)
			}
		}
	}
}

func TestSameCallSameBytes(t *testing.T) {
	build := map[string]func() []byte{
		"heif": specimen.HEIF{Width: 8, Height: 6, Exif: said.Block()}.Bytes,
		"webp": func() []byte { return specimen.WebP(8, 6, said.Block()) },
		"raw":  func() []byte { return specimen.RawBoxes(8, 6, said) },
	}
	for name, f := range build {
		if a, b := f(), f(); !bytes.Equal(a, b) || len(a) == 0 {
			t.Errorf("%s: two calls gave %d and %d bytes that differ", name, len(a), len(b))
		}
	}
}

func TestRawTIFFNamesItsJPEG(t *testing.T) {
	inner := specimen.JPEG(31, 17)
	for _, big := range []bool{false, true} {
		file := specimen.RawTIFF{
			Exif: specimen.Exif{BigEndian: big, Main: []specimen.Tag{
				specimen.Text(0x010f, "Oak & Iron"), {ID: 0x0111, Place: specimen.JPEGOffset}, {ID: 0x0117, Place: specimen.JPEGLength}}},
			Subs: [][]specimen.Tag{{specimen.Number(0x0100, 7)}, {specimen.Number(0x0100, 8)}},
			JPEG: inner,
		}.Bytes()
		x, err := exif.Decode(bytes.NewReader(file))
		if err != nil {
			t.Fatal(err)
		}
		var place [2]int
		for i, tag := range x.Tiff.Dirs[0].Tags {
			for j, id := range []uint16{0x0111, 0x0117} {
				if tag.Id == id {
					if place[j], err = x.Tiff.Dirs[0].Tags[i].Int(0); err != nil {
						t.Fatal(err)
					}
				}
			}
		}
		if got := file[place[0] : place[0]+place[1]]; !bytes.Equal(got, inner) {
			t.Errorf("big-endian %v: bytes %d to %d are not the JPEG", big, place[0], place[0]+place[1])
		}
	}
}

func TestBoxesAddUp(t *testing.T) {
	part := specimen.Part{Kind: "hvc1", Reference: "thmb", Width: 4, Height: 4, Data: []byte("small")}
	for name, file := range map[string][]byte{
		"heif": specimen.HEIF{Width: 8, Height: 6, Exif: said.Block(), Parts: []specimen.Part{part, part}}.Bytes(),
		"mini": specimen.Mini{Width: 800, Height: 600, Exif: said.Block(), Alpha: true}.Bytes(),
		"film": specimen.Film{Names: []string{"a", "b"}, Values: map[string]string{"b": "x"}}.Bytes(),
		"raw":  specimen.RawBoxesWith(8, 6, said, specimen.JPEG(8, 6), specimen.JPEG(9, 6)),
	} {
		at := 0
		for at+8 <= len(file) {
			n := int(binary.BigEndian.Uint32(file[at:]))
			if n < 8 {
				break
			}
			at += n
		}
		if at != len(file) {
			t.Errorf("%s: boxes end at %d of %d", name, at, len(file))
		}
	}
}
