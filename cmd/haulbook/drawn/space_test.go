package drawn

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func close2(a, b pt) bool { return math.Hypot(a.x-b.x, a.y-b.y) < 1e-6 }

func TestCameraSeesTheTargetInTheMiddle(t *testing.T) {
	for _, c := range []struct{ yaw, pitch, roll float64 }{{0, 0, 0}, {-40, 20, 0}, {170, 80, 5}, {90, -10, -3}} {
		target := vec{12, 34, -56}
		cam := orbit(target, 900, c.yaw, c.pitch, c.roll, 1600, 1200)
		if got := cam.project(target); !close2(got, pt{800, 600}) {
			t.Errorf("%+v: got %v, want the middle", c, got)
		}
		if got := cam.depth(target); math.Abs(got-900) > 1e-6 {
			t.Errorf("%+v: depth: got %v, want 900", c, got)
		}
		// 1 mm at the target's distance, along the camera's right and up.
		k := cam.scale(target)
		if got := cam.project(target.add(cam.right)); !close2(got, pt{800 + k, 600}) {
			t.Errorf("%+v: right: got %v", c, got)
		}
		if got := cam.project(target.add(cam.up)); !close2(got, pt{800, 600 - k}) {
			t.Errorf("%+v: up: got %v", c, got)
		}
	}
}

func TestCameraFromItsSides(t *testing.T) {
	// From the front, what is on the right is right; from behind it is left; from the right, the back is right.
	for _, c := range []struct {
		yaw  float64
		p    vec
		sign float64
	}{{0, vec{x: 10}, 1}, {180, vec{x: 10}, -1}, {90, vec{z: -10}, 1}, {-90, vec{z: -10}, -1}} {
		cam := orbit(vec{}, 500, c.yaw, 0, 0, 100, 100)
		if got := cam.project(c.p).x - 50; got*c.sign <= 0 {
			t.Errorf("yaw %v: %v is seen at %+.1f", c.yaw, c.p, got)
		}
	}
}

func TestNearPlaneCuts(t *testing.T) {
	cam := orbit(vec{}, 500, 0, 0, 0, 100, 100)
	for _, c := range []struct {
		name string
		poly []vec
		want int
	}{
		{"all in front", []vec{{-1, 0, 0}, {1, 0, 0}, {0, 1, 0}}, 3},
		{"all behind", []vec{{-1, 0, 600}, {1, 0, 600}, {0, 1, 600}}, 0},
		{"one corner behind", []vec{{-1, 0, 0}, {1, 0, 0}, {0, 1, 600}}, 4},
	} {
		got := cam.see(c.poly)
		if len(got) != c.want {
			t.Errorf("%s: got %d corners, want %d", c.name, len(got), c.want)
		}
		for _, p := range got {
			if math.IsNaN(p.x) || math.IsInf(p.x, 0) {
				t.Errorf("%s: a corner is at %v", c.name, p)
			}
		}
	}
}

func TestHull(t *testing.T) {
	got := hull([]pt{{5, 5}, {0, 0}, {10, 10}, {10, 0}, {5, 2}, {0, 10}, {0, 0}})
	if len(got) != 4 {
		t.Fatalf("got %v, want the four corners", got)
	}
	for _, want := range rect(0, 0, 10, 10) {
		found := false
		for _, p := range got {
			found = found || p == want
		}
		if !found {
			t.Errorf("corner %v is missing from %v", want, got)
		}
	}
	for _, few := range [][]pt{nil, {{1, 1}}, {{1, 1}, {2, 2}}} {
		if got := hull(few); len(got) != len(few) {
			t.Errorf("hull of %v: got %v", few, got)
		}
	}
}

func TestHullHoldsAllPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coordinate := rapid.Float64Range(-1000, 1000)
		n := rapid.IntRange(3, 30).Draw(t, "n")
		points := make([]pt, n)
		for i := range points {
			points[i] = pt{coordinate.Draw(t, "x"), coordinate.Draw(t, "y")}
		}
		h := hull(points)
		for i := range h {
			for _, p := range points {
				if len(h) >= 3 && turn(h[i], h[(i+1)%len(h)], p) < -1e-6 {
					t.Fatalf("%v lies outside side %d of %v", p, i, h)
				}
			}
		}
	})
}

func TestInsetAndContains(t *testing.T) {
	in := inset(rect(0, 0, 100, 60), 5)
	want := rect(5, 5, 90, 50)
	for i := range want {
		if !close2(in[i], want[i]) {
			t.Errorf("corner %d: got %v, want %v", i, in[i], want[i])
		}
	}
	if !contains(rect(0, 0, 100, 60), in) {
		t.Error("the smaller rectangle is not found inside")
	}
	if contains(in, rect(0, 0, 100, 60)) {
		t.Error("the larger rectangle is found inside the smaller")
	}
}

func area(o []pt) (a float64) {
	for i, p := range o {
		q := o[(i+1)%len(o)]
		a += p.x*q.y - q.x*p.y
	}
	return a / 2
}

func TestOutlineAreas(t *testing.T) {
	sum := func(os [][]pt) (a float64) {
		for _, o := range os {
			a += area(o)
		}
		return a
	}
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"rectangle", area(rect(1, 2, 30, 20)), 600},
		{"circle", area(circle(5, 5, 10)), 100 * math.Pi},
		{"ellipse", area(ellipse(5, 5, 10, 4)), 40 * math.Pi},
		{"ring", sum(ring(0, 0, 10, 5)), 75 * math.Pi},
		// A corner of this rounding lacks a sixth of its square: the quadratic curve's share.
		{"rounded", area(rounded(0, 0, 40, 40, 6)), 1600 - 4*36/6.0},
		{"border", sum(border(0, 0, 40, 40, 0.1, 2)), 1600 - 36*36},
		{"turned", sum(spun([][]pt{rect(0, 0, 30, 20)}, 7, 9, 33)), 600},
		{"stroke", math.Abs(area(stroke([]pt{{0, 0}, {50, 0}}, 3))), 150},
		{"no rounding", area(rounded(0, 0, 10, 10, 0)), 100},
	} {
		if math.Abs(c.got-c.want) > 0.012*c.want {
			t.Errorf("%s: area: got %.2f, want %.2f", c.name, c.got, c.want)
		}
	}
	if got, flat := area(pillow(0, 0, 100, 80, 4)), 8000.0; got <= flat {
		t.Errorf("pillow: got %.0f, want more than the flat %.0f", got, flat)
	}
}

func TestLeadsEndWhereTheyShould(t *testing.T) {
	w := wavy(pt{0, 0}, pt{50, 10}, pt{70, 90}, pt{120, 100})
	if w[0] != (pt{0, 0}) || w[len(w)-1] != (pt{120, 100}) {
		t.Errorf("wavy: runs from %v to %v", w[0], w[len(w)-1])
	}
	for i := 1; i < len(w); i++ {
		if d := math.Hypot(w[i].x-w[i-1].x, w[i].y-w[i-1].y); d > 25 {
			t.Errorf("wavy: a jump of %.0f mm at %d", d, i)
		}
	}
	c := coiled(pt{0, 0}, pt{100, 0}, 5, 8)
	if got := c[len(c)-1]; !close2(got, pt{108, 0}) {
		t.Errorf("coiled: ends at %v, want a radius beside the end", got)
	}
}
