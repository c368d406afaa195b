package drawn

import (
	"image"
	"math/rand/v2"
)

// dice are all the chance there is: one pair of seeds, one sequence.
type dice struct{ r *rand.Rand }

func throw(seed, n uint64) *dice { return &dice{rand.New(rand.NewPCG(seed, n))} }

func (d *dice) between(lo, hi float64) float64 { return lo + (hi-lo)*d.r.Float64() }
func (d *dice) intn(n int) int                 { return d.r.IntN(n) }

// film is how a camera sees: a gain for red, green and blue, how dark its
// corners are, how much it lifts contrast, how grainy it is.
type film struct {
	gain            [3]float64
	vignette, curve float64
	grain           int // largest step of the noise, 0 to 255
}

// develop gives the picture the camera's colours, corners and grain.
func (f film) develop(img *image.RGBA, seed uint64) {
	size := img.Rect.Size()
	across := f.falloff(size.X, 0.42)
	down := f.falloff(size.Y, 0.40)
	var lut [3][256]uint8
	for c := range lut {
		for i := range lut[c] {
			t := float64(i) / 255 * f.gain[c]
			t += f.curve * (t*t*(3-2*t) - t)
			lut[c][i] = uint8(min(max(t*255+0.5, 0), 255))
		}
	}
	x := seed | 1
	for py := 0; py < size.Y; py++ {
		row := img.Pix[py*img.Stride:][:4*size.X]
		for px := 0; px < size.X; px++ {
			x ^= x << 13
			x ^= x >> 7
			x ^= x << 17
			// Two bytes summed make the noise dense around zero, as grain is.
			n := (int(x&255) + int(x>>8&255) - 255) * f.grain >> 8
			k := across[px] + down[py]
			p := row[4*px : 4*px+3 : 4*px+3]
			for c := range p {
				v := int(lut[c][p[c]])*k>>16 + n
				p[c] = uint8(min(max(v, 0), 255))
			}
		}
	}
}

// falloff is half the brightness a column or row keeps, in 16.16; the two
// halves add up, because a square distance is a sum.
func (f film) falloff(n int, centre float64) []int {
	out := make([]int, n)
	for i := range out {
		d := (float64(i)/float64(n) - centre) * 2
		out[i] = int(65536 * (0.515 - f.vignette*d*d/2))
	}
	return out
}

// sideways stores an upright picture the way a turned camera does, so that a
// viewer who obeys orientation sees it upright again. 3, 6 and 8 are the
// turns a hand makes (Exif 2.32, tag 0x0112); others leave the picture alone.
func sideways(img *image.RGBA, orientation int) *image.RGBA {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	var from func(x, y int) (int, int)
	out := img
	switch orientation {
	case 3:
		out = image.NewRGBA(image.Rect(0, 0, w, h))
		from = func(x, y int) (int, int) { return w - 1 - x, h - 1 - y }
	case 6: // shown after a quarter turn clockwise
		out = image.NewRGBA(image.Rect(0, 0, h, w))
		from = func(x, y int) (int, int) { return w - 1 - y, x }
	case 8:
		out = image.NewRGBA(image.Rect(0, 0, h, w))
		from = func(x, y int) (int, int) { return y, h - 1 - x }
	default:
		return img
	}
	for y := 0; y < out.Rect.Dy(); y++ {
		for x := 0; x < out.Rect.Dx(); x++ {
			sx, sy := from(x, y)
			copy(out.Pix[out.PixOffset(x, y):][:4], img.Pix[img.PixOffset(sx, sy):][:4])
		}
	}
	return out
}
