package pictures

import "math"

// sides says on which sides of the line between two patterns the modules alternate,
// as between two corners of a code: to the right of it as one looks from the first
// to the second, or to the left.
type sides struct{ right, left bool }

// timedSides looks along both sides of every pair that may be two corners of one
// code. Rows of keys pass for patterns one by one, but have no timing pattern
// (ISO/IEC 18004, 6.3.5) between them.
func timedSides(p plane, found []finder) map[[2]int]sides {
	all := map[[2]int]sides{}
	for i, a := range found {
		for j := i + 1; j < len(found); j++ {
			b := found[j]
			d := math.Hypot(b.x-a.x, b.y-a.y)
			module := (a.module + b.module) / 2
			if !similar(a, b) || d < 8*module || d > 190*module {
				continue
			}
			if s := between(p, a, b); s.right || s.left {
				all[[2]int{i, j}] = s
				all[[2]int{j, i}] = sides{right: s.left, left: s.right}
			}
		}
	}
	return all
}

// between looks along both sides of the line from a to b.
func between(p plane, a, b finder) sides {
	u := direction(point{a.x, a.y}, point{b.x, b.y})
	v := point{-u.y, u.x} // to the right, in a picture whose y grows downwards
	from, ok := ringed(p, point{a.x, a.y}, u, v, a.module)
	if !ok {
		return sides{}
	}
	to, ok := ringed(p, point{b.x, b.y}, u, v, b.module)
	if !ok {
		return sides{}
	}
	return sides{right: alternates(p, from, to, u, v, 1), left: alternates(p, from, to, u, v, -1)}
}

// alternates looks along the line that is three modules beside the middles, where
// the rings end in their corners and the timing pattern begins.
func alternates(p plane, from, to corner, u, v point, side float64) bool {
	a := point{from.x + 3*side*from.mv*v.x + 3.2*from.mu*u.x, from.y + 3*side*from.mv*v.y + 3.2*from.mu*u.y}
	b := point{to.x + 3*side*to.mv*v.x - 3.2*to.mu*u.x, to.y + 3*side*to.mv*v.y - 3.2*to.mu*u.y}
	length := distance(a, b)
	module := math.Sqrt(from.mu * to.mu)
	samples := int(5 * length / module)
	if samples < 30 || samples > 5*180 {
		return false
	}
	var buffer [5 * 180]byte
	line := buffer[:samples]
	for i := range line {
		t := (float64(i) + 0.5) / float64(samples)
		line[i] = byte(p.grey(a.x+t*(b.x-a.x), a.y+t*(b.y-a.y)))
	}
	var edgeBuffer [200]float64
	edges := edgesIn(line, edgeBuffer[:0])
	// The ends lie in the rings: an edge where the first module of light begins, one
	// for each module, and one where the last ends. Codes on dark ground have light
	// rings, and edges at the borders of the line.
	for len(edges) > 0 && edges[0] < 0.5 {
		edges = edges[1:]
	}
	for len(edges) > 0 && edges[len(edges)-1] > float64(samples)-0.5 {
		edges = edges[:len(edges)-1]
	}
	if len(edges) < 6 {
		return false
	}
	mean := (edges[len(edges)-1] - edges[0]) / float64(len(edges)-1)
	if mean < 3.5 || mean > 7 { // of five samples a module
		return false
	}
	for i := 1; i < len(edges); i++ {
		if gap := edges[i] - edges[i-1]; gap > 2*mean || gap < 0.3*mean {
			return false
		}
	}
	return true
}
