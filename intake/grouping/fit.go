package grouping

import (
	"math"
	"slices"
)

// census is what one sweep expects the groups of the haul to look like.
type census struct {
	sizes              []float64
	with, without      float64 // groups with and without a tag seen
	led, amid          float64 // tags photographed first on purpose, and elsewhere
	counted, uncounted float64
}

func (s *sweep) census() census {
	t := census{sizes: make([]float64, longest+1)}
	s.backward(func(g segment, q float64) {
		n := g.end - g.from
		t.sizes[min(n, longest)] += q
		if g.first < 0 {
			t.without += q
			return
		}
		t.with += q
		led := 0.0
		if g.first == g.from {
			led = s.leads / (s.leads + (1-s.leads)/float64(n))
		}
		t.led += q * led
		t.amid += q * (1 - led)
		if d := s.step[g.first]; d > 1 && d <= mostCounted {
			// posterior that the count was right
			num, den := 0.0, 0.0
			for m, p := range s.ahead[g.from] {
				w := p * s.stepShare(d, m+1)
				den += w
				if m+1 == d {
					num += w
				}
			}
			t.counted += q * num / den
		} else if d == 1 {
			f := s.ahead[g.from]
			if len(f) > 1 {
				t.uncounted += q * f[1] * s.stepShare(1, 2) / (f[0]*s.stepShare(1, 1) + f[1]*s.stepShare(1, 2))
			}
		}
	})
	return t
}

// fit adapts a model to a chain: expectation–maximisation.
func fit(c *chain, cameras, rounds int) *sweep {
	s := newSweep(c)
	m := newModel(cameras, c.guess())
	last := math.Inf(-1)
	for i := 0; ; i++ {
		s.forward(m)
		if i >= rounds || s.logLikelihood-last < enough {
			return s
		}
		last = s.logLikelihood
		m = m.learn(s, s.census())
	}
}

const (
	finalRounds = 40
	clockRounds = 5
	enough      = 0.05
)

// guess is where the fit starts
func (c *chain) guess() float64 {
	if len(c.gap) < 2 {
		return Hyper.W.mean
	}
	gaps := slices.Sorted(slices.Values(c.gap[1:]))
	return math.Log(math.Max(c.spans[gaps[len(gaps)/3]], 0.5))
}

func (m *model) learn(s *sweep, t census) *model {
	next := *m
	next.learnGaps(s)
	next.learnCameras(s)
	next.learnSizes(t.sizes)
	next.seen = (t.with + 1.4) / (t.with + t.without + 2)
	next.leads = (t.led + 0.5) / (t.led + t.amid + 1)
	next.every = (t.counted + 1) / (t.counted + t.uncounted + 2)
	return &next
}

func (m *model) learnGaps(s *sweep) {
	var w, b tally
	var inside, outside float64
	logs := make([]float64, len(s.spans))
	wc, bc := make([]float64, len(s.spans)), make([]float64, len(s.spans))
	for i, g := range s.spans {
		logs[i] = math.Log(math.Max(g, 0.4))
		total, core := m.within.mass(g)
		wc[i] = core / total
		total, core = m.between.mass(g)
		bc[i] = core / total
	}
	for k := 1; k < len(s.gap); k++ {
		if s.force[k] != undecided {
			continue
		}
		q, i := s.cut(k), s.gap[k]
		inside += 1 - q
		outside += q
		w.add((1-q)*wc[i], logs[i])
		b.add(q*bc[i], logs[i])
	}
	m.within.core = w.settle(Hyper.W)
	bb := Hyper.B
	bb.mean = m.within.core.mu + Hyper.Rel
	m.between.core = b.settle(bb)
	m.within.stray = (inside - w.weight + Hyper.WStray*Hyper.WStrayN) / (inside + Hyper.WStrayN)
	m.between.stray = (outside - b.weight + Hyper.BStray*Hyper.BStrayN) / (outside + Hyper.BStrayN)
}

func (m *model) learnCameras(s *sweep) {
	k := len(m.start)
	start, follow := make([]float64, k), make([][]float64, k)
	for i := range follow {
		follow[i] = make([]float64, k)
	}
	start[s.camera[0]]++
	for i := 1; i < len(s.gap); i++ {
		q := s.cut(i)
		start[s.camera[i]] += q
		follow[s.camera[i-1]][s.camera[i]] += 1 - q
	}
	m.start = shares(start)
	m.follow = follow
	for i := range follow {
		follow[i] = shares(follow[i])
	}
}

// shares turns counts into shares, each counted once more than seen.
func shares(counts []float64) []float64 {
	all := 0.0
	for _, c := range counts {
		all += c + 1
	}
	out := make([]float64, len(counts))
	for i, c := range counts {
		out[i] = (c + 1) / all
	}
	return out
}

func (m *model) learnSizes(counts []float64) {
	all := Hyper.SizeN
	for _, c := range counts {
		all += c
	}
	m.size = make([]float64, longest)
	for n := 1; n < longest; n++ {
		smooth := (2*counts[n] + counts[n+1] + counts[max(n-1, 1)]) / 4
		m.size[n] = (smooth + Hyper.SizeN*baseSize(n)) / all
	}
}
