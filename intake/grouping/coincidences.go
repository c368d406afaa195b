package grouping

import (
	"math"
	"slices"
)

const (
	unset      = 200 * 24 * 3600 // seconds; a clock this far off was never set
	farthest   = 26 * 3600       // seconds; the zones of the world span 26 hours
	roughTries = 500             // shifts looked at by closeness
	fineTries  = 8               // shifts of them worth the model
	tagTries   = 5               // shifts for the sake of tags worth the model
)

// coincidences returns the shifts worth the full model: those under which the
// photos of the two sides fall together most closely, best first, and those that
// put tags in order.
func (a *alignment) coincidences() []try {
	var rough []try
	for _, shift := range a.crowded() {
		rough = append(rough, try{shift, a.closeness(shift)})
	}
	slices.SortStableFunc(rough, mostEvidence)
	var fine []try
	for _, t := range rough {
		if len(fine) == fineTries {
			break
		}
		for d := -3.0; d <= 3; d++ {
			if c := a.closeness(t.shift + d); c > t.evidence {
				t = try{t.shift + d, c}
			}
		}
		if !slices.ContainsFunc(fine, func(f try) bool { return math.Abs(f.shift-t.shift) < 5 }) {
			fine = append(fine, t)
		}
	}
	for _, shift := range spread(a.byTags(), tagTries) {
		fine = append(fine, try{shift: math.Round(shift)})
	}
	return fine
}

// crowded counts, for every shift, the pairs of photos it brings within a few
// units of each other, and returns the shifts with most, rounded to a second.
func (a *alignment) crowded() []float64 {
	lowest, highest := a.ref[0].at-a.own[len(a.own)-1].at, a.ref[len(a.ref)-1].at-a.own[0].at
	if lowest < unset && highest > -unset {
		lowest, highest = max(lowest, -farthest), min(highest, farthest)
	}
	if highest < lowest || highest-lowest > 4*farthest {
		return nil // photos of different days, or of weeks
	}
	bin := max(1, math.Round(a.unit/5))
	pairs := make([]int, int((highest-lowest)/bin)+1)
	for _, r := range a.ref {
		for _, o := range a.own {
			if d := r.at - o.at; d >= lowest && d <= highest {
				pairs[int((d-lowest)/bin)]++
			}
		}
	}
	var all []try
	for i := range pairs {
		if crowd := nearby(pairs, i); crowd > 0 {
			all = append(all, try{math.Round(lowest + (float64(i)+0.5)*bin), float64(crowd)})
		}
	}
	slices.SortStableFunc(all, mostEvidence)
	var shifts []float64
	for _, t := range all[:min(roughTries, len(all))] {
		shifts = append(shifts, t.shift)
	}
	return shifts
}

// nearby sums the counts around a place, the nearer the heavier.
func nearby(counts []int, at int) int {
	weights := [...]int{12, 10, 8, 6, 5, 4, 4, 3, 3, 2, 2, 2, 1, 1}
	sum := weights[0] * counts[at]
	for d := 1; d < len(weights); d++ {
		if at-d >= 0 {
			sum += weights[d] * counts[at-d]
		}
		if at+d < len(counts) {
			sum += weights[d] * counts[at+d]
		}
	}
	return sum
}

// closeness merges the photos of both sides and adds up how usual each gap is.
func (a *alignment) closeness(shift float64) float64 {
	ref, own := a.ref, a.own
	last := min(ref[0].at, own[0].at+shift)
	sum, i, j := 0.0, 0, 0
	for i < len(ref) || j < len(own) {
		var at float64
		if j == len(own) || i < len(ref) && ref[i].at <= own[j].at+shift {
			at = ref[i].at
			i++
		} else {
			at = own[j].at + shift
			j++
		}
		sum += a.usual[int(min(at-last, float64(len(a.usual)-1)))]
		last = at
	}
	return sum
}

// byTags returns the shifts that bring together a tag seen by both sides, or put
// a tag between those numbered before and after it.
func (a *alignment) byTags() []float64 {
	var shifts []float64
	for _, o := range a.own {
		if o.tag < 0 {
			continue
		}
		before, after := -1, -1
		for k, r := range a.ref {
			if r.tag == o.tag {
				shifts = append(shifts, r.at-o.at)
			}
			if r.number == noStep || o.number == noStep {
				continue
			}
			if r.number < o.number {
				before = k
			}
			if r.number > o.number && after < 0 {
				after = k
			}
		}
		if before >= 0 && after > before {
			shifts = append(shifts, (a.ref[before].at+a.ref[after].at)/2-o.at)
		}
	}
	slices.Sort(shifts)
	return shifts
}

// spread picks at most n of the sorted values, evenly.
func spread(sorted []float64, n int) []float64 {
	if len(sorted) <= n {
		return sorted
	}
	var few []float64
	for q := range n {
		few = append(few, sorted[(q+1)*len(sorted)/(n+1)])
	}
	return few
}
