package grouping

import (
	"cmp"
	"math"
	"slices"
)

// clocks estimates for each camera the seconds to add to its clock so that all
// tell the time of the camera that took most photos.
func (h *haul) clocks() []float64 {
	photos := make([]int, len(h.cameras))
	for i, c := range h.camera {
		if !h.shots[i].Divider {
			photos[c]++
		}
	}
	busiest := make([]int, len(h.cameras))
	for c := range busiest {
		busiest[c] = c
	}
	slices.SortStableFunc(busiest, func(a, b int) int { return cmp.Compare(photos[b], photos[a]) })
	shifts, known := make([]float64, len(h.cameras)), make([]bool, len(h.cameras))
	for place, c := range busiest {
		if photos[c] == 0 {
			break
		}
		known[c] = true
		if place > 0 {
			shifts[c] = h.align(c, known, shifts).shift()
		}
	}
	return shifts
}

// An alignment is the search for the shift of one camera against the cameras
// whose shifts are known.
//
// A person with two cameras takes one thing after the other. Under the right
// shift the photos of both fall into the same few minutes, the pauses of both
// coincide and tags come in order; under a wrong one they do not. So a shift is
// as good as the model fitted under it is likely. The few shifts that deserve a
// fit are found by how closely the photos of the two fall together.
type alignment struct {
	*haul
	camera   int
	used     []bool // the known cameras and this one
	shifts   []float64
	ref, own []sighting // photos of the known cameras, and of this one
	unit     float64    // roughly the seconds between photos of one item
	spare    []segment  // of the last sweep
	usual    []float64  // logarithm of how usual a gap of so many seconds is
}

// A sighting is when a photo was taken and which tag was seen in it.
type sighting struct {
	at          float64
	tag, number int
}

func (h *haul) align(camera int, used []bool, shifts []float64) *alignment {
	a := &alignment{haul: h, camera: camera, used: used, shifts: slices.Clone(shifts)}
	for _, i := range h.order(shifts, used) {
		s := sighting{h.at[i] + shifts[h.camera[i]], h.tag[i], h.number[i]}
		switch {
		case h.shots[i].Divider:
		case h.camera[i] == camera:
			a.own = append(a.own, s)
		default:
			a.ref = append(a.ref, s)
		}
	}
	var gaps []float64
	for _, photos := range [][]sighting{a.ref, a.own} {
		for k := 1; k < len(photos); k++ {
			gaps = append(gaps, photos[k].at-photos[k-1].at)
		}
	}
	slices.Sort(gaps)
	a.unit = usualWithin
	if len(gaps) > 0 {
		a.unit = min(max(gaps[len(gaps)*2/5], 4), 60)
	}
	a.usual = make([]float64, 4096)
	within, between := logNormal{math.Log(0.7 * a.unit), 0.9}, logNormal{math.Log(5 * a.unit), 1.2}
	for g := range a.usual {
		a.usual[g] = math.Log(0.75*within.mass(float64(g)) + 0.25*between.mass(float64(g)) + 1e-7)
	}
	return a
}

// A try is a shift with the evidence for it, as a logarithm.
type try struct{ shift, evidence float64 }

// mostEvidence orders tries, the best first.
func mostEvidence(x, y try) int { return cmp.Compare(y.evidence, x.evidence) }

// shift returns the shift of the camera, or 0 when none stands out.
func (a *alignment) shift() float64 {
	tries := a.coincidences()
	if len(tries) == 0 {
		return 0
	}
	m := a.fit(tries[0].shift, nil, clockRounds).model
	for i, t := range tries {
		tries[i].evidence = a.fit(t.shift, m, 0).logLikelihood + doubt(t.shift)
	}
	slices.SortStableFunc(tries, mostEvidence)
	unmoved := a.fit(0, m, clockRounds)
	best := try{0, unmoved.logLikelihood + a.demand()}
	for _, t := range tries[:min(len(tries), 3)] {
		shift := a.climb(t.shift, m)
		if e := a.fit(shift, m, betterRounds).logLikelihood + doubt(shift); e > best.evidence {
			best = try{shift, e}
		}
	}
	return best.shift
}

// climb moves a shift to the best second near it.
func (a *alignment) climb(shift float64, m *model) float64 {
	best := try{shift, math.Inf(-1)}
	for d := -3.0; d <= 3; d++ {
		if e := a.fit(shift+d, m, 0).logLikelihood; e > best.evidence {
			best = try{shift + d, e}
		}
	}
	return best.shift
}

// doubt is the logarithm of how much less we believe in a shift than in a clock
// that is right. Clocks are set by hand or are whole hours off, after a journey
// or a change to summer time; beyond that, most errors are small.
func doubt(shift float64) float64 {
	hours := math.Round(shift / 3600)
	hand := -math.Log1p(math.Abs(shift) / 10)
	zone := -math.Log1p(2*math.Abs(hours)) - math.Log1p(math.Abs(shift-3600*hours)/10)
	return max(hand, zone)
}

// demand is how much better a shift must explain the photos than none does:
// more for each photo it moves, because between two people who work side by side
// some shift is always a little better by chance. Found by trying such hauls:
// chance gains up to 0.45 a photo, a right shift 0.7 to 2.
func (a *alignment) demand() float64 {
	return 3 + 0.42*float64(min(len(a.ref), len(a.own)))
}

// fit fits a model to the photos of all used cameras under a shift. Of the sweep
// only the model and the likelihood outlast the next fit.
func (a *alignment) fit(shift float64, from *model, rounds int) *sweep {
	a.shifts[a.camera] = shift
	c := a.chain(a.order(a.shifts, a.used), a.shifts, false)
	if from == nil {
		from = newModel(len(a.cameras), c.guess())
	}
	s := newSweep(c, a.spare)
	s.fit(from, rounds)
	a.spare = s.segments
	return s
}
