package pictures

import (
	"image"
	"image/color"
	"image/draw"
	"testing"
)

// TestEveryPictureTypeBecomesTheSameFrame: whatever type a decoder returns, the
// same colours come out. Chroma is shared by four pixels, so the areas are flat.
func TestEveryPictureTypeBecomesTheSameFrame(t *testing.T) {
	for _, size := range []image.Point{{64, 48}, {63, 47}, {64, 47}, {2, 2}} {
		want := corners(size.X, size.Y, red, green, blue, yellow)
		b := want.Bounds()
		shifted := image.NewRGBA(image.Rect(5, 7, 5+size.X, 7+size.Y))
		pictures := map[string]draw.Image{
			"RGBA": image.NewRGBA(b), "NRGBA": image.NewNRGBA(b), "RGBA64": image.NewRGBA64(b), "NRGBA64": image.NewNRGBA64(b),
			"Paletted": image.NewPaletted(b, color.Palette{red, green, blue, yellow}), "CMYK": image.NewCMYK(b), "shifted": shifted,
		}
		for name, img := range pictures {
			draw.Draw(img, img.Bounds(), want, image.Point{}, draw.Src)
			got := ycbcr(img)
			if got.Rect != b {
				t.Errorf("%s %v: got %v, want it at the origin", name, size, got.Rect)
				continue
			}
			for _, at := range []image.Point{{0, 0}, {size.X - 1, 0}, {0, size.Y - 1}, {size.X - 1, size.Y - 1}} {
				if !near(got.At(at.X, at.Y), want.At(at.X, at.Y), 8) && size.X%4 == 0 {
					t.Errorf("%s %v: %v is %v, want %v", name, size, at, got.At(at.X, at.Y), want.At(at.X, at.Y))
				}
			}
		}
	}
}

func TestGreyIsNotCopied(t *testing.T) {
	img := image.NewGray(image.Rect(0, 0, 33, 21))
	img.SetGray(20, 10, color.Gray{77})
	got := ycbcr(img)
	if &got.Y[0] != &img.Pix[0] {
		t.Error("the luma was copied")
	}
	for y := range 21 {
		for x := range 33 {
			r, g, b, _ := got.At(x, y).RGBA()
			if want := uint32(img.GrayAt(x, y).Y); r>>8 != want || g>>8 != want || b>>8 != want {
				t.Fatalf("%d, %d is %v, want grey %d", x, y, got.At(x, y), want)
			}
		}
	}
}

// TestTransparentIsWhite: a cut-out picture of a thing must not come out on black.
func TestTransparentIsWhite(t *testing.T) {
	half := color.NRGBA{200, 0, 0, 128}
	straight, multiplied := image.NewNRGBA(image.Rect(0, 0, 8, 8)), image.NewRGBA(image.Rect(0, 0, 8, 8))
	for y := 4; y < 8; y++ {
		for x := range 8 {
			straight.Set(x, y, half)
			multiplied.Set(x, y, half)
		}
	}
	for name, img := range map[string]image.Image{"straight": straight, "multiplied": multiplied} {
		got := ycbcr(img)
		if !near(got.At(2, 2), color.White, 2) {
			t.Errorf("%s: nothing became %v, want white", name, got.At(2, 2))
		}
		if want := (color.RGBA{227, 127, 127, 255}); !near(got.At(2, 6), want, 6) {
			t.Errorf("%s: half red became %v, want %v", name, got.At(2, 6), want)
		}
	}
}

// TestChromaSize agrees with the standard library about every subsampling.
func TestChromaSize(t *testing.T) {
	for _, ratio := range []image.YCbCrSubsampleRatio{
		image.YCbCrSubsampleRatio444, image.YCbCrSubsampleRatio422, image.YCbCrSubsampleRatio420,
		image.YCbCrSubsampleRatio440, image.YCbCrSubsampleRatio411, image.YCbCrSubsampleRatio410,
	} {
		for _, size := range []image.Point{{16, 16}, {17, 9}, {15, 31}, {1, 1}, {3, 2}} {
			want := image.NewYCbCr(image.Rect(0, 0, size.X, size.Y), ratio)
			if w, h := chromaSize(ratio, size.X, size.Y); w != want.CStride || w*h != len(want.Cb) {
				t.Errorf("%v of %v: got %d × %d, want %d × %d", ratio, size, w, h, want.CStride, len(want.Cb)/want.CStride)
			}
		}
	}
}

// TestEverySubsamplingShrinks: cameras write 4:2:2 and 4:4:4 as well as 4:2:0.
func TestEverySubsamplingShrinks(t *testing.T) {
	for _, ratio := range []image.YCbCrSubsampleRatio{
		image.YCbCrSubsampleRatio444, image.YCbCrSubsampleRatio422, image.YCbCrSubsampleRatio420,
		image.YCbCrSubsampleRatio440, image.YCbCrSubsampleRatio411, image.YCbCrSubsampleRatio410,
	} {
		img := image.NewYCbCr(image.Rect(0, 0, 1201, 803), ratio)
		want := corners(1201, 803, red, green, blue, yellow)
		for y := range 803 {
			for x := range 1201 {
				c := color.YCbCrModel.Convert(want.At(x, y)).(color.YCbCr)
				img.Y[img.YOffset(x, y)], img.Cb[img.COffset(x, y)], img.Cr[img.COffset(x, y)] = c.Y, c.Cb, c.Cr
			}
		}
		for _, long := range []int{480, 1000, 1600} {
			small := frame{img: img}.shrunk(long)
			if got := max(small.img.Rect.Dx(), small.img.Rect.Dy()); got != min(long, 1201) {
				t.Errorf("%v to %d: got %d", ratio, long, got)
			}
			wantCorners(t, ratio.String(), small.upright())
		}
	}
}
