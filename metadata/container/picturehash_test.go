package container_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"testing"

	"haulbook/metadata/container"
	"haulbook/metadata/container/specimen"
)

func pictureHash(t *testing.T, file []byte, f container.Format) string {
	t.Helper()
	sum, err := container.PictureHash(bytes.NewReader(file), int64(len(file)), f)
	if err != nil {
		t.Fatal(err)
	}
	if sum == [32]byte{} {
		return ""
	}
	return hex.EncodeToString(sum[:])
}

// tagged is a block of a given length that is no picture's business.
func tagged(n int) []byte {
	return specimen.Exif{Main: []specimen.Tag{specimen.Text(0x010f, string(bytes.Repeat([]byte("x"), n)))}}.Block()
}

// webpStill is a WebP without the head that announces other chunks.
func webpStill(file []byte) []byte {
	still := append(bytes.Clone(file[:12]), file[12+18:]...)
	binary.LittleEndian.PutUint32(still[4:], uint32(len(still)-8))
	return still
}

// versions are files of the same picture with other things around it.
var versions = map[container.Format][][]byte{
	container.JPEG: {
		specimen.JPEG(24, 16),
		specimen.JPEG(24, 16, specimen.ExifSegment(tagged(10))),
		specimen.JPEG(24, 16, specimen.Segment(0xe2, []byte("ICC_PROFILE")), specimen.ExifSegment(tagged(900)), specimen.Segment(0xfe, []byte("a comment"))),
		append(specimen.JPEG(24, 16), "a second picture behind the end"...),
		specimen.JPEG(24, 16, []byte{0xff, 0xff, 0xff}), // fill
	},
	container.PNG: {
		specimen.PNG(24, 16),
		specimen.PNG(24, 16, specimen.Chunk("eXIf", tagged(10)), specimen.Chunk("gAMA", make([]byte, 4)), nil, specimen.Chunk("tEXt", []byte("a\x00b"))),
	},
	container.WebP: {
		specimen.WebP(24, 16, nil), specimen.WebP(24, 16, tagged(10)), webpStill(specimen.WebP(24, 16, nil)),
	},
	container.TIFF: {
		specimen.TIFF(24, 16, specimen.Exif{}), specimen.TIFF(24, 16, said),
	},
	container.HEIC: {
		specimen.HEIF{Width: 24, Height: 16}.Bytes(),
		specimen.HEIF{Width: 24, Height: 16, Exif: tagged(10)}.Bytes(),
		specimen.HEIF{Width: 24, Height: 16, Exif: tagged(900), Method: specimen.InIdat, IlocVersion: 1, Turns: [][]byte{specimen.Rotation(1)}}.Bytes(),
		specimen.HEIF{Width: 24, Height: 16, Parts: []specimen.Part{{Kind: "hvc1", Reference: "thmb", Width: 4, Height: 4, Data: []byte("small")}}}.Bytes(),
	},
	container.AVIF: {
		specimen.HEIF{Brand: "avif", Width: 24, Height: 16}.Bytes(), specimen.HEIF{Brand: "avif", Width: 24, Height: 16, Exif: tagged(10)}.Bytes(),
	},
}

func TestPictureHashKeepsThroughEdits(t *testing.T) {
	seen := map[string]container.Format{}
	for format, files := range versions {
		first := pictureHash(t, files[0], format)
		if other, twice := seen[first]; first == "" || twice {
			t.Errorf("%s: hash %q, also of %q; want one of its own", format, first, other)
		}
		seen[first] = format
		for i, file := range files[1:] {
			if got := pictureHash(t, file, format); got != first {
				t.Errorf("%s, version %d: %s, want %s as the first", format, i+1, got, first)
			}
		}
	}
}

// TestPictureHashIsPinned holds the hashes still: they are kept in books.
func TestPictureHashIsPinned(t *testing.T) {
	tests := []struct {
		format container.Format
		file   []byte
		want   string
	}{
		{container.JPEG, []byte("\xff\xd8\xff\xdb\x00\x04QT\xff\xe1\x00\x04xx\xff\xee\x00\x04AD\xff\xc0\x00\x08\x08\x00\x01\x00\x01\x00\xff\xda\x00\x02scan\xff\xd9"), recipe("jpeg", "\xdb   ", "QT", "\xee   ", "AD", "\xc0   ", "\x08\x00\x01\x00\x01\x00", "\xda   ", "scan")},
		{container.PNG, []byte("\x89PNG\r\n\x1a\n" + string(specimen.Chunk("IHDR", []byte("\x00\x00\x00\x01\x00\x00\x00\x01\x08\x00\x00\x00\x00"))) + string(specimen.Chunk("IDAT", []byte("data"))) + string(specimen.Chunk("IEND", nil))), recipe("png", "IHDR", "\x00\x00\x00\x01\x00\x00\x00\x01\x08\x00\x00\x00\x00", "IDAT", "data")},
		{container.WebP, specimen.WebP(24, 16, nil), "1b8d7c0d40bc1714db065364a60676023e41360c078c8126fc0546e1c8b09888"},
		{container.TIFF, specimen.TIFF(4, 2, specimen.Exif{}), "22c4498da7ce3fc0f81562150afdccec10447e6a646d992dcc2935e118f251eb"},
		{container.HEIC, gridFile("one", "two").Bytes(), recipe("heic", "grid", "", "hvcC", "settings", "data", pictureText, "hvc1", "", "data", "one", "hvc1", "", "data", "two")},
		{container.HEIC, specimen.Mini{Width: 24, Height: 16}.Bytes(), "2d4a53dff37c64b98ed3dc0b146407e0913d7314091fa67601c8f0f4c03764b2"},
	}
	for _, tt := range tests {
		if got := pictureHash(t, tt.file, tt.format); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.format, got, tt.want)
		}
	}
}

// pictureText is what a HEIF specimen has as the bytes of its picture.
const pictureText = "coded picture, or what stands for it"

// recipe is the hash written down: of the format with a NUL, then of each part
// the name and the SHA-256 of its bytes.
func recipe(format string, namesAndBytes ...string) string {
	outer := sha256.New()
	outer.Write([]byte(format + "\x00"))
	for i := 0; i < len(namesAndBytes); i += 2 {
		inner := sha256.Sum256([]byte(namesAndBytes[i+1]))
		outer.Write([]byte(namesAndBytes[i]))
		outer.Write(inner[:])
	}
	return hex.EncodeToString(outer.Sum(nil))
}

// gridFile is a HEIC made of tiles.
func gridFile(tiles ...string) specimen.HEIF {
	h := specimen.HEIF{Width: 24, Height: 16, Kind: "grid", Settings: []byte("settings")}
	for _, tile := range tiles {
		h.Parts = append(h.Parts, specimen.Part{Kind: "hvc1", Reference: "dimg", Width: 12, Height: 16, Data: []byte(tile)})
	}
	return h
}

func TestPictureHashTellsPicturesApart(t *testing.T) {
	set := func(file []byte, find string, at int, b ...byte) []byte { return patch(file, find, at, b...) }
	jpeg, png, tiff := specimen.JPEG(24, 16), specimen.PNG(24, 16), specimen.TIFF(24, 16, specimen.Exif{})
	webp, heif := specimen.WebP(24, 16, nil), specimen.HEIF{Width: 24, Height: 16, Settings: []byte("settings")}.Bytes()
	grid := gridFile("one", "two").Bytes()
	palette := specimen.PNG(24, 16, specimen.Chunk("PLTE", []byte{1, 2, 3}))
	animated := set(webp, "VP8X", 8, 2)
	tests := []struct {
		name   string
		format container.Format
		a, b   []byte
	}{
		{"jpeg scan", container.JPEG, jpeg, set(jpeg, "\xff\xda", 20, 1, 2, 3)},
		{"jpeg size", container.JPEG, jpeg, set(jpeg, "\xff\xc0", 6, 17)},
		{"jpeg table", container.JPEG, jpeg, set(jpeg, "\xff\xdb", 9, 99)},
		{"jpeg colours", container.JPEG, jpeg, specimen.JPEG(24, 16, specimen.Segment(0xee, []byte("Adobe")))},
		{"png data", container.PNG, png, set(png, "IDAT", 10, 77)},
		{"png size", container.PNG, png, set(png, "IHDR", 7, 99)},
		{"png palette", container.PNG, palette, set(palette, "PLTE", 4, 9)},
		{"webp", container.WebP, webp, specimen.WebP(24, 17, nil)},
		{"webp animation's canvas", container.WebP, animated, set(animated, "VP8X", 12, 99)},
		{"tiff strip", container.TIFF, tiff, append(bytes.Clone(tiff[:len(tiff)-1]), 1)},
		{"tiff of other proportions", container.TIFF, tiff, specimen.TIFF(16, 24, specimen.Exif{})},
		{"heic data", container.HEIC, heif, set(heif, "coded picture", 0, 'C')},
		{"heic settings", container.HEIC, heif, set(heif, "settings", 0, 'S')},
		{"heic tile", container.HEIC, grid, gridFile("one", "twO").Bytes()},
		{"heic tiles in another order", container.HEIC, grid, gridFile("two", "one").Bytes()},
		{"heic tiles cut elsewhere", container.HEIC, grid, gridFile("onet", "wo").Bytes()},
		{"heic with a tile less", container.HEIC, grid, gridFile("one").Bytes()},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			a, b := pictureHash(t, tt.a, tt.format), pictureHash(t, tt.b, tt.format)
			if a == "" || b == "" || a == b {
				t.Errorf("hashes %q and %q, want two that differ", a, b)
			}
		})
	}
}

func TestPictureHashUnknown(t *testing.T) {
	jpeg, png, tiff := specimen.JPEG(24, 16), specimen.PNG(24, 16), specimen.TIFF(24, 16, specimen.Exif{})
	webp, heif := specimen.WebP(24, 16, nil), specimen.HEIF{Width: 24, Height: 16}.Bytes()
	tests := []struct {
		name   string
		format container.Format
		file   []byte
	}{
		{"nothing", container.JPEG, nil},
		{"text", container.JPEG, []byte("a note")},
		{"no format", "", jpeg},
		{"another format", container.PNG, jpeg},
		{"raw", container.Raw, specimen.RawAroundJPEG(jpeg)},
		{"raw boxes", container.Raw, specimen.RawBoxes(24, 16, said)},
		{"raw, said to be a TIFF", container.TIFF, specimen.RawTIFF{Exif: specimen.Exif{Main: rawPage}, JPEG: jpeg}.Bytes()},
		{"jpeg without its end", container.JPEG, jpeg[:len(jpeg)-2]},
		{"jpeg without picture data", container.JPEG, append(bytes.Clone(jpeg[:bytes.Index(jpeg, []byte("\xff\xda"))]), 0xff, 0xd9)},
		{"jpeg with an empty scan", container.JPEG, []byte("\xff\xd8\xff\xc0\x00\x08\x08\x00\x01\x00\x01\x00\xff\xda\x00\x02\xff\xd9")},
		{"png without its end", container.PNG, png[:len(png)-12]},
		{"png without data", container.PNG, bytes.Replace(png, []byte("IDAT"), []byte("idat"), 1)},
		{"webp cut", container.WebP, webp[:len(webp)-1]},
		{"tiff cut", container.TIFF, tiff[:len(tiff)-1]},
		{"tiff that is all previews", container.TIFF, specimen.TIFF(4, 2, specimen.Exif{Main: []specimen.Tag{specimen.Number(0x00fe, 1)}})},
		{"heic cut", container.HEIC, heif[:len(heif)-1]},
		{"heic of space set aside", container.HEIC, gridFile(string(make([]byte, 400))).Bytes()},
		{"heic grid without tiles", container.HEIC, gridFile().Bytes()},
		{"heic grid of an item that is not there", container.HEIC, patch(gridFile("one").Bytes(), "dimg", 8, 0, 99)},
		{"heic grid of itself", container.HEIC, patch(gridFile("one").Bytes(), "dimg", 8, 0, 1)},
		{"sequence without a still", container.HEIC, specimen.Film{Brand: "msf1", Width: 4, Height: 4}.Bytes()},
	}
	for _, tt := range tests {
		if got := pictureHash(t, tt.file, tt.format); got != "" {
			t.Errorf("%s: %s, want unknown", tt.name, got)
		}
	}
}

func TestPictureHashTellsOfTheReader(t *testing.T) {
	pulled := errors.New("the card was pulled out")
	sum, err := container.PictureHash(failing{specimen.JPEG(24, 16)[:40], pulled}, 1<<20, container.JPEG)
	if !errors.Is(err, pulled) || sum != [32]byte{} {
		t.Errorf("%x, error %v; want unknown, %v", sum, err, pulled)
	}
}

// TestPictureHashOfOverlaps has a small file whose grid is made of one tile
// 65535 times, at four levels: what is hashed must end it.
func TestPictureHashOfOverlaps(t *testing.T) {
	file := gridFile(string(bytes.Repeat([]byte("tile"), 1<<16))).Bytes()
	many := specimen.Box("dimg", []byte{0, 1, 0xff, 0xff}, bytes.Repeat([]byte{0, specimen.FirstPart}, 0xffff))
	at := bytes.Index(file, []byte("dimg")) - 4
	one := int(binary.BigEndian.Uint32(file[at:]))
	grown := append(append(bytes.Clone(file[:at]), many...), file[at+one:]...)
	for _, kind := range []string{"meta", "iref"} {
		length := grown[bytes.Index(grown, []byte(kind))-4:]
		binary.BigEndian.PutUint32(length, binary.BigEndian.Uint32(length)+uint32(len(many)-one))
	}
	// Offsets of items are not moved: the tile is other bytes, as many.
	if got := pictureHash(t, grown, container.HEIC); got != "" {
		t.Errorf("%s, want unknown: it would be 16 GB of picture", got)
	}
}

func BenchmarkPictureHash(b *testing.B) {
	file := specimen.JPEG(2400, 1800, specimen.ExifSegment(said.Block()))
	b.SetBytes(int64(len(file)))
	for b.Loop() {
		if _, err := container.PictureHash(bytes.NewReader(file), int64(len(file)), container.JPEG); err != nil {
			b.Fatal(err)
		}
	}
}
