package grouping

import "math"

// A logNormal says how the logarithm of a gap in seconds is spread.
type logNormal struct{ mu, sigma float64 }

// mass is the probability of a gap that is known to a second. A mass and not a
// density: cameras write whole seconds, and a burst gives gaps of zero.
func (l logNormal) mass(seconds float64) float64 {
	hi := phi((math.Log(seconds+0.5) - l.mu) / l.sigma)
	if seconds <= 0.5 {
		return hi
	}
	return hi - phi((math.Log(seconds-0.5)-l.mu)/l.sigma)
}

// phi is the distribution function of the standard normal.
func phi(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// A gapClass is how long the gaps of one kind last: a log-normal core, fitted,
// and a rare wide component that keeps single odd gaps from bending the core.
type gapClass struct {
	core  logNormal
	stray float64 // share of the wide component, fitted
	wide  logNormal
}

// far is the mass no gap falls below, so that any gap stays possible in any
// class and what a human joined is never a division by zero.
const far = 1e-13

// mass is the probability of a gap, and the part of it that is the core's.
func (c gapClass) mass(seconds float64) (total, core float64) {
	core = (1 - c.stray) * c.core.mass(seconds)
	return core + c.stray*c.wide.mass(seconds) + far, core
}

// A tally sums weighted logarithms of gaps.
type tally struct{ weight, sum, squares float64 }

func (t *tally) add(w, x float64) { t.weight += w; t.sum += w * x; t.squares += w * x * x }

// belief is what we hold about a core before seeing the haul: where it lies and
// how wide it is, each with the number of gaps it weighs as much as.
type belief struct{ mean, meanWorth, spread, spreadWorth float64 }

// settle is the maximum a posteriori log-normal of a tally under a belief.
func (t tally) settle(b belief) logNormal {
	mu := (t.sum + b.meanWorth*b.mean) / (t.weight + b.meanWorth)
	squares := t.squares - 2*mu*t.sum + mu*mu*t.weight + b.spreadWorth*b.spread*b.spread + b.meanWorth*(mu-b.mean)*(mu-b.mean)
	return logNormal{mu, math.Sqrt(squares / (t.weight + b.spreadWorth))}
}
