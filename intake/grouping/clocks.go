package grouping

import (
	"cmp"
	"math"
	"slices"
)

// clocks estimates for each camera the seconds to add to its clock so that all
// cameras tell the time of the one that took most photos.
func (h *haul) clocks() []float64 {
	shifts := make([]float64, len(h.cameras))
	photos := make([]int, len(h.cameras))
	for i, c := range h.camera {
		if !h.shots[i].Divider {
			photos[c]++
		}
	}
	byPhotos := make([]int, len(h.cameras))
	for c := range byPhotos {
		byPhotos[c] = c
	}
	slices.SortStableFunc(byPhotos, func(a, b int) int { return cmp.Compare(photos[b], photos[a]) })
	used := make([]bool, len(h.cameras))
	for place, c := range byPhotos {
		if photos[c] == 0 {
			break
		}
		if place > 0 {
			a := h.alignment(c, shifts, used)
			shifts[c] = a.find()
		}
		used[c] = true
	}
	return shifts
}

// An alignment is the search for one camera's shift against the cameras whose
// shifts are known.
type alignment struct {
	*haul
	camera   int
	used     []bool // the known cameras and this one
	shifts   []float64
	ref, own []sighting
	unit     float64 // seconds between photos of one item, roughly
	closely  []float64
}

// A sighting is a photo's time and tag.
type sighting struct {
	at     float64
	tag    int
	number int
}

func (h *haul) alignment(camera int, shifts []float64, used []bool) *alignment {
	a := &alignment{haul: h, camera: camera, used: slices.Clone(used), shifts: slices.Clone(shifts)}
	a.used[camera] = true
	for _, i := range h.order(shifts, a.used) {
		if h.shots[i].Divider {
			continue
		}
		s := sighting{h.at[i] + shifts[h.camera[i]], h.tag[i], h.number[i]}
		if h.camera[i] == camera {
			a.own = append(a.own, s)
		} else {
			a.ref = append(a.ref, s)
		}
	}
	var gaps []float64
	for _, stream := range [][]sighting{a.ref, a.own} {
		for k := 1; k < len(stream); k++ {
			gaps = append(gaps, stream[k].at-stream[k-1].at)
		}
	}
	slices.Sort(gaps)
	a.unit = 10
	if len(gaps) > 0 {
		a.unit = min(max(gaps[len(gaps)*2/5], 4), 60)
	}
	a.closely = make([]float64, 4096)
	for g := range a.closely {
		within := logNormal{math.Log(0.7 * a.unit), 0.9}.mass(float64(g))
		between := logNormal{math.Log(5 * a.unit), 1.2}.mass(float64(g))
		a.closely[g] = math.Log(0.75*within + 0.25*between + 1e-7)
	}
	return a
}

func (a *alignment) find() float64 {
	finalists := a.finalists()
	type scored struct {
		shift, evidence float64
	}
	var all []scored
	for _, f := range finalists {
		all = append(all, scored{f, a.evidence(f)})
	}
	slices.SortStableFunc(all, func(x, y scored) int { return cmp.Compare(y.evidence, x.evidence) })
	best := all[0]
	rival := math.Inf(-1)
	for _, x := range all[1:] {
		if math.Abs(x.shift-best.shift) > 600 || x.shift == 0 {
			rival = max(rival, x.evidence)
		}
	}
	if best.shift == 0 || best.evidence < rival+6 {
		return 0
	}
	return a.climb(best.shift, best.evidence)
}

func (a *alignment) climb(shift, evidence float64) float64 {
	for _, step := range []float64{4, 2, 1} {
		for range 4 {
			moved := false
			for _, s := range []float64{shift - step, shift + step} {
				if e := a.evidence(s); e > evidence {
					shift, evidence, moved = s, e, true
				}
			}
			if !moved {
				break
			}
		}
	}
	return shift
}

// evidence is the log-likelihood of the photos of all used cameras under a shift.
func (a *alignment) evidence(shift float64) float64 {
	a.shifts[a.camera] = shift
	c := a.chain(a.order(a.shifts, a.used), a.shifts, false)
	return fit(c, len(a.cameras), clockRounds).logLikelihood - math.Log(1+math.Abs(shift)/60)
}

// finalists are the shifts worth the full model: best by how closely the photos of the two fall together.
func (a *alignment) finalists() []float64 {
	type scored struct{ shift, score float64 }
	var all []scored
	for _, s := range a.coincidences(1500) {
		all = append(all, scored{s, a.closeness(s)})
	}
	slices.SortStableFunc(all, func(x, y scored) int { return cmp.Compare(y.score, x.score) })
	out := []float64{0}
	for _, x := range all {
		if len(out) >= 12 {
			break
		}
		s, score := x.shift, x.score
		for d := -3.0; d <= 3; d++ {
			if v := a.closeness(x.shift + d); v > score {
				s, score = x.shift+d, v
			}
		}
		if !slices.ContainsFunc(out, func(o float64) bool { return math.Abs(o-s) < 5 }) {
			out = append(out, s)
		}
	}
	return append(out, a.byTags()...)
}

// byTags: shifts that bring a tag seen by both together, or a numbered tag between its neighbours.
func (a *alignment) byTags() []float64 {
	var out []float64
	for _, o := range a.own {
		if o.tag < 0 {
			continue
		}
		below, above := -1, -1
		for k, r := range a.ref {
			if r.tag == o.tag {
				out = append(out, r.at-o.at)
			}
			if r.number == noStep || o.number == noStep {
				continue
			}
			if r.number < o.number {
				below = k
			}
			if r.number > o.number && above < 0 {
				above = k
			}
		}
		if below >= 0 && above > below {
			out = append(out, (a.ref[below].at+a.ref[above].at)/2-o.at)
		}
	}
	slices.Sort(out)
	if len(out) > 7 {
		few := []float64{}
		for q := 1; q < 8; q++ {
			few = append(few, out[q*len(out)/8])
		}
		out = few
	}
	for i, s := range out {
		out[i] = math.Round(s)
	}
	return out
}

// coincidences are the shifts under which most photos of this camera fall within a unit of others.
func (a *alignment) coincidences(most int) []float64 {
	bin := max(1, math.Round(a.unit/5))
	ref, own := a.ref, a.own
	lo, hi := ref[0].at-own[len(own)-1].at, ref[len(ref)-1].at-own[0].at
	lo, hi = max(lo, -farthest), min(hi, farthest)
	if hi <= lo {
		return nil
	}
	counts := make([]int, int((hi-lo)/bin)+1)
	for _, r := range ref {
		for _, o := range own {
			if d := r.at - o.at; d >= lo && d <= hi {
				counts[int((d-lo)/bin)]++
			}
		}
	}
	kernel := []int{12, 10, 8, 6, 5, 4, 4, 3, 3, 2, 2, 2, 1, 1}
	type scored struct{ i, n int }
	var all []scored
	for i := range counts {
		n := kernel[0] * counts[i]
		for d := 1; d < len(kernel); d++ {
			if i-d >= 0 {
				n += kernel[d] * counts[i-d]
			}
			if i+d < len(counts) {
				n += kernel[d] * counts[i+d]
			}
		}
		if n > 0 {
			all = append(all, scored{i, n})
		}
	}
	slices.SortStableFunc(all, func(x, y scored) int { return cmp.Compare(y.n, x.n) })
	var out []float64
	for _, x := range all[:min(most, len(all))] {
		out = append(out, math.Round(lo+(float64(x.i)+0.5)*bin))
	}
	return out
}

const farthest = 26 * 3600

// closeness merges the two streams and adds up how usual each gap is.
func (a *alignment) closeness(shift float64) float64 {
	ref, own := a.ref, a.own
	last := min(ref[0].at, own[0].at+shift)
	sum, i, j := 0.0, 0, 0
	for i < len(ref) || j < len(own) {
		var t float64
		if j == len(own) || i < len(ref) && ref[i].at <= own[j].at+shift {
			t = ref[i].at
			i++
		} else {
			t = own[j].at + shift
			j++
		}
		sum += a.closely[min(int(t-last), len(a.closely)-1)]
		last = t
	}
	return sum
}
