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
	step   []int  // how far the tag's running number is ahead of the sighting before; noStep when it says nothing
	differ []bool // the sighting before shows another code, and a cut may lie between
	repeat []bool // the sighting before shows the same code
	states []int  // how many counts of items since the last sighting are told apart before shot k
	tagged bool
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

// linkTags compares every sighting of a tag with the sighting before it.
// Numbers holds the running number of each shot's tag, or noStep.
func (c *chain) linkTags(numbers []int) {
	n := len(c.tag)
	c.differ, c.repeat, c.step = make([]bool, n), make([]bool, n), make([]int, n)
	c.states = make([]int, n+1)
	last, cuttable := -1, false
	for k, t := range c.tag {
		c.step[k] = noStep
		cuttable = cuttable || c.force[k] != forcedJoin
		if t < 0 {
			continue
		}
		c.tagged = true
		if last >= 0 {
			c.repeat[k] = t == c.tag[last]
			c.differ[k] = t != c.tag[last] && cuttable
			if c.differ[k] && numbers[k] != noStep && numbers[last] != noStep {
				c.step[k] = numbers[k] - numbers[last]
			}
		}
		last, cuttable = k, false
	}
	if !c.counts() {
		for k := range c.step {
			c.step[k] = noStep
		}
	}
	states := 1
	for k := n; k >= 0; k-- {
		if k < n && c.tag[k] >= 0 {
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

// counts tells whether the tags of this haul were given in order: nearly all
// sightings are a few numbers ahead of the one before.
func (c *chain) counts() bool {
	steps, ahead := 0, 0
	for k, s := range c.step {
		if !c.differ[k] {
			continue
		}
		steps++
		if s >= 1 && s <= mostCounted {
			ahead++
		}
	}
	return ahead >= 4 && ahead*5 >= steps*4
}
