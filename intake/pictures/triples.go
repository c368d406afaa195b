package pictures

import (
	"cmp"
	"math"
	"slices"
)

// maxTriples bounds the triples that are measured, some ten microseconds each.
const maxTriples = 400

// triple is three patterns that may belong to one code: its upper left, upper right
// and lower left; cost grows with how far they are from the corners of a square.
type triple struct {
	tl, tr, bl int
	cost       float64
}

// likelyTriples orders what can be a code at all, the likeliest first: those with a
// timing pattern along both sides, then along one, then by their shape.
func likelyTriples(p plane, found []finder) []triple {
	timed := timedSides(p, found)
	var triples []triple
	for i, a := range found {
		for j := i + 1; j < len(found); j++ {
			if !similar(a, found[j]) {
				continue
			}
			for k := j + 1; k < len(found); k++ {
				if similar(a, found[k]) && similar(found[j], found[k]) {
					triples = appendTriple(triples, found, timed, [3]int{i, j, k})
				}
			}
		}
	}
	slices.SortStableFunc(triples, func(a, b triple) int { return cmp.Compare(a.cost, b.cost) })
	return triples[:min(len(triples), maxTriples)]
}

// similar allows for what perspective does between two corners of one code.
func similar(a, b finder) bool {
	return a.light == b.light && max(a.module, b.module) < 1.7*min(a.module, b.module)
}

// appendTriple takes as the upper left the pattern with the squarest corner, and
// the others clockwise.
func appendTriple(triples []triple, found []finder, timed map[[2]int]sides, which [3]int) []triple {
	best := triple{cost: math.Inf(1)}
	for i := range 3 {
		t := triple{which[i], which[(i+1)%3], which[(i+2)%3], 0}
		a, b, c := found[t.tl], found[t.tr], found[t.bl]
		ux, uy, vx, vy := b.x-a.x, b.y-a.y, c.x-a.x, c.y-a.y
		if ux*vy-uy*vx < 0 {
			t.tr, t.bl = t.bl, t.tr
		}
		u, v := math.Hypot(ux, uy), math.Hypot(vx, vy)
		module := (a.module + b.module + c.module) / 3
		// From 21 to 177 modules, less seven; a module is estimated too long by up to
		// half where the code is turned.
		if min(u, v) < 8*module || max(u, v) > 190*module {
			continue
		}
		lean := math.Abs(ux*vx+uy*vy) / (u * v)
		stretch := max(u, v)/min(u, v) - 1
		if lean > 0.6 || stretch > 1 {
			continue
		}
		spread := max(a.module, b.module, c.module)/min(a.module, b.module, c.module) - 1
		seen := float64(min(a.hits, b.hits, c.hits))
		t.cost = lean + stretch + spread + 1/(1+seen)
		// To the right of its upper side, and to the left of the one that goes down.
		if timed[[2]int{t.tl, t.tr}].right {
			t.cost -= 2
		}
		if timed[[2]int{t.tl, t.bl}].left {
			t.cost -= 2
		}
		if t.cost < best.cost {
			best = t
		}
	}
	if math.IsInf(best.cost, 1) {
		return triples
	}
	return append(triples, best)
}
