package pictures

import (
	"cmp"
	"math"
	"slices"
)

const (
	// grain is the edge of the squares whose light is asked for its direction.
	grain = 8
	// striped is how far the light in a square must change along one direction
	// alone: 1 for bars, 0 for gravel.
	striped = 0.6
	// maxBars bounds the places that are scanned, the largest first.
	maxBars = 24
	// barLines is how many lines at most are laid over one of them.
	barLines = 24
)

// bars is a place where everything changes along one direction, as in a linear
// code: its middle, that direction, and how far it reaches along and across it.
type bars struct {
	x, y        float64
	ux, uy      float64
	along, wide float64 // half of each
	squares     int
}

// tiltedCodes reads the linear codes at any turn: where coarse shows bars, lines
// are laid across them in fine, which is the same picture at its best.
func tiltedCodes(rough, fine plane) []find {
	k := float64(fine.w) / float64(rough.w)
	var finds []find
	for _, b := range barsIn(rough) {
		b.x, b.y, b.along, b.wide = b.x*k, b.y*k, b.along*k, b.wide*k
		finds = append(finds, b.straightened(fine).read(fine)...)
	}
	return finds
}

// straightened corrects the direction, of which differences between neighbouring
// pixels are a few degrees off where bars are thin. Across the bars all lines are
// the same, so that their average has the strongest contrast.
func (b bars) straightened(p plane) bars {
	best, most := b, b.contrast(p)
	for _, degrees := range [...]float64{4, 2, 1, 0.5} {
		about := best
		for _, turn := range [...]float64{-degrees, degrees} {
			sin, cos := math.Sincos(turn * math.Pi / 180)
			try := about
			try.ux, try.uy = about.ux*cos-about.uy*sin, about.ux*sin+about.uy*cos
			if c := try.contrast(p); c > most {
				best, most = try, c
			}
		}
	}
	return best
}

// contrast is the variance of the average of some lines across the bars.
func (b bars) contrast(p plane) float64 {
	const lines, step = 7, 2
	n := int(2 * b.along / step)
	var sum, squares float64
	for i := range n {
		along, mean := float64(i*step)-b.along, 0.0
		for j := range lines {
			across := (float64(j)/(lines-1)*2 - 1) * 0.8 * b.wide
			mean += p.grey(b.x+along*b.ux-across*b.uy, b.y+along*b.uy+across*b.ux) / lines
		}
		sum, squares = sum+mean, squares+mean*mean
	}
	return squares/float64(n) - sum*sum/float64(n*n)
}

// read lays lines across the bars and reads them as rows are read.
func (b bars) read(p plane) []find {
	// The start and the stop may lie in squares of which they fill only a part, and
	// the quiet zones lie beyond.
	reach := 1.15*b.along + 4*grain
	length := int(2 * reach)
	lines := int(max(5, min(barLines, b.wide)))
	step := 2 * b.wide / float64(lines)
	line := make([]byte, length)
	place := func(along, across float64) point {
		along, across = along-reach, (across+0.5)*step-b.wide
		return point{b.x + along*b.ux - across*b.uy, b.y + along*b.uy + across*b.ux}
	}
	finds := scannedLines(lines, 1, func(i int) []byte {
		for x := range line {
			at := place(float64(x)+0.5, float64(i))
			// Averaged along the bars, where only noise changes.
			grey := 2 * p.grey(at.x, at.y)
			for _, d := range [2]float64{-1, 1} {
				d *= min(2, step/2)
				grey += p.grey(at.x-d*b.uy, at.y+d*b.ux)
			}
			line[x] = byte(grey / 4)
		}
		return line
	})
	for i := range finds {
		for j, c := range finds[i].corners {
			finds[i].corners[j] = place(c.x, c.y)
		}
	}
	return finds
}

// barsIn finds where bars may be: squares side by side whose light changes along
// the same direction.
func barsIn(p plane) []bars {
	w, h := p.w/grain, p.h/grain
	squares := directions(p, w, h)
	var all []bars
	for i := range squares {
		if squares[i].energy == 0 {
			continue
		}
		b, ok := gathered(squares, w, h, i)
		if ok {
			all = append(all, b)
		}
	}
	slices.SortStableFunc(all, func(a, b bars) int { return cmp.Compare(b.squares, a.squares) })
	return all[:min(len(all), maxBars)]
}

// grainOf is how the light of a square changes: how much, and along which
// direction, doubled so that there and back are the same. No energy means that it
// does not, or along several.
type grainOf struct{ energy, cos, sin float64 }

// directions asks each square, by the structure tensor of its gradients.
func directions(p plane, w, h int) []grainOf {
	all := make([]grainOf, w*h)
	for sy := range h {
		for sx := range w {
			var xx, yy, xy int
			for y := max(1, sy*grain); y < min(p.h-1, (sy+1)*grain); y++ {
				above, row, below := p.row(y-1), p.row(y), p.row(y+1)
				for x := max(1, sx*grain); x < min(p.w-1, (sx+1)*grain); x++ {
					gx, gy := int(row[x+1])-int(row[x-1]), int(below[x])-int(above[x])
					xx, yy, xy = xx+gx*gx, yy+gy*gy, xy+gx*gy
				}
			}
			energy := float64(xx + yy)
			c, s := float64(xx-yy), float64(2*xy)
			strength := math.Hypot(c, s)
			// Bars of a blurred code still change by some ten grey levels a pixel.
			if energy > 150*grain*grain && strength > striped*energy {
				all[sy*w+sx] = grainOf{energy, c / strength, s / strength}
			}
		}
	}
	return all
}

// gathered takes the squares that hang together with start and agree with it in
// direction out of the others.
func gathered(squares []grainOf, w, h, start int) (bars, bool) {
	from := squares[start]
	var members []int
	var cos, sin, x, y float64
	stack := []int{start}
	squares[start].energy = 0
	for len(stack) > 0 {
		at := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		members = append(members, at)
		here := squares[at]
		cos, sin = cos+here.cos, sin+here.sin
		x, y = x+float64(at%w), y+float64(at/w)
		// A wide bar or space leaves a square without any change in between.
		for ny := max(0, at/w-2); ny <= min(h-1, at/w+2); ny++ {
			for nx := max(0, at%w-2); nx <= min(w-1, at%w+2); nx++ {
				next := squares[ny*w+nx]
				// Within 15° of the first: 30° when doubled.
				if next.energy > 0 && next.cos*from.cos+next.sin*from.sin > 0.86 {
					squares[ny*w+nx].energy = 0
					stack = append(stack, ny*w+nx)
				}
			}
		}
	}
	n := float64(len(members))
	b := bars{x: (x/n + 0.5) * grain, y: (y/n + 0.5) * grain, squares: len(members)}
	b.uy, b.ux = math.Sincos(math.Atan2(sin, cos) / 2)
	return b, len(members) >= 6 && b.measure(members, w)
}

// measure finds how far the squares reach, and reports whether that can be a code:
// longer than wide is usual but not needed, a single edge is no code.
func (b *bars) measure(members []int, w int) bool {
	least, most := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	for _, at := range members {
		dx, dy := (float64(at%w)+0.5)*grain-b.x, (float64(at/w)+0.5)*grain-b.y
		for i, d := range [2]float64{dx*b.ux + dy*b.uy, dy*b.ux - dx*b.uy} {
			least[i], most[i] = min(least[i], d), max(most[i], d)
		}
	}
	along, across := (least[0]+most[0])/2, (least[1]+most[1])/2
	b.x += along*b.ux - across*b.uy
	b.y += along*b.uy + across*b.ux
	b.along, b.wide = (most[0]-least[0]+grain)/2, (most[1]-least[1]+grain)/2
	return b.along >= 2.5*grain && b.wide >= grain/2
}
