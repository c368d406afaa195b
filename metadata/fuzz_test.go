package metadata_test

import (
	"bytes"
	"errors"
	"testing"
	"unicode"
	"unicode/utf8"

	"haulbook/metadata"
	"haulbook/metadata/container/specimen"
)

// seeds are small files of every kind, whole and with one thing wrong.
func seeds() [][]byte {
	block := full.Block()
	loop := full
	loop.Next = specimen.MainOffset
	overflow := specimen.Exif{Main: []specimen.Tag{{ID: 0x010f, Type: 12, Numbers: []uint32{1}, ClaimCount: 0x20000001}}, Exif: full.Exif}
	heif := specimen.HEIF{Width: 24, Height: 16, Exif: block, Turns: [][]byte{specimen.Rotation(1), specimen.Mirror(1)}}
	idat, item, split := heif, heif, heif
	idat.Method, idat.IlocVersion = specimen.InIdat, 1
	item.Method, item.IlocVersion = specimen.InItem, 2
	split.Split, split.Brand = true, "avif"
	text := append([]byte("Raw profile type exif\x00\nexif\n8\n"), "4d4d002a00000008"...)
	return [][]byte{
		specimen.JPEG(8, 8), jpegWith(full), jpegWith(loop), jpegWith(overflow), jpegWith(full)[:200],
		specimen.PNG(8, 8, specimen.Chunk("eXIf", block)), specimen.PNG(8, 8, specimen.Chunk("tEXt", text)),
		specimen.WebP(8, 8, block), specimen.TIFF(8, 8, full), specimen.TIFF(8, 8, loop),
		heif.Bytes(), idat.Bytes(), item.Bytes(), split.Bytes(), heif.Bytes()[:150],
		specimen.RawBoxes(8, 8, full), specimen.RawAroundJPEG(jpegWith(full)),
		[]byte("II+\x00\x08\x00\x00\x00\x10\x00\x00\x00\x00\x00\x00\x00"),
		[]byte("IIU\x00\x08\x00\x00\x00\x00\x00"), {}, []byte("text"),
	}
}

func FuzzRead(f *testing.F) {
	for _, s := range seeds() {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		info, err := metadata.Read(bytes.NewReader(b), int64(len(b)))
		if err != nil {
			if !errors.Is(err, metadata.ErrNotPhoto) || info != (metadata.Info{}) {
				t.Fatalf("%+v, error %v; want nothing, %v", info, err, metadata.ErrNotPhoto)
			}
			return
		}
		if info.Format == "" || metadata.Sniff(b) == "" {
			t.Errorf("format %q, sniffed %q: want both", info.Format, metadata.Sniff(b))
		}
		if info.Orientation < 1 || info.Orientation > 8 || info.ExifOrientation < 0 || info.ExifOrientation > 8 {
			t.Errorf("orientation %d, Exif %d", info.Orientation, info.ExifOrientation)
		}
		if info.Width < 0 || info.Height < 0 {
			t.Errorf("size %dx%d", info.Width, info.Height)
		}
		for _, s := range []string{info.Make, info.Model, info.BodySerial, info.Lens} {
			for _, r := range s {
				if unicode.IsControl(r) {
					t.Errorf("control character in %q", s)
				}
			}
			if !utf8.ValidString(s) {
				t.Errorf("invalid UTF-8 in %q", s)
			}
		}
		if (info.Taken.From == "") != info.Taken.Wall.IsZero() {
			t.Errorf("wall %v from %q", info.Taken.Wall, info.Taken.From)
		}
		if p := info.Position; p != nil && !(p.Latitude >= -90 && p.Latitude <= 90 && p.Longitude >= -180 && p.Longitude <= 180) {
			t.Errorf("position %v", *p)
		}
	})
}

func FuzzComplete(f *testing.F) {
	for _, s := range seeds() {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		state := metadata.Complete(bytes.NewReader(b), int64(len(b)))
		info, err := metadata.Read(bytes.NewReader(b), int64(len(b)))
		if err == nil && state == metadata.Incomplete && info.Damage == "" {
			t.Errorf("incomplete, but no damage told: %+v", info)
		}
		if err != nil && state == metadata.Whole {
			t.Errorf("whole, but %v", err)
		}
	})
}
