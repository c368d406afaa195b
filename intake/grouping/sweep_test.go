package grouping

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Every way to cut a short chain is tried one by one, its weight worked out
// straight from the meaning of the model, and compared with what the sweeps say.
func TestSweepsAgreeWithTryingEveryCut(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 7))
	for range 60 {
		c := randomChain(rnd, 2+rnd.IntN(8))
		m := newModel(2, math.Log(9))
		m.start, m.follow = []float64{0.8, 0.2}, [][]float64{{0.7, 0.3}, {0.4, 0.6}}
		m.leads, m.closes, m.seen, m.plated = 0.7, 0.6, 0.8, 0.4
		wantLikelihood, wantCut := everyCut(c, m)
		s := newSweep(c, nil)
		s.forward(m)
		s.backward(func(segment, float64) {})
		if got, want := s.logLikelihood, math.Log(wantLikelihood); math.Abs(got-want) > 1e-3 {
			t.Errorf("log-likelihood of %+v: got %.6f, want %.6f", c, got, want)
		}
		for k, want := range wantCut {
			if got := s.cut(k); math.Abs(got-want) > 1e-3 {
				t.Errorf("cut before shot %d of %+v: got %.6f, want %.6f", k, c, got, want)
			}
		}
	}
}

func randomChain(rnd *rand.Rand, n int) *chain {
	c := &chain{}
	var gaps []float64
	var numbers []int
	number := 0
	for range n {
		tag := -1
		if rnd.IntN(3) == 0 {
			number += 1 + rnd.IntN(2)
			tag = number
		}
		gaps, numbers = append(gaps, float64(4+rnd.IntN(60))), append(numbers, number)
		c.tag, c.camera = append(c.tag, tag), append(c.camera, rnd.IntN(2))
		plate := rnd.IntN(4) == 0
		c.plate, c.plates = append(c.plate, plate), c.plates || plate
		c.force = append(c.force, [...]int8{undecided, undecided, undecided, forcedCut, forcedJoin}[rnd.IntN(5)])
	}
	c.force[0] = undecided
	c.setGaps(gaps)
	c.linkTags(numbers)
	return c
}

// everyCut sums the weights of all ways to cut c, and of those with a cut before
// each shot, as a share.
func everyCut(c *chain, m *model) (all float64, cut []float64) {
	n := len(c.gap)
	cut = make([]float64, n)
	for ways := range 1 << (n - 1) {
		w := weightOf(c, m, ways)
		all += w
		for k := range n {
			if k == 0 || ways>>(k-1)&1 == 1 {
				cut[k] += w
			}
		}
	}
	for k := range cut {
		cut[k] /= all
	}
	return all, cut
}

// weightOf is the weight of one way to cut: bit k-1 is a cut before shot k.
func weightOf(c *chain, m *model, ways int) float64 {
	n, w, from, since := len(c.gap), m.start[c.camera[0]], 0, 0
	within, between := m.masses(c.spans)
	for k := 1; k <= n; k++ {
		isCut := k == n || ways>>(k-1)&1 == 1
		if k < n {
			in := within[c.gap[k]] * m.follow[c.camera[k-1]][c.camera[k]]
			out := between[c.gap[k]] * m.start[c.camera[k]]
			switch {
			case c.force[k] == forcedCut && isCut, c.force[k] == forcedJoin && !isCut:
				w *= in + out // a boundary that is certain costs nothing, whatever the gap
			case c.force[k] != undecided:
				return 0
			case isCut:
				w *= out
			default:
				w *= in
			}
		}
		if isCut {
			since++
			var tagged bool
			share := groupWeight(c, m, from, k, since, &tagged)
			w *= share
			if tagged {
				since = 0
			}
			from = k
		}
	}
	return w
}

// groupWeight is the weight of the group from..to-1, the since-th since a tag.
func groupWeight(c *chain, m *model, from, to, since int, tagged *bool) float64 {
	n, w := float64(to-from), m.sizeOf(to-from)
	first, sightings, plate, plates := -1, 0, -1, 0
	for k := from; k < to; k++ {
		if c.tag[k] >= 0 {
			if sightings++; sightings > 1 {
				w *= again
				if c.differ[k] {
					w *= contradiction
				}
			} else {
				first = k
			}
		}
		if c.plate[k] {
			plates++
			plate = k
		}
	}
	*tagged = first >= 0
	if c.opening >= 0 && first < 0 {
		w *= 1 - m.seen
	}
	if first >= 0 {
		anywhere := (1 - m.leads) / n
		if first == from {
			anywhere += m.leads
		}
		w *= m.seen * anywhere * (&sweep{chain: c, model: m}).countShare(first, since)
	}
	if c.plates && plate < 0 {
		w *= 1 - m.plated
	}
	if plate >= 0 {
		anywhere := (1 - m.closes) / n
		if plate == to-1 {
			anywhere += m.closes
		}
		w *= m.plated * anywhere * math.Pow(anotherPlate, float64(plates-1))
	}
	return w
}

func TestForcedBoundariesAreCertain(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 9))
	for range 100 {
		c := randomChain(rnd, 1+rnd.IntN(40))
		s := newSweep(c, nil)
		s.forward(newModel(2, math.Log(9)))
		cuts, probability := s.decode()
		for k := 1; k < len(cuts); k++ {
			if c.force[k] == forcedCut && (!cuts[k] || probability[k] < 0.999) {
				t.Errorf("certain cut before %d: got %v %.4f", k, cuts[k], probability[k])
			}
			if c.force[k] == forcedJoin && (cuts[k] || probability[k] > 0.001) {
				t.Errorf("certain join before %d: got %v %.4f", k, cuts[k], probability[k])
			}
		}
	}
}
