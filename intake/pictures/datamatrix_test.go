package pictures

import (
	"image"
	"image/color"
	"testing"

	"github.com/boombuler/barcode/datamatrix"
	"github.com/makiuchi-d/gozxing"
)

// checkered darkens every other square of a rectangle, in squares of 4 pixels.
func checkered(t *testing.T, bits *gozxing.BitMatrix, r image.Rectangle) {
	t.Helper()
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if (x/4+y/4)%2 == 0 {
				bits.Set(x, y)
			}
		}
	}
}

func TestPatchesAreCompactAndBusy(t *testing.T) {
	bits, err := gozxing.NewBitMatrix(640, 480)
	if err != nil {
		t.Fatal(err)
	}
	square, small := image.Rect(80, 80, 240, 240), image.Rect(400, 320, 480, 400)
	checkered(t, bits, square)
	checkered(t, bits, small)
	checkered(t, bits, image.Rect(320, 40, 600, 64)) // a line of text
	if err := bits.SetRegion(40, 320, 200, 120); err != nil {
		t.Fatal(err)
	} // a dark surface
	got := patches(bits)
	if len(got) < 2 {
		t.Fatalf("got %v, want the two squares", got)
	}
	for i, want := range []image.Rectangle{square, small} {
		p := image.Rect(got[i].left*cell, got[i].top*cell, got[i].right*cell, got[i].bottom*cell)
		if !p.Inset(-2*cell).In(want.Inset(-3*cell)) || !want.In(p.Inset(-cell)) {
			t.Errorf("patch %d is %v, want about %v", i, p, want)
		}
	}
}

func TestMatrixIsPlaced(t *testing.T) {
	code, err := datamatrix.Encode("S/N 20417-C")
	if err != nil {
		t.Fatal(err)
	}
	img := image.NewGray(image.Rect(0, 0, 1000, 800))
	for i := range img.Pix {
		img.Pix[i] = 190
	}
	drawBars(t, img, code, 600, 120, 160, 160)
	// At a slant gozxing finds only some, so quarter turns are what is promised.
	for _, degrees := range []float64{0, 90, 180, 270} {
		codes := seenIn(t, rotated(img, degrees), 1)
		if len(codes) != 1 || codes[0].Text != "S/N 20417-C" {
			t.Errorf("%g°: got %v", degrees, codes)
			continue
		}
		// 160 of 1000 × 800 pixels.
		if share, want := codes[0].Share, 160.0*160/800_000; share < 0.7*want || share > 1.3*want {
			t.Errorf("%g°: share is %.4f, want about %.4f", degrees, share, want)
		}
	}
	if codes := seenIn(t, img, 1); len(codes) == 1 && (codes[0].X < 0.66 || codes[0].X > 0.70 || codes[0].Y < 0.23 || codes[0].Y > 0.27) {
		t.Errorf("seen at %.2f, %.2f, want 0.68, 0.25", codes[0].X, codes[0].Y)
	}
}

// TestShortMatrixIsNotBelieved: three characters are what noise makes.
func TestShortMatrixIsNotBelieved(t *testing.T) {
	code, err := datamatrix.Encode("A1")
	if err != nil {
		t.Fatal(err)
	}
	img := image.NewGray(image.Rect(0, 0, 600, 600))
	for i := range img.Pix {
		img.SetGray(i%600, i/600, color.Gray{200})
	}
	drawBars(t, img, code, 220, 220, 150, 150)
	if codes := seenIn(t, img, 1); len(codes) != 0 {
		t.Errorf("got %v", codes)
	}
}
