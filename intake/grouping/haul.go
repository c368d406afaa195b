package grouping

import (
	"cmp"
	"slices"
	"time"
)

// A haul is the shots of one haul as numbers: everything that does not depend on
// the clocks is worked out once, because finding the clocks tries many.
type haul struct {
	shots   []Shot
	cameras []string  // sorted
	camera  []int     // per shot, index into cameras
	at      []float64 // per shot, seconds by its camera's own clock
	tag     []int     // per shot, index of its code, -1 none
	number  []int     // per shot, running number of its code, noStep none
	counter []int     // per shot, rank that orders shots of equal time
}

func newHaul(shots []Shot) *haul {
	h := &haul{shots: shots}
	var first time.Time
	for i, s := range shots {
		h.cameras = append(h.cameras, s.Camera)
		if i == 0 || s.Taken.Before(first) {
			first = s.Taken
		}
	}
	slices.Sort(h.cameras)
	h.cameras = slices.Compact(h.cameras)
	codes := make(map[string]int)
	for _, s := range shots {
		c, _ := slices.BinarySearch(h.cameras, s.Camera)
		h.camera = append(h.camera, c)
		h.at = append(h.at, s.Taken.Sub(first).Seconds())
		tag, number := -1, noStep
		if s.Tag != "" {
			if _, known := codes[s.Tag]; !known {
				codes[s.Tag] = len(codes)
			}
			tag, number = codes[s.Tag], runningNumber(s.Tag)
		}
		h.tag = append(h.tag, tag)
		h.number = append(h.number, number)
	}
	h.rankTies()
	if !h.tagsCount() {
		for i := range h.number {
			h.number[i] = noStep
		}
	}
	return h
}

// tagsCount tells whether the tags of this haul were given in order: in the
// photos of each camera nearly all are a little ahead of the one before. By
// camera, because that does not depend on the clocks.
func (h *haul) tagsCount() bool {
	steps, ahead := 0, 0
	used := make([]bool, len(h.cameras))
	for c := range h.cameras {
		clear(used)
		used[c] = true
		last := -1
		for _, i := range h.order(make([]float64, len(h.cameras)), used) {
			if h.tag[i] < 0 || h.shots[i].Divider {
				continue
			}
			if last >= 0 && h.tag[i] != h.tag[last] {
				steps++
				if step := h.number[i] - h.number[last]; h.number[last] != noStep && step >= 1 && step <= mostCounted {
					ahead++
				}
			}
			last = i
		}
	}
	return ahead >= 4 && ahead*5 >= steps*4
}

// rankTies orders the shots by what they are, so that shots of the same second
// come out alike in whatever order they were handed in.
func (h *haul) rankTies() {
	byWhatTheyAre := make([]int, len(h.shots))
	for i := range byWhatTheyAre {
		byWhatTheyAre[i] = i
	}
	slices.SortStableFunc(byWhatTheyAre, func(i, j int) int {
		a, b := h.shots[i], h.shots[j]
		return cmp.Or(
			cmp.Compare(h.camera[i], h.camera[j]),
			cmp.Compare(a.Counter, b.Counter),
			a.Taken.Compare(b.Taken),
			cmp.Compare(a.Tag, b.Tag),
			cmp.Compare(a.Item, b.Item),
			cmp.Compare(a.Cut, b.Cut),
		)
	})
	h.counter = make([]int, len(h.shots))
	for rank, i := range byWhatTheyAre {
		h.counter[i] = rank
	}
}

// runningNumber is the number a code ends in, or noStep: 2026.4.17 is 17.
func runningNumber(code string) int {
	digits := 0
	for digits < len(code) && digits < 9 && code[len(code)-1-digits] >= '0' && code[len(code)-1-digits] <= '9' {
		digits++
	}
	if digits == 0 {
		return noStep
	}
	n := 0
	for _, d := range []byte(code[len(code)-digits:]) {
		n = 10*n + int(d-'0')
	}
	return n
}

// order returns the shots of the cameras used in shooting order, with the shift
// of each camera added to its clock.
func (h *haul) order(shifts []float64, used []bool) []int {
	var order []int
	for i, c := range h.camera {
		if used[c] {
			order = append(order, i)
		}
	}
	slices.SortFunc(order, func(i, j int) int {
		return cmp.Or(
			cmp.Compare(h.at[i]+shifts[h.camera[i]], h.at[j]+shifts[h.camera[j]]),
			cmp.Compare(h.counter[i], h.counter[j]),
		)
	})
	return order
}

// chain lays the shots of an order out for the model: dividers become certain
// cuts, and what a human said is certain when heed is set.
func (h *haul) chain(order []int, shifts []float64, heed bool) *chain {
	c := &chain{}
	var gaps []float64
	var numbers []int
	last, divided := 0.0, false
	for _, i := range order {
		if h.shots[i].Divider {
			divided = true
			continue
		}
		at := h.at[i] + shifts[h.camera[i]]
		gap, force := 0.0, undecided
		if len(gaps) > 0 {
			gap = at - last
		}
		switch said := h.shots[i].Cut; {
		case divided, heed && said == CutHere:
			force = forcedCut
		case heed && said == JoinHere:
			force = forcedJoin
		}
		gaps, numbers = append(gaps, gap), append(numbers, h.number[i])
		c.camera, c.tag, c.force = append(c.camera, h.camera[i]), append(c.tag, h.tag[i]), append(c.force, force)
		c.plate = append(c.plate, h.shots[i].Plate)
		c.plates = c.plates || h.shots[i].Plate
		last, divided = at, false
	}
	c.setGaps(gaps)
	c.linkTags(numbers)
	return c
}
