package pictures

import "github.com/makiuchi-d/gozxing"

const (
	block = 8 // edge of the squares that get a threshold of their own
	// minContrast is the least difference within a block that is structure and
	// not noise; a flat block takes after its neighbours.
	minContrast = 24
)

// binarized separates dark from light with a threshold for each block, averaged
// over five by five of them, so that a shadow across a code does no harm. It is
// the method of gozxing's HybridBinarizer, written for rows of words instead of
// single bits, which is several times as fast. Nil means too small to search.
func binarized(p plane) *gozxing.BitMatrix {
	if p.w < 5*block || p.h < 5*block {
		return nil
	}
	bits, err := gozxing.NewBitMatrix(p.w, p.h)
	if err != nil {
		return nil
	}
	columns, rows := (p.w+block-1)/block, (p.h+block-1)/block
	points := blackPoints(p, columns, rows)
	thresholds := make([]byte, columns)
	row := gozxing.NewBitArray(p.w)
	for by := range rows {
		smooth(thresholds, points, columns, rows, by)
		for y := by * block; y < min((by+1)*block, p.h); y++ {
			row.Clear()
			words := row.GetBitArray()
			for x, v := range p.row(y) {
				if v <= thresholds[x/block] {
					words[x>>5] |= 1 << (x & 31)
				}
			}
			bits.SetRow(y, row)
		}
	}
	return bits
}

// blackPoints estimates for each block where dark ends.
func blackPoints(p plane, columns, rows int) []byte {
	points := make([]byte, columns*rows)
	for by := range rows {
		top := min(by*block, p.h-block)
		for bx := range columns {
			left := min(bx*block, p.w-block)
			sum, low, high := 0, byte(255), byte(0)
			for y := top; y < top+block; y++ {
				for _, v := range p.pix[y*p.stride+left : y*p.stride+left+block] {
					sum += int(v)
					low, high = min(low, v), max(high, v)
				}
			}
			at := by*columns + bx
			if high-low > minContrast {
				points[at] = byte(sum / (block * block))
				continue
			}
			// A flat block counts as light, unless its neighbours have structure and
			// say that this is dark: then it is the inside of a big module.
			points[at] = low / 2
			if by > 0 && bx > 0 {
				around := byte((int(points[at-columns]) + 2*int(points[at-1]) + int(points[at-columns-1])) / 4)
				if low < around {
					points[at] = around
				}
			}
		}
	}
	return points
}

// smooth averages the black points around a row of blocks.
func smooth(thresholds, points []byte, columns, rows, by int) {
	middle := max(2, min(by, rows-3))
	for bx := range thresholds {
		left := max(2, min(bx, columns-3))
		sum := 0
		for y := middle - 2; y <= middle+2; y++ {
			for _, v := range points[y*columns+left-2 : y*columns+left+3] {
				sum += int(v)
			}
		}
		thresholds[bx] = byte(sum / 25)
	}
}

// doubled returns p at twice the size, interpolated.
func doubled(p plane) plane {
	out := newPlane(2*p.w, 2*p.h)
	for y := range out.h {
		// Pixel centres of the copy lie a quarter before and after those of p.
		near := y / 2
		far := max(0, min(near-1+y%2*2, p.h-1))
		a, b := p.row(near), p.row(far)
		dst := out.row(y)
		for x := range dst {
			nx := x / 2
			fx := max(0, min(nx-1+x%2*2, p.w-1))
			dst[x] = byte((9*uint32(a[nx]) + 3*uint32(a[fx]) + 3*uint32(b[nx]) + uint32(b[fx]) + 8) >> 4)
		}
	}
	return out
}
