package pictures

import (
	"cmp"
	"math"
	"slices"
)

const (
	// maxFits bounds the symbols that are fitted closely, a millisecond each.
	maxFits = 40
	// fits is the least agreement of what is worth decoding: codes of dots reach no
	// more, and what is no code stays below.
	fits = 0.24
	// alternating is the least agreement of the timing patterns before a symbol is
	// fitted closely.
	alternating = 0.25
	// widest is how much farther away one end of a code may be than the other.
	widest = 0.6
)

// laid is a symbol laid over the picture: how large it is, and where its modules
// are.
type laid struct {
	mapping   mapping
	anchors   [4]point // the middles of the three patterns, and what would be the fourth
	dimension int
	agreement float64
}

// dimensions are the sizes that a symbol may have by its measures, the nearest
// first: 17 + 4 × version modules (ISO/IEC 18004, 6.3.1).
func (s *symbol) dimensions() []int {
	about := ((s.du+s.dv)/2 + 7 - 17) / 4
	reach := 1 + int(about/8)
	var all []int
	for v := max(1, int(math.Round(about))-reach); v <= min(40, int(math.Round(about))+reach); v++ {
		all = append(all, 17+4*v)
	}
	off := func(d int) float64 { return math.Abs(float64(d-17)/4 - about) }
	slices.SortStableFunc(all, func(a, b int) int { return cmp.Compare(off(a), off(b)) })
	return all
}

// lay finds the perspective in which a symbol of this dimension agrees best. The
// three patterns leave two numbers open, which the timing patterns tell one by one:
// the upper one how the picture shrinks to the right, the left one how downwards.
// It fails where nothing alternates: between keys.
func (s *symbol) lay(dimension int) (laid, bool) {
	s.level(dimension)
	n := float64(dimension) - 7
	upper, left := timing(dimension)
	// A third of a module in the middle of a side, where it tells most.
	step := max(0.008, 1.2/n)
	gu := s.steepest(dimension, upper, s.gu, step, func(g float64) (float64, float64) { return g, s.gv })
	gv := s.steepest(dimension, left, s.gv, step, func(g float64) (float64, float64) { return gu, g })
	l := laid{dimension: dimension, anchors: s.anchorsAt(gu, gv)}
	m := newMapping(3.5, float64(dimension)-3.5, l.anchors)
	if s.agreement(&m, upper)+s.agreement(&m, left) < 2*alternating {
		return laid{}, false
	}
	s.settle(&l, spread(functionModules(dimension), l.offset()))
	return l, true
}

// timing lists the two timing patterns.
func timing(dimension int) (upper, left []functionModule) {
	for i := 7; i < dimension-7; i++ {
		sign := float64(1 - i%2*2)
		upper = append(upper, functionModule{float64(i) + 0.5, 6.5, sign})
		left = append(left, functionModule{6.5, float64(i) + 0.5, sign})
	}
	return upper, left
}

// steepest tries perspectives along one side and returns the best.
func (s *symbol) steepest(dimension int, along []functionModule, about, step float64, both func(float64) (gu, gv float64)) float64 {
	best, most := about, math.Inf(-1)
	// In steps from what the patterns' sizes say, which is right where it is a tie.
	from := about - step*math.Ceil((about+widest/2)/step)
	for g := from; g <= widest; g += step {
		gu, gv := both(g)
		m := newMapping(3.5, float64(dimension)-3.5, s.anchorsAt(gu, gv))
		// What the patterns' own sizes say counts a little.
		if a := s.agreement(&m, along) - 0.2*math.Abs(g-about); a > most {
			best, most = g, a
		}
	}
	return best
}

// anchorsAt is the quadrilateral of the three patterns with a fourth corner that
// follows from how much farther away the other ends of the two sides are.
func (s *symbol) anchorsAt(gu, gv float64) [4]point {
	tl, tr, bl := s.corners[0].point, s.corners[1].point, s.corners[2].point
	w := max(0.1, 1+gu+gv)
	return [4]point{tl, tr, {
		(tr.x*(1+gu) + bl.x*(1+gv) - tl.x) / w,
		(tr.y*(1+gu) + bl.y*(1+gv) - tl.y) / w,
	}, bl}
}

// settle moves the four anchors by ever smaller steps while that improves the
// agreement.
func (s *symbol) settle(l *laid, function []functionModule) {
	near, far := 3.5, float64(l.dimension)-3.5
	module := distance(l.anchors[0], l.anchors[1]) / (far - near)
	l.mapping = newMapping(near, far, l.anchors)
	l.agreement = s.agreement(&l.mapping, function)
	for _, step := range [...]float64{0.8, 0.4, 0.2, 0.1} {
		for range 3 {
			better := false
			for i := 2; i < 2+4; i++ { // the fourth corner, which is only inferred, first
				for _, d := range [4]point{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
					moved := l.anchors
					moved[i%4].x += d.x * step * module
					moved[i%4].y += d.y * step * module
					m := newMapping(near, far, moved)
					if a := s.agreement(&m, function); a > l.agreement {
						l.anchors, l.mapping, l.agreement = moved, m, a
						better = true
					}
				}
			}
			if !better {
				break
			}
		}
	}
}

// spread replaces the middles of modules by two points each towards opposite
// corners, in turn one diagonal and the other. Middles alone agree equally well
// anywhere within half a module; these pull the modules' edges into place.
func spread(modules []functionModule, offset float64) []functionModule {
	points := make([]functionModule, 0, 2*len(modules))
	for i, f := range modules {
		du, dv := offset, offset
		if i%2 == 1 {
			dv = -dv
		}
		points = append(points, functionModule{f.u - du, f.v - dv, f.sign}, functionModule{f.u + du, f.v + dv, f.sign})
	}
	return points
}

// offset is how far from a module's middle it may be sampled, in modules: not at
// all where it has but a pixel, whose neighbours would be mixed in.
func (l *laid) offset() float64 {
	pixels := distance(l.anchors[0], l.anchors[1]) / (float64(l.dimension) - 7)
	return max(0, min(0.3, 0.3*(pixels-1)))
}
