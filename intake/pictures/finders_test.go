package pictures

import (
	"image"
	"math"
	"testing"
)

// TestFindersAreFoundTurned draws patterns at many sizes, dark and light, and turns
// them: each must be found once, in its middle.
func TestFindersAreFoundTurned(t *testing.T) {
	for _, module := range []int{2, 3, 5, 9, 20} {
		for _, degrees := range []float64{0, 20, 45, 70} {
			for _, light := range []bool{false, true} {
				img := image.NewGray(image.Rect(0, 0, 300, 300))
				for i := range img.Pix {
					img.Pix[i] = 215
				}
				button(img, 150-7*module/2, 150-7*module/2, module)
				p := frame{img: ycbcr(rotated(img, degrees))}.luma()
				// The ground that turning brings in is none of the pattern's.
				p = plane{pix: p.pix[40*p.stride+40:], stride: p.stride, w: 220, h: 220}
				if light {
					p = negative(p)
				}
				found := findersIn(p, 1)
				if len(found) != 1 || found[0].light != light || math.Hypot(found[0].x-110, found[0].y-110) > 1.2+0.1*float64(module) {
					t.Errorf("module %d at %g°, light %v: got %+v", module, degrees, light, found)
					continue
				}
				// A line at 45° through a square is longer by half.
				if m := found[0].module / float64(module); m < 0.8 || m > 1.5 {
					t.Errorf("module %d at %g°: measured %.2f", module, degrees, found[0].module)
				}
			}
		}
	}
}

// negative exchanges light and dark.
func negative(p plane) plane {
	out := newPlane(p.w, p.h)
	for y := range p.h {
		for x, v := range p.row(y) {
			out.row(y)[x] = 255 - v
		}
	}
	return out
}

func TestProportions(t *testing.T) {
	tests := []struct {
		name  string
		edges [6]float64
		want  float64
		ok    bool
	}{
		{"exact", [6]float64{0, 10, 20, 50, 60, 70}, 10, true},
		{"thin rings of a blur", [6]float64{0, 7, 18, 49, 60, 67}, 67.0 / 7, true},
		{"even bars", [6]float64{0, 10, 20, 30, 40, 50}, 0, false},
		{"a word", [6]float64{0, 4, 21, 50, 55, 70}, 0, false},
		{"too small", [6]float64{0, 0.9, 1.8, 4.5, 5.4, 6.3}, 0, false},
	}
	for _, tt := range tests {
		m, ok := proportions(tt.edges[:])
		if ok != tt.ok || ok && math.Abs(m-tt.want) > 1e-9 {
			t.Errorf("%s: got %g, %v; want %g, %v", tt.name, m, ok, tt.want, tt.ok)
		}
	}
}

// TestTriplesAreOrdered: the three of one code come before any with a stranger, and
// its upper left is the one in the corner, clockwise before its upper right.
func TestTriplesAreOrdered(t *testing.T) {
	found := []finder{
		{x: 300, y: 420, module: 5, hits: 4}, // lower left
		{x: 640, y: 130, module: 6, hits: 9},
		{x: 300, y: 300, module: 5, hits: 5}, // upper left
		{x: 420, y: 300, module: 5, hits: 5}, // upper right
		{x: 420, y: 420, module: 5, hits: 5, light: true},
	}
	triples := likelyTriples(newPlane(700, 500), found)
	if len(triples) == 0 {
		t.Fatal("no triple")
	}
	if got := triples[0]; got.tl != 2 || got.tr != 3 || got.bl != 0 {
		t.Errorf("got %+v first", got)
	}
	for i, got := range triples {
		if got.tl == 4 || got.tr == 4 || got.bl == 4 {
			t.Errorf("light and dark are mixed in %+v", got)
		}
		if i > 0 && got.cost < triples[i-1].cost {
			t.Errorf("%+v comes after one of cost %g", got, triples[i-1].cost)
		}
	}
}
