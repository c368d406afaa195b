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
		specimen.RawBoxesWith(8, 8, full, specimen.JPEG(8, 8), specimen.JPEG(16, 16)),
		specimen.RawTIFF{
			Exif: specimen.Exif{Main: append([]specimen.Tag{specimen.Number(0x0106, 32803)}, full.Main...), Exif: []specimen.Tag{specimen.PhoneNote(pairID)}, GPS: full.GPS},
			Subs: [][]specimen.Tag{{{ID: 0x0201, Place: specimen.JPEGOffset}, {ID: 0x0202, Place: specimen.JPEGLength}}},
			JPEG: specimen.JPEG(8, 8),
		}.Bytes(),
		thumbed().Bytes(),
		specimen.HEIF{Kind: "grid", Width: 8, Height: 8, Parts: []specimen.Part{{Kind: "hvc1", Reference: "dimg", Width: 8, Height: 8, Data: []byte("tile")}}}.Bytes(),
		specimen.Mini{Width: 300, Height: 200, Exif: block}.Bytes(), specimen.Mini{Draft: true, Alpha: true, Width: 30, Height: 20}.Bytes(),
		specimen.Film{Brand: "msf1", Width: 8, Height: 8}.Bytes(),
		specimen.Film{Names: []string{"com.apple.quicktime.content.identifier"}, Values: map[string]string{"com.apple.quicktime.content.identifier": pairID}}.Bytes(),
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
		checkInside(t, b, info)
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

// checkInside looks whether what Info names lies inside of the file and is what
// it is said to be.
func checkInside(t *testing.T, b []byte, info metadata.Info) {
	t.Helper()
	if e := info.Embedded; e != (metadata.Embedded{}) {
		if e.Offset <= 0 || e.Length <= 0 || e.Offset > int64(len(b))-e.Length || e.Orientation < 1 || e.Orientation > 8 {
			t.Fatalf("embedded %+v in %d bytes", e, len(b))
		}
		if inner := b[e.Offset : e.Offset+e.Length]; metadata.Sniff(inner) != metadata.FormatJPEG || e.Width <= 0 || e.Height <= 0 {
			t.Errorf("embedded %+v is no picture", e)
		}
	}
	if th := info.Thumbnail; (th.Item == 0) != (th == metadata.Thumbnail{}) || th.Item != 0 && (th.Width <= 0 || th.Orientation < 1) {
		t.Errorf("thumbnail %+v", th)
	}
	if at := info.GPSTime; !at.IsZero() && (at.Year() < 1 || at.Year() > 9999) {
		t.Errorf("satellites' time %v", at)
	}
}

// FuzzPictureHash changes nothing but what follows the file: a picture has one
// hash, whatever is behind it, or none.
func FuzzPictureHash(f *testing.F) {
	for _, s := range seeds() {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		format := metadata.Sniff(b)
		sum, err := metadata.PictureHash(bytes.NewReader(b), int64(len(b)), format)
		if err != nil {
			t.Fatal(err)
		}
		again, _ := metadata.PictureHash(bytes.NewReader(b), int64(len(b)), format)
		unknown := sum == [32]byte{}
		if sum != again || !unknown && metadata.Complete(bytes.NewReader(b), int64(len(b))) == metadata.Incomplete {
			t.Errorf("%x, then %x, of a file that may be incomplete", sum, again)
		}
		// Behind the end of a JPEG or PNG nothing belongs to the picture.
		if format == metadata.FormatJPEG || format == metadata.FormatPNG {
			more := append(bytes.Clone(b), "behind the end"...)
			longer, _ := metadata.PictureHash(bytes.NewReader(more), int64(len(more)), format)
			if !unknown && longer != sum {
				t.Errorf("%x, with more behind it %x", sum, longer)
			}
		}
	})
}

func FuzzReadVideo(f *testing.F) {
	for _, s := range seeds() {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		v, err := metadata.ReadVideo(bytes.NewReader(b), int64(len(b)))
		if err != nil {
			if !errors.Is(err, metadata.ErrNotVideo) || v != (metadata.Video{}) {
				t.Fatalf("%+v, error %v; want nothing, %v", v, err, metadata.ErrNotVideo)
			}
			return
		}
		if metadata.Sniff(b) != "" {
			t.Errorf("a film, and a photo of format %q", metadata.Sniff(b))
		}
		if (v.Taken.From == "") != v.Taken.Wall.IsZero() || !utf8.ValidString(v.ContentID) || !utf8.ValidString(v.Taken.Raw) {
			t.Errorf("%+v", v)
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
