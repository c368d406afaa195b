package specimen_test

import (
	"bytes"
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
