package pictures

import (
	"image"
	"image/color"
	"math"
	"testing"

	"github.com/makiuchi-d/gozxing/common"
	qrcode "github.com/skip2/go-qrcode"

	"haulbook/intake"
)

// slanted draws a QR of this text into the four corners given, clockwise from its
// upper left, with its quiet zone, on a scene.
func slanted(t *testing.T, text string, level qrcode.RecoveryLevel, corners [4]point) *image.RGBA {
	t.Helper()
	code, err := qrcode.New(text, level)
	if err != nil {
		t.Fatal(err)
	}
	modules := code.Bitmap() // with a quiet zone of four
	n := float64(len(modules))
	c := corners
	back := common.PerspectiveTransform_QuadrilateralToQuadrilateral(
		c[0].x, c[0].y, c[1].x, c[1].y, c[2].x, c[2].y, c[3].x, c[3].y, 0, 0, n, 0, n, n, 0, n)
	img := scene(1200, 900, 11)
	for y := range 900 {
		for x := range 1200 {
			// Four samples a pixel, as a sensor averages.
			dark, in := 0, 0
			for _, at := range []point{{0.25, 0.25}, {0.75, 0.25}, {0.25, 0.75}, {0.75, 0.75}} {
				xy := []float64{float64(x) + at.x, float64(y) + at.y}
				back.TransformPoints(xy)
				if xy[0] >= 0 && xy[1] >= 0 && xy[0] < n && xy[1] < n {
					in++
					if modules[int(xy[1])][int(xy[0])] {
						dark++
					}
				}
			}
			if in == 4 {
				img.Set(x, y, color.Gray{byte(225 - 50*dark)})
			}
		}
	}
	return img
}

// TestSlantedTagsAreRead photographs tags from the side, as cases on a shelf are.
func TestSlantedTagsAreRead(t *testing.T) {
	const tag = "http://192.168.1.20:8417/T/7K3M9Q2D"
	tests := map[string]struct {
		text    string
		level   qrcode.RecoveryLevel
		corners [4]point
	}{
		"from the left":   {tag, qrcode.Medium, [4]point{{300, 200}, {700, 280}, {700, 620}, {300, 700}}},
		"from above":      {tag, qrcode.Medium, [4]point{{340, 200}, {700, 200}, {760, 560}, {280, 560}}},
		"from a corner":   {tag, qrcode.Medium, [4]point{{300, 240}, {720, 200}, {680, 560}, {330, 640}}},
		"small symbol":    {"2026.14", qrcode.Low, [4]point{{300, 200}, {700, 260}, {690, 600}, {310, 690}}},
		"far tilt":        {tag, qrcode.Medium, [4]point{{300, 150}, {760, 260}, {760, 560}, {300, 680}}},
		"turned and bent": {"2026.14", qrcode.Medium, [4]point{{500, 150}, {800, 420}, {560, 700}, {260, 430}}},
	}
	for name, tt := range tests {
		codes := seenIn(t, slanted(t, tt.text, tt.level, tt.corners), 1)
		if len(codes) != 1 || codes[0].Text != tt.text || codes[0].Symbology != intake.SymbologyQR {
			t.Errorf("%s: got %v", name, codes)
			continue
		}
		x, y := 0.0, 0.0
		for _, c := range tt.corners {
			x, y = x+c.x/4/1200, y+c.y/4/900
		}
		if math.Abs(codes[0].X-x) > 0.03 || math.Abs(codes[0].Y-y) > 0.03 {
			t.Errorf("%s: seen at %.3f, %.3f; want about %.3f, %.3f", name, codes[0].X, codes[0].Y, x, y)
		}
	}
}

// TestManyPatternsDoNotHideATag draws look-alikes of finder patterns around a tag:
// square buttons with a rim. One guess at three of them would miss it.
func TestManyPatternsDoNotHideATag(t *testing.T) {
	const text = "http://192.168.1.20:8417/T/7K3M9Q2D"
	img := image.NewGray(image.Rect(0, 0, 1200, 900))
	for i := range img.Pix {
		img.Pix[i] = 215
	}
	for y := 60; y < 860; y += 130 {
		for x := 40; x < 1160; x += 130 {
			button(img, x, y, 7+(x+y)%3)
		}
	}
	tagged(t, img, text, 420, 280, 340)
	if codes := seenIn(t, img, 1); len(codes) != 1 || codes[0].Text != text {
		t.Errorf("got %v, want the tag alone", codes)
	}
}

// button draws a square in a ring, in the proportions of a finder pattern.
func button(img *image.Gray, x, y, module int) {
	for dy := range 7 * module {
		for dx := range 7 * module {
			ring := min(dx/module, dy/module, 6-dx/module, 6-dy/module)
			if ring != 1 {
				img.SetGray(x+dx, y+dy, color.Gray{30})
			}
		}
	}
}

// TestBlurIsTakenBack: a tag blurred by half a module, as by a hand that moved. A
// threshold alone reads none of these.
func TestBlurIsTakenBack(t *testing.T) {
	const text = "http://192.168.1.20:8417/T/7K3M9Q2D"
	for _, module := range []int{5, 8, 12} {
		img := image.NewGray(image.Rect(0, 0, 900, 700))
		for i := range img.Pix {
			img.Pix[i] = 160
		}
		tagged(t, img, text, 150, 100, 37*module)
		blurred(img, 0.5*float64(module))
		if codes := seenIn(t, img, 1); len(codes) != 1 || codes[0].Text != text {
			t.Errorf("%d pixels a module: got %v", module, codes)
		}
	}
}

func TestSharpeningUndoesABlur(t *testing.T) {
	const n = 9
	sharp := make([]float64, n*n)
	for i := range sharp {
		sharp[i] = float64(i*i%3) - 1
	}
	const spill = 0.1
	blurred := make([]float64, n*n)
	for v := range n {
		for u := range n {
			sum := sharp[v*n+max(0, u-1)] + sharp[v*n+min(n-1, u+1)] + sharp[max(0, v-1)*n+u] + sharp[min(n-1, v+1)*n+u]
			blurred[v*n+u] = (1-4*spill)*sharp[v*n+u] + spill*sum
		}
	}
	off := func(a []float64) float64 {
		sum := 0.0
		for i := range a {
			sum += math.Abs(a[i] - sharp[i])
		}
		return sum
	}
	if before, after := off(blurred), off(sharpened(blurred, n, spill)); after > before/3 {
		t.Errorf("it was off by %.2f and is now by %.2f", before, after)
	}
}
