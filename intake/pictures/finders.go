package pictures

import (
	"cmp"
	"math"
	"slices"
)

// maxFinders bounds the patterns that are combined; those of a tag are crossed by
// several lines and come first.
const maxFinders = 90

// finder is a pattern of the corner of a QR code, in pixels.
type finder struct {
	x, y, module float64
	hits         int
	// light is whether its middle is light: a code on a dark ground.
	light bool
}

// findersIn scans lines of p for the proportions 1:1:3:1:1 (ISO/IEC 18004, 6.3.3),
// which every line through the middle of a pattern has, however it is turned or
// tilted. Edges are taken from the grey, not from a threshold: at three pixels a
// module a threshold has lost the thin ring of a blurred pattern.
func findersIn(p plane, step int) []finder {
	var found []finder
	var edges []float64
	var line lineBuffer
	for y := step / 2; y < p.h; y += step {
		edges = edgesIn(line.along(p, y), edges[:0])
		for i := 0; i+5 < len(edges); i++ {
			m, ok := proportions(edges[i : i+6])
			if !ok {
				continue
			}
			f := finder{x: (edges[i+2] + edges[i+3]) / 2, y: float64(y) + 0.5, module: m, hits: 1, light: i%2 == 1}
			if known(found, f) {
				continue
			}
			if f, ok := crossed(p, f, &line); ok {
				found = together(found, f)
			}
		}
	}
	slices.SortStableFunc(found, func(a, b finder) int { return cmp.Compare(b.hits, a.hits) })
	return found[:min(len(found), maxFinders)]
}

// proportions returns the module of six edges that lie as 1:1:3:1:1.
func proportions(e []float64) (float64, bool) {
	middle := e[3] - e[2]
	m := (e[5] - e[0]) / 7
	if math.Abs(middle-3*m) > m+0.3 {
		return 0, false
	}
	slack := 0.55*m + 0.3
	for _, run := range [4]float64{e[1] - e[0], e[2] - e[1], e[4] - e[3], e[5] - e[4]} {
		if math.Abs(run-m) > slack {
			return 0, false
		}
	}
	return m, m >= 1
}

// known counts a line through the middle of a pattern that has been found.
func known(found []finder, f finder) bool {
	for i := range found {
		have := &found[i]
		if have.light == f.light && math.Abs(have.x-f.x) < have.module && math.Abs(have.y-f.y) < 1.6*have.module &&
			f.module < 1.5*have.module && have.module < 1.5*f.module {
			have.hits++
			return true
		}
	}
	return false
}

// together adds a pattern, or counts it where two lines have led to the same one.
func together(found []finder, f finder) []finder {
	if known(found, f) {
		return found
	}
	return append(found, f)
}

// crossed looks at a candidate upwards and downwards, and once more across, so that
// its middle is known in both directions.
func crossed(p plane, f finder, line *lineBuffer) (finder, bool) {
	y, down, ok := line.middle(p, f, true)
	if !ok || down > 2.2*f.module || f.module > 2.2*down {
		return f, false
	}
	f.y = y
	x, across, ok := line.middle(p, f, false)
	if !ok {
		return f, false
	}
	f.x, f.module = x, (down+across)/2
	return f, true
}

// lineBuffer holds a line of grey while its edges are looked for.
type lineBuffer struct {
	grey  []byte
	edges []float64
}

// along is row y, averaged with its neighbours: noise falls, and what a pattern is
// made of is at least three rows high.
func (b *lineBuffer) along(p plane, y int) []byte {
	above, below := p.row(max(0, y-1)), p.row(min(p.h-1, y+1))
	return b.averaged(above, p.row(y), below)
}

func (b *lineBuffer) averaged(above, here, below []byte) []byte {
	if cap(b.grey) < len(here) {
		b.grey = make([]byte, len(here))
	}
	out := b.grey[:len(here)]
	above, below = above[:len(out)], below[:len(out)]
	for x := range out {
		out[x] = byte((uint32(above[x]) + 2*uint32(here[x]) + uint32(below[x]) + 2) >> 2)
	}
	return out
}

// middle looks along one line through a candidate, down or across, and returns the
// middle of the pattern there and its module.
func (b *lineBuffer) middle(p plane, f finder, down bool) (at, module float64, ok bool) {
	reach := int(9*f.module) + 4
	about, limit := f.x, p.w
	if down {
		about, limit = f.y, p.h
	}
	from, to := max(0, int(about)-reach), min(limit, int(about)+reach)
	if down {
		b.grey = columnOf(b.grey[:0], p, int(f.x), from, to)
	} else {
		y := max(0, min(p.h-1, int(f.y)))
		b.averaged(p.row(max(0, y-1))[from:to], p.row(y)[from:to], p.row(min(p.h-1, y+1))[from:to])
		b.grey = b.grey[:to-from]
	}
	b.edges = edgesIn(b.grey, b.edges[:0])
	first := 0
	if f.light {
		first = 1
	}
	about -= float64(from)
	for i := first; i+5 < len(b.edges); i += 2 {
		if e := b.edges[i : i+6]; e[2] <= about && about <= e[3] {
			m, ok := proportions(e)
			return (e[2]+e[3])/2 + float64(from), m, ok
		}
	}
	return 0, 0, false
}

// columnOf copies a piece of a column, averaged with its neighbours.
func columnOf(dst []byte, p plane, x, from, to int) []byte {
	x = max(0, min(p.w-1, x))
	left, right := max(0, x-1), min(p.w-1, x+1)
	for y := from; y < to; y++ {
		row := p.row(y)
		dst = append(dst, byte((uint32(row[left])+2*uint32(row[x])+uint32(row[right])+2)>>2))
	}
	return dst
}
