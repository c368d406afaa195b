package grouping

import (
	"math"
	"time"

	"haulbook/intake"
)

// Split computes the best split of one haul. The order the shots are handed in
// does not matter.
//
// What is fitted to the haul (how long gaps last, how large groups are, the
// clocks) is fitted to the photos alone, not to what a human said or which
// photos already are an item: one correction must not move boundaries elsewhere.
func Split(shots []Shot) Result {
	h := newHaul(shots)
	r := Result{
		Before:  make([]intake.Boundary, len(shots)),
		Shifts:  make(map[string]time.Duration),
		divider: make([]bool, len(shots)),
	}
	shifts := h.clocks()
	used := make([]bool, len(h.cameras))
	for c, name := range h.cameras {
		used[c] = true
		r.Shifts[name] = time.Duration(math.Round(shifts[c])) * time.Second
	}
	r.Order = h.order(shifts, used)
	for k, i := range r.Order {
		r.divider[k] = shots[i].Divider
	}
	cuts, certain := h.boundaries(r.Order, shifts)
	n := 0
	for k, i := range r.Order {
		b := intake.Boundary{Cut: true, Certainty: 1}
		if !shots[i].Divider {
			if k > 0 && !r.divider[k-1] {
				b = decided(shots[r.Order[k-1]], shots[i], cuts[n], certain[n])
			}
			n++
		}
		r.Before[k] = b
	}
	return r
}

// decided is the boundary between two neighbouring shots, given what was
// computed: whose item a photo is, and then what a human said, outrank it.
func decided(before, after Shot, cut bool, probability float64) intake.Boundary {
	switch {
	case before.Item != after.Item:
		return intake.Boundary{Cut: true, Certainty: 1, Human: after.Cut == CutHere}
	case after.Item != "":
		return intake.Boundary{Cut: false, Certainty: 1, Human: after.Cut == JoinHere}
	case after.Cut != Unsaid:
		return intake.Boundary{Cut: after.Cut == CutHere, Certainty: 1, Human: true}
	case cut:
		return intake.Boundary{Cut: true, Certainty: probability}
	}
	return intake.Boundary{Cut: false, Certainty: 1 - probability}
}

// boundaries computes, for each shot of the order that is no divider, whether a
// group begins there and the probability that one does.
func (h *haul) boundaries(order []int, shifts []float64) (cuts []bool, probability []float64) {
	photos := h.chain(order, shifts, false)
	if len(photos.gap) == 0 {
		return nil, nil
	}
	s := newSweep(photos, nil)
	s.fit(newModel(len(h.cameras), photos.guess()), finalRounds)
	heeding := newSweep(h.chain(order, shifts, true), s.segments)
	heeding.forward(s.model)
	return heeding.decode()
}
