package grouping

import (
	"math"
	"slices"
)

// How far a fit goes. Most hauls settle within ten rounds; for comparing clocks
// a rough fit tells as much.
const (
	finalRounds  = 40
	clockRounds  = 5
	betterRounds = 2
	enough       = 0.05 // a round that gains less log-likelihood is the last
)

// fit adapts a model to the chain of a sweep and leaves the sweep under the
// fitted model: a round expects what the cuts are (forward–backward), then takes the most
// probable model for that.
//
// Source: A. Dempster, N. Laird, D. Rubin, Maximum Likelihood from Incomplete
// Data via the EM Algorithm, 1977, with priors as in their section on penalised
// likelihood; C. Bishop, Pattern Recognition and Machine Learning, chapter 9.
func (s *sweep) fit(m *model, rounds int) {
	last := math.Inf(-1)
	for round := 0; ; round++ {
		s.forward(m)
		if round >= rounds || s.logLikelihood-last < enough {
			return
		}
		last = s.logLikelihood
		m = m.learn(s, s.census())
	}
}

// guess is the logarithm of the gap within an item to start the fit with. At
// least half of all gaps are within items in nearly every haul; the lower
// quartile is one of them, unless the haul is a few photos a long way apart.
func (c *chain) guess() float64 {
	if len(c.gap) < 2 {
		return math.Log(usualWithin)
	}
	gaps := slices.Sorted(slices.Values(c.gap[1:]))
	return math.Log(min(max(c.spans[gaps[len(gaps)/4]], 0.5), 5*usualWithin))
}

// A census is what a sweep expects the groups of the haul to be.
type census struct {
	sizes         []float64 // expected groups of n photos; the last is that or more
	with, without float64   // a tag seen in them
	led, amid     float64   // tags photographed first on purpose, and elsewhere
	plated, ended float64   // a plate seen in them, and seen last on purpose
	every, seen   float64   // tag numbers that count every item, and only the seen tags
}

// census sweeps backward and counts what every candidate group has, each as much
// as it is probable.
func (s *sweep) census() census {
	t := census{sizes: make([]float64, longest+1)}
	s.backward(func(g segment, posterior float64) {
		n := g.end - g.from
		t.sizes[min(n, longest)] += posterior
		if g.plate >= 0 {
			t.plated += posterior
			t.ended += posterior * onPurpose(s.closes, g.plate == g.end-1, n)
		}
		if g.first < 0 {
			t.without += posterior
			return
		}
		t.with += posterior
		led := onPurpose(s.leads, g.first == g.from, n)
		t.led += posterior * led
		t.amid += posterior * (1 - led)
		if step := s.step[g.first]; g.first != s.opening && step >= 1 && step <= mostCounted {
			every, seen := s.countedBy(step, s.ahead[g.from])
			t.every += posterior * every
			t.seen += posterior * seen
		}
	})
	return t
}

// placed is the probability of a photo's place in a group of n: at the end where
// such photos are taken on purpose, or anywhere.
func placed(share float64, there bool, n int) float64 {
	if there {
		return share + (1-share)/float64(n)
	}
	return (1 - share) / float64(n)
}

// onPurpose is the probability that a photo stands where it does on purpose.
func onPurpose(share float64, there bool, n int) float64 {
	if there {
		return share / placed(share, there, n)
	}
	return 0
}

// countedBy splits a step of the running numbers among its ways, given how
// probable each count of items since the last tag is.
func (s *sweep) countedBy(step int, items []float64) (every, seen float64) {
	all := 0.0
	for m, p := range items {
		e, o := s.stepWays(step, m+1)
		every += p * e
		seen += p * o
		all += p * s.stepShare(step, m+1)
	}
	return every / all, seen / all
}

// learn returns the most probable model for what a sweep expects.
func (m *model) learn(s *sweep, t census) *model {
	next := *m
	next.learnGaps(s)
	next.learnCameras(s)
	next.learnSizes(t.sizes)
	next.seen = (t.with + 1.4) / (t.with + t.without + 2)
	next.leads = (t.led + 0.5) / (t.led + t.amid + 1)
	next.plated = (t.plated + 1) / (t.with + t.without + 2)
	next.closes = (t.ended + 0.5) / (t.plated + 1)
	next.every = (t.every + 4) / (t.every + t.seen + 5)
	return &next
}

// learnGaps leaves out boundaries that are certain: what made them so, a divider
// card, took its own time.
func (m *model) learnGaps(s *sweep) {
	inside, outside := make([]float64, len(s.spans)), make([]float64, len(s.spans))
	for k := 1; k < len(s.gap); k++ {
		if s.force[k] == undecided {
			cut := s.cut(k)
			inside[s.gap[k]] += 1 - cut
			outside[s.gap[k]] += cut
		}
	}
	m.within.learn(s.spans, inside, belief{math.Log(usualWithin), 1, 0.5, 8}, interruptions)
	m.between.learn(s.spans, outside, belief{usualBetween(m.within.core.mu), 2, 0.75, 8}, longPauses)
}

// learn fits the class to spans that belong to it with the weights given.
func (c *gapClass) learn(spans, weights []float64, b belief, odd rarity) {
	var t tally
	all := 0.0
	for i, weight := range weights {
		total, core := c.mass(spans[i])
		all += weight
		t.add(weight*core/total, math.Log(math.Max(spans[i], 0.4)))
	}
	c.core = t.settle(b)
	c.stray = (all - t.weight + odd.share*odd.worth) / (all + odd.worth)
}

// learnCameras learns the hand's habits: many begin each item with one camera and
// take the other for details, which tells a boundary as well as a pause does.
func (m *model) learnCameras(s *sweep) {
	start, follow := make([]float64, len(m.start)), make([][]float64, len(m.start))
	for i := range follow {
		follow[i] = make([]float64, len(m.start))
	}
	start[s.camera[0]]++
	for k := 1; k < len(s.gap); k++ {
		cut := s.cut(k)
		start[s.camera[k]] += cut
		follow[s.camera[k-1]][s.camera[k]] += 1 - cut
	}
	m.start, m.follow = shares(start), follow
	for i := range follow {
		follow[i] = shares(follow[i])
	}
}

// learnSizes smooths over neighbouring sizes: forty groups do not tell whether
// seven photos are more usual than eight.
func (m *model) learnSizes(counts []float64) {
	all := sizesWorth
	for _, c := range counts {
		all += c
	}
	m.size = make([]float64, longest)
	for n := 1; n < longest; n++ {
		smooth := (2*counts[n] + counts[n+1] + counts[max(n-1, 1)]) / 4
		m.size[n] = (smooth + sizesWorth*usualSize(n)) / all
	}
}
