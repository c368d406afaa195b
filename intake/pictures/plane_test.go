package pictures

import (
	"math"
	"math/rand/v2"
	"testing"
)

func randomPlane(w, h int) plane {
	r := rand.New(rand.NewPCG(uint64(w), uint64(h)))
	p := plane{pix: make([]byte, (w+3)*h), stride: w + 3, w: w, h: h}
	for i := range p.pix {
		p.pix[i] = byte(r.IntN(256))
	}
	return p
}

// TestShrinkingIsTheAverageOfTheArea compares with the plain definition, in
// floating point, wherever no pixel is left out by the box.
func TestShrinkingIsTheAverageOfTheArea(t *testing.T) {
	for _, size := range [][4]int{{100, 80, 37, 29}, {64, 64, 32, 32}, {90, 60, 30, 20}, {61, 47, 60, 46}, {5, 3, 5, 3}, {7, 1000, 1, 143}, {10, 10, 1, 1}, {9, 6, 12, 8}} {
		p := randomPlane(size[0], size[1])
		got := averaged(p, size[2], size[3])
		for y := range got.h {
			for x := range got.w {
				if want := areaMean(p, x, y, got.w, got.h); math.Abs(float64(got.row(y)[x])-want) > 1.5 {
					t.Fatalf("%v: %d, %d is %d, want %.2f", size, x, y, got.row(y)[x], want)
				}
			}
		}
	}
}

func areaMean(p plane, x, y, w, h int) float64 {
	sx, sy := float64(p.w)/float64(w), float64(p.h)/float64(h)
	sum := 0.0
	for j := range p.h {
		for i := range p.w {
			dx := math.Min(float64(i+1), float64(x+1)*sx) - math.Max(float64(i), float64(x)*sx)
			dy := math.Min(float64(j+1), float64(y+1)*sy) - math.Max(float64(j), float64(y)*sy)
			if dx > 0 && dy > 0 {
				sum += dx * dy * float64(p.row(j)[i])
			}
		}
	}
	return sum / (sx * sy)
}

func TestBoxes(t *testing.T) {
	for _, k := range []int{2, 3, 4, 7} {
		p := randomPlane(8*k+k-1, 5*k)
		got := boxed(p, k)
		if got.w != 8 || got.h != 5 {
			t.Fatalf("box of %d: got %d × %d", k, got.w, got.h)
		}
		inner := plane{pix: p.pix, stride: p.stride, w: 8 * k, h: 5 * k}
		for y := range got.h {
			for x := range got.w {
				if want := areaMean(inner, x, y, 8, 5); math.Abs(float64(got.row(y)[x])-want) > 0.51 {
					t.Errorf("box of %d: %d, %d is %d, want %.2f", k, x, y, got.row(y)[x], want)
				}
			}
		}
	}
}

func TestShrinkingKeepsWhiteWhite(t *testing.T) {
	for _, size := range [][2]int{{4032, 3024}, {1999, 1333}, {481, 17}, {4000, 1}} {
		p := newPlane(size[0], size[1])
		for i := range p.pix {
			p.pix[i] = 255
		}
		for _, long := range []int{480, 1600} {
			w, h := fit(p.w, p.h, long)
			if max(w, h) > long || min(w, h) < 1 {
				t.Errorf("%v to %d: got %d × %d", size, long, w, h)
			}
			for _, v := range shrunk(p, w, h).pix {
				if v != 255 {
					t.Fatalf("%v to %d: white became %d", size, long, v)
				}
			}
		}
	}
}

// TestTurning holds turned, stored and seenAt together, by the table of
// jpegexiforient(1): where the stored upper left pixel is seen.
func TestTurning(t *testing.T) {
	p := newPlane(3, 2)
	copy(p.pix, []byte{1, 2, 3, 4, 5, 6})
	tests := map[int]struct {
		w    int
		want []byte
	}{
		1: {3, []byte{1, 2, 3, 4, 5, 6}},
		2: {3, []byte{3, 2, 1, 6, 5, 4}},
		3: {3, []byte{6, 5, 4, 3, 2, 1}},
		4: {3, []byte{4, 5, 6, 1, 2, 3}},
		5: {2, []byte{1, 4, 2, 5, 3, 6}},
		6: {2, []byte{4, 1, 5, 2, 6, 3}},
		7: {2, []byte{6, 3, 5, 2, 4, 1}},
		8: {2, []byte{3, 6, 2, 5, 1, 4}},
		0: {3, []byte{1, 2, 3, 4, 5, 6}},
		9: {3, []byte{1, 2, 3, 4, 5, 6}},
	}
	for orientation, tt := range tests {
		got := turned(p, orientation)
		if got.w != tt.w || string(got.pix) != string(tt.want) {
			t.Errorf("orientation %d: got %d wide %v, want %d wide %v", orientation, got.w, got.pix, tt.w, tt.want)
		}
		for y := range got.h {
			for x := range got.w {
				sx, sy := stored(orientation, p.w, p.h, x, y)
				fx, fy := seenAt(orientation, (float64(sx)+0.5)/3, (float64(sy)+0.5)/2)
				if math.Abs(fx*float64(got.w)-float64(x)-0.5) > 1e-9 || math.Abs(fy*float64(got.h)-float64(y)-0.5) > 1e-9 {
					t.Errorf("orientation %d: %d, %d comes back as %g, %g", orientation, x, y, fx, fy)
				}
			}
		}
	}
}

func TestDoublingKeepsThePlace(t *testing.T) {
	p := randomPlane(20, 13)
	big := doubled(p)
	if big.w != 40 || big.h != 26 {
		t.Fatalf("got %d × %d", big.w, big.h)
	}
	flat := newPlane(9, 9)
	for i := range flat.pix {
		flat.pix[i] = 200
	}
	for _, v := range doubled(flat).pix {
		if v != 200 {
			t.Fatalf("a flat plane became %d", v)
		}
	}
}
