package grouping

import "math"

// A logNormal says how the logarithm of a gap in seconds is spread.
type logNormal struct{ mu, sigma float64 }

// mass is the probability of a gap that is known to a second. A mass and not a
// density: cameras write whole seconds, and a burst gives gaps of zero, where the
// density of a logarithm has no value.
func (l logNormal) mass(seconds float64) float64 {
	upper := below((math.Log(seconds+0.5) - l.mu) / l.sigma)
	if seconds <= 0.5 {
		return upper
	}
	return upper - below((math.Log(seconds-0.5)-l.mu)/l.sigma)
}

// below is the distribution function of the standard normal.
func below(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// A gapClass is how long the gaps of one kind last: a log-normal core, fitted,
// and a rare wide component that keeps single odd gaps from bending the core.
type gapClass struct {
	core  logNormal
	stray float64 // share of the wide component, fitted
	wide  logNormal
}

// A rarity is what we hold about a wide component before seeing a haul: its
// gaps, its share, and how many gaps that share weighs as much as.
type rarity struct {
	gaps         logNormal
	share, worth float64
}

// far is the mass no gap falls below, so that any gap stays possible in any
// class: without it a gap of hours ends in a division of zero by zero.
const far = 1e-13

// mass is the probability of a gap, and the part of it that is the core's.
func (c gapClass) mass(seconds float64) (total, core float64) {
	core = (1 - c.stray) * c.core.mass(seconds)
	return core + c.stray*c.wide.mass(seconds) + far, core
}

// A belief is what we hold about a core before seeing a haul: where it lies and
// how wide it is, each with the number of gaps it weighs as much as.
type belief struct{ mean, meanWorth, spread, spreadWorth float64 }

// A tally sums weighted logarithms of gaps.
type tally struct{ weight, sum, squares float64 }

func (t *tally) add(weight, log float64) {
	t.weight += weight
	t.sum += weight * log
	t.squares += weight * log * log
}

// settle is the most probable log-normal for a tally under a belief: with the
// belief worth nothing, the weighted mean and standard deviation.
func (t tally) settle(b belief) logNormal {
	mu := (t.sum + b.meanWorth*b.mean) / (t.weight + b.meanWorth)
	squares := t.squares - 2*mu*t.sum + mu*mu*t.weight +
		b.spreadWorth*b.spread*b.spread + b.meanWorth*(mu-b.mean)*(mu-b.mean)
	return logNormal{mu, math.Sqrt(squares / (t.weight + b.spreadWorth))}
}
