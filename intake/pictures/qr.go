package pictures

import (
	"cmp"
	"slices"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode/decoder"

	"haulbook/intake"
)

// qrCodes reads every QR code in p, dark on light or light on dark. Which three
// patterns belong together is decided by laying a code over the likeliest in turn
// and comparing what all codes have: keys, vents and screws look like patterns too,
// but never in such company. Lines step apart are searched for patterns.
func qrCodes(p plane, step int) []find {
	var finds []find
	found := findersIn(p, step)
	used := make([]bool, len(found))
	tries := 0
	for _, t := range likelyTriples(p, found) {
		if used[t.tl] || used[t.tr] || used[t.bl] {
			continue
		}
		s, ok := measured(p, found[t.tl], found[t.tr], found[t.bl])
		if !ok {
			continue
		}
		if tries >= maxFits {
			break
		}
		f, fitted, ok := s.read()
		tries += fitted
		if ok {
			finds = append(finds, f)
			used[t.tl], used[t.tr], used[t.bl] = true, true, true
		}
	}
	return finds
}

// read lays symbols of the likely sizes and decodes those that agree, the best
// first. The error correction is what makes a false one fail. Fitted counts those
// that were more than a glance.
func (s *symbol) read() (f find, fitted int, ok bool) {
	var all []laid
	for _, dimension := range s.dimensions() {
		l, ok := s.lay(dimension)
		if !ok {
			continue
		}
		fitted++
		if l.agreement > fits {
			all = append(all, l)
		}
	}
	slices.SortStableFunc(all, func(a, b laid) int { return cmp.Compare(b.agreement, a.agreement) })
	for _, l := range all[:min(2, len(all))] {
		if text, ok := s.decode(l); ok {
			f := find{text: text, symbology: intake.SymbologyQR}
			n := float64(l.dimension)
			for i, c := range [4]point{{0, 0}, {n, 0}, {n, n}, {0, n}} {
				f.corners[i].x, f.corners[i].y = l.mapping.at(c.x, c.y)
			}
			return f, fitted, true
		}
	}
	return find{}, fitted, false
}

// decode reads the modules and, where that fails, reads them again as if less
// blurred: light that has run into a module from its neighbours is taken back.
func (s *symbol) decode(l laid) (string, bool) {
	s.level(l.dimension)
	seen := s.modules(l)
	sharp := seen
	for _, spill := range [...]float64{0, 0.1, 0.16} {
		if spill > 0 {
			sharp = sharpened(seen, l.dimension, spill)
		}
		for _, local := range [...]bool{false, true} {
			bits, err := gozxing.NewSquareBitMatrix(l.dimension)
			if err != nil {
				return "", false
			}
			threshold := func(int, int) float64 { return 0 }
			if local {
				threshold = around(sharp, l.dimension)
			}
			for v := range l.dimension {
				for u := range l.dimension {
					if sharp[v*l.dimension+u] > threshold(u, v) {
						bits.Set(u, v)
					}
				}
			}
			// The decoder may turn the matrix over to read it mirrored: it is not used again.
			if decoded, err := decoder.NewDecoder().Decode(bits, nil); err == nil {
				return decoded.GetText(), true
			}
		}
	}
	return "", false
}

// modules is the darkness of every module, by nine samples.
func (s *symbol) modules(l laid) []float64 {
	all := make([]float64, l.dimension*l.dimension)
	offset := 0.75 * l.offset()
	for v := range l.dimension {
		for u := range l.dimension {
			sum := 0.0
			for i := range 9 {
				du, dv := 0.5+offset*float64(i%3-1), 0.5+offset*float64(i/3-1)
				sum += s.darkness(&l.mapping, float64(u)+du, float64(v)+dv)
			}
			all[v*l.dimension+u] = sum / 9
		}
	}
	return all
}

// sharpened undoes a blur that spills a part of each module into each of its four
// neighbours, by adding what another such blur takes away (van Cittert's method).
func sharpened(seen []float64, n int, spill float64) []float64 {
	sharp := slices.Clone(seen)
	next := make([]float64, len(seen))
	for range 4 {
		for v := range n {
			for u := range n {
				at := v*n + u
				sum := sharp[v*n+max(0, u-1)] + sharp[v*n+min(n-1, u+1)] + sharp[max(0, v-1)*n+u] + sharp[min(n-1, v+1)*n+u]
				blurred := (1-4*spill)*sharp[at] + spill*sum
				next[at] = max(-1.5, min(1.5, sharp[at]+seen[at]-blurred))
			}
		}
		sharp, next = next, sharp
	}
	return sharp
}

// around gives each module a threshold halfway between the darkest and the lightest
// of its neighbours up to three away.
func around(seen []float64, n int) func(u, v int) float64 {
	return func(u, v int) float64 {
		least, most := 2.0, -2.0
		for y := max(0, v-3); y <= min(n-1, v+3); y++ {
			for x := max(0, u-3); x <= min(n-1, u+3); x++ {
				least, most = min(least, seen[y*n+x]), max(most, seen[y*n+x])
			}
		}
		return (least + most) / 2
	}
}
