package pictures

import (
	"bytes"
	"context"
	"image"
	"os"
	"path/filepath"
	"testing"

	"haulbook/metadata"
)

// previewOf draws a preview of original as it would be in the book.
func previewOf(t *testing.T, original []byte) image.Image {
	t.Helper()
	room := &Darkroom{Dir: t.TempDir()}
	preview, err := room.Preview(context.Background(), written(t, "p.jpg", original), photo("p.jpg", metadata.FormatJPEG, 1), Large)
	if err != nil {
		t.Fatal(err)
	}
	return drawn(t, preview)
}

func TestTruncatedJPEGShowsWhatIsThere(t *testing.T) {
	whole := encoded(t, corners(800, 640, red, green, blue, yellow))
	full := previewOf(t, whole)
	tests := map[string]struct {
		bytes []byte
		rows  int // that must be as in the whole picture
	}{
		"without its end":   {whole[:len(whole)-2], 600},
		"three quarters":    {whole[:len(whole)*3/4], 400},
		"half":              {whole[:len(whole)/2+200], 250},
		"a hole in the end": {append(bytes.Clone(whole[:len(whole)*3/4]), bytes.Repeat([]byte{0xff, 0xc9}, 50)...), 400},
	}
	for name, tt := range tests {
		got := previewOf(t, tt.bytes)
		if got.Bounds() != full.Bounds() {
			t.Errorf("%s: got %v, want the whole size %v", name, got.Bounds(), full.Bounds())
			continue
		}
		for _, x := range []int{100, 700} {
			for y := 20; y < tt.rows; y += 40 {
				if !near(got.At(x, y), full.At(x, y), 40) {
					t.Errorf("%s: %d, %d is %v, want %v", name, x, y, got.At(x, y), full.At(x, y))
				}
			}
		}
	}
}

// TestTruncatedProgressiveJPEG cuts real progressive files, as no encoder for them
// is at hand.
func TestTruncatedProgressiveJPEG(t *testing.T) {
	dir := corpus(t)
	paths, err := filepath.Glob(filepath.Join(dir, "exif", "*.jpg"))
	if err != nil {
		t.Fatal(err)
	}
	tried := 0
	for _, path := range paths {
		whole, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		at, err := findFrame(bytes.NewReader(whole), int64(len(whole)))
		if err != nil || whole[at+1] != 0xc2 {
			continue
		}
		if _, err := decodeJPEG(whole); err != nil {
			continue
		}
		ends := scanEnds(whole, int(at))
		if len(ends) < 3 {
			t.Errorf("%s: %d scans, want several", path, len(ends))
			continue
		}
		tried++
		got := mend(context.Background(), whole[:(ends[1]+ends[2])/2])
		if got == nil {
			t.Errorf("%s: nothing drawn of two scans", path)
		}
	}
	if tried == 0 {
		t.Error("no progressive file among the test photos")
	}
}

func TestLargest(t *testing.T) {
	for _, n := range []int{0, 1, 2, 7, 190} {
		for best := 0; best <= n; best++ {
			tries := 0
			got := largest(context.Background(), n, func(k int) image.Image {
				tries++
				if k < 1 || k > n {
					t.Fatalf("tried %d of %d", k, n)
				}
				if k > best {
					return nil
				}
				return image.NewGray(image.Rect(0, 0, k, 1))
			})
			if best == 0 && got != nil || best > 0 && (got == nil || got.Bounds().Dx() != best) {
				t.Errorf("of %d: got %v, want %d", n, got, best)
			}
			if tries > 9 {
				t.Errorf("of %d: %d tries", n, tries)
			}
		}
	}
	ended, cancel := context.WithCancel(context.Background())
	cancel()
	if got := largest(ended, 5, func(int) image.Image { return image.NewGray(image.Rect(0, 0, 1, 1)) }); got != nil {
		t.Errorf("got %v after the end of the context", got)
	}
}

// FuzzMend: damaged pictures are what it is for.
func FuzzMend(f *testing.F) {
	small := encoded(f, corners(48, 32, red, green, blue, yellow))
	f.Add(small)
	f.Add(small[:len(small)*2/3])
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := costOf(bytes.NewReader(data), int64(len(data)), metadata.Info{Format: metadata.FormatJPEG})
		if err != nil || c.bytes > 1<<20 {
			return
		}
		if img := mend(t.Context(), data); img != nil && img.Bounds().Empty() {
			t.Error("a picture without pixels")
		}
	})
}
