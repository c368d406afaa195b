package drawn

import "math"

// lead is a cable lying on the table.
type lead struct {
	tint  rgb
	thick float64
	line  []pt // x and z on the table, millimetres
}

// scene is what stands on the table: solids and the leads between them.
type scene struct {
	solids []solid
	leads  []lead
}

// room paints wall and table. Both turn with the camera: it is the thing that
// is turned on the table when its other sides are photographed.
func (v *view) room(d *dice, tone rgb, reach float64) {
	size := v.canvas.img.Rect.Size()
	w, h := float64(size.X), float64(size.Y)
	v.canvas.fill(between(rgb{206, 211, 208}, pt{0, 0}, rgb{184, 191, 189}, pt{0, h * 0.8}), rect(0, 0, w, h))
	away := vec{-math.Sin(v.cam.yaw), 0, -math.Cos(v.cam.yaw)}
	side := vec{math.Cos(v.cam.yaw), 0, -math.Sin(v.cam.yaw)}
	const wide = 4000
	onTable := func(x, z float64) vec { return side.mul(x).add(away.mul(z)) }
	table := v.cam.see([]vec{onTable(-wide, reach), onTable(wide, reach), onTable(wide, -wide), onTable(-wide, -wide)})
	edge := v.cam.project(onTable(0, reach)).y
	if len(table) < 3 {
		return
	}
	// Where the table ends the wall is a little darker: it stands behind, out of focus.
	v.canvas.soft(glaze(rgb{110, 104, 94}, 0.5), 14*w/1600, shifted(table, 0, -6*w/1600))
	v.canvas.fill(between(tone.times(1.12), pt{0, math.Max(edge, 0)}, tone.times(0.90), pt{0, h}), table)
	v.grain(d, tone, onTable, reach, math.Max(edge, 0), h)
}

// grain draws the planks and the lines of the wood, finer where the camera is close.
func (v *view) grain(d *dice, tone rgb, onTable func(x, z float64) vec, reach, edge, h float64) {
	strip := func(x, z, l, t float64) []pt {
		return v.cam.see([]vec{onTable(x, z), onTable(x+l, z), onTable(x+l, z-t), onTable(x, z-t)})
	}
	const plank = 165.0
	var seams [][]pt
	for z := reach - 20; z > -900; z -= plank {
		k := d.between(0.92, 1.06)
		v.canvas.fill(between(tone.times(1.12*k), pt{0, edge}, tone.times(0.90*k), pt{0, h}), strip(-1600, z, 3200, plank))
		seams = append(seams, strip(-1600, z, 3200, 1.6))
	}
	var dark, pale [][]pt
	for i := 0; i < 260; i++ {
		s := strip(d.between(-1300, 1000), reach-30-900*d.between(0, 1), d.between(60, 420), d.between(0.5, 2))
		if i%3 == 0 {
			pale = append(pale, s)
		} else {
			dark = append(dark, s)
		}
	}
	v.canvas.fillEach(glaze(tone.times(0.62), 0.20), dark)
	v.canvas.fillEach(glaze(tone.times(1.35), 0.16), pale)
	v.canvas.fillEach(glaze(tone.times(0.42), 0.55), seams)
}

// fillEach fills outlines one at a time: far cheaper than one mask over all of
// them when they are small and lie far apart.
func (c *canvas) fillEach(w wash, outlines [][]pt) {
	for _, o := range outlines {
		c.fill(w, o)
	}
}

func shifted(o []pt, dx, dy float64) []pt {
	out := make([]pt, len(o))
	for i, p := range o {
		out[i] = pt{p.x + dx, p.y + dy}
	}
	return out
}

// shadows casts the solids on the table: softly along the light, and close
// and dark where they stand.
func (v *view) shadows(solids []solid) {
	var long, contact [][]pt
	scale := 0.0
	for i := range solids {
		s := &solids[i]
		var far []pt
		for f := range s.faces[:2] { // front and back hold all eight corners
			far = append(far, v.cam.see(fallen(s.faces[f].corners[:], v.sun))...)
		}
		long = append(long, hull(far))
		scale = math.Max(scale, v.cam.scale(s.lo.add(s.hi).mul(0.5)))
		if s.lo.y < 12 {
			const out = 5
			contact = append(contact, hull(v.cam.see([]vec{
				{s.lo.x - out, 0, s.lo.z - out}, {s.hi.x + out, 0, s.lo.z - out},
				{s.hi.x + out, 0, s.hi.z + out}, {s.lo.x - out, 0, s.hi.z + out}})))
		}
	}
	v.canvas.soft(glaze(rgb{40, 30, 22}, 0.42), 26*scale, long...)
	v.canvas.soft(glaze(rgb{26, 18, 12}, 0.62), 7*scale, contact...)
}

// fallen moves points along the light onto the table.
func fallen(points []vec, sun vec) []vec {
	out := make([]vec, len(points))
	for i, p := range points {
		out[i] = p.sub(sun.mul(math.Max(p.y, 0) / sun.y))
	}
	return out
}

// cables draws leads with a shadow below and a shine along them.
func (v *view) cables(leads []lead) {
	for _, l := range leads {
		ground := func(t, dx float64) []pt {
			var o []vec
			for _, q := range stroke(l.line, t) {
				o = append(o, vec{q.x + dx, l.thick / 2, q.y})
			}
			return v.cam.see(o)
		}
		px := v.cam.scale(vec{l.line[0].x, 0, l.line[0].y})
		v.canvas.soft(glaze(rgb{26, 18, 12}, 0.5), 4*px, shifted(ground(l.thick*1.3, 2), 0, l.thick*px*0.4))
		v.canvas.fill(flat(l.tint), ground(l.thick, 0))
		v.canvas.fill(glaze(rgb{255, 250, 240}, 0.22), shifted(ground(l.thick*0.28, 0), 0, -l.thick*px*0.16))
	}
}

// show paints the whole scene.
func (v *view) show(s scene, d *dice, tone rgb, reach float64) {
	if !v.filled(s.solids) {
		v.room(d, tone, reach)
		v.shadows(s.solids)
		v.cables(s.leads)
	}
	for _, b := range backToFront(s.solids, v.cam.eye) {
		v.paint(b)
	}
}

// filled says whether one solid covers the whole picture, as in most close-ups:
// then nobody sees the room, and drawing it would take half the time.
func (v *view) filled(solids []solid) bool {
	size := v.canvas.img.Rect.Size()
	corners := rect(0, 0, float64(size.X), float64(size.Y))
	for i := range solids {
		var all []pt
		for _, f := range solids[i].faces[:2] {
			all = append(all, v.cam.see(f.corners[:])...)
		}
		// Well inside, since the rounded corners of the outline show the room too.
		if edge := hull(all); len(edge) >= 3 && contains(inset(edge, solids[i].bevel*3*v.cam.scale(solids[i].lo)), corners) {
			return true
		}
	}
	return false
}

func contains(clockwise, points []pt) bool {
	for i, a := range clockwise {
		b := clockwise[(i+1)%len(clockwise)]
		for _, p := range points {
			if turn(a, b, p) < 0 {
				return false
			}
		}
	}
	return true
}

// wavy flattens a curve through table points, for leads.
func wavy(points ...pt) []pt {
	out := []pt{points[0]}
	for i := 1; i+1 < len(points); i++ {
		a, b := points[i], points[i+1]
		end := pt{(a.x + b.x) / 2, (a.y + b.y) / 2}
		if i+2 == len(points) {
			end = b
		}
		out = append(out, bend(out[len(out)-1], a, end, 12)[1:]...)
	}
	return out
}

// coiled is a spiral lead from a to b.
func coiled(a, b pt, turns int, r float64) []pt {
	var out []pt
	n := turns * 14
	for i := 0; i <= n; i++ {
		t := float64(i) / float64(n)
		s, c := math.Sincos(2 * math.Pi * float64(turns) * t)
		out = append(out, pt{mix(a.x, b.x, t) + c*r, mix(a.y, b.y, t) + s*r})
	}
	return out
}
