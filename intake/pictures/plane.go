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

// span is the run of source pixels under one target pixel, with their weights in
// units of 1/4096.
type span struct {
	from    int
	weights []uint32
}

const whole = 1 << 12

// spans lays n target pixels over size source pixels.
func spans(size, n int) []span {
	out := make([]span, n)
	for i := range out {
		// In units of 1/n source pixels everything is whole: target pixel i covers
		// from i*size to (i+1)*size, source pixel j from j*n to (j+1)*n.
		from, to := i*size, (i+1)*size
		s := span{from: from / n}
		left := uint32(whole)
		for j := s.from; j*n < to; j++ {
			covered := min(to, (j+1)*n) - max(from, j*n)
			weight := uint32((covered*whole + size/2) / size)
			if (j+1)*n >= to || weight > left {
				weight = left // rounding must not darken the picture
			}
			left -= weight
			s.weights = append(s.weights, weight)
		}
		out[i] = s
	}
	return out
}

// averaged resamples p to w × h by area.
func averaged(p plane, w, h int) plane {
	out := newPlane(w, h)
	columns, rows := spans(p.w, w), spans(p.h, h)
	// Neighbouring target rows share at most one source row: the last one.
	narrowed, last := make([]uint32, w), -1
	sums := make([]uint32, w)
	for y, span := range rows {
		for x := range sums {
			sums[x] = 1 << 15
		}
		for i, weight := range span.weights {
			if at := span.from + i; at != last {
				narrowRow(narrowed, p.row(at), columns)
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

// narrowRow averages one row under columns, to 1/256 of a grey level.
func narrowRow(dst []uint32, row []byte, columns []span) {
	for x, span := range columns {
		var sum uint32
		for i, v := range row[span.from : span.from+len(span.weights)] {
			sum += uint32(v) * span.weights[i]
		}
		dst[x] = sum >> 4
	}
}
