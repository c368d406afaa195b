package pictures

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"image/png"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"golang.org/x/image/tiff"

	"haulbook/intake"
	"haulbook/metadata"
)

func idOf(name string) intake.PhotoID { return sha256.Sum256([]byte(name)) }

// written puts an original where the darkroom can read it.
func written(t *testing.T, name string, original []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, original, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func photo(name string, format metadata.Format, orientation int) intake.Photo {
	return intake.Photo{ID: idOf(name), Name: name, Meta: metadata.Info{Format: format, Orientation: orientation}}
}

func drawn(t *testing.T, path string) image.Image {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	img, err := jpeg.Decode(file)
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return img
}

var (
	red    = color.RGBA{255, 0, 0, 255}
	green  = color.RGBA{0, 255, 0, 255}
	blue   = color.RGBA{0, 0, 255, 255}
	yellow = color.RGBA{255, 255, 0, 255}
)

// corners draws four coloured quarters, named clockwise from the upper left.
func corners(w, h int, tl, tr, br, bl color.Color) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(img, image.Rect(0, 0, w/2, h/2), image.NewUniform(tl), image.Point{}, draw.Src)
	draw.Draw(img, image.Rect(w/2, 0, w, h/2), image.NewUniform(tr), image.Point{}, draw.Src)
	draw.Draw(img, image.Rect(w/2, h/2, w, h), image.NewUniform(br), image.Point{}, draw.Src)
	draw.Draw(img, image.Rect(0, h/2, w/2, h), image.NewUniform(bl), image.Point{}, draw.Src)
	return img
}

// wantCorners checks that a picture is upright: red, green, blue, yellow.
func wantCorners(t *testing.T, name string, img image.Image) {
	t.Helper()
	b := img.Bounds()
	for i, want := range []color.RGBA{red, green, blue, yellow} {
		x, y := b.Dx()/30, b.Dy()/30
		if i == 1 || i == 2 {
			x = b.Dx() - 1 - x
		}
		if i >= 2 {
			y = b.Dy() - 1 - y
		}
		if got := img.At(b.Min.X+x, b.Min.Y+y); !near(got, want, 60) {
			t.Errorf("%s: corner %d clockwise from the upper left is %v, want %v", name, i, got, want)
		}
	}
}

func near(a, b color.Color, by int) bool {
	r1, g1, b1, _ := a.RGBA()
	r2, g2, b2, _ := b.RGBA()
	off := func(x, y uint32) bool { return max(x, y)-min(x, y) > uint32(by)<<8 }
	return !off(r1, r2) && !off(g1, g2) && !off(b1, b2)
}

// TestPreviewsAreUpright stores a picture in each of the eight ways that
// jpegexiforient(1) lists and expects the same picture back.
func TestPreviewsAreUpright(t *testing.T) {
	stored := map[int]*image.RGBA{
		1: corners(900, 600, red, green, blue, yellow),
		2: corners(900, 600, green, red, yellow, blue),
		3: corners(900, 600, blue, yellow, red, green),
		4: corners(900, 600, yellow, blue, green, red),
		5: corners(600, 900, red, yellow, blue, green),
		6: corners(600, 900, green, blue, yellow, red),
		7: corners(600, 900, blue, green, red, yellow),
		8: corners(600, 900, yellow, red, green, blue),
	}
	for orientation, img := range stored {
		room := &Darkroom{Dir: t.TempDir()}
		path, p := written(t, "p.jpg", encoded(t, img)), photo("p.jpg", metadata.FormatJPEG, orientation)
		if _, err := room.Look(context.Background(), path, p); err != nil {
			t.Fatal(err)
		}
		for size, want := range map[Size]image.Point{Small: {480, 320}, Large: {900, 600}, Full: {900, 600}} {
			preview, err := room.Preview(context.Background(), path, p, size)
			if err != nil {
				t.Fatal(err)
			}
			got := drawn(t, preview)
			if got.Bounds().Size() != want {
				t.Errorf("orientation %d: got %v, want %v", orientation, got.Bounds().Size(), want)
			}
			wantCorners(t, filepath.Base(preview), got)
		}
	}
}

// TestPreviewsCarryNoMetadata: originals hold where the owner lives. A preview has
// the segments that decoding needs and no other (ITU-T T.81, B.1.1.3).
func TestPreviewsCarryNoMetadata(t *testing.T) {
	secret := "Exif\x00\x00II*\x00 latitude 51.4779 of the owner"
	plain := encoded(t, scene(800, 600, 2))
	segment := append([]byte{0xff, 0xe1, 0, byte(len(secret) + 2)}, secret...)
	path := written(t, "p.jpg", bytes.Join([][]byte{plain[:2], segment, plain[2:]}, nil))
	room := &Darkroom{Dir: t.TempDir()}
	p := photo("p.jpg", metadata.FormatJPEG, 1)
	for _, size := range []Size{Small, Large, Full} {
		preview, err := room.Preview(context.Background(), path, p, size)
		if err != nil {
			t.Fatal(err)
		}
		got, err := os.ReadFile(preview)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(got, []byte("Exif")) || bytes.Contains(got, []byte("latitude")) {
			t.Errorf("%d: the metadata came along", size)
		}
		for at := 2; got[at+1] != 0xda; at += 2 + int(got[at+2])<<8 + int(got[at+3]) {
			if marker := got[at+1]; marker != 0xdb && marker != 0xc0 && marker != 0xc4 {
				t.Errorf("%d: segment %#x has no business in a preview", size, marker)
			}
		}
	}
}

func TestPreviewsAreLight(t *testing.T) {
	room := &Darkroom{Dir: t.TempDir()}
	path, p := written(t, "p.jpg", encoded(t, scene(2400, 1800, 9))), photo("p.jpg", metadata.FormatJPEG, 1)
	for size, most := range map[Size]int64{Small: 40_000, Large: 400_000} {
		preview, err := room.Preview(context.Background(), path, p, size)
		if err != nil {
			t.Fatal(err)
		}
		stat, err := os.Stat(preview)
		if err != nil {
			t.Fatal(err)
		}
		if stat.Size() > most {
			t.Errorf("%d: %d bytes, want at most %d", size, stat.Size(), most)
		}
		if b := drawn(t, preview).Bounds(); b.Dx() != int(size) {
			t.Errorf("got %v, want a long edge of %d", b, size)
		}
	}
}

func TestEveryFormatIsDrawn(t *testing.T) {
	img := corners(640, 480, red, green, blue, yellow)
	clear := image.NewNRGBA(img.Bounds())
	draw.Draw(clear, img.Bounds(), img, image.Point{}, draw.Src)
	deep := image.NewNRGBA64(img.Bounds())
	draw.Draw(deep, img.Bounds(), img, image.Point{}, draw.Src)
	few := image.NewPaletted(img.Bounds(), color.Palette{red, green, blue, yellow})
	draw.Draw(few, img.Bounds(), img, image.Point{}, draw.Src)
	encodings := map[string]struct {
		format metadata.Format
		img    image.Image
	}{
		"rgb.png":  {metadata.FormatPNG, img},
		"rgba.png": {metadata.FormatPNG, clear},
		"deep.png": {metadata.FormatPNG, deep},
		"few.png":  {metadata.FormatPNG, few},
		"rgb.tif":  {metadata.FormatTIFF, img},
		"deep.tif": {metadata.FormatTIFF, deep},
		"p.jpg":    {metadata.FormatJPEG, img},
	}
	for name, e := range encodings {
		var out bytes.Buffer
		var err error
		switch e.format {
		case metadata.FormatPNG:
			err = png.Encode(&out, e.img)
		case metadata.FormatTIFF:
			err = tiff.Encode(&out, e.img, &tiff.Options{Compression: tiff.Deflate})
		default:
			err = jpeg.Encode(&out, e.img, nil)
		}
		if err != nil {
			t.Fatal(err)
		}
		room := &Darkroom{Dir: t.TempDir()}
		preview, err := room.Preview(context.Background(), written(t, name, out.Bytes()), photo(name, e.format, 1), Large)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		wantCorners(t, name, drawn(t, preview))
	}
}

func TestWhatCannotBeDrawn(t *testing.T) {
	tests := map[string]struct {
		format metadata.Format
		bytes  []byte
	}{
		"empty.jpg":  {metadata.FormatJPEG, nil},
		"text.png":   {metadata.FormatPNG, []byte("not a picture at all")},
		"p.avif":     {metadata.FormatAVIF, []byte("\x00\x00\x00\x1cftypavif")},
		"p.raw":      {metadata.FormatRaw, []byte("II*\x00")},
		"p.heic":     {metadata.FormatHEIC, []byte("\x00\x00\x00\x1cftypheic")}, // no worker
		"unknown":    {"", []byte("GIF89a")},
		"head.webp":  {metadata.FormatWebP, []byte("RIFF\x10\x00\x00\x00WEBPVP8 ")},
		"start.jpg":  {metadata.FormatJPEG, encoded(t, scene(64, 64, 1))[:300]},
		"no ifd.tif": {metadata.FormatTIFF, []byte("II*\x00\x08\x00\x00\x00\x00\x00")},
	}
	for name, tt := range tests {
		room := &Darkroom{Dir: t.TempDir()}
		_, err := room.Look(context.Background(), written(t, "original", tt.bytes), photo(name, tt.format, 1))
		if !errors.Is(err, ErrNoPicture) || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: got %v, want an ErrNoPicture that names the file", name, err)
		}
		if left := files(t, room.Dir); len(left) != 0 {
			t.Errorf("%s: left %v behind", name, left)
		}
	}
	room := &Darkroom{Dir: t.TempDir()}
	if _, err := room.Look(context.Background(), filepath.Join(t.TempDir(), "gone.jpg"), photo("gone.jpg", metadata.FormatJPEG, 1)); !errors.Is(err, ErrNoPicture) {
		t.Errorf("got %v, want ErrNoPicture for an original that is gone", err)
	}
	if _, err := room.Preview(context.Background(), "x", photo("x", metadata.FormatJPEG, 1), 777); !errors.Is(err, intake.ErrInvalid) {
		t.Errorf("got %v, want ErrInvalid for a size that does not exist", err)
	}
}

// files lists what lies under a folder.
func files(t *testing.T, dir string) []string {
	t.Helper()
	var names []string
	err := filepath.WalkDir(dir, func(path string, entry fs.DirEntry, err error) error {
		if err == nil && !entry.IsDir() {
			names = append(names, entry.Name())
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}

func TestPreviewIsDrawnOnceAndAgainWhenMissing(t *testing.T) {
	room := &Darkroom{Dir: t.TempDir()}
	path, p := written(t, "p.jpg", encoded(t, scene(600, 400, 2))), photo("p.jpg", metadata.FormatJPEG, 1)
	first, err := room.Preview(context.Background(), path, p, Small)
	if err != nil {
		t.Fatal(err)
	}
	id := p.ID.String()
	if want := filepath.Join(room.Dir, id[:2], id+"-480.jpg"); first != want {
		t.Errorf("got %s, want %s", first, want)
	}
	// With the preview there, the original is not even opened.
	if again, err := room.Preview(context.Background(), "gone", p, Small); err != nil || again != first {
		t.Errorf("got %s, %v; want %s", again, err, first)
	}
	if err := os.Remove(first); err != nil {
		t.Fatal(err)
	}
	if again, err := room.Preview(context.Background(), path, p, Small); err != nil || again != first {
		t.Errorf("got %s, %v; want it drawn again", again, err)
	}
}

func TestEraseLeavesNothing(t *testing.T) {
	room := &Darkroom{Dir: t.TempDir()}
	path, p := written(t, "p.jpg", encoded(t, scene(600, 400, 2))), photo("p.jpg", metadata.FormatJPEG, 1)
	if err := room.Erase(p.ID); err != nil {
		t.Errorf("nothing to erase: %v", err)
	}
	if _, err := room.Look(context.Background(), path, p); err != nil {
		t.Fatal(err)
	}
	other := p
	other.ID[31]++ // its previews lie in the same folder
	if _, err := room.Preview(context.Background(), path, other, Full); err != nil {
		t.Fatal(err)
	}
	unfinished := room.path(p.ID, Small) + ".123.part"
	if err := os.WriteFile(unfinished, []byte("half a picture"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := room.Erase(p.ID); err != nil {
		t.Fatal(err)
	}
	if left := files(t, room.Dir); len(left) != 1 || !strings.HasPrefix(left[0], other.ID.String()) {
		t.Errorf("left %v, want the other photo's preview alone", left)
	}
}

func TestCancelledLookLeavesNothing(t *testing.T) {
	room := &Darkroom{Dir: t.TempDir()}
	path, p := written(t, "p.jpg", encoded(t, scene(600, 400, 2))), photo("p.jpg", metadata.FormatJPEG, 1)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := room.Look(ctx, path, p); !errors.Is(err, context.Canceled) || errors.Is(err, ErrNoPicture) {
		t.Errorf("got %v, want the context's error alone", err)
	}
	if left := files(t, room.Dir); len(left) != 0 {
		t.Errorf("left %v behind", left)
	}
}

// TestLooksShareOneBudget runs many looks at once with room for one at a time.
func TestLooksShareOneBudget(t *testing.T) {
	room := &Darkroom{Dir: t.TempDir(), Budget: 1}
	path := written(t, "p.jpg", encoded(t, scene(400, 300, 2)))
	var all sync.WaitGroup
	for i := range 12 {
		all.Go(func() {
			p := photo(string(rune('a'+i%4)), metadata.FormatJPEG, 1)
			if _, err := room.Look(context.Background(), path, p); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	if left := files(t, room.Dir); len(left) != 8 {
		t.Errorf("got %v, want two previews of four photos and no temporaries", left)
	}
}

func TestFailedWriteIsNoErrNoPicture(t *testing.T) {
	blocked := written(t, "file", nil) // a file where the folder should be
	room := &Darkroom{Dir: blocked}
	path, p := written(t, "p.jpg", encoded(t, scene(400, 300, 2))), photo("p.jpg", metadata.FormatJPEG, 1)
	if _, err := room.Look(context.Background(), path, p); err == nil || errors.Is(err, ErrNoPicture) {
		t.Errorf("got %v, want an error of the disk", err)
	}
}
