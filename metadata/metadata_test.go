package metadata_test

import (
	"bytes"
	"errors"
	"io"
	"math"
	"testing"
	"time"

	"haulbook/metadata"
	"haulbook/metadata/container/specimen"
)

func read(t *testing.T, file []byte) metadata.Info {
	t.Helper()
	info, err := metadata.Read(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	return info
}

// jpegWith is a JPEG with an Exif block of these tags.
func jpegWith(e specimen.Exif) []byte {
	return specimen.JPEG(24, 16, specimen.ExifSegment(e.Block()))
}

// full is an Exif block that says everything.
var full = specimen.Exif{
	Main: []specimen.Tag{
		specimen.Text(0x010f, "Oak & Iron "),
		specimen.Text(0x0110, "Pinhole 3"),
		specimen.Number(0x0112, 6),
		specimen.Text(0x0132, "2030:01:01 00:00:00"),
	},
	Exif: []specimen.Tag{
		specimen.Text(0x9003, "2024:05:17 14:30:00"),
		specimen.Text(0x9004, "2024:05:17 14:30:01"),
		specimen.Text(0x9010, "+09:00"),
		specimen.Text(0x9011, "+02:00"),
		specimen.Text(0x9012, "+03:00"),
		specimen.Text(0x9291, "054"),
		specimen.Text(0x9292, "99"),
		specimen.Text(0xa431, "000123"),
		specimen.Text(0xa434, "Bottle 35 mm"),
	},
	GPS: []specimen.Tag{
		specimen.Text(1, "S"), specimen.Rationals(2, 33, 1, 52, 1, 768, 100),
		specimen.Text(3, "W"), specimen.Rationals(4, 58, 1, 22, 1, 5376, 100),
	},
}

func TestReadEveryFormat(t *testing.T) {
	block := full.Block()
	big := full
	big.BigEndian = true
	heif := specimen.HEIF{Width: 24, Height: 16, Exif: block}
	avif := heif
	avif.Brand = "avif"
	tests := []struct {
		want metadata.Format
		file []byte
	}{
		{metadata.FormatJPEG, jpegWith(full)},
		{metadata.FormatJPEG, jpegWith(big)},
		{metadata.FormatPNG, specimen.PNG(24, 16, specimen.Chunk("eXIf", block))},
		{metadata.FormatWebP, specimen.WebP(24, 16, block)},
		{metadata.FormatTIFF, specimen.TIFF(24, 16, full)},
		{metadata.FormatHEIC, heif.Bytes()},
		{metadata.FormatAVIF, avif.Bytes()},
		{metadata.FormatRaw, specimen.RawBoxes(24, 16, full)},
	}
	for _, tt := range tests {
		t.Run(string(tt.want), func(t *testing.T) {
			got := read(t, tt.file)
			position := got.Position
			want := metadata.Info{
				Format: tt.want, Width: 24, Height: 16, Orientation: 6, ExifOrientation: 6,
				Make: "Oak & Iron", Model: "Pinhole 3", BodySerial: "000123", Lens: "Bottle 35 mm",
				Taken: metadata.Taken{
					Raw: "2024:05:17 14:30:00", RawSubSec: "054", RawOffset: "+02:00",
					Wall: time.Date(2024, 5, 17, 14, 30, 0, 54e6, time.UTC), Offset: "+02:00", From: "DateTimeOriginal",
				},
			}
			if tt.want == metadata.FormatHEIC || tt.want == metadata.FormatAVIF {
				want.Orientation = 1 // nothing in the container turns it
			}
			got.Position = nil
			if got != want {
				t.Errorf("got  %+v\nwant %+v", got, want)
			}
			if position == nil || math.Abs(position.Latitude+33.8688) > 1e-9 || math.Abs(position.Longitude+58.3816) > 1e-9 {
				t.Errorf("position %v, want -33.8688 -58.3816", position)
			}
			if got := metadata.Sniff(tt.file[:32]); got != tt.want {
				t.Errorf("sniffed %q, want %q", got, tt.want)
			}
		})
	}
}

// thumbed is a HEIC with a thumbnail coded like the picture and one that is a JPEG.
func thumbed() specimen.HEIF {
	return specimen.HEIF{Width: 240, Height: 160, Exif: full.Block(), Turns: [][]byte{specimen.Rotation(1)}, Parts: []specimen.Part{
		{Kind: "hvc1", Reference: "thmb", Width: 24, Height: 16, Turns: [][]byte{specimen.Rotation(1)}, Data: []byte("small")},
		{Kind: "jpeg", Reference: "thmb", Width: 12, Height: 8, Data: specimen.JPEG(12, 8)},
	}}
}

func TestPicturesInside(t *testing.T) {
	file := thumbed().Bytes()
	info := read(t, file)
	if want := (metadata.Thumbnail{Item: specimen.FirstPart, Width: 24, Height: 16, Orientation: 8}); info.Thumbnail != want {
		t.Errorf("thumbnail %+v, want %+v", info.Thumbnail, want)
	}
	if e := info.Embedded; e.Width != 12 || e.Height != 8 || e.Orientation != 1 || int(e.Length) != len(specimen.JPEG(12, 8)) {
		t.Errorf("embedded %+v, want the JPEG of 12x8", e)
	}
	small := read(t, metadata.WithPrimary(file, info.Thumbnail.Item))
	if small.Width != 24 || small.Height != 16 || small.Orientation != 8 || small.Make != info.Make {
		t.Errorf("%dx%d turned %d by %q, want the thumbnail, and the camera as before", small.Width, small.Height, small.Orientation, small.Make)
	}
	raw := read(t, specimen.RawAroundJPEG(jpegWith(full)))
	if e := raw.Embedded; e.Width != 24 || e.Height != 16 || e.Orientation != 6 {
		t.Errorf("embedded %+v, want the wrapped JPEG of 24x16 turned 6", e)
	}
	// A raw file that says nothing about turning has its preview upright.
	if e := read(t, specimen.RawAroundJPEG(specimen.JPEG(24, 16))).Embedded; e.Orientation != 1 {
		t.Errorf("embedded %+v, want orientation 1", e)
	}
	if plain := read(t, jpegWith(full)); plain.Embedded != (metadata.Embedded{}) || plain.Thumbnail != (metadata.Thumbnail{}) {
		t.Errorf("a JPEG has %+v and %+v inside, want nothing", plain.Embedded, plain.Thumbnail)
	}
}

func TestInstant(t *testing.T) {
	// CIPA DC-008 2.31 and later: the offset makes an instant of the wall clock.
	taken := read(t, jpegWith(full)).Taken
	zone, err := time.Parse("-07:00", taken.Offset)
	if err != nil {
		t.Fatal(err)
	}
	_, seconds := zone.Zone()
	got := taken.Wall.Add(-time.Duration(seconds) * time.Second).Truncate(time.Second)
	if want := time.Date(2024, 5, 17, 12, 30, 0, 0, time.UTC); !got.Equal(want) {
		t.Errorf("instant %v, want %v", got, want)
	}
}

func TestOrientation(t *testing.T) {
	// Values by jpegexiforient(1): 1 to 8. What is missing or out of range is 1.
	for n := range uint16(12) {
		want, wantExif := int(n), int(n)
		if n < 1 || n > 8 {
			want, wantExif = 1, 0
		}
		info := read(t, jpegWith(specimen.Exif{Main: []specimen.Tag{specimen.Number(0x0112, n)}}))
		if info.Orientation != want || info.ExifOrientation != wantExif {
			t.Errorf("%d: %d, Exif %d; want %d, %d", n, info.Orientation, info.ExifOrientation, want, wantExif)
		}
	}
	for name, tag := range map[string]specimen.Tag{
		"as text":         specimen.Text(0x0112, "6"),
		"65535":           specimen.Number(0x0112, 65535),
		"huge count":      {ID: 0x0112, Type: specimen.Short, Numbers: []uint32{6}, ClaimCount: 0x40000000},
		"none":            specimen.Text(0x010f, "Oak"),
		"as a rational":   specimen.Rationals(0x0112, 6, 1),
		"as bytes beyond": {ID: 0x0112, Type: specimen.Byte, Numbers: []uint32{9}},
	} {
		if info := read(t, jpegWith(specimen.Exif{Main: []specimen.Tag{tag}})); info.Orientation != 1 {
			t.Errorf("%s: %d, want 1", name, info.Orientation)
		}
	}
	for name, tag := range map[string]specimen.Tag{
		"long":       {ID: 0x0112, Type: specimen.Long, Numbers: []uint32{6}},
		"byte":       {ID: 0x0112, Type: specimen.Byte, Numbers: []uint32{6}},
		"two shorts": {ID: 0x0112, Type: specimen.Short, Numbers: []uint32{6, 8}},
	} {
		if info := read(t, jpegWith(specimen.Exif{Main: []specimen.Tag{tag}})); info.Orientation != 6 {
			t.Errorf("%s: %d, want 6", name, info.Orientation)
		}
	}
}

func TestOrientationOfHEICIsTheContainers(t *testing.T) {
	h := specimen.HEIF{Width: 24, Height: 16, Exif: full.Block(), Turns: [][]byte{specimen.Rotation(1)}}
	if info := read(t, h.Bytes()); info.Orientation != 8 || info.ExifOrientation != 6 {
		t.Errorf("orientation %d, Exif %d; want 8, 6", info.Orientation, info.ExifOrientation)
	}
}

func TestTakenFrom(t *testing.T) {
	const original, created = 0x9003, 0x9004
	const blank, zeros = "    :  :     :  :  ", "0000:00:00 00:00:00"
	early, late := "2024:05:17 14:30:00", "2024:05:17 18:00:00"
	tests := []struct {
		name            string
		main, exif      []specimen.Tag
		from, raw, wall string
	}{
		{"original", nil, []specimen.Tag{specimen.Text(original, early), specimen.Text(created, late)}, "DateTimeOriginal", early, early},
		{"created alone", nil, []specimen.Tag{specimen.Text(created, late)}, "CreateDate", late, late},
		{"changed alone does not count", []specimen.Tag{specimen.Text(0x0132, late)}, nil, "", "", ""},
		{"blank original is a statement", nil, []specimen.Tag{specimen.Text(original, blank), specimen.Text(created, late)}, "", blank, ""},
		{"spaces", nil, []specimen.Tag{specimen.Text(original, "                   "), specimen.Text(created, late)}, "", "                   ", ""},
		{"empty original is none", nil, []specimen.Tag{specimen.Text(original, ""), specimen.Text(created, late)}, "CreateDate", late, late},
		{"zeros", nil, []specimen.Tag{specimen.Text(original, zeros)}, "", zeros, ""},
		{"30 February", nil, []specimen.Tag{specimen.Text(original, "2021:02:30 12:00:00")}, "", "2021:02:30 12:00:00", ""},
		{"blank created", nil, []specimen.Tag{specimen.Text(created, blank)}, "", blank, ""},
		{"original in the main directory", []specimen.Tag{specimen.Text(original, early)}, nil, "DateTimeOriginal", early, early},
		{"both places, the Exif directory counts", []specimen.Tag{specimen.Text(original, late)}, []specimen.Tag{specimen.Text(original, early)}, "DateTimeOriginal", early, early},
		{"without the NUL", nil, []specimen.Tag{{ID: original, Type: specimen.ASCII, Text: early}}, "DateTimeOriginal", early, early},
		{"NULs and more behind", nil, []specimen.Tag{specimen.Text(original, early+"\x00\x00junk")}, "DateTimeOriginal", early, early},
		{"as undefined bytes", nil, []specimen.Tag{{ID: original, Type: specimen.Undefined, Text: early + "\x00"}}, "DateTimeOriginal", early, early},
		{"nothing", nil, []specimen.Tag{specimen.Text(0xa431, "7")}, "", "", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := read(t, jpegWith(specimen.Exif{Main: tt.main, Exif: tt.exif})).Taken
			wall := ""
			if !got.Wall.IsZero() {
				wall = got.Wall.Format("2006:01:02 15:04:05")
			}
			if got.From != tt.from || got.Raw != tt.raw || wall != tt.wall {
				t.Errorf("from %q, raw %q, wall %q; want %q, %q, %q", got.From, got.Raw, wall, tt.from, tt.raw, tt.wall)
			}
		})
	}
}

func TestTwoBlocksTheFirstSpeaks(t *testing.T) {
	block := func(tags ...specimen.Tag) []byte { return specimen.ExifSegment(specimen.Exif{Main: tags}.Block()) }
	info := read(t, specimen.JPEG(8, 8,
		block(specimen.Text(0x010f, "Oak")),
		block(specimen.Text(0x010f, "Elm"), specimen.Text(0x0110, "Pinhole 3"))))
	if info.Make != "Oak" || info.Model != "Pinhole 3" {
		t.Errorf("%q %q, want the first block's maker, Oak, and the second's model", info.Make, info.Model)
	}
	// In one directory as well.
	info = read(t, jpegWith(specimen.Exif{Main: []specimen.Tag{specimen.Text(0x010f, "Oak"), specimen.Text(0x010f, "Elm")}}))
	if info.Make != "Oak" {
		t.Errorf("%q, want the first entry's, Oak", info.Make)
	}
}

func BenchmarkRead(b *testing.B) {
	// Exif in front, one scan behind, which is gone through for its end.
	file := specimen.JPEG(2400, 1800, specimen.ExifSegment(full.Block()))
	b.SetBytes(int64(len(file)))
	for b.Loop() {
		if _, err := metadata.Read(bytes.NewReader(file), int64(len(file))); err != nil {
			b.Fatal(err)
		}
	}
}

func TestOffsetIsThatOfTheOriginalAlone(t *testing.T) {
	for id, want := range map[uint16]string{0x9010: "", 0x9011: "+05:45", 0x9012: ""} {
		e := specimen.Exif{Exif: []specimen.Tag{specimen.Text(0x9003, "2024:05:17 14:30:00"), specimen.Text(id, "+05:45")}}
		if got := read(t, jpegWith(e)).Taken.Offset; got != want {
			t.Errorf("tag %#x: offset %q, want %q", id, got, want)
		}
	}
}

func TestPosition(t *testing.T) {
	place := func(latRef string, lat []uint32, lonRef string, lon []uint32) []specimen.Tag {
		var tags []specimen.Tag
		for i, s := range []string{latRef, lonRef} {
			if s != "" {
				tags = append(tags, specimen.Text(uint16(1+2*i), s))
			}
		}
		for i, v := range [][]uint32{lat, lon} {
			if v != nil {
				tags = append(tags, specimen.Rationals(uint16(2+2*i), v...))
			}
		}
		return tags
	}
	east := []uint32{13, 1, 24, 1, 18, 1}
	tests := []struct {
		name string
		gps  []specimen.Tag
		want *metadata.Position
	}{
		{"north east", place("N", []uint32{52, 1, 31, 1, 12, 1}, "E", east), &metadata.Position{Latitude: 52.52, Longitude: 13.405}},
		{"south west", place("S", []uint32{52, 1, 31, 1, 12, 1}, "W", east), &metadata.Position{Latitude: -52.52, Longitude: -13.405}},
		{"small letters", place("s", []uint32{52, 1, 31, 1, 12, 1}, "w", east), &metadata.Position{Latitude: -52.52, Longitude: -13.405}},
		{"no references", place("", []uint32{52, 1, 31, 1, 12, 1}, "", east), &metadata.Position{Latitude: 52.52, Longitude: 13.405}},
		{"zero, zero is a place", place("N", []uint32{0, 1, 0, 1, 0, 1}, "E", []uint32{0, 1, 0, 1, 0, 1}), &metadata.Position{}},
		{"zero south has no sign", place("S", []uint32{0, 1, 0, 1, 0, 1}, "W", []uint32{0, 1, 0, 1, 0, 1}), &metadata.Position{}},
		{"the pole", place("N", []uint32{90, 1, 0, 1, 0, 1}, "E", []uint32{180, 1, 0, 1, 0, 1}), &metadata.Position{Latitude: 90, Longitude: 180}},
		{"degrees alone", place("N", []uint32{525200, 10000}, "E", []uint32{134050, 10000}), &metadata.Position{Latitude: 52.52, Longitude: 13.405}},
		{"beyond the pole", place("N", []uint32{91, 1, 0, 1, 0, 1}, "E", east), nil},
		{"beyond the date line", place("N", []uint32{5, 1, 0, 1, 0, 1}, "E", []uint32{181, 1, 0, 1, 0, 1}), nil},
		{"over nothing", place("N", []uint32{0, 0, 0, 0, 0, 0}, "E", east), nil},
		{"seconds over nothing", place("N", []uint32{52, 1, 31, 1, 0, 0}, "E", east), nil},
		{"latitude alone", place("N", []uint32{52, 1, 31, 1, 12, 1}, "", nil), nil},
		{"longitude alone", place("", nil, "E", east), nil},
		{"as text", []specimen.Tag{specimen.Text(2, "52"), specimen.Text(4, "13")}, nil},
		{"none", nil, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := read(t, jpegWith(specimen.Exif{Main: full.Main, GPS: tt.gps})).Position
			switch {
			case (got == nil) != (tt.want == nil):
				t.Errorf("%v, want %v", got, tt.want)
			case got != nil && (math.Abs(got.Latitude-tt.want.Latitude) > 1e-9 || math.Abs(got.Longitude-tt.want.Longitude) > 1e-9):
				t.Errorf("%v, want %v", *got, *tt.want)
			case got != nil && (math.Signbit(got.Latitude) && got.Latitude == 0 || math.Signbit(got.Longitude) && got.Longitude == 0):
				t.Errorf("%v has a negative zero", *got)
			}
		})
	}
}

func TestReadErrors(t *testing.T) {
	for _, file := range []string{"", "text", "GIF89a", "PK\x03\x04", "<html></html>"} {
		if _, err := metadata.Read(bytes.NewReader([]byte(file)), int64(len(file))); !errors.Is(err, metadata.ErrNotPhoto) {
			t.Errorf("%q: error %v, want %v", file, err, metadata.ErrNotPhoto)
		}
	}
	closed := errors.New("the card was pulled out")
	if _, err := metadata.Read(brokenDisk{closed}, 1<<20); !errors.Is(err, closed) || errors.Is(err, metadata.ErrNotPhoto) {
		t.Errorf("error %v, want %v", err, closed)
	}
}

type brokenDisk struct{ err error }

func (d brokenDisk) ReadAt([]byte, int64) (int, error) { return 0, d.err }

var _ io.ReaderAt = brokenDisk{}

func TestComplete(t *testing.T) {
	file := jpegWith(full)
	tests := []struct {
		name string
		file []byte
		want metadata.Completeness
	}{
		{"whole", file, metadata.Whole},
		{"cut", file[:len(file)-2], metadata.Incomplete},
		{"empty", nil, metadata.Incomplete},
		{"zeros", make([]byte, 4000), metadata.Incomplete},
		{"text", []byte("a note"), metadata.Unknown},
	}
	for _, tt := range tests {
		if got := metadata.Complete(bytes.NewReader(tt.file), int64(len(tt.file))); got != tt.want {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
}
