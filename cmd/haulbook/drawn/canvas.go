package drawn

import (
	"image"
	"image/draw"
	"math"

	"golang.org/x/image/vector"
)

// rgb is a colour, 0 to 255 a channel; values outside are cut when painted.
type rgb [3]float64

func (c rgb) times(k float64) rgb { return rgb{c[0] * k, c[1] * k, c[2] * k} }

func (c rgb) blend(d rgb, t float64) rgb {
	return rgb{mix(c[0], d[0], t), mix(c[1], d[1], t), mix(c[2], d[2], t)}
}

// wash is what a shape is filled with: a colour that changes evenly over the
// picture, and how much of it covers what is below (0 to 1).
type wash struct {
	at     rgb // colour at the picture's corner
	dx, dy rgb // change a pixel
	cover  float64
}

func flat(c rgb) wash { return wash{at: c, cover: 1} }

func glaze(c rgb, cover float64) wash { return wash{at: c, cover: cover} }

// between runs from colour c at p to colour d at q.
func between(c rgb, p pt, d rgb, q pt) wash {
	dx, dy := q.x-p.x, q.y-p.y
	l := dx*dx + dy*dy
	if l == 0 {
		return flat(c)
	}
	w := wash{cover: 1}
	for i := range c {
		w.dx[i] = (d[i] - c[i]) * dx / l
		w.dy[i] = (d[i] - c[i]) * dy / l
		w.at[i] = c[i] - w.dx[i]*p.x - w.dy[i]*p.y
	}
	return w
}

// canvas is the picture being painted. Its scratch buffers are used again for
// every shape: a photo has a thousand shapes and must be done in a blink.
type canvas struct {
	img  *image.RGBA
	ras  vector.Rasterizer
	mask []uint8
}

func newCanvas(w, h int) *canvas {
	return &canvas{img: image.NewRGBA(image.Rect(0, 0, w, h))}
}

// fill paints outlines, anti-aliased; where one outline runs against another it cuts a hole.
func (c *canvas) fill(w wash, outlines ...[]pt) {
	size := c.img.Rect.Size()
	box, cut := bounds(outlines, float64(size.X), float64(size.Y))
	if box.Empty() {
		return
	}
	mask := c.cover(outlines, box, cut)
	c.blend(w, mask, box)
}

// cover rasterises outlines into the scratch mask, one byte a pixel of box.
func (c *canvas) cover(outlines [][]pt, box image.Rectangle, cut bool) []uint8 {
	ox, oy := float64(box.Min.X), float64(box.Min.Y)
	c.ras.Reset(box.Dx(), box.Dy())
	c.ras.DrawOp = draw.Src
	for _, o := range outlines {
		if cut {
			o = cropped(o, box)
		}
		if len(o) < 3 {
			continue
		}
		for i, p := range o {
			if x, y := float32(p.x-ox), float32(p.y-oy); i == 0 {
				c.ras.MoveTo(x, y)
			} else {
				c.ras.LineTo(x, y)
			}
		}
		c.ras.ClosePath()
	}
	n := box.Dx() * box.Dy()
	if cap(c.mask) < n {
		c.mask = make([]uint8, n)
	}
	m := &image.Alpha{Pix: c.mask[:n], Stride: box.Dx(), Rect: image.Rect(0, 0, box.Dx(), box.Dy())}
	c.ras.Draw(m, m.Rect, image.Opaque, image.Point{})
	return m.Pix
}

// blend lays the wash over the picture where the mask says so. Colours step in
// 16.16 fixed point: a float conversion a channel costs more than the blend.
func (c *canvas) blend(w wash, mask []uint8, box image.Rectangle) {
	cover := int(math.Round(w.cover * 256))
	var dx, step [3]int
	for i := range dx {
		dx[i] = int(w.dx[i] * 65536)
	}
	for y := box.Min.Y; y < box.Max.Y; y++ {
		row := mask[(y-box.Min.Y)*box.Dx():][:box.Dx()]
		pix := c.img.Pix[c.img.PixOffset(box.Min.X, y):][:4*len(row)]
		var v [3]int
		for i := range v {
			v[i] = int((w.at[i]+w.dx[i]*float64(box.Min.X)+w.dy[i]*float64(y))*65536) + 1<<15
			// Cutting the ends of the row instead of every pixel bends a colour that runs out of range a little.
			end := min(max(v[i]+dx[i]*len(row), 0), 255<<16)
			v[i] = min(max(v[i], 0), 255<<16)
			step[i] = (end - v[i]) / len(row)
		}
		blendRow(pix, row, v, step, cover)
	}
}

// blendRow is the innermost loop of everything drawn, hence its three lines for three channels.
func blendRow(pix, row []uint8, v, step [3]int, cover int) {
	r, g, b := v[0], v[1], v[2]
	dr, dg, db := step[0], step[1], step[2]
	for x, m := range row {
		if m != 0 {
			p := pix[4*x : 4*x+4 : 4*x+4]
			if a := int(m) * cover; a == 255*256 {
				p[0], p[1], p[2], p[3] = uint8(r>>16), uint8(g>>16), uint8(b>>16), 255
			} else {
				a += a >> 8 // 255·256 becomes 65,280 + 255: as good as one
				p[0] = uint8(int(p[0]) + ((r>>16-int(p[0]))*a+1<<15)>>16)
				p[1] = uint8(int(p[1]) + ((g>>16-int(p[1]))*a+1<<15)>>16)
				p[2] = uint8(int(p[2]) + ((b>>16-int(p[2]))*a+1<<15)>>16)
				p[3] = 255
			}
		}
		r, g, b = r+dr, g+dg, b+db
	}
}

// bounds is the box of pixels that outlines touch inside a w×h picture, and
// whether any of them reaches out of it.
func bounds(outlines [][]pt, w, h float64) (box image.Rectangle, cut bool) {
	lo, hi := pt{math.Inf(1), math.Inf(1)}, pt{math.Inf(-1), math.Inf(-1)}
	for _, o := range outlines {
		for _, p := range o {
			lo = pt{math.Min(lo.x, p.x), math.Min(lo.y, p.y)}
			hi = pt{math.Max(hi.x, p.x), math.Max(hi.y, p.y)}
		}
	}
	if !(lo.x < w && lo.y < h && hi.x > 0 && hi.y > 0) {
		return image.Rectangle{}, false
	}
	cut = lo.x < 0 || lo.y < 0 || hi.x > w || hi.y > h
	return image.Rect(int(math.Max(lo.x, 0)), int(math.Max(lo.y, 0)),
		int(math.Ceil(math.Min(hi.x, w))), int(math.Ceil(math.Min(hi.y, h)))), cut
}

// cropped cuts an outline to a box (Sutherland and Hodgman), so that the
// rasteriser never meets a coordinate far outside its buffer.
func cropped(o []pt, box image.Rectangle) []pt {
	x0, y0, x1, y1 := float64(box.Min.X), float64(box.Min.Y), float64(box.Max.X), float64(box.Max.Y)
	for _, inside := range []func(pt) float64{
		func(p pt) float64 { return p.x - x0 }, func(p pt) float64 { return x1 - p.x },
		func(p pt) float64 { return p.y - y0 }, func(p pt) float64 { return y1 - p.y },
	} {
		var kept []pt
		for i, p := range o {
			q := o[(i+1)%len(o)]
			dp, dq := inside(p), inside(q)
			if dp >= 0 {
				kept = append(kept, p)
			}
			if (dp < 0) != (dq < 0) {
				t := dp / (dp - dq)
				kept = append(kept, pt{mix(p.x, q.x, t), mix(p.y, q.y, t)})
			}
		}
		o = kept
	}
	return o
}
