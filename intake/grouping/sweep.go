package grouping

import "math"

// A sweep is one forward–backward pass over every way to cut a chain into
// groups: a hidden semi-Markov model whose segments are the groups, with the
// number of items since the last tag as its state. It is exact, by dynamic
// programming over where the last group begins.
//
// Everything is kept relative to what came before, so that a haul of thousands
// of photos neither under- nor overflows.
//
// Source: L. Rabiner, A Tutorial on Hidden Markov Models and Selected
// Applications in Speech Recognition, Proceedings of the IEEE 77, 1989:
// forward–backward (III.A), explicit durations (IV.D), scaling (V.A).
type sweep struct {
	*chain
	*model
	within, between []float64   // weight of the gap before shot k in either class, scaled to one together
	ahead           [][]float64 // ahead[j][m]: share of cuttings of the first j shots with m items since the last tag
	scale           []float64   // factor by which j shots are less likely than j-1
	behind          [][]float64 // posterior that a group ends before j with m items since the last tag
	logLikelihood   float64
	segments        []segment // every candidate group, by where it ends
	ends            []int     // ends[j]: how many of them end before shot j
}

// cut is the posterior probability of a boundary before shot k, after backward.
func (s *sweep) cut(k int) float64 {
	p := 0.0
	for _, q := range s.behind[k] {
		p += q
	}
	return min(p, 1)
}

// newSweep makes a sweep over a chain. Spare is the segments of a sweep no longer
// needed, or nil: they are by far the most memory, and finding clocks makes many
// sweeps over as many photos.
func newSweep(c *chain, spare []segment) *sweep {
	n := len(c.gap)
	s := &sweep{
		chain: c, within: make([]float64, n), between: make([]float64, n),
		scale: make([]float64, n+1), ends: make([]int, n+1), segments: spare[:0],
	}
	s.ahead, s.behind = make([][]float64, n+1), make([][]float64, n+1)
	for j := range s.ahead {
		s.ahead[j] = make([]float64, c.states[j])
		s.behind[j] = make([]float64, c.states[j])
	}
	return s
}

// weigh sets the weight of every gap in either class under the model, with the
// change of camera it goes with. What is certain has weight 1 and 0.
func (s *sweep) weigh() {
	n := len(s.gap)
	s.logLikelihood = math.Log(s.start[s.camera[0]])
	within, between := s.masses(s.spans)
	s.between[0] = 1
	for k := 1; k < n; k++ {
		w := within[s.gap[k]] * s.follow[s.camera[k-1]][s.camera[k]]
		b := between[s.gap[k]] * s.start[s.camera[k]]
		sum := w + b
		s.logLikelihood += math.Log(sum)
		s.within[k], s.between[k] = w/sum, b/sum
		switch s.force[k] {
		case forcedCut:
			s.within[k], s.between[k] = 0, 1
		case forcedJoin:
			s.within[k], s.between[k] = 1, 0
		}
	}
}

// masses returns the probability of each of the rising spans in either class,
// bent so that of the gaps shorter than usual within an item a shorter one never
// speaks more for a boundary. Log-normals do not promise that: a burst is
// improbable in a narrow class of gaps and then looks like a boundary.
func (m *model) masses(spans []float64) (within, between []float64) {
	within, between = make([]float64, len(spans)), make([]float64, len(spans))
	usual := 0
	for i, g := range spans {
		within[i], _ = m.within.mass(g)
		between[i], _ = m.between.mass(g)
		if math.Log(g) <= m.within.core.mu {
			usual = i
		}
	}
	for i := usual - 1; i >= 0; i-- {
		within[i] = max(within[i], between[i]*within[i+1]/between[i+1])
	}
	return within, between
}

// A segment is a candidate group: the shots from..end-1.
type segment struct {
	from, end int
	first     int     // first sighting of a tag in it, -1 none
	plate     int     // last plate in it, -1 none
	weight    float64 // of the group and of the gap before it, relative to the cuttings of the shots before end-1
}

// Two bounds on the work. Longer groups than these matter only when a human made
// them, and what a human joined is one candidate, not many.
const (
	negligible     = 1e-5 // share of the cuttings so far below which longer groups are not looked at
	mostCandidates = 500  // groups that may end at one shot; a haul without any pause is split there
)

// candidates appends the groups that may end before shot j, shortest first.
func (s *sweep) candidates(j int, to []segment) []segment {
	before, run, tags, plates := len(to), 1.0, 1.0, 1.0
	g := segment{end: j, first: -1, plate: -1}
	for g.from = j - 1; g.from >= 0; g.from-- {
		if s.tag[g.from] >= 0 {
			if g.first >= 0 {
				tags *= again
				if s.differ[g.first] {
					tags *= contradiction
				}
			}
			g.first = g.from
		}
		if s.plate[g.from] {
			if g.plate >= 0 {
				plates *= anotherPlate
			} else {
				g.plate = g.from
			}
		}
		g.weight = run * s.between[g.from] * s.sizeOf(j-g.from)
		if s.opening >= 0 {
			g.weight *= s.tagShare(&g) * tags
		}
		if s.plates {
			g.weight *= s.plateShare(&g) * plates
		}
		if g.weight > 0 {
			to = append(to, g)
		}
		run *= s.within[g.from] / s.scale[g.from]
		if found := len(to) - before; found > 0 && run*tags < negligible || found == mostCandidates {
			break
		}
	}
	return to
}

// tagShare is the probability of where a group's first tag is seen, if any.
func (s *sweep) tagShare(g *segment) float64 {
	switch {
	case g.first < 0:
		return 1 - s.seen
	case s.repeat[g.first]:
		return separation * s.seen * placed(s.leads, g.first == g.from, g.end-g.from)
	}
	return s.seen * placed(s.leads, g.first == g.from, g.end-g.from)
}

// plateShare is the probability of where a group's last plate is seen, if any.
func (s *sweep) plateShare(g *segment) float64 {
	if g.plate < 0 {
		return 1 - s.plated
	}
	return s.plated * placed(s.closes, g.plate == g.end-1, g.end-g.from)
}

// forward sweeps the chain under a model. Every candidate group is weighed here,
// once, and kept for the way back.
func (s *sweep) forward(m *model) {
	s.model = m
	s.weigh()
	n := len(s.gap)
	clear(s.ahead[0])
	s.ahead[0][0], s.scale[0] = 1, 1
	s.segments, s.ends[0] = s.segments[:0], 0
	for j := 1; j <= n; j++ {
		s.segments = s.candidates(j, s.segments)
		s.ends[j] = len(s.segments)
		to := s.ahead[j]
		clear(to)
		for _, g := range s.segments[s.ends[j-1]:] {
			from := s.ahead[g.from]
			if g.first >= 0 {
				for m, p := range from {
					to[0] += g.weight * p * s.countShare(g.first, m+1)
				}
				continue
			}
			for m, p := range from {
				to[min(m+1, len(to)-1)] += g.weight * p
			}
		}
		sum := 0.0
		for _, p := range to {
			sum += p
		}
		for m := range to {
			to[m] /= sum
		}
		s.scale[j] = sum
		s.logLikelihood += math.Log(sum)
	}
}

// backward follows forward and hands every candidate group with its posterior
// probability to visit.
func (s *sweep) backward(visit func(g segment, posterior float64)) {
	n := len(s.gap)
	for _, b := range s.behind {
		clear(b)
	}
	copy(s.behind[n], s.ahead[n])
	for j := n; j >= 1; j-- {
		to, end, all := s.behind[j], s.ahead[j], 0.0
		for m, p := range to {
			all += p
			if end[m] > 0 {
				to[m] = p / end[m] / s.scale[j]
			}
		}
		if all < negligible*negligible {
			continue
		}
		for _, g := range s.segments[s.ends[j-1]:s.ends[j]] {
			from, back, posterior := s.ahead[g.from], s.behind[g.from], 0.0
			for m, p := range from {
				w := g.weight * p
				if g.first >= 0 {
					w *= s.countShare(g.first, m+1) * to[0]
				} else {
					w *= to[min(m+1, len(to)-1)]
				}
				back[m] += w
				posterior += w
			}
			visit(g, posterior)
		}
		for m := range to {
			to[m] *= end[m] * s.scale[j]
		}
	}
}
