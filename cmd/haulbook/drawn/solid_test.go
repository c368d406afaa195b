package drawn

import (
	"fmt"
	"math"
	"testing"
)

// Every face of every solid must look outwards and be a flat, convex quadrangle:
// a face that looks inwards is never painted, and leaves a hole.
func TestFacesLookOutwards(t *testing.T) {
	solids := map[string]solid{
		"box": box(ink, 1, 5, 6, 7, 100, 50, 80), "wedge": wedge(ink, 1, 0, 0, 0, 100, 20, 60, 80),
		"housing": box(ink, 1, 0, 0, 0, 100, 90, 80).shrunkBack(20, 10), "sheet": paperSheet(),
	}
	for _, e := range catalogue() {
		m := e.modelOf(Thing{}, false)
		for i, s := range m.solids {
			solids[fmt.Sprintf("%s, solid %d", e.model, i)] = s
		}
	}
	for name, s := range solids {
		mid := s.lo.add(s.hi).mul(0.5)
		for i, f := range s.faces {
			p := (&view{}).panel(&f)
			if out := mid.toward(f.corners[0]).dot(p.n); out <= 0 {
				t.Errorf("%s: face %d looks inwards", name, i)
			}
			off := f.corners[0].toward(f.corners[2]).dot(p.n)
			if math.Abs(off) > 0.5 {
				t.Errorf("%s: face %d is bent by %.2f mm", name, i, off)
			}
			if math.Abs(p.u.dot(p.v)) > 1e-9 || math.Abs(p.n.dot(p.n)-1) > 1e-9 {
				t.Errorf("%s: face %d: its axes do not stand square", name, i)
			}
		}
	}
}

func TestFacesAreNamedAsSeenFromTheFront(t *testing.T) {
	s := box(ink, 0, 0, 0, 0, 10, 10, 10)
	for i, want := range []vec{front: {z: 1}, back: {z: -1}, left: {x: -1}, right: {x: 1}, top: {y: 1}, bottom: {y: -1}} {
		if got := (&view{}).panel(&s.faces[i]).n; got.sub(want).dot(got.sub(want)) > 1e-12 {
			t.Errorf("face %d looks to %v, want %v", i, got, want)
		}
	}
}

func TestBackToFront(t *testing.T) {
	a := box(ink, 0, -50, 0, 0, 40, 40, 40) // left
	b := box(ink, 0, 50, 0, 0, 40, 40, 40)  // right
	c := box(ink, 0, 0, 0, 100, 40, 40, 40) // in front of both
	d := box(ink, 0, 0, 60, 100, 40, 20, 4) // above the front one
	names := map[vec]string{a.lo: "a", b.lo: "b", c.lo: "c", d.lo: "d"}
	for _, v := range []struct {
		name   string
		eye    vec
		before string // the first is painted before the second, pair by pair
	}{
		{"from the front", vec{0, 100, 1000}, "acbccd"},
		{"from behind", vec{0, 100, -1000}, "cacb"},
		{"from the left", vec{-1000, 10, 0}, "ba"},
		{"from the right", vec{1000, 10, 0}, "ab"},
		{"from below", vec{0, -1000, 100}, "dc"},
	} {
		order := ""
		for _, s := range backToFront([]solid{d, c, b, a}, v.eye) {
			order += names[s.lo]
		}
		if len(order) != 4 {
			t.Errorf("%s: painted %q, want each once", v.name, order)
		}
		at := func(c byte) int {
			for i := range order {
				if order[i] == c {
					return i
				}
			}
			return -1
		}
		for i := 0; i < len(v.before); i += 2 {
			if at(v.before[i]) > at(v.before[i+1]) {
				t.Errorf("%s: painted %q, want %c before %c", v.name, order, v.before[i], v.before[i+1])
			}
		}
	}
}

// No two solids of a thing may both cover each other from where it is
// photographed, for then no order paints them right, unless the later one is
// stuck into the earlier from above, like a cartridge.
func TestNoThingTanglesItself(t *testing.T) {
	for _, e := range catalogue() {
		m := e.modelOf(Thing{}, false)
		for _, p := range e.poses {
			if p.role != View {
				continue
			}
			eye := fit(m.solids, p.yaw, p.pitch, 1600, 1200, 0.76).eye
			for i := range m.solids {
				for k := range i {
					if hides(&m.solids[i], &m.solids[k], eye) && hides(&m.solids[k], &m.solids[i], eye) &&
						(m.solids[i].lo.y <= m.solids[k].lo.y || m.solids[i].hi.y <= m.solids[k].hi.y) {
						t.Errorf("%s from yaw %.0f: solids %d and %d cross", e.model, p.yaw, k, i)
					}
				}
			}
		}
	}
}

func TestShifted(t *testing.T) {
	s := box(ink, 0, 0, 0, 0, 10, 20, 30)
	m := s.shifted(vec{1, 2, 3})
	if m.lo != (vec{-4, 2, -12}) || m.hi != (vec{6, 22, 18}) {
		t.Errorf("shifted: got %v to %v", m.lo, m.hi)
	}
	if s.lo != (vec{-5, 0, -15}) || s.faces[0].corners[0] == m.faces[0].corners[0] {
		t.Error("shifting a solid moved the one it was made from")
	}
}

func TestFitFillsThePicture(t *testing.T) {
	for _, e := range catalogue() {
		m := e.modelOf(Thing{}, false)
		for _, size := range []struct{ w, h float64 }{{1600, 1200}, {1200, 1600}} {
			cam := fit(m.solids, -30, 20, size.w, size.h, 0.76)
			lo, hi := pt{1e9, 1e9}, pt{-1e9, -1e9}
			for _, s := range m.solids {
				for _, f := range s.faces {
					for _, p := range cam.see(f.corners[:]) {
						lo = pt{math.Min(lo.x, p.x), math.Min(lo.y, p.y)}
						hi = pt{math.Max(hi.x, p.x), math.Max(hi.y, p.y)}
					}
				}
			}
			share := math.Max((hi.x-lo.x)/size.w, (hi.y-lo.y)/size.h)
			if share < 0.70 || share > 0.80 {
				t.Errorf("%s in %v: fills %.2f of the picture, want 0.76", e.model, size, share)
			}
			if lo.x < 0 || lo.y < 0 || hi.x > size.w || hi.y > size.h {
				t.Errorf("%s in %v: reaches out of the picture: %v to %v", e.model, size, lo, hi)
			}
		}
	}
}

func TestEveryPoseHasItsSpot(t *testing.T) {
	for _, e := range catalogue() {
		plates := 0
		for _, p := range append(e.poses, pose{role: Tag, spot: "tag"}) {
			if p.role == Plate {
				plates++
			}
			if p.spot == "" {
				continue
			}
			sp, ok := e.modelOf(Thing{}, p.under).spots[p.spot]
			if !ok {
				t.Errorf("%s: no spot %q", e.model, p.spot)
			} else if sp.span <= 0 {
				t.Errorf("%s: spot %q shows nothing", e.model, p.spot)
			}
		}
		if plates != 1 {
			t.Errorf("%s: %d plate photos, want 1", e.model, plates)
		}
	}
}

func TestKeysHaveLegendAndWidth(t *testing.T) {
	for k, want := range map[string]struct {
		legend string
		w      float64
	}{"Q4": {"Q", 4}, "14": {"1", 4}, "08": {"0", 8}, "*enter7": {"*enter", 7}, "_32": {"_", 32}, ";4": {";", 4}} {
		if legend, w := key(k); legend != want.legend || w != want.w {
			t.Errorf("%s: got %q %v, want %q %v", k, legend, w, want.legend, want.w)
		}
	}
	for i, row := range typist {
		if got := rowWidth(row); got != 58 {
			t.Errorf("row %d is %v quarters wide, want 58 as all", i, got)
		}
	}
	for i, row := range numbers {
		if got := rowWidth(row); got != 16 {
			t.Errorf("row %d of the figures is %v quarters wide, want 16", i, got)
		}
	}
}
