package drawn

import "math"

// The six faces of a solid, in the order they are kept.
const (
	front = iota
	back
	left
	right
	top
	bottom
)

// face is one flat side: its corners clockwise from the top left as seen from
// outside, and what is mounted or printed on it.
type face struct {
	corners [4]vec
	tint    *rgb // its own colour, nil for the solid's
	draw    func(*panel)
}

// solid is a convex block with six faces and slightly rounded edges. Every
// case, foot, keyboard and sheet of paper in these photos is one.
type solid struct {
	faces  [6]face
	lo, hi vec // the box around it
	tint   rgb
	bevel  float64 // millimetres
}

// hexa makes a solid from its corners; bit 0 of an index is right, bit 1 top, bit 2 front.
func hexa(tint rgb, bevel float64, c [8]vec) solid {
	s := solid{tint: tint, bevel: bevel, lo: c[0], hi: c[0]}
	for i, order := range [6][4]int{
		front: {6, 7, 5, 4}, back: {3, 2, 0, 1}, left: {2, 6, 4, 0},
		right: {7, 3, 1, 5}, top: {2, 3, 7, 6}, bottom: {4, 5, 1, 0},
	} {
		for k, n := range order {
			s.faces[i].corners[k] = c[n]
		}
	}
	for _, p := range c {
		s.lo = vec{math.Min(s.lo.x, p.x), math.Min(s.lo.y, p.y), math.Min(s.lo.z, p.z)}
		s.hi = vec{math.Max(s.hi.x, p.x), math.Max(s.hi.y, p.y), math.Max(s.hi.z, p.z)}
	}
	return s
}

// box is w wide, h high, d deep, standing on height y, its middle at (x, z).
func box(tint rgb, bevel, x, y, z, w, h, d float64) solid {
	return wedge(tint, bevel, x, y, z, w, h, h, d)
}

// wedge is a box whose top slopes from height hf at the front to hb at the back.
func wedge(tint rgb, bevel, x, y, z, w, hf, hb, d float64) solid {
	var c [8]vec
	for i := range c {
		c[i] = vec{x - w/2, y, z - d/2}
		h := hb
		if i&4 != 0 {
			c[i].z, h = z+d/2, hf
		}
		if i&1 != 0 {
			c[i].x = x + w/2
		}
		if i&2 != 0 {
			c[i].y = y + h
		}
	}
	return hexa(tint, bevel, c)
}

// shifted moves a solid in the room.
func (s solid) shifted(by vec) solid {
	for i := range s.faces {
		for k := range s.faces[i].corners {
			s.faces[i].corners[k] = s.faces[i].corners[k].add(by)
		}
	}
	s.lo, s.hi = s.lo.add(by), s.hi.add(by)
	return s
}

// shrunkBack makes the back of a solid narrower and lower by x at each side and
// y above and below: the housing behind a picture tube.
func (s solid) shrunkBack(x, y float64) solid {
	var c [8]vec
	for i, n := range [4]int{6, 7, 5, 4} {
		c[n] = s.faces[front].corners[i]
	}
	for i, n := range [4]int{3, 2, 0, 1} {
		c[n] = s.faces[back].corners[i]
	}
	c[2], c[3] = c[2].add(vec{x, -y, 0}), c[3].add(vec{-x, -y, 0})
	c[0], c[1] = c[0].add(vec{x, y, 0}), c[1].add(vec{-x, y, 0})
	return hexa(s.tint, s.bevel, c)
}

// hides says whether a may cover part of b for a camera at eye: it cannot when
// a plane along an axis parts them and the camera is on b's side of it.
func hides(a, b *solid, eye vec) bool {
	for _, axis := range [3]func(vec) float64{
		func(v vec) float64 { return v.x }, func(v vec) float64 { return v.y }, func(v vec) float64 { return v.z },
	} {
		const slack = 1e-6
		if e := axis(eye); axis(a.hi) <= axis(b.lo)+slack && e >= axis(b.lo) ||
			axis(b.hi) <= axis(a.lo)+slack && e <= axis(b.hi) {
			return false
		}
	}
	return true
}

// backToFront orders solids so that each is painted after all it may cover.
// Solids that cross each other keep the order they were given in.
func backToFront(solids []solid, eye vec) []*solid {
	left := make([]*solid, len(solids))
	for i := range solids {
		left[i] = &solids[i]
	}
	order := make([]*solid, 0, len(left))
	for len(left) > 0 {
		pick := 0
	search:
		for i, s := range left {
			for _, t := range left {
				if s != t && hides(s, t, eye) && !hides(t, s, eye) {
					continue search
				}
			}
			pick = i
			break
		}
		order = append(order, left[pick])
		left = append(left[:pick], left[pick+1:]...)
	}
	return order
}
