package grouping

import "math"

// A model is everything fitted to one haul.
type model struct {
	within, between gapClass
	size            []float64   // share of groups of n photos; index 0 unused
	start           []float64   // share of groups that begin with each camera
	follow          [][]float64 // within a group: which camera comes after which
	seen            float64     // share of groups in which a tag is seen
	leads           float64     // share of seen tags that are photographed first on purpose
	every           float64     // share of tag steps that count every item, read or not
}

const (
	longest       = 64   // group sizes fitted one by one; beyond, a falling tail
	again         = 0.05 // a tag is seen once more in its group
	contradiction = 1e-7 // two different tags in one group
	separation    = 1e-4 // the same tag in two groups
	miscount      = 0.02 // a running number skipped for no reason
)

// Hyper holds the beliefs; variable while tuning.
var Hyper = struct {
	W, B             belief
	Rel              float64
	WStray, BStray   float64
	WStrayN, BStrayN float64
	WWide, BWide     logNormal
	SizeN            float64
	Stop             float64
}{belief{math.Log(8), 1, 0.5, 8}, belief{0, 2, 0.75, 8}, 1.9, 0.02, 0.03, 50, 30, logNormal{math.Log(150), 0.8}, logNormal{math.Log(1800), 1}, 15, 0.2}

func baseSize(n int) float64 {
	x := float64(n)
	return 0.97*Hyper.Stop*math.Pow(1-Hyper.Stop, x-1) + 0.03/(x*(x+1))
}

// sizeOf is the share of groups of n photos.
func (m *model) sizeOf(n int) float64 {
	if n < longest {
		return m.size[n]
	}
	return m.size[longest-1] * float64(longest*longest) / float64(n*n)
}

func newModel(cameras int, within float64) *model {
	m := &model{
		within:  gapClass{logNormal{within, 0.6}, Hyper.WStray, Hyper.WWide},
		between: gapClass{logNormal{within + Hyper.Rel, 0.8}, Hyper.BStray, Hyper.BWide},
		size:    make([]float64, longest), seen: 0.7, leads: 0.5, every: 0.5,
	}
	for n := 1; n < longest; n++ {
		m.size[n] = baseSize(n)
	}
	for range cameras {
		m.start = append(m.start, 1/float64(cameras))
	}
	for range cameras {
		m.follow = append(m.follow, append([]float64(nil), m.start...))
	}
	return m
}

// stepShare is the probability of a tag number step when items new items began
// since the last sighting; items beyond the states told apart come as step+1.
func (m *model) stepShare(step, items int) float64 {
	if step == noStep || step > mostCounted {
		return 1
	}
	if step < 1 {
		return miscount * miscount
	}
	p := miscount / mostCounted
	if step == items {
		p += (1 - miscount) * m.every
	}
	if step == 1 {
		p += (1 - miscount) * (1 - m.every)
	}
	return p
}
