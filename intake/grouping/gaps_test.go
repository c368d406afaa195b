package grouping

import (
	"math"
	"math/rand/v2"
	"testing"
)

func TestBelow(t *testing.T) {
	// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1, cumulative
	// distribution function of the standard normal (from memory).
	for z, want := range map[float64]float64{0: 0.5, 1: 0.84134, 1.96: 0.97500, -1.645: 0.04998, 3: 0.99865} {
		if got := below(z); math.Abs(got-want) > 5e-5 {
			t.Errorf("below(%v): got %.5f, want %.5f", z, got, want)
		}
	}
}

func TestMassesOfAllSecondsAreOne(t *testing.T) {
	for _, l := range []logNormal{{math.Log(3), 0.3}, {math.Log(8), 0.9}, {math.Log(60), 1}} {
		sum := 0.0
		for s := range 20000 {
			sum += l.mass(float64(s))
		}
		if math.Abs(sum-1) > 1e-6 {
			t.Errorf("masses of %+v: got %.8f in all, want 1", l, sum)
		}
	}
}

// The worked example of expectation–maximisation in T. Hastie, R. Tibshirani,
// J. Friedman, The Elements of Statistical Learning, 2nd edition, section 8.5.1:
// the twenty values of table 8.1 as a mixture of two normals, fitted by algorithm
// 8.1 (from memory). Our gaps are the exponentials of the values, pushed up to
// where half a second is nothing.
func TestClassesFitTheTextbookMixture(t *testing.T) {
	values := []float64{
		-0.39, 0.12, 0.94, 1.67, 1.76, 2.44, 3.72, 4.28, 4.92, 5.53,
		0.06, 0.48, 1.01, 1.68, 1.80, 3.25, 4.12, 4.60, 5.28, 6.22,
	}
	const up = 9
	spans := make([]float64, len(values))
	for i, v := range values {
		spans[i] = math.Exp(v + up)
	}
	high, low := gapClass{core: logNormal{4.5 + up, 1.5}}, gapClass{core: logNormal{1 + up, 1.5}}
	share, nothing := 0.5, rarity{gaps: logNormal{0, 1}}
	for range 300 {
		inHigh, inLow := make([]float64, len(spans)), make([]float64, len(spans))
		sum := 0.0
		for i, s := range spans {
			h, _ := high.mass(s)
			l, _ := low.mass(s)
			inHigh[i] = share * h / (share*h + (1-share)*l)
			inLow[i] = 1 - inHigh[i]
			sum += inHigh[i]
		}
		high.learn(spans, inHigh, belief{}, nothing)
		low.learn(spans, inLow, belief{}, nothing)
		share = sum / float64(len(spans))
	}
	// book is what the book prints, from memory; plain what a plain EM on densities,
	// written elsewhere, gives for the printed values. They differ in the second
	// decimal, so the book seems to have fitted values with more digits.
	for _, c := range []struct {
		name             string
		got, book, plain float64
	}{
		{"lower share", 1 - share, 0.546, 0.5546},
		{"upper mean", high.core.mu - up, 4.62, 4.6559},
		{"upper variance", high.core.sigma * high.core.sigma, 0.87, 0.8188},
		{"lower mean", low.core.mu - up, 1.06, 1.0832},
		{"lower variance", low.core.sigma * low.core.sigma, 0.77, 0.8114},
	} {
		if math.Abs(c.got-c.book) > 0.06 || math.Abs(c.got-c.plain) > 0.001 {
			t.Errorf("%s: got %.4f, want about %.3f (book) and %.4f (plain)", c.name, c.got, c.book, c.plain)
		}
	}
}

func TestSettleWeighsBeliefAgainstGaps(t *testing.T) {
	var tl tally
	for range 30 {
		tl.add(1, 3)
	}
	if got := tl.settle(belief{mean: 1, meanWorth: 10}).mu; math.Abs(got-2.5) > 1e-12 {
		t.Errorf("thirty gaps of 3 against ten believed to be 1: got %v, want 2.5", got)
	}
	if got := (tally{}).settle(belief{1, 5, 0.4, 8}); math.Abs(got.mu-1)+math.Abs(got.sigma-0.4) > 1e-12 {
		t.Errorf("no gaps at all: got %+v, want the belief 1, 0.4", got)
	}
}

// A haul of drawn gaps gives back what it was drawn from.
func TestFitFindsTheGapsItWasDrawnFrom(t *testing.T) {
	rnd := rand.New(rand.NewPCG(11, 2))
	c := &chain{}
	var gaps []float64
	for range 300 {
		for p := range 1 + rnd.IntN(7) {
			mu, sigma := math.Log(6), 0.4
			if p == 0 {
				mu, sigma = math.Log(70), 0.5
			}
			gaps = append(gaps, math.Round(math.Exp(mu+sigma*rnd.NormFloat64())))
			c.camera, c.tag = append(c.camera, 0), append(c.tag, -1)
			c.plate, c.force = append(c.plate, false), append(c.force, undecided)
		}
	}
	c.setGaps(gaps)
	c.linkTags(make([]int, len(gaps)))
	s := newSweep(c, nil)
	s.fit(newModel(1, c.guess()), finalRounds)
	for _, v := range []struct {
		name      string
		got, want float64
	}{
		{"usual gap within", s.model.within.core.mu, math.Log(6)},
		{"spread within", s.model.within.core.sigma, 0.4},
		{"usual gap between", s.model.between.core.mu, math.Log(70)},
		{"spread between", s.model.between.core.sigma, 0.5},
		{"groups of one", s.size[1], 1 / 7.0},
		{"groups of ten", s.size[10], 0},
	} {
		if math.Abs(v.got-v.want) > 0.06 {
			t.Errorf("%s: got %.3f, want %.3f", v.name, v.got, v.want)
		}
	}
}

// In the beginning every round makes the photos more likely; near the end the
// beliefs may cost a little of it.
func TestEveryRoundFitsBetter(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	c := randomChain(rnd, 120)
	last := math.Inf(-1)
	for rounds := range 4 {
		s := newSweep(c, nil)
		s.fit(newModel(2, math.Log(30)), rounds)
		got := s.logLikelihood
		if got < last {
			t.Errorf("log-likelihood after %d rounds: got %.3f, want at least %.3f", rounds, got, last)
		}
		last = got
	}
}
