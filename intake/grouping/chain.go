package grouping

import "slices"

// What is certain about a boundary before anything is computed.
const (
	undecided int8 = iota
	forcedCut
	forcedJoin
)

// A chain is the shots of one haul in shooting order, dividers taken out, with
// everything the model looks at and nothing else.
type chain struct {
	gap    []int     // seconds since the shot before, as an index into spans
	spans  []float64 // the different gaps that occur
	camera []int
	force  []int8
	tag    []int  // own tag seen, -1 none
	plate  []bool // a plate is seen
	plates bool   // one at all
	step   []int  // how far the tag's running number is ahead of the sighting before; noStep when it says nothing
	differ []bool // the sighting before shows another code, and a cut may lie between
	repeat []bool // the sighting before shows the same code
	states []int  // how many counts of items since the last sighting are told apart before shot k
	// opening is the first sighting of a tag, -1 none; its step counts from the
	// start of the haul, as if a tag numbered 0 had been seen before it.
	opening int
}

// noStep marks a sighting whose running number says nothing.
const noStep = -1 << 30

// setGaps indexes the gaps: cameras write whole seconds, so a haul of a thousand
// photos has about a hundred different gaps and each is weighed once a round.
func (c *chain) setGaps(seconds []float64) {
	c.spans = slices.Compact(slices.Sorted(slices.Values(seconds)))
	c.gap = make([]int, len(seconds))
	for k, s := range seconds {
		c.gap[k], _ = slices.BinarySearch(c.spans, s)
	}
}

// linkTags compares every sighting of a tag with the sighting before it. Numbers
// holds the running number of each shot's tag, noStep for none.
func (c *chain) linkTags(numbers []int) {
	n := len(c.tag)
	c.differ, c.repeat, c.step = make([]bool, n), make([]bool, n), make([]int, n)
	c.opening = -1
	last, cuttable := -1, false
	for k, t := range c.tag {
		c.step[k] = noStep
		cuttable = cuttable || c.force[k] != forcedJoin
		switch {
		case t < 0:
			continue
		case last < 0:
			c.opening, c.step[k] = k, numbers[k]
		default:
			c.repeat[k] = t == c.tag[last]
			c.differ[k] = t != c.tag[last] && cuttable
			if c.differ[k] && numbers[k] != noStep && numbers[last] != noStep {
				c.step[k] = numbers[k] - numbers[last]
			}
		}
		last, cuttable = k, false
	}
	c.countStates()
}

// countStates sets how many counts of items since the last sighting must be told
// apart before each shot: up to one more than the next number is ahead.
func (c *chain) countStates() {
	c.states = make([]int, len(c.tag)+1)
	states := 1
	for k := len(c.tag); k >= 0; k-- {
		if k < len(c.tag) && c.tag[k] >= 0 {
			states = 1
			if s := c.step[k]; s >= 1 && s <= mostCounted {
				states = s + 1
			}
		}
		c.states[k] = states
	}
}

// mostCounted is the longest run of unread tags worth counting.
const mostCounted = 10
