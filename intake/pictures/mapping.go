package pictures

import "math"

// mapping takes places in a code, in modules from its upper left corner, to pixels:
// a plane seen in perspective.
type mapping struct{ ax, bx, cx, ay, by, cy, aw, bw float64 }

func (m mapping) at(u, v float64) (x, y float64) {
	w := 1 / (m.aw*u + m.bw*v + 1)
	return (m.ax*u + m.bx*v + m.cx) * w, (m.ay*u + m.by*v + m.cy) * w
}

// newMapping takes the square from near to far, in modules, to four corners,
// clockwise from the upper left. It is the closed form of the projective map of a
// square (Heckbert, Fundamentals of Texture Mapping, 2.2.3, from memory), moved.
func newMapping(near, far float64, c [4]point) mapping {
	dx1, dy1 := c[1].x-c[2].x, c[1].y-c[2].y
	dx2, dy2 := c[3].x-c[2].x, c[3].y-c[2].y
	sx, sy := c[0].x-c[1].x+c[2].x-c[3].x, c[0].y-c[1].y+c[2].y-c[3].y
	det := dx1*dy2 - dx2*dy1
	if math.Abs(det) < 1e-9 {
		det = 1e-9
	}
	g, h := (sx*dy2-dx2*sy)/det, (dx1*sy-sx*dy1)/det
	m := mapping{
		c[1].x - c[0].x + g*c[1].x, c[3].x - c[0].x + h*c[3].x, c[0].x,
		c[1].y - c[0].y + g*c[1].y, c[3].y - c[0].y + h*c[3].y, c[0].y,
		g, h,
	}
	// The square's own coordinates run from 0 to 1.
	k := 1 / (far - near)
	m.ax, m.bx, m.ay, m.by, m.aw, m.bw = m.ax*k, m.bx*k, m.ay*k, m.by*k, m.aw*k, m.bw*k
	m.cx -= near * (m.ax + m.bx)
	m.cy -= near * (m.ay + m.by)
	w := 1 - near*(m.aw+m.bw)
	if math.Abs(w) < 1e-9 {
		w = 1e-9
	}
	w = 1 / w
	return mapping{m.ax * w, m.bx * w, m.cx * w, m.ay * w, m.by * w, m.cy * w, m.aw * w, m.bw * w}
}

// grey is the light at a place between pixels, whose middles lie at halves. Beyond
// the picture it is that of the border.
func (p plane) grey(x, y float64) float64 {
	x, y = within(x-0.5, float64(p.w)-1.001), within(y-0.5, float64(p.h)-1.001)
	ix, iy := int(x), int(y)
	fx, fy := x-float64(ix), y-float64(iy)
	at := iy*p.stride + ix
	below := at + p.stride
	if iy+1 >= p.h {
		below = at
	}
	next := 1
	if ix+1 >= p.w {
		next = 0
	}
	a := float64(p.pix[at])*(1-fx) + float64(p.pix[at+next])*fx
	b := float64(p.pix[below])*(1-fx) + float64(p.pix[below+next])*fx
	return a*(1-fy) + b*fy
}

// within clamps to 0 and most; what is not a number is 0.
func within(v, most float64) float64 {
	if v > most {
		v = most
	}
	if !(v > 0) {
		return 0
	}
	return v
}
