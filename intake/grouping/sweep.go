package grouping

import "math"

// A sweep is one forward–backward pass over every way to cut a chain into
// groups: a hidden semi-Markov model whose segments are the groups.
type sweep struct {
	*chain
	*model
	within, between []float64   // weight of the gap before shot k in either class, scaled to one together
	ahead           [][]float64 // ahead[j][m]: share of cuttings of the first j shots with m items since the last tag
	scale           []float64   // factor by which j shots are less likely than j-1
	behind          [][]float64 // posterior that a group ends before j with m items since the last tag
	logLikelihood   float64
	flat            []float64
}

func (s *sweep) cut(k int) float64 {
	p := 0.0
	for _, q := range s.behind[k] {
		p += q
	}
	return min(p, 1)
}

func newSweep(c *chain) *sweep {
	n := len(c.gap)
	s := &sweep{chain: c, within: make([]float64, n), between: make([]float64, n), scale: make([]float64, n+1)}
	s.ahead, s.behind = make([][]float64, n+1), make([][]float64, n+1)
	for j := range s.ahead {
		s.ahead[j] = make([]float64, c.states[j])
		s.behind[j] = make([]float64, c.states[j])
	}
	return s
}

func (s *sweep) weigh() {
	n := len(s.gap)
	s.logLikelihood = math.Log(s.start[s.camera[0]])
	within, between := make([]float64, len(s.spans)), make([]float64, len(s.spans))
	for i, g := range s.spans {
		within[i], _ = s.model.within.mass(g)
		between[i], _ = s.model.between.mass(g)
	}
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

// A segment is a candidate group: the shots from..end.
type segment struct {
	s         *sweep
	from, end int
	first     int     // first sighting of a tag in it, -1 none
	weight    float64 // relative to the cuttings of the shots before end-1
	run       float64
	tags      float64
}

// before starts the walk over the candidates that end before shot j; next moves
// to the next longer one and is false when the rest does not matter.
func (s *sweep) before(j int) segment {
	return segment{s: s, from: j, end: j, first: -1, run: 1, tags: 1}
}

func (g *segment) next() bool {
	s := g.s
	if g.from == 0 {
		return false
	}
	if g.from < g.end {
		g.run *= s.within[g.from] / s.scale[g.from]
		if g.run < 1e-14 {
			return false
		}
	}
	g.from--
	n := g.end - g.from
	if s.tag[g.from] >= 0 {
		if g.first >= 0 {
			g.tags *= again
			if s.differ[g.first] {
				g.tags *= contradiction
			}
		}
		g.first = g.from
	}
	g.weight = g.run * s.between[g.from] * s.sizeOf(n)
	switch {
	case !s.tagged:
	case g.first < 0:
		g.weight *= 1 - s.seen
	default:
		t := (1 - s.leads) / float64(n)
		if g.first == g.from {
			t += s.leads
		}
		if s.repeat[g.first] {
			t *= separation
		}
		g.weight *= s.seen * t * g.tags
	}
	return true
}

// forward sweeps the chain under a model.
func (s *sweep) forward(m *model) {
	s.model = m
	s.weigh()
	n := len(s.gap)
	s.ahead[0][0], s.scale[0] = 1, 1
	for m := 1; m < len(s.ahead[0]); m++ {
		s.ahead[0][m] = 0
	}
	for j := 1; j <= n; j++ {
		to := s.ahead[j]
		for m := range to {
			to[m] = 0
		}
		for g := s.before(j); g.next(); {
			from := s.ahead[g.from]
			if g.first >= 0 {
				for m, p := range from {
					to[0] += g.weight * p * s.stepShare(s.step[g.first], m+1)
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

// backward hands every candidate group with its posterior probability to visit.
func (s *sweep) backward(visit func(g segment, posterior float64)) {
	n := len(s.gap)
	for j := range s.behind {
		for m := range s.behind[j] {
			s.behind[j][m] = 0
		}
	}
	copy(s.behind[n], s.ahead[n])
	for j := n; j >= 1; j-- {
		to, all := s.behind[j], 0.0
		for _, p := range to {
			all += p
		}
		if all < 1e-12 {
			continue
		}
		end := s.ahead[j]
		for g := s.before(j); g.next(); {
			from, back, posterior := s.ahead[g.from], s.behind[g.from], 0.0
			for m, p := range from {
				if p == 0 {
					continue
				}
				t, w := 0, g.weight/s.scale[j]*p
				if g.first >= 0 {
					w *= s.stepShare(s.step[g.first], m+1)
				} else {
					t = min(m+1, len(to)-1)
				}
				if end[t] > 0 {
					w *= to[t] / end[t]
				}
				back[m] += w
				posterior += w
			}
			if visit != nil {
				visit(g, posterior)
			}
		}
	}
}
