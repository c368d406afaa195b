package drawn

import "math"

// view is one look at a scene: where it is painted, from where, in which light.
type view struct {
	canvas *canvas
	cam    camera
	sun    vec // unit vector towards the light, which hangs up left in front and turns with the camera
}

func look(c *canvas, cam camera) *view {
	l := vec{-0.42, 0.80, 0.50}.unit()
	s, k := math.Sincos(cam.yaw)
	return &view{c, cam, vec{l.x*k + l.z*s, l.y, -l.x*s + l.z*k}}
}

// panel is a face seen in a view, drawn on in millimetres from its top left
// corner. Colours given to it are those in even light; the panel shades them.
type panel struct {
	*view
	o, u, v, n vec
	w, h       float64
	lit        float64
}

func (v *view) panel(f *face) *panel {
	o := f.corners[0]
	u := o.toward(f.corners[1])
	w := math.Sqrt(u.dot(u))
	u = u.mul(1 / w)
	down := o.toward(f.corners[3])
	down = down.sub(u.mul(down.dot(u)))
	h := math.Sqrt(down.dot(down))
	down = down.mul(1 / h)
	n := down.cross(u)
	return &panel{view: v, o: o, u: u, v: down, n: n, w: w, h: h,
		lit: 0.73 + 0.35*math.Max(0, n.dot(v.sun)) + 0.03*n.y}
}

// at is the point x right, y down and up above the face.
func (p *panel) at(x, y, up float64) vec {
	return p.o.add(p.u.mul(x)).add(p.v.mul(y)).add(p.n.mul(up))
}

// px is how many pixels one millimetre takes near a point of the face.
func (p *panel) px(x, y float64) float64 { return p.cam.scale(p.at(x, y, 0)) }

func (p *panel) seen(o []pt, up float64) []pt {
	flat := make([]vec, len(o))
	for i, q := range o {
		flat[i] = p.at(q.x, q.y, up)
	}
	return p.cam.see(flat)
}

func (p *panel) allSeen(outlines [][]pt) [][]pt {
	out := make([][]pt, len(outlines))
	for i, o := range outlines {
		out[i] = p.seen(o, 0)
	}
	return out
}

// fill paints outlines that lie on the face in one colour.
func (p *panel) fill(c rgb, outlines ...[]pt) {
	p.canvas.fill(flat(c.times(p.lit)), p.allSeen(outlines)...)
}

// veil paints a see-through layer: cover 0 is nothing, 1 hides all.
func (p *panel) veil(c rgb, cover float64, outlines ...[]pt) {
	p.canvas.fill(glaze(c.times(p.lit), cover), p.allSeen(outlines)...)
}

// glow paints light that needs no lamp: a tube, a small lamp.
func (p *panel) glow(c rgb, cover float64, outlines ...[]pt) {
	p.canvas.fill(glaze(c, cover), p.allSeen(outlines)...)
}

// sweep paints outlines from colour c at a to colour d at b.
func (p *panel) sweep(c rgb, a pt, d rgb, b pt, outlines ...[]pt) {
	pa, pb := p.cam.project(p.at(a.x, a.y, 0)), p.cam.project(p.at(b.x, b.y, 0))
	p.canvas.fill(between(c.times(p.lit), pa, d.times(p.lit), pb), p.allSeen(outlines)...)
}

// shadow darkens the face softly over about blur millimetres.
func (p *panel) shadow(blur, cover float64, outlines ...[]pt) {
	var mid pt
	if len(outlines) > 0 && len(outlines[0]) > 0 {
		mid = outlines[0][0]
	}
	p.canvas.soft(glaze(rgb{38, 32, 26}, cover), blur*p.px(mid.x, mid.y), p.allSeen(outlines)...)
}

// raised is a block standing up mm out of the face: base below, cap on top.
func (p *panel) raised(side, cap rgb, base, lid []pt, up float64) {
	low, high := p.seen(base, 0), p.seen(lid, up)
	around := hull(append(append([]pt(nil), low...), high...))
	if len(around) < 3 || len(high) < 3 {
		return
	}
	p.canvas.fill(flat(side.times(p.lit)), around)
	p.canvas.fill(between(cap.times(p.lit*1.04), high[0], cap.times(p.lit*0.95), high[len(high)/2]), high)
}

// sunk is a hole with a lit lower lip and a shadow under its upper one.
func (p *panel) sunk(c rgb, x, y, w, h, r float64) {
	lip := math.Min(1, h/8)
	p.veil(rgb{255, 252, 244}, 0.5, rounded(x-lip/2, y, w+lip, h+lip, r))
	p.fill(c, rounded(x, y, w, h, r))
	p.veil(rgb{}, 0.35, rounded(x, y, w, math.Min(h*0.25, 5), math.Min(r, h*0.12)))
}

// paint draws the whole solid: a silhouette in the colour of its lit edges,
// the faces a bevel smaller on top of it, and on them what they carry.
func (v *view) paint(s *solid) {
	var all []pt
	for i := range s.faces {
		all = append(all, v.cam.see(s.faces[i].corners[:])...)
	}
	edge := hull(all)
	if len(edge) < 3 {
		return
	}
	mid := s.lo.add(s.hi).mul(0.5)
	r := s.bevel * v.cam.scale(mid)
	high, low := edge[0], edge[0]
	for _, p := range edge {
		if p.y < high.y {
			high = p
		}
		if p.y > low.y {
			low = p
		}
	}
	v.canvas.fill(between(s.tint.times(1.13), pt{0, high.y}, s.tint.times(0.80), pt{0, low.y}), smooth(edge, r*1.5))
	for i := range s.faces {
		v.paintFace(s, &s.faces[i])
	}
}

func (v *view) paintFace(s *solid, f *face) {
	p := v.panel(f)
	if p.n.dot(f.corners[0].toward(v.cam.eye)) <= 0 {
		return // seen from behind
	}
	tint := s.tint
	if f.tint != nil {
		tint = *f.tint
	}
	o := make([]pt, 4)
	for i, c := range f.corners {
		d := p.o.toward(c)
		o[i] = pt{d.dot(p.u), d.dot(p.v)}
	}
	o = smooth(inset(o, s.bevel*0.45), s.bevel*1.3)
	p.sweep(tint.times(1.035), pt{p.w * 0.3, 0}, tint.times(0.93), pt{p.w * 0.55, p.h}, o)
	if f.draw != nil {
		f.draw(p)
	}
}
