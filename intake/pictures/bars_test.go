package pictures

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"math/rand/v2"
	"testing"

	"haulbook/intake"
)

// TestBarsAreFoundAtAnyTurn: the place, the direction and the reach of a drawn code.
func TestBarsAreFoundAtAnyTurn(t *testing.T) {
	for _, degrees := range []float64{0, 12, 45, 77, 90, 133, 179} {
		img := image.NewGray(image.Rect(0, 0, 900, 900))
		draw.Draw(img, img.Rect, image.NewUniform(color.Gray{200}), image.Point{}, draw.Src)
		for x := 300; x < 600; x += 6 {
			draw.Draw(img, image.Rect(x, 400, x+3, 500), image.Black, image.Point{}, draw.Src)
		}
		p := frame{img: ycbcr(rotated(img, degrees))}.luma()
		got := barsIn(plane{pix: p.pix[150*p.stride+150:], stride: p.stride, w: 600, h: 600})
		if len(got) == 0 {
			t.Errorf("%g°: nothing found", degrees)
			continue
		}
		b := got[0]
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		if turned := math.Abs(b.ux*cos + b.uy*sin); turned < 0.99 {
			t.Errorf("%g°: they run along %.2f, %.2f", degrees, b.ux, b.uy)
		}
		if math.Hypot(b.x-300, b.y-300) > 8 || math.Abs(b.along-150) > 20 || math.Abs(b.wide-50) > 20 {
			t.Errorf("%g°: found %+v, want 150 by 50 around 300, 300", degrees, b)
		}
	}
}

// TestNoBarsWithoutDirection: noise and checks change along every direction.
func TestNoBarsWithoutDirection(t *testing.T) {
	p := frame{img: ycbcr(noise(640, 480, 3))}.luma()
	for y := range p.h {
		for x, row := 0, p.row(y); x < p.w; x++ {
			row[x] = byte(x*x*31+y*y*17+x*y) & 0xf0
		}
	}
	if got := barsIn(p); len(got) != 0 {
		t.Errorf("found %+v in noise", got)
	}
}

// TestPlaceOfATiltedLinearCode: where it is seen, and how much of the picture it fills.
func TestPlaceOfATiltedLinearCode(t *testing.T) {
	img := image.NewGray(image.Rect(0, 0, 1600, 1200))
	draw.Draw(img, img.Rect, image.NewUniform(color.Gray{170}), image.Point{}, draw.Src)
	drawBars(t, img, code128Of(t, "SN-0042917"), 500, 540, 600, 120)
	codes := seenIn(t, rotated(img, 30), 1)
	if len(codes) != 1 || codes[0].Symbology != intake.SymbologyCode128 {
		t.Fatalf("got %v", codes)
	}
	c := codes[0]
	if math.Abs(c.X-0.5) > 0.01 || math.Abs(c.Y-0.5) > 0.01 {
		t.Errorf("seen at %.3f, %.3f, want the middle", c.X, c.Y)
	}
	if want := 600.0 * 120 / (1600 * 1200); c.Share < 0.6*want || c.Share > 1.3*want {
		t.Errorf("share is %.4f, want about %.4f", c.Share, want)
	}
}

// TestSoftLinearCodesAreRead: a code out of focus, and one in low light, turned.
func TestSoftLinearCodesAreRead(t *testing.T) {
	for _, degrees := range []float64{0, 25, 90} {
		img := image.NewGray(image.Rect(0, 0, 1600, 1200))
		draw.Draw(img, img.Rect, image.NewUniform(color.Gray{170}), image.Point{}, draw.Src)
		drawBars(t, img, code128Of(t, "SN-0042917"), 500, 540, 600, 120)
		soft := image.NewGray(img.Rect)
		draw.Draw(soft, img.Rect, rotated(img, degrees), image.Point{}, draw.Src)
		blurred(soft, 2)
		r := rand.New(rand.NewPCG(1, 2))
		for i, v := range soft.Pix {
			soft.Pix[i] = byte(int(v)/4 + 10 + r.IntN(9))
		}
		if codes := seenIn(t, soft, 1); len(codes) != 1 || codes[0].Text != "SN-0042917" {
			t.Errorf("%g°: got %v", degrees, codes)
		}
	}
}
