package drawn

import (
	"image"
	"testing"
)

// bare is a view of one grey box on nothing, from the given side.
func bare(yaw, pitch float64) (*view, *solid) {
	s := box(rgb{160, 160, 160}, 2, 0, 0, 0, 100, 100, 100)
	c := newCanvas(400, 300)
	return look(c, orbit(vec{0, 50, 0}, 900, yaw, pitch, 0, 400, 300)), &s
}

func bright(c *canvas, p pt) int {
	q := c.img.RGBAAt(int(p.x), int(p.y))
	return (int(q.R) + int(q.G) + int(q.B)) / 3
}

func TestLightComesFromUpperLeft(t *testing.T) {
	for _, yaw := range []float64{-30, 60, 150, 240} { // it hangs beside the camera, whatever side is seen
		v, s := bare(yaw, 30)
		v.paint(s)
		seen := map[int]int{}
		for i := range s.faces {
			f := &s.faces[i]
			if p := v.panel(f); p.n.dot(f.corners[0].toward(v.cam.eye)) > 0 {
				seen[i] = bright(v.canvas, v.cam.project(f.corners[0].add(f.corners[2]).mul(0.5)))
			}
		}
		if len(seen) != 3 {
			t.Fatalf("yaw %v: %d faces seen, want 3", yaw, len(seen))
		}
		for i, b := range seen {
			if i != top && b >= seen[top] {
				t.Errorf("yaw %v: face %d is %d, as bright as the top with %d", yaw, i, b, seen[top])
			}
		}
	}
}

func TestOnlyFacesTowardsTheCameraAreDrawnOn(t *testing.T) {
	for name, c := range map[string]struct {
		yaw, pitch float64
		want       map[int]bool
	}{
		"front":       {0, 0, map[int]bool{front: true}},
		"above right": {35, 25, map[int]bool{front: true, right: true, top: true}},
		"behind left": {215, 25, map[int]bool{back: true, left: true, top: true}},
	} {
		v, s := bare(c.yaw, c.pitch)
		got := map[int]bool{}
		for i := range s.faces {
			s.faces[i].draw = func(*panel) { got[i] = true }
		}
		v.paint(s)
		for i := range s.faces {
			if got[i] != c.want[i] {
				t.Errorf("%s: face %d drawn on: got %v, want %v", name, i, got[i], c.want[i])
			}
		}
	}
}

func TestPanelsMeasureInMillimetres(t *testing.T) {
	v, s := bare(20, 15)
	s.faces[front].draw = func(p *panel) {
		if p.w != 100 || p.h != 100 {
			t.Errorf("the face measures %v×%v, want 100×100", p.w, p.h)
		}
		p.fill(rgb{250, 0, 0}, rect(60, 10, 30, 20))
	}
	v.paint(s)
	p := v.panel(&s.faces[front])
	red := func(x, y float64) bool {
		q := v.cam.project(p.at(x, y, 0))
		c := v.canvas.img.RGBAAt(int(q.x), int(q.y))
		return c.R > 100 && c.G < 60
	}
	if !red(75, 20) || !red(62, 12) || !red(88, 28) {
		t.Error("what was painted at 60 to 90, 10 to 30 is not there")
	}
	if red(57, 20) || red(75, 33) || red(25, 20) {
		t.Error("paint lies outside the rectangle it was given")
	}
}

func TestRaisedStandsOut(t *testing.T) {
	v, s := bare(0, 60)
	low, high := pt{}, pt{}
	s.faces[top].draw = func(p *panel) {
		base := rect(40, 40, 20, 20)
		p.raised(rgb{10, 10, 10}, rgb{240, 240, 240}, base, base, 30)
		low, high = v.cam.project(p.at(50, 59, 2)), v.cam.project(p.at(50, 50, 30))
	}
	v.paint(s)
	if got := bright(v.canvas, high); got < 180 {
		t.Errorf("the cap is %d, want bright", got)
	}
	// Half way down the side that faces the camera.
	if got := bright(v.canvas, pt{low.x, low.y - 4}); got > 60 {
		t.Errorf("the side is %d, want dark", got)
	}
}

// Of two keys beside each other the nearer covers the foot of the farther one, from either side.
func TestKeysCoverEachOtherRightly(t *testing.T) {
	kc := keycaps{rgb{240, 240, 240}, rgb{240, 240, 240}, rgb{250, 20, 20}, ink}
	for name, c := range map[string]struct {
		yaw  float64
		keys []string
		x    float64 // middle of the red key
	}{
		"red is nearer on the left":  {-60, []string{"*en4", "A4"}, 20},
		"red is nearer on the right": {60, []string{"A4", "*en4"}, 60},
	} {
		v, s := bare(c.yaw, 20)
		var mid pt
		s.faces[top].draw = func(p *panel) {
			p.keys([][]string{c.keys}, 0, 30, 40, 30, kc)
			mid = v.cam.project(p.at(c.x, 44, 30))
		}
		v.paint(s)
		if q := v.canvas.img.RGBAAt(int(mid.x), int(mid.y)); q.R < 150 || q.G > 90 {
			t.Errorf("%s: its cap is %v, want red", name, q)
		}
	}
}

func TestRoomHasWallTableAndShadow(t *testing.T) {
	s := box(rgb{200, 200, 200}, 3, 0, 0, 0, 120, 160, 120)
	c := newCanvas(800, 600)
	v := look(c, fit([]solid{s}, 0, 20, 800, 600, 0.5))
	v.show(scene{solids: []solid{s}}, throw(1, 1), oak, 420)
	wall, table := c.img.RGBAAt(20, 20), c.img.RGBAAt(20, 590)
	if int(wall.R)-int(wall.B) > 15 || int(table.R)-int(table.B) < 30 {
		t.Errorf("wall %v, table %v: want a grey wall and a brown table", wall, table)
	}
	// The light is at the left, so the table is darker at the right of the thing.
	l, r := v.cam.project(vec{-140, 0, -30}), v.cam.project(vec{100, 0, -30})
	if bl, br := bright(c, l), bright(c, r); br+12 > bl {
		t.Errorf("left of the thing the table is %d, right %d: no shadow", bl, br)
	}
	for y := range 600 {
		for x := range 800 {
			if c.img.RGBAAt(x, y).A != 255 {
				t.Fatalf("(%d, %d) was never painted", x, y)
			}
		}
	}
}

func TestFilledKnowsCloseUps(t *testing.T) {
	s := []solid{box(rgb{200, 200, 200}, 3, 0, 0, 0, 300, 300, 300)}
	for name, c := range map[string]struct {
		dist float64
		want bool
	}{"close": {250, true}, "far": {2500, false}} {
		v := look(newCanvas(400, 300), orbit(vec{0, 150, 150}, c.dist, 5, 3, 1, 400, 300))
		if got := v.filled(s); got != c.want {
			t.Errorf("%s: got %v, want %v", name, got, c.want)
		}
	}
}

// Leaving out the room must not show: the close-up is the same with it.
func TestCloseUpsLackNothing(t *testing.T) {
	h, err := Plan(Options{Seed: 3, Width: 320, Codes: testCodes})
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range h.Photos {
		img, err := h.picture(i)
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range []image.Point{{}, {img.Rect.Dx() - 1, 0}, {0, img.Rect.Dy() - 1}, {img.Rect.Dx() - 1, img.Rect.Dy() - 1}} {
			if c := img.RGBAAt(q.X, q.Y); c.A != 255 {
				t.Errorf("%s: corner %v was never painted", p.Name, q)
			}
		}
	}
}

func TestFallenLiesOnTheTable(t *testing.T) {
	v, s := bare(40, 10)
	for _, p := range fallen(s.faces[front].corners[:], v.sun) {
		if p.y > 1e-9 || p.y < -1e-9 {
			t.Errorf("a shadow's corner floats at %v", p)
		}
	}
	if v.sun.dot(v.cam.right) >= 0 || v.sun.y <= 0 {
		t.Error("the light does not hang up left")
	}
}
