package drawn

import (
	"image"
	"image/color"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func at(c *canvas, x, y int) color.RGBA { return c.img.RGBAAt(x, y) }

func near8(a, b color.RGBA, by int) bool {
	d := func(p, q uint8) bool { return math.Abs(float64(p)-float64(q)) <= float64(by) }
	return d(a.R, b.R) && d(a.G, b.G) && d(a.B, b.B)
}

func TestFillPaintsInsideOnly(t *testing.T) {
	c := newCanvas(40, 30)
	c.fill(flat(rgb{10, 20, 30}), rect(0, 0, 40, 30))
	c.fill(flat(rgb{200, 100, 50}), rect(10, 5, 20, 10))
	for _, p := range []struct {
		x, y int
		want color.RGBA
	}{
		{9, 10, color.RGBA{10, 20, 30, 255}}, {10, 5, color.RGBA{200, 100, 50, 255}},
		{29, 14, color.RGBA{200, 100, 50, 255}}, {30, 10, color.RGBA{10, 20, 30, 255}}, {15, 15, color.RGBA{10, 20, 30, 255}},
	} {
		if got := at(c, p.x, p.y); got != p.want {
			t.Errorf("(%d, %d): got %v, want %v", p.x, p.y, got, p.want)
		}
	}
}

func TestFillSmoothsEdgesAndGlazes(t *testing.T) {
	c := newCanvas(10, 10)
	c.fill(flat(rgb{}), rect(0, 0, 10, 10))
	c.fill(flat(rgb{200, 200, 200}), rect(2.5, 0, 4, 10))
	if got, want := at(c, 2, 5), (color.RGBA{100, 100, 100, 255}); !near8(got, want, 2) {
		t.Errorf("half a pixel: got %v, want %v", got, want)
	}
	c.fill(glaze(rgb{0, 0, 0}, 0.25), rect(0, 0, 10, 10))
	if got, want := at(c, 4, 5), (color.RGBA{150, 150, 150, 255}); !near8(got, want, 2) {
		t.Errorf("a quarter of black: got %v, want %v", got, want)
	}
}

func TestHolesStayOpen(t *testing.T) {
	c := newCanvas(60, 60)
	c.fill(flat(rgb{}), rect(0, 0, 60, 60))
	c.fill(flat(rgb{255, 255, 255}), ring(30, 30, 25, 10)...)
	if got := at(c, 30, 30); got.R != 0 {
		t.Errorf("the middle of a ring is %v", got)
	}
	if got := at(c, 30, 12); got.R != 255 {
		t.Errorf("the ring itself is %v", got)
	}
}

func TestWashRunsEvenly(t *testing.T) {
	c := newCanvas(101, 20)
	c.fill(between(rgb{0, 100, 255}, pt{0, 0}, rgb{200, 100, 0}, pt{100, 0}), rect(0, 0, 101, 20))
	for _, x := range []int{0, 25, 50, 75, 100} {
		want := color.RGBA{uint8(2 * x), 100, uint8(255 - 255*x/100), 255}
		if got := at(c, x, 10); !near8(got, want, 2) {
			t.Errorf("x %d: got %v, want %v", x, got, want)
		}
	}
	// Colours out of range are cut, not wrapped round.
	c.fill(flat(rgb{300, -40, 128}), rect(0, 0, 101, 20))
	if got, want := at(c, 50, 10), (color.RGBA{255, 0, 128, 255}); got != want {
		t.Errorf("out of range: got %v, want %v", got, want)
	}
	if got := between(rgb{1, 2, 3}, pt{5, 5}, rgb{9, 9, 9}, pt{5, 5}); got.at != (rgb{1, 2, 3}) {
		t.Errorf("a wash of no length: got %v", got)
	}
}

// Outlines may lie anywhere, far outside or across every edge of the picture.
func TestOutlinesAnywhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := newCanvas(50, 40)
		v := rapid.Float64Range(-5000, 5000)
		o := make([]pt, rapid.IntRange(0, 8).Draw(t, "n"))
		for i := range o {
			o[i] = pt{v.Draw(t, "x"), v.Draw(t, "y")}
		}
		c.fill(flat(rgb{255, 255, 255}), o)
		c.soft(glaze(rgb{255, 255, 255}, 1), rapid.Float64Range(0.1, 90).Draw(t, "blur"), o)
	})
	c := newCanvas(50, 40)
	c.fill(flat(rgb{9, 9, 9}), rect(-1000, -1000, 3000, 3000))
	for _, p := range []image.Point{{}, {49, 0}, {0, 39}, {49, 39}, {25, 20}} {
		if got := at(c, p.X, p.Y); got.R != 9 {
			t.Errorf("%v is %v under a shape larger than the picture", p, got)
		}
	}
}

func TestSoftFadesOut(t *testing.T) {
	for _, blur := range []float64{2, 10, 40} {
		c := newCanvas(400, 300)
		c.fill(flat(rgb{}), rect(0, 0, 400, 300))
		c.soft(flat(rgb{255, 255, 255}), blur, rect(100, 0, 200, 300))
		// The edge runs between two pixels; what they show together is half.
		if got := (int(at(c, 99, 150).R) + int(at(c, 100, 150).R)) / 2; got < 115 || got > 140 {
			t.Errorf("blur %v: the edge is %d, want about half", blur, got)
		}
		last := 0
		for x := int(100 - 2*blur); x <= int(100+2*blur); x++ {
			v := int(at(c, max(x, 0), 150).R)
			if v+2 < last {
				t.Errorf("blur %v: darker again at %d: %d after %d", blur, x, v, last)
			}
			last = max(v, last)
		}
		if got := at(c, int(math.Max(0, 100-3*blur)), 150).R; blur < 30 && got != 0 {
			t.Errorf("blur %v: still %d far outside", blur, got)
		}
		if got := at(c, 200, 150).R; got < 245 {
			t.Errorf("blur %v: %d in the middle, want nearly all", blur, got)
		}
	}
}

func TestLettersHaveOutlines(t *testing.T) {
	for _, st := range []style{plain, medium, bold, slanted, caps, typed, typedBold} {
		o, w := letters(st, 10, 20, 12, "Orrel & Dane 0O1l?")
		if len(o) < 15 || w <= 0 {
			t.Fatalf("style %d: %d outlines, %.1f wide", st, len(o), w)
		}
		for _, c := range o {
			for _, p := range c {
				if p.x < 9 || p.x > 10+w+1 || p.y < 20-12 || p.y > 20+4 {
					t.Errorf("style %d: a point lies at %v, outside its line", st, p)
				}
			}
		}
	}
	one, w1 := letters(typed, 0, 0, 10, "M")
	_, w3 := letters(typed, 0, 0, 10, "iiM")
	if math.Abs(w3-3*w1) > 1e-6 || len(one) != 1 {
		t.Errorf("typed letters: one is %.2f wide, three %.2f", w1, w3)
	}
	// A counter runs against its letter, so that it stays open.
	o, _ := letters(plain, 0, 0, 100, "O")
	if len(o) != 2 || area(o[0])*area(o[1]) >= 0 {
		t.Errorf("O has %d outlines, want two that run against each other", len(o))
	}
}
