package drawn

import (
	"cmp"
	"math"
	"slices"
)

// An outline is one closed polygon; curves are flattened when they are made,
// so that the camera and the near plane meet straight lines only.

func sortPoints(ps []pt) {
	slices.SortFunc(ps, func(a, b pt) int {
		return cmp.Or(cmp.Compare(a.x, b.x), cmp.Compare(a.y, b.y))
	})
}

func rect(x, y, w, h float64) []pt {
	return []pt{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}
}

// rounded is a rectangle whose corners have radius r.
func rounded(x, y, w, h, r float64) []pt { return smooth(rect(x, y, w, h), r) }

func circle(x, y, r float64) []pt { return ellipse(x, y, r, r) }

func ellipse(x, y, rx, ry float64) []pt {
	const n = 40
	out := make([]pt, n)
	for i := range out {
		s, c := math.Sincos(2 * math.Pi * float64(i) / n)
		out[i] = pt{x + rx*c, y + ry*s}
	}
	return out
}

// ring is a circle with a hole: the inner outline runs the other way round.
func ring(x, y, outer, inner float64) [][]pt {
	in := circle(x, y, inner)
	slices.Reverse(in)
	return [][]pt{circle(x, y, outer), in}
}

// border is a rounded rectangle's edge, t wide, inside the rectangle.
func border(x, y, w, h, r, t float64) [][]pt {
	in := rounded(x+t, y+t, w-2*t, h-2*t, math.Max(r-t, 0.1))
	slices.Reverse(in)
	return [][]pt{rounded(x, y, w, h, r), in}
}

// pillow is the outline of picture-tube glass: a rectangle whose sides bulge.
func pillow(x, y, w, h, bulge float64) []pt {
	corners := rect(x, y, w, h)
	var out []pt
	for i, a := range corners {
		b := corners[(i+1)%4]
		nx, ny := (b.y-a.y)/math.Hypot(b.x-a.x, b.y-a.y), -(b.x-a.x)/math.Hypot(b.x-a.x, b.y-a.y)
		for k := 0; k < 10; k++ {
			t := float64(k) / 10
			s := bulge * math.Sin(math.Pi*t)
			out = append(out, pt{mix(a.x, b.x, t) + nx*s, mix(a.y, b.y, t) + ny*s})
		}
	}
	return out
}

// smooth rounds the corners of a polygon with radius r, less where a side is short.
func smooth(poly []pt, r float64) []pt {
	if r <= 0 || len(poly) < 3 {
		return poly
	}
	out := make([]pt, 0, len(poly)*9)
	for i, p := range poly {
		a, b := poly[(i+len(poly)-1)%len(poly)], poly[(i+1)%len(poly)]
		la, lb := math.Hypot(a.x-p.x, a.y-p.y), math.Hypot(b.x-p.x, b.y-p.y)
		if la == 0 || lb == 0 {
			continue
		}
		k := math.Min(r, math.Min(la, lb)/2)
		s := pt{p.x + (a.x-p.x)*k/la, p.y + (a.y-p.y)*k/la}
		e := pt{p.x + (b.x-p.x)*k/lb, p.y + (b.y-p.y)*k/lb}
		out = append(out, bend(s, p, e, 8)...)
	}
	return out
}

// bend flattens a quadratic curve from s to e into n+1 points.
func bend(s, c, e pt, n int) []pt {
	out := make([]pt, 0, n+1)
	for i := 0; i <= n; i++ {
		t := float64(i) / float64(n)
		out = append(out, pt{
			(1-t)*(1-t)*s.x + 2*t*(1-t)*c.x + t*t*e.x,
			(1-t)*(1-t)*s.y + 2*t*(1-t)*c.y + t*t*e.y,
		})
	}
	return out
}

// inset moves every side of a convex clockwise polygon d inwards.
func inset(poly []pt, d float64) []pt {
	out := make([]pt, len(poly))
	for i, p := range poly {
		a, b := poly[(i+len(poly)-1)%len(poly)], poly[(i+1)%len(poly)]
		u, v := direction(a, p), direction(p, b)
		// Inward normals of the two sides; their sum meets where both are d away.
		n, m := pt{-u.y, u.x}, pt{-v.y, v.x}
		k := d / (1 + n.x*m.x + n.y*m.y)
		out[i] = pt{p.x + (n.x+m.x)*k, p.y + (n.y+m.y)*k}
	}
	return out
}

func direction(a, b pt) pt {
	l := math.Hypot(b.x-a.x, b.y-a.y)
	if l == 0 {
		return pt{}
	}
	return pt{(b.x - a.x) / l, (b.y - a.y) / l}
}

// spun turns outlines about (x, y) by deg degrees, clockwise as seen.
func spun(outlines [][]pt, x, y, deg float64) [][]pt {
	s, c := math.Sincos(deg * math.Pi / 180)
	out := make([][]pt, len(outlines))
	for i, o := range outlines {
		for _, p := range o {
			out[i] = append(out[i], pt{x + (p.x-x)*c - (p.y-y)*s, y + (p.x-x)*s + (p.y-y)*c})
		}
	}
	return out
}

// stroke is the outline of an open line of points, t wide.
func stroke(line []pt, t float64) []pt {
	var there, back []pt
	for i, p := range line {
		a, b := line[max(i-1, 0)], line[min(i+1, len(line)-1)]
		d := direction(a, b)
		there = append(there, pt{p.x - d.y*t/2, p.y + d.x*t/2})
		back = append(back, pt{p.x + d.y*t/2, p.y - d.x*t/2})
	}
	slices.Reverse(back)
	return append(there, back...)
}
