package pictures

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	qrcode "github.com/skip2/go-qrcode"

	"haulbook/intake"
	"haulbook/metadata"
)

// scene draws an invented photo: shaded ground, boxes and slots in many sizes, and
// the noise of a sensor. It holds no code.
func scene(w, h int, seed uint64) *image.RGBA {
	r := rand.New(rand.NewPCG(seed, 1))
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.SetRGBA(x, y, color.RGBA{byte(90 + 80*x/w), byte(100 + 60*y/h), byte(110 + 40*(x+y)/(w+h)), 255})
		}
	}
	for range 160 {
		x, y, dx, dy := r.IntN(w), r.IntN(h), 4+r.IntN(w/6), 4+r.IntN(h/8)
		c := color.RGBA{byte(r.IntN(256)), byte(r.IntN(256)), byte(r.IntN(256)), 255}
		draw.Draw(img, image.Rect(x, y, x+dx, y+dy), image.NewUniform(c), image.Point{}, draw.Src)
	}
	for i := range img.Pix {
		if i%4 != 3 {
			img.Pix[i] = byte(max(0, min(255, int(img.Pix[i])+r.IntN(13)-6)))
		}
	}
	return img
}

// encoded returns img as a JPEG of a camera's quality.
func encoded(tb testing.TB, img image.Image) []byte {
	tb.Helper()
	var out bytes.Buffer
	if err := jpeg.Encode(&out, img, &jpeg.Options{Quality: 92}); err != nil {
		tb.Fatal(err)
	}
	return out.Bytes()
}

// tagged draws a QR of size pixels with its upper left corner at x, y.
func tagged(tb testing.TB, img draw.Image, text string, x, y, size int) {
	tb.Helper()
	code, err := qrcode.New(text, qrcode.Medium)
	if err != nil {
		tb.Fatal(err)
	}
	draw.Draw(img, image.Rect(x, y, x+size, y+size), code.Image(size), image.Point{}, draw.Src)
}

func BenchmarkLook12MP(b *testing.B) {
	plain := scene(4032, 3024, 1)
	with := scene(4032, 3024, 1)
	tagged(b, with, "http://192.168.1.20:8417/T/7K3M9Q2D", 2500, 1700, 360)
	for _, bench := range []struct {
		name string
		img  image.Image
	}{{"no code", plain}, {"one tag", with}} {
		b.Run(bench.name, func(b *testing.B) {
			path := filepath.Join(b.TempDir(), "photo.jpg")
			if err := os.WriteFile(path, encoded(b, bench.img), 0o600); err != nil {
				b.Fatal(err)
			}
			room := &Darkroom{Dir: b.TempDir()}
			p := intake.Photo{ID: idOf(bench.name), Meta: metadata.Info{Format: metadata.FormatJPEG, Orientation: 6}}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := room.Look(context.Background(), path, p); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkSearch12MP(b *testing.B) {
	luma := frame{img: ycbcr(scene(4032, 3024, 1))}.luma()
	for b.Loop() {
		if _, err := search(context.Background(), luma, fitted(luma, middle)); err != nil {
			b.Fatal(err)
		}
	}
}

// noise is random bars and dots of random grey, the worst a wall or a grille can
// do to a reader of codes.
func noise(w, h int, seed uint64) *image.Gray {
	r := rand.New(rand.NewPCG(seed, 2))
	img := image.NewGray(image.Rect(0, 0, w, h))
	for y := 0; y < h; {
		height := 1 + r.IntN(60)
		for x := 0; x < w; {
			width, v := 1+r.IntN(9), byte(r.IntN(2)*180+r.IntN(60))
			draw.Draw(img, image.Rect(x, y, x+width, y+height), image.NewUniform(color.Gray{v}), image.Point{}, draw.Src)
			x += width
		}
		y += height
	}
	return img
}
