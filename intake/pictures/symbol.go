package pictures

import (
	"math"

	"github.com/makiuchi-d/gozxing/qrcode/decoder"
)

// symbol is where and how large a code may be: three measured patterns, and what
// they say about light and perspective.
type symbol struct {
	p       plane
	corners [3]corner // upper left, upper right, lower left
	du, dv  float64   // modules along the upper and the left side, less seven
	gu, gv  float64   // how much farther away the other ends are
	light   levels
}

// corner is the middle of a pattern, its module along both sides and its light.
type corner struct {
	point
	mu, mv      float64
	dark, light float64
}

// measured looks at three patterns along the sides of the code that they would
// make. It fails where they have no rings there: on keys and screws.
func measured(p plane, a, b, c finder) (symbol, bool) {
	s := symbol{p: p}
	at := [3]point{{a.x, a.y}, {b.x, b.y}, {c.x, c.y}}
	u, v := direction(at[0], at[1]), direction(at[0], at[2])
	for i, f := range [3]finder{a, b, c} {
		one, ok := ringed(p, at[i], u, v, f.module)
		if !ok {
			return s, false
		}
		s.corners[i] = one
	}
	tl, tr, bl := s.corners[0], s.corners[1], s.corners[2]
	// Between the ends of a line in perspective there are as many modules as its
	// length holds of the geometric mean of the modules at both ends.
	s.du = distance(tl.point, tr.point) / math.Sqrt(tl.mu*tr.mu)
	s.dv = distance(tl.point, bl.point) / math.Sqrt(tl.mv*bl.mv)
	s.gu, s.gv = math.Sqrt(tl.mu/tr.mu)-1, math.Sqrt(tl.mv/bl.mv)-1
	if s.du < 9 || s.dv < 9 || s.du > 200 || s.dv > 200 || max(s.du, s.dv) > 1.5*min(s.du, s.dv) {
		return s, false
	}
	return s, true
}

func direction(from, to point) point {
	d := distance(from, to)
	return point{(to.x - from.x) / d, (to.y - from.y) / d}
}

func distance(a, b point) float64 { return math.Hypot(b.x-a.x, b.y-a.y) }

// ringed measures one pattern along u and v.
func ringed(p plane, at, u, v point, module float64) (corner, bool) {
	c := corner{point: at}
	// Twice, because the second time goes through the middle that the first found.
	for range 2 {
		// At least: a turned pattern's module is overestimated.
		mu, du, ok := crossing7(p, c.point, u, module)
		if !ok {
			return c, false
		}
		c.point = point{c.x + du*u.x, c.y + du*u.y}
		mv, dv, ok := crossing7(p, c.point, v, module)
		if !ok {
			return c, false
		}
		c.point = point{c.x + dv*v.x, c.y + dv*v.y}
		c.mu, c.mv = mu, mv
	}
	if max(c.mu, c.mv) > 2*min(c.mu, c.mv) {
		return c, false
	}
	c.dark = p.grey(c.x, c.y)
	for _, k := range [2]float64{-2, 2} {
		c.light += p.grey(c.x+k*c.mu*u.x, c.y+k*c.mu*u.y)/4 + p.grey(c.x+k*c.mv*v.x, c.y+k*c.mv*v.y)/4
	}
	return c, math.Abs(c.light-c.dark) > 8
}

// crossing7 measures the seven modules of a pattern along a line through its
// middle: the module and how far the middle is off.
func crossing7(p plane, at, along point, module float64) (m, off float64, ok bool) {
	const samples = 4 // a module
	reach := int(6.5 * samples)
	var line [2*6.5*samples + 1]byte
	step := module / samples
	for i := range line {
		t := float64(i-reach) * step
		x, y := at.x+t*along.x, at.y+t*along.y
		// Three lines half a module apart, because noise is not.
		dx, dy := -along.y*module/2, along.x*module/2
		line[i] = byte((p.grey(x-dx, y-dy) + 2*p.grey(x, y) + p.grey(x+dx, y+dy)) / 4)
	}
	var buffer [40]float64
	edges := edgesIn(line[:], buffer[:0])
	middle := float64(reach) + 0.5
	for i := 0; i+3 < len(edges); i++ {
		// The outermost runs are left out: a label cut close leaves no edge behind them.
		e := edges[i : i+4]
		if e[1] > middle || e[2] < middle {
			continue
		}
		m := (e[3] - e[0]) / 5
		slack := 0.55*m + 0.3
		if math.Abs(e[2]-e[1]-3*m) < m && math.Abs(e[1]-e[0]-m) < slack && math.Abs(e[3]-e[2]-m) < slack {
			return m * step, ((e[0]+e[1]+e[2]+e[3])/4 - middle) * step, true
		}
	}
	return 0, 0, false
}

// levels say what is dark and light at a place of the code: a plane through what
// its three patterns say, for a shadow across it.
type levels struct{ middle, span [3]float64 }

func (s *symbol) level(dimension int) {
	far := float64(dimension) - 7
	plane := func(of func(corner) float64) [3]float64 {
		a, b, c := of(s.corners[0]), of(s.corners[1]), of(s.corners[2])
		ku, kv := (b-a)/far, (c-a)/far
		return [3]float64{a - 3.5*(ku+kv), ku, kv}
	}
	s.light.middle = plane(func(c corner) float64 { return (c.light + c.dark) / 2 })
	s.light.span = plane(func(c corner) float64 { return (c.light - c.dark) / 2 })
}

// darkness is how dark a place is, from -1 for light to 1.
func (s *symbol) darkness(m *mapping, u, v float64) float64 {
	x, y := m.at(u, v)
	l := &s.light
	span := l.span[0] + l.span[1]*u + l.span[2]*v
	if math.Abs(span) < 4 {
		span = math.Copysign(4, span)
	}
	d := (l.middle[0] + l.middle[1]*u + l.middle[2]*v - s.p.grey(x, y)) / span
	return max(-1, min(1, d))
}

// functionModule is a module that every code of a size has: where, and whether dark.
type functionModule struct{ u, v, sign float64 }

// functionModules lists what is the same in every code of a dimension: the three
// patterns with the light around them, the timing patterns and the alignment
// patterns (ISO/IEC 18004, 6.3.3 to 6.3.6).
func functionModules(dimension int) []functionModule {
	var all []functionModule
	add := func(u, v int, dark bool) {
		sign := -1.0
		if dark {
			sign = 1
		}
		all = append(all, functionModule{float64(u) + 0.5, float64(v) + 0.5, sign})
	}
	for dv := range 8 {
		for du := range 8 {
			ring := max(abs(2*du-6), abs(2*dv-6)) / 2
			dark := ring != 2 && ring < 4
			add(du, dv, dark)
			add(dimension-1-du, dv, dark)
			add(du, dimension-1-dv, dark)
		}
	}
	for i := 8; i < dimension-8; i++ {
		add(i, 6, i%2 == 0)
		add(6, i, i%2 == 0)
	}
	version, err := decoder.Version_GetVersionForNumber((dimension - 17) / 4)
	if err != nil {
		return all
	}
	centers := version.GetAlignmentPatternCenters()
	for _, v := range centers {
		for _, u := range centers {
			if u < 9 && (v < 9 || v > dimension-10) || v < 9 && u > dimension-10 {
				continue // the patterns of the corners are there
			}
			for dv := -2; dv <= 2; dv++ {
				for du := -2; du <= 2; du++ {
					add(u+du, v+dv, max(abs(du), abs(dv)) != 1)
				}
			}
		}
	}
	return all
}

func abs(v int) int { return max(v, -v) }

// agreement is how well what is seen agrees with what every code of this size has:
// 1 at best, about 0 for anything else.
func (s *symbol) agreement(m *mapping, modules []functionModule) float64 {
	sum := 0.0
	for _, f := range modules {
		sum += f.sign * s.darkness(m, f.u, f.v)
	}
	return sum / float64(len(modules))
}
