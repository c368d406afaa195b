package pictures

// plane is one channel of a picture, eight bits a pixel. Rows may be longer than
// the picture, as decoders leave them.
type plane struct {
	pix          []byte
	stride, w, h int
}

func newPlane(w, h int) plane {
	return plane{pix: make([]byte, w*h), stride: w, w: w, h: h}
}

func (p plane) row(y int) []byte { return p.pix[y*p.stride : y*p.stride+p.w] }

// shrunk returns p at w × h, each pixel the average of the area it covers. First
// whole factors by a box, which costs a few milliseconds for twelve megapixels,
// then the rest by weights. Averages of areas do not alias, unlike two-pixel
// interpolation beyond a factor of two. A plane may also grow, for the chroma of
// a grey picture; its pixels then repeat.
func shrunk(p plane, w, h int) plane {
	if k := min(p.w/w, p.h/h); k >= 2 {
		p = boxed(p, k)
	}
	if p.w == w && p.h == h && p.stride == w {
		return p
	}
	return averaged(p, w, h)
}

// boxed shrinks by a whole factor k. What does not fill a box at the right and
// lower edge is left out: less than k pixels.
func boxed(p plane, k int) plane {
	out := newPlane(p.w/k, p.h/k)
	if k == 2 {
		for y := range out.h {
			halfRow(out.row(y), p.row(2*y), p.row(2*y+1))
		}
		return out
	}
	sums := make([]uint32, out.w)
	scale := uint32(1<<24) / uint32(k*k)
	for y := range out.h {
		clear(sums)
		for dy := range k {
			row := p.row(y*k + dy)
			for x := range sums {
				var sum uint32
				for _, v := range row[x*k : x*k+k] {
					sum += uint32(v)
				}
				sums[x] += sum
			}
		}
		dst := out.row(y)
		for x, sum := range sums {
			dst[x] = byte((uint64(sum)*uint64(scale) + 1<<23) >> 24)
		}
	}
	return out
}

// halfRow is the box of two, the one that nearly every photo passes through.
func halfRow(dst, above, below []byte) {
	above, below = above[:2*len(dst)], below[:2*len(dst)]
	for x := range dst {
		i := 2 * x
		dst[x] = byte((uint32(above[i]) + uint32(above[i+1]) + uint32(below[i]) + uint32(below[i+1]) + 2) >> 2)
	}
}

// spans says which source pixels lie under each target pixel of a row or column:
// taps of them from from[i], with weights in units of 1/4096. Where fewer lie
// under one, the weights are filled up with zeros, so that loops have one length.
type spans struct {
	from    []int
	weights []uint32
	taps    int
}

const whole = 1 << 12

// newSpans lays n target pixels over size source pixels.
func newSpans(size, n int) spans {
	// At worst a target pixel begins within one source pixel and ends in another.
	s := spans{from: make([]int, n), taps: min(size, (size+n-1)/n+1)}
	s.weights = make([]uint32, n*s.taps)
	for i := range n {
		// In units of 1/n source pixels everything is whole: target pixel i covers
		// from i*size to (i+1)*size, source pixel j from j*n to (j+1)*n.
		from, to := i*size, (i+1)*size
		s.from[i] = min(from/n, size-s.taps)
		weights := s.weights[i*s.taps : (i+1)*s.taps]
		left := uint32(whole)
		for j := from / n; j*n < to; j++ {
			covered := min(to, (j+1)*n) - max(from, j*n)
			weight := min(left, uint32((covered*whole+size/2)/size))
			if (j+1)*n >= to {
				weight = left // rounding must not darken the picture
			}
			left -= weight
			weights[j-s.from[i]] = weight
		}
	}
	return s
}

// averaged resamples p to w × h by area.
func averaged(p plane, w, h int) plane {
	out := newPlane(w, h)
	columns, rows := newSpans(p.w, w), newSpans(p.h, h)
	// Neighbouring target rows share at most one source row: the last one.
	narrowed, last := make([]uint32, w), -1
	sums := make([]uint32, w)
	for y, from := range rows.from {
		for x := range sums {
			sums[x] = 1 << 15
		}
		for i, weight := range rows.weights[y*rows.taps : (y+1)*rows.taps] {
			if weight == 0 {
				continue
			}
			if at := from + i; at != last {
				columns.narrow(narrowed, p.row(at))
				last = at
			}
			for x, v := range narrowed {
				sums[x] += v * weight >> 4
			}
		}
		dst := out.row(y)
		for x, sum := range sums {
			dst[x] = byte(min(sum>>16, 255))
		}
	}
	return out
}

// narrow averages one row, to 1/256 of a grey level. After a box it is three
// pixels to one at most, which has its own loop.
func (s spans) narrow(dst []uint32, row []byte) {
	if s.taps == 3 {
		weights := s.weights
		for x, from := range s.from[:len(dst)] {
			in, w := row[from:from+3:from+3], weights[:3:3]
			dst[x] = (uint32(in[0])*w[0] + uint32(in[1])*w[1] + uint32(in[2])*w[2]) >> 4
			weights = weights[3:]
		}
		return
	}
	for x, from := range s.from {
		var sum uint32
		for i, w := range s.weights[x*s.taps : (x+1)*s.taps] {
			sum += uint32(row[from+i]) * w
		}
		dst[x] = sum >> 4
	}
}
