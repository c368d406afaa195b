package grouping

import "math"

// A model is everything that is fitted to one haul.
type model struct {
	within, between gapClass
	size            []float64   // share of groups of n photos; index 0 unused
	start           []float64   // share of groups that begin with each camera
	follow          [][]float64 // within a group: which camera comes after which
	seen            float64     // share of groups in which a tag is seen
	leads           float64     // share of seen tags photographed first on purpose; the others fall anywhere in their group
	plated          float64     // share of groups in which a plate is seen
	closes          float64     // share of seen plates photographed last on purpose
	every           float64     // share of tag numbers that count every item, those without a readable tag too
}

// What we hold before seeing a haul, in the terms of a person with a camera. It
// matters for hauls of a few photos and fades with each photo; results hardly
// move when any of these is changed by a third.
const (
	usualWithin   = 8.0   // seconds between two photos of one item
	usualAbove    = 1.9   // how much longer it takes between items, as a logarithm: sevenfold
	interruption  = 150.0 // seconds of somebody asking something, inside an item
	longPause     = 900.0 // seconds of carrying, coffee, lunch, between items
	groupsGoOn    = 0.75  // chance that an item gets one more photo
	oddSizes      = 0.03  // share of groups without any usual size
	sizesWorth    = 15.0  // groups
	longest       = 64    // group sizes fitted one by one; beyond them a falling tail
	again         = 0.05  // a tag is seen once more in its group
	anotherPlate  = 0.2   // one more plate is seen in a group
	contradiction = 1e-7  // two different tags in one group
	separation    = 1e-4  // the same tag in two groups
	fromOne       = 0.5   // the tags of a haul count from 1
	miscount      = 0.02  // a running number that skips for no reason
)

var (
	interruptions = rarity{logNormal{math.Log(interruption), 0.5}, 0.02, 20}
	longPauses    = rarity{logNormal{math.Log(longPause), 1.2}, 0.05, 15}
)

// newModel is the model before anything is fitted; within is a first guess of
// the logarithm of the gap between photos of one item.
func newModel(cameras int, within float64) *model {
	m := &model{
		within:  gapClass{core: logNormal{within, 0.6}, stray: interruptions.share, wide: interruptions.gaps},
		between: gapClass{core: logNormal{usualBetween(within), 0.8}, stray: longPauses.share, wide: longPauses.gaps},
		size:    make([]float64, longest),
		start:   shares(make([]float64, cameras)),
		seen:    0.85, leads: 0.5, every: 0.8, plated: 0.5, closes: 0.5,
	}
	for n := 1; n < longest; n++ {
		m.size[n] = usualSize(n)
	}
	for range cameras {
		m.follow = append(m.follow, m.start)
	}
	return m
}

// usualBetween is the logarithm of the gap between items we expect with a gap
// within: quick hands are quick with both, but a burst makes no quick walk.
func usualBetween(within float64) float64 {
	return usualAbove + (within+math.Log(usualWithin))/2
}

// usualSize is the share of groups of n photos before any haul is seen:
// geometric, with a tail for the item that is photographed from everywhere.
func usualSize(n int) float64 {
	x := float64(n)
	return (1-oddSizes)*(1-groupsGoOn)*math.Pow(groupsGoOn, x-1) + oddSizes/(x*(x+1))
}

// sizeOf is the share of groups of n photos.
func (m *model) sizeOf(n int) float64 {
	if n < longest {
		return m.size[n]
	}
	return m.size[longest-1] * float64(longest*longest) / float64(n*n)
}

// countShare is the probability of the running number of a first tag of a group,
// when items items began since the sighting before or the start of the haul.
func (s *sweep) countShare(first, items int) float64 {
	if first != s.opening {
		return s.stepShare(s.step[first], items)
	}
	if s.states[0] == 1 || s.step[first] != items {
		return (1 - fromOne) / mostCounted
	}
	return (1-fromOne)/mostCounted + fromOne
}

// stepShare is the probability that a tag's running number is step ahead of the
// sighting before, when items items began since. It is the sum of its three
// ways: every item has a number, only tags that were seen have one, no reason.
func (m *model) stepShare(step, items int) float64 {
	if step == noStep || step > mostCounted {
		return 1
	}
	if step < 1 {
		return miscount * miscount
	}
	every, seen := m.stepWays(step, items)
	return every + seen + miscount/mostCounted
}

// stepWays is the part of stepShare that either habit of numbering explains.
func (m *model) stepWays(step, items int) (every, seen float64) {
	if step == items {
		every = (1 - miscount) * m.every
	}
	if step == 1 {
		seen = (1 - miscount) * (1 - m.every)
	}
	return every, seen
}

// shares turns counts into shares, each counted once more than it was seen.
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
