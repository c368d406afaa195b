package pictures

import (
	"math"
	"slices"
	"testing"

	"github.com/makiuchi-d/gozxing/common"
	qrcode "github.com/skip2/go-qrcode"
)

// TestMappingAgreesWithAnother compares with gozxing's perspective transform.
func TestMappingAgreesWithAnother(t *testing.T) {
	for _, c := range [][4]point{
		{{10, 10}, {110, 10}, {110, 110}, {10, 110}},
		{{300, 240}, {720, 200}, {680, 560}, {330, 640}},
		{{500, 150}, {800, 420}, {560, 700}, {260, 430}},
	} {
		m := newMapping(3.5, 25.5, c)
		want := common.PerspectiveTransform_QuadrilateralToQuadrilateral(
			3.5, 3.5, 25.5, 3.5, 25.5, 25.5, 3.5, 25.5,
			c[0].x, c[0].y, c[1].x, c[1].y, c[2].x, c[2].y, c[3].x, c[3].y)
		for v := 0.0; v <= 29; v++ {
			for u := 0.0; u <= 29; u++ {
				x, y := m.at(u, v)
				xy := []float64{u, v}
				want.TransformPoints(xy)
				if math.Hypot(x-xy[0], y-xy[1]) > 1e-6 {
					t.Fatalf("%v: %g, %g goes to %g, %g; want %v", c, u, v, x, y, xy)
				}
			}
		}
	}
}

func TestGreyBetweenPixels(t *testing.T) {
	p := plane{pix: []byte{0, 100, 200, 40}, stride: 2, w: 2, h: 2}
	for at, want := range map[point]float64{
		{0.5, 0.5}: 0, {1.5, 0.5}: 100, {0.5, 1.5}: 200, {1.5, 1.5}: 40, {1, 1}: 85, {1, 0.5}: 50,
		{-9, -9}: 0, {9, -9}: 100, {math.NaN(), math.Inf(1)}: 200,
	} {
		if got := p.grey(at.x, at.y); math.Abs(got-want) > 0.3 {
			t.Errorf("at %v: got %g, want %g", at, got, want)
		}
	}
	one := plane{pix: []byte{7}, stride: 1, w: 1, h: 1}
	if got := one.grey(0.9, 0.2); got != 7 {
		t.Errorf("a single pixel: got %g", got)
	}
}

// TestFunctionModulesAreThoseOfEveryCode compares with codes drawn by go-qrcode: all
// versions, where ISO/IEC 18004 says what stands in each of these modules.
func TestFunctionModulesAreThoseOfEveryCode(t *testing.T) {
	for version := 1; version <= 40; version++ {
		code, err := qrcode.NewWithForcedVersion("A", version, qrcode.Low)
		if err != nil {
			t.Fatal(err)
		}
		code.DisableBorder = true
		modules := code.Bitmap()
		function := functionModules(len(modules))
		if len(function) < 3*64+2 {
			t.Errorf("version %d: only %d modules", version, len(function))
		}
		for _, f := range function {
			if u, v := int(f.u), int(f.v); modules[v][u] != (f.sign > 0) {
				t.Fatalf("version %d: the module at %d, %d is not as told", version, u, v)
			}
		}
	}
}

// TestSymbolsAreLaidTilted: the right size agrees best, and its corners are found
// to within half a module.
func TestSymbolsAreLaidTilted(t *testing.T) {
	const text = "http://192.168.1.20:8417/T/7K3M9Q2D"
	for _, corners := range [][4]point{
		{{300, 200}, {700, 200}, {700, 600}, {300, 600}},
		{{300, 200}, {700, 280}, {700, 620}, {300, 700}},
		{{500, 150}, {800, 420}, {560, 700}, {260, 430}},
	} {
		p := frame{img: ycbcr(slanted(t, text, qrcode.Medium, corners))}.luma()
		found := findersIn(p, 2)
		var best laid
		for _, tr := range likelyTriples(p, found) {
			s, ok := measured(p, found[tr.tl], found[tr.tr], found[tr.bl])
			if !ok {
				continue
			}
			for _, dimension := range s.dimensions() {
				if l, ok := s.lay(dimension); ok && l.agreement > best.agreement {
					best = l
				}
			}
		}
		if best.dimension != 29 || best.agreement < 0.7 {
			t.Errorf("%v: laid %d modules with agreement %.2f", corners, best.dimension, best.agreement)
			continue
		}
		// The quiet zone of four modules lies between the code and the corners.
		for i, at := range [4]point{{-4, -4}, {33, -4}, {33, 33}, {-4, 33}} {
			x, y := best.mapping.at(at.x, at.y)
			off := slices.MinFunc(corners[:], func(a, b point) int {
				return int(math.Hypot(a.x-x, a.y-y)) - int(math.Hypot(b.x-x, b.y-y))
			})
			if d := math.Hypot(off.x-x, off.y-y); d > 8 {
				t.Errorf("%v: corner %d is off by %.1f pixels", corners, i, d)
			}
		}
	}
}
