package drawn

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"math"
)

// quality of the JPEGs: what phones use by and large (common practice, no source).
const quality = 86

// shoot draws photo i and wraps it as its camera would.
func (h Haul) shoot(i int) ([]byte, error) {
	p := h.Photos[i]
	img, err := h.picture(i)
	if err != nil {
		return nil, fmt.Errorf("draw %s: %w", p.Name, err)
	}
	s := p.shot
	orientation := max(1, s.pose.turn)
	k := cameras()[s.kit]
	e := EXIF{Make: k.maker, Model: k.model, BodySerial: k.serial, Orientation: orientation, Taken: p.Taken, SubSec: s.subSec}
	if k.phone {
		e.Offset = p.Taken.Format("-07:00")
	}
	img = sideways(img, orientation)
	var out bytes.Buffer
	if s.png {
		if err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&out, img); err != nil {
			return nil, fmt.Errorf("draw %s: %w", p.Name, err)
		}
		return pngWithEXIF(out.Bytes(), e)
	}
	if err := jpeg.Encode(&out, img, &jpeg.Options{Quality: quality}); err != nil {
		return nil, fmt.Errorf("draw %s: %w", p.Name, err)
	}
	b, err := WithEXIF(out.Bytes(), e)
	if err == nil && s.damaged {
		b = b[:len(b)*6/10]
	}
	return b, err
}

// picture draws photo i upright, as the eye sees it.
func (h Haul) picture(i int) (*image.RGBA, error) {
	p := h.Photos[i]
	s := p.shot
	w, t := h.width, h.width*3/4
	if s.pose.turn >= 5 {
		w, t = t, w
	}
	c := newCanvas(w, t)
	var err error
	if s.all {
		h.overview(c)
	} else {
		err = h.portrait(c, i)
	}
	if err != nil {
		return nil, err
	}
	f := cameras()[s.kit].film
	if s.png {
		f.grain = 0 // noise would make the lossless file ten times as large
	}
	f.develop(c.img, h.seed^uint64(i+1)*0x9E3779B97F4A7C15)
	return c.img, nil
}

// thing is the index a photo's thing has, also where the truth says none:
// the damaged file shows the thing of the photo before it.
func (h Haul) thing(i int) int {
	for i > 0 && h.Photos[i].Thing < 0 {
		i--
	}
	return max(0, h.Photos[i].Thing)
}

// oak is the table everything stands on.
var oak = rgb{150, 126, 98}

// portrait draws one thing, whole or close.
func (h Haul) portrait(c *canvas, i int) error {
	ti := h.thing(i)
	t, pose := h.Things[ti], h.Photos[i].shot.pose
	d := throw(h.seed, uint64(1000+i))
	m := catalogue()[t.plan].modelOf(t, pose.under)
	size := c.img.Rect.Size()
	w, hh := float64(size.X), float64(size.Y)
	table := throw(h.seed, 3) // the same table in every photo
	if pose.spot == "" {
		cam := fit(m.solids, pose.yaw+d.between(-2, 2), pose.pitch+d.between(-1, 1), w, hh, 0.76)
		look(c, cam).show(m.scene, table, oak, 420)
		return nil
	}
	sp, ok := m.spots[pose.spot]
	if !ok {
		return fmt.Errorf("%s of %s: %w", pose.spot, t.Model, errNoSpot)
	}
	f := &m.solids[sp.solid].faces[sp.face]
	if pose.role == Tag {
		modules, err := qrModules(tagURL(h.address, t.Code))
		if err != nil {
			return err
		}
		before, deg := f.draw, d.between(-9, 7)
		f.draw = func(p *panel) {
			if before != nil {
				before(p)
			}
			p.tag(modules, t.Code, sp.x, sp.y, deg)
		}
	}
	cam := closeUp(f, sp, d, w, hh)
	look(c, cam).show(m.scene, table, oak, 420)
	return nil
}

// closeUp looks at a spot nearly square on, held as steadily as a hand can.
func closeUp(f *face, sp spot, d *dice, w, h float64) camera {
	p := (&view{}).panel(f)
	target := p.at(sp.x, sp.y, 0)
	yaw := math.Atan2(p.n.x, p.n.z) * 180 / math.Pi
	if p.n.y > 0.8 { // seen from above, the way the thing faces: its front at the bottom
		yaw = 0
	}
	pitch := math.Min(86, math.Asin(p.n.y)*180/math.Pi+sp.pitch)
	dist := 1.75 * sp.span * math.Max(w, h) / w
	return orbit(target, dist, yaw+sp.yaw+d.between(-1, 1), pitch+d.between(-1, 1), d.between(-1.6, 1.6), w, h)
}

// fit stands back until all solids fill the given part of the picture, and
// moves sideways until they are in its middle, a little below it.
func fit(solids []solid, yaw, pitch, w, h, part float64) camera {
	// Moving changes the perspective, so it takes a few rounds; twelve leave less than a pixel.
	var corners []vec
	for i := range solids {
		for _, f := range solids[i].faces[:2] {
			corners = append(corners, f.corners[:]...)
		}
	}
	target, dist := vec{0, 80, 0}, 1500.0
	var cam camera
	for range 12 {
		cam = orbit(target, dist, yaw, pitch, 0, w, h)
		lo, hi := pt{math.Inf(1), math.Inf(1)}, pt{math.Inf(-1), math.Inf(-1)}
		for _, v := range corners {
			q := cam.project(v)
			lo, hi = pt{math.Min(lo.x, q.x), math.Min(lo.y, q.y)}, pt{math.Max(hi.x, q.x), math.Max(hi.y, q.y)}
		}
		k := cam.scale(target)
		target = target.add(cam.right.mul(((lo.x+hi.x)/2 - w/2) / k)).add(cam.up.mul((h*0.52 - (lo.y+hi.y)/2) / k))
		dist *= math.Max((hi.x-lo.x)/w, (hi.y-lo.y)/h) / part
	}
	return cam
}

// overview puts the first things of the haul on the table together.
func (h Haul) overview(c *canvas) {
	places := []vec{{0, 0, -170}, {40, 0, 300}, {-480, 0, -60}, {330, 0, -190}, {500, 0, 200}, {-420, 0, 380}}
	var all scene
	for i, t := range h.Things[:min(len(h.Things), len(places))] {
		m := catalogue()[t.plan].modelOf(t, false)
		for _, s := range m.solids {
			all.solids = append(all.solids, s.shifted(places[i]))
		}
	}
	size := c.img.Rect.Size()
	w, t := float64(size.X), float64(size.Y)
	pose := h.Photos[0].shot.pose
	cam := fit(all.solids, pose.yaw, pose.pitch, w, t, 0.92)
	look(c, cam).show(all, throw(h.seed, 3), oak, 760)
}
