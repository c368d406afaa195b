package drawn

import (
	"image"
	"math"
)

// soft paints outlines with an edge blurred over about blur pixels: shadows and
// glows. The mask is made small, blurred there and read back in between, since
// what is blurred holds no detail worth a pixel.
func (c *canvas) soft(w wash, blur float64, outlines ...[]pt) {
	size := c.img.Rect.Size()
	step := math.Max(1, blur/4)
	reach := blur * 2
	box, _ := bounds(outlines, float64(size.X)+reach, float64(size.Y)+reach)
	if box.Empty() {
		return
	}
	box = box.Inset(-int(reach)).Intersect(c.img.Rect)
	if box.Empty() {
		return
	}
	// The small mask reaches beyond the picture: what lies outside still darkens inside.
	pad := math.Ceil(reach / step)
	ox, oy := float64(box.Min.X)-pad*step, float64(box.Min.Y)-pad*step
	small := image.Rect(0, 0, int(float64(box.Dx())/step+2*pad)+2, int(float64(box.Dy())/step+2*pad)+2)
	shrunk := make([][]pt, len(outlines))
	for i, o := range outlines {
		for _, p := range o {
			shrunk[i] = append(shrunk[i], pt{(p.x - ox) / step, (p.y - oy) / step})
		}
	}
	mask := append([]uint8(nil), c.cover(shrunk, small, true)...)
	for i := 0; i < 3; i++ {
		smear(mask, small.Dx(), small.Dy(), max(1, int(blur/step/2)))
	}
	c.blend(w, c.enlarge(mask, small, box, ox, oy, step), box)
}

// enlarge reads the small mask bilinearly for every pixel of box.
func (c *canvas) enlarge(mask []uint8, small, box image.Rectangle, ox, oy, step float64) []uint8 {
	n := box.Dx() * box.Dy()
	if cap(c.mask) < n {
		c.mask = make([]uint8, n)
	}
	out := c.mask[:n]
	w := small.Dx()
	inc := int(65536 / step)
	for y := 0; y < box.Dy(); y++ {
		fy := (float64(box.Min.Y+y)+0.5-oy)/step - 0.5
		iy := int(fy)
		ty := int((fy - float64(iy)) * 256)
		a, b := mask[iy*w:(iy+1)*w], mask[min(iy+1, small.Dy()-1)*w:]
		fx := int(((float64(box.Min.X)+0.5-ox)/step - 0.5) * 65536)
		row := out[y*box.Dx():][:box.Dx()]
		for x := range row {
			i, tx := fx>>16, (fx>>8)&255
			j := min(i+1, w-1)
			top := int(a[i])*(256-tx) + int(a[j])*tx
			low := int(b[i])*(256-tx) + int(b[j])*tx
			row[x] = uint8((top*(256-ty) + low*ty) >> 16)
			fx += inc
		}
	}
	return out
}

// smear is one pass of a box blur, along rows and then along columns; three of
// them look like a Gaussian.
func smear(m []uint8, w, h, r int) {
	line := make([]uint8, max(w, h))
	run := func(at func(i int) int, n int) {
		sum := 0
		for i := 0; i < n; i++ {
			line[i] = m[at(i)]
		}
		for i := -r; i < n; i++ {
			if i+r < n {
				sum += int(line[i+r])
			}
			if i-r-1 >= 0 {
				sum -= int(line[i-r-1])
			}
			if i >= 0 {
				m[at(i)] = uint8(sum / (2*r + 1))
			}
		}
	}
	for y := 0; y < h; y++ {
		run(func(i int) int { return y*w + i }, w)
	}
	for x := 0; x < w; x++ {
		run(func(i int) int { return i*w + x }, h)
	}
}
