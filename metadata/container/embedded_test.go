package container_test

import (
	"bytes"
	"image"
	"image/jpeg"
	"os"
	"path/filepath"
	"testing"

	"haulbook/metadata/container"
	"haulbook/metadata/container/specimen"
)

// rawPage is the page of a sensor: a photometric interpretation of CFA (TIFF/EP).
var rawPage = []specimen.Tag{specimen.Number(0x0106, 32803), specimen.Number(0x0112, 6)}

// place is a tag that names the JPEG of the file.
func place(id uint16, p specimen.Place) specimen.Tag { return specimen.Tag{ID: id, Place: p} }

// drawn decodes what Embedded names and says how large it is.
func drawn(t *testing.T, file []byte, e container.Embedded) image.Point {
	t.Helper()
	m, err := jpeg.Decode(bytes.NewReader(file[e.Offset : e.Offset+e.Length]))
	if err != nil {
		t.Fatalf("bytes %d to %d: %v", e.Offset, e.Offset+e.Length, err)
	}
	return m.Bounds().Size()
}

func TestEmbeddedInRawPages(t *testing.T) {
	stream := []specimen.Tag{place(0x0201, specimen.JPEGOffset), place(0x0202, specimen.JPEGLength)}
	strip := func(compression, photometric uint16) []specimen.Tag {
		return []specimen.Tag{
			specimen.Number(0x00fe, 1), specimen.Number(0x0103, compression), specimen.Number(0x0106, photometric),
			place(0x0111, specimen.JPEGOffset), place(0x0117, specimen.JPEGLength),
		}
	}
	picture := specimen.JPEG(40, 24)
	turned := specimen.JPEG(40, 24, specimen.ExifSegment(specimen.Exif{Main: []specimen.Tag{specimen.Number(0x0112, 8)}}.Block()))
	portrait := specimen.JPEG(24, 40)
	sensor := append([]specimen.Tag{specimen.Number(0x0100, 400), specimen.Number(0x0101, 240)}, rawPage...)
	tests := []struct {
		name        string
		file        specimen.RawTIFF
		orientation int // 0: nothing is found
	}{
		{"stream in the first page", specimen.RawTIFF{Exif: specimen.Exif{Main: append(stream, rawPage...)}, JPEG: picture}, 6},
		{"big-endian", specimen.RawTIFF{Exif: specimen.Exif{BigEndian: true, Main: append(stream, rawPage...)}, JPEG: picture}, 6},
		{"stream in a sub-directory", specimen.RawTIFF{Exif: specimen.Exif{Main: rawPage}, Subs: [][]specimen.Tag{stream}, JPEG: picture}, 6},
		{"sub-directory with its own turning", specimen.RawTIFF{Exif: specimen.Exif{Main: rawPage}, Subs: [][]specimen.Tag{append(stream, specimen.Number(0x0112, 3))}, JPEG: picture}, 3},
		{"sub-directory said to be upright", specimen.RawTIFF{Exif: specimen.Exif{Main: sensor}, Subs: [][]specimen.Tag{append(stream, specimen.Number(0x0112, 1))}, JPEG: picture}, 6},
		{"the JPEG knows best", specimen.RawTIFF{Exif: specimen.Exif{Main: rawPage}, Subs: [][]specimen.Tag{append(stream, specimen.Number(0x0112, 3))}, JPEG: turned}, 8},
		{"compressed strip", specimen.RawTIFF{Exif: specimen.Exif{Main: rawPage}, Subs: [][]specimen.Tag{strip(7, 6)}, JPEG: picture}, 6},
		{"strip of the old kind", specimen.RawTIFF{Exif: specimen.Exif{Main: rawPage}, Subs: [][]specimen.Tag{strip(6, 6)}, JPEG: picture}, 6},
		{"strip without compression", specimen.RawTIFF{Exif: specimen.Exif{Main: rawPage}, Subs: [][]specimen.Tag{strip(1, 6)}, JPEG: picture}, 0},
		{"no raw file", specimen.RawTIFF{Exif: specimen.Exif{Main: stream}, JPEG: picture}, 0},
		{"no JPEG", specimen.RawTIFF{Exif: specimen.Exif{Main: append(stream, rawPage...)}, JPEG: []byte("none of that at all")}, 0},
		{"JPEG without a picture", specimen.RawTIFF{Exif: specimen.Exif{Main: append(stream, rawPage...)}, JPEG: []byte("\xff\xd8\xff\xd9")}, 0},
		{"lossless JPEG of a sensor", specimen.RawTIFF{Exif: specimen.Exif{Main: append(stream, rawPage...)}, JPEG: lossless(picture)}, 0},
		{"length beyond the file", specimen.RawTIFF{Exif: specimen.Exif{Main: append([]specimen.Tag{
			place(0x0201, specimen.JPEGOffset), {ID: 0x0202, Type: specimen.Long, Numbers: []uint32{1 << 30}}}, rawPage...)}, JPEG: picture}, 0},
	}
	upright := specimen.RawTIFF{Exif: specimen.Exif{Main: sensor}, Subs: [][]specimen.Tag{stream}, JPEG: portrait}.Bytes()
	if e := read(t, upright).Embedded; e.Orientation != 1 || drawn(t, upright, e) != image.Pt(24, 40) {
		t.Errorf("stored upright beside a sensor on its side: %+v, want orientation 1", e)
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			file := tt.file.Bytes()
			e := read(t, file).Embedded
			if e.Orientation != tt.orientation || (e.Length > 0) != (tt.orientation > 0) {
				t.Fatalf("%+v, want orientation %d", e, tt.orientation)
			}
			if tt.orientation > 0 {
				if got, want := drawn(t, file, e), image.Pt(40, 24); got != want || e.Width != want.X || e.Height != want.Y {
					t.Errorf("%+v, drawn %v; want %v", e, got, want)
				}
			}
		})
	}
}

// lossless makes a frame header of Huffman coding without loss of one with it
// (ITU-T T.81, table B.1: SOF3), as sensor data has it.
func lossless(picture []byte) []byte {
	return bytes.Replace(picture, []byte{0xff, 0xc0}, []byte{0xff, 0xc3}, 1)
}

func TestEmbeddedTakesTheLargest(t *testing.T) {
	small, large := specimen.JPEG(16, 8), specimen.JPEG(64, 48)
	// The large one stands behind the small one, and a page of its own names it.
	r := specimen.RawTIFF{
		Exif: specimen.Exif{Main: append([]specimen.Tag{place(0x0201, specimen.JPEGOffset), {ID: 0x0202, Type: specimen.Long, Numbers: []uint32{uint32(len(small))}}}, rawPage...)},
		JPEG: append(bytes.Clone(small), large...),
	}
	file := r.Bytes()
	at := uint32(len(file) - len(large))
	r.Subs = [][]specimen.Tag{{{ID: 0x0201, Type: specimen.Long, Numbers: []uint32{at}}, {ID: 0x0202, Type: specimen.Long, Numbers: []uint32{uint32(len(large))}}}}
	grown := uint32(len(r.Bytes()) - len(file))
	r.Subs[0][0].Numbers[0] += grown
	file = r.Bytes()
	if got, want := drawn(t, file, read(t, file).Embedded), image.Pt(64, 48); got != want {
		t.Errorf("drawn %v, want the larger, %v", got, want)
	}
}

func TestEmbeddedNamedByAMakerNote(t *testing.T) {
	picture := specimen.JPEG(40, 24)
	// From files seen: the settings name the preview by its distance from the note.
	note := func(name string, at int, distance uint32) specimen.Tag {
		b := []byte(name)
		directory := []byte{1, 0, 0x20, 0x20, 13, 0, 1, 0, 0, 0, byte(at + 18), 0, 0, 0, 0, 0, 0, 0}
		settings := []byte{2, 0,
			0x01, 0x01, 4, 0, 1, 0, 0, 0, byte(distance), byte(distance >> 8), 0, 0,
			0x02, 0x01, 4, 0, 1, 0, 0, 0, byte(len(picture)), byte(len(picture) >> 8), 0, 0, 0, 0, 0, 0}
		return specimen.Tag{ID: 0x927c, Type: specimen.Undefined, Text: string(append(append(b, directory...), settings...))}
	}
	for name, head := range map[string]string{"two letters": "OLYMPUS\x00II\x03\x00", "two words": "OM SYSTEM\x00\x00\x00II\x04\x00"} {
		t.Run(name, func(t *testing.T) {
			build := func(distance uint32) []byte {
				return specimen.RawTIFF{
					Magic: "IIRO",
					Exif:  specimen.Exif{Main: []specimen.Tag{specimen.Number(0x0112, 3)}, Exif: []specimen.Tag{note(head, len(head), distance)}},
					JPEG:  picture,
				}.Bytes()
			}
			file := build(0)
			file = build(uint32(bytes.Index(file, picture) - bytes.Index(file, []byte(head))))
			e := read(t, file).Embedded
			if e.Orientation != 3 || e.Length != int64(len(picture)) || drawn(t, file, e) != image.Pt(40, 24) {
				t.Errorf("%+v, want the preview of 40x24, turned as the file says", e)
			}
		})
	}
}

func TestEmbeddedBetweenBorders(t *testing.T) {
	// Magic 85: the preview is the value of a tag (from files seen).
	picture := specimen.JPEG(40, 24)
	file := specimen.RawTIFF{Magic: "IIU\x00", Exif: specimen.Exif{Main: []specimen.Tag{
		{ID: 0x002e, Type: specimen.Undefined, Text: string(picture)}, specimen.Number(0x0112, 6)}}}.Bytes()
	e := read(t, file).Embedded
	if e.Orientation != 6 || e.Length != int64(len(picture)) || drawn(t, file, e) != image.Pt(40, 24) {
		t.Errorf("%+v, want the preview of 40x24", e)
	}
}

func TestEmbeddedInBoxesAndWrappers(t *testing.T) {
	inner := specimen.JPEG(40, 24, specimen.ExifSegment(specimen.Exif{Main: []specimen.Tag{specimen.Number(0x0112, 8)}}.Block()))
	wrapped := specimen.RawAroundJPEG(inner)
	if e := read(t, wrapped).Embedded; e.Orientation != 8 || drawn(t, wrapped, e) != image.Pt(40, 24) {
		t.Errorf("wrapper: %+v, want the JPEG of 40x24", e)
	}
	turned := specimen.Exif{Main: []specimen.Tag{specimen.Number(0x0112, 6)}}
	boxes := specimen.RawBoxes(6000, 4000, turned)
	if e := read(t, boxes).Embedded; e != (container.Embedded{}) {
		t.Errorf("boxes without previews: %+v, want none", e)
	}
	small := specimen.RawBoxesWith(6000, 4000, turned, specimen.JPEG(40, 24), nil)
	if e := read(t, small).Embedded; e.Orientation != 6 || drawn(t, small, e) != image.Pt(40, 24) {
		t.Errorf("preview box: %+v, want the JPEG of 40x24", e)
	}
	both := specimen.RawBoxesWith(6000, 4000, turned, specimen.JPEG(40, 24), specimen.JPEG(96, 64))
	if e := read(t, both).Embedded; e.Orientation != 6 || drawn(t, both, e) != image.Pt(96, 64) {
		t.Errorf("preview box and track: %+v, want the track's JPEG of 96x64", e)
	}
}

// TestEmbeddedOfRealFiles decodes what is found in raw files from cameras. That
// of the first is 1620x1080 by exiftool -PreviewImage, the second's 8x8.
func TestEmbeddedOfRealFiles(t *testing.T) {
	dir := os.Getenv("HAULBOOK_CORPUS")
	if dir == "" {
		t.Skip("HAULBOOK_CORPUS is not set: point it at a folder with photos to draw the previews of its raw files")
	}
	for name, want := range map[string]image.Point{
		"exif/exiv2__Canon-R6-pruned.CR3": image.Pt(1620, 1080),
		"exif/exiftool__FujiFilm.raf":     image.Pt(8, 8),
		"heic/exiv2__Sony.HIF":            image.Pt(160, 120),
	} {
		file, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		e := read(t, file).Embedded
		if got := drawn(t, file, e); got != want || e.Orientation != 1 {
			t.Errorf("%s: %+v, drawn %v; want %v upright", name, e, got, want)
		}
	}
}
