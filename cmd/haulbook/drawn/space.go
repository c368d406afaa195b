package drawn

import "math"

// vec is a point or direction in the room, in millimetres: x to the right,
// y up from the table top, z towards whoever stands in front of the thing.
type vec struct{ x, y, z float64 }

func (a vec) add(b vec) vec       { return vec{a.x + b.x, a.y + b.y, a.z + b.z} }
func (a vec) sub(b vec) vec       { return vec{a.x - b.x, a.y - b.y, a.z - b.z} }
func (a vec) mul(k float64) vec   { return vec{a.x * k, a.y * k, a.z * k} }
func (a vec) dot(b vec) float64   { return a.x*b.x + a.y*b.y + a.z*b.z }
func (a vec) unit() vec           { return a.mul(1 / math.Sqrt(a.dot(a))) }
func (a vec) toward(b vec) vec    { return b.sub(a) }
func mix(a, b, t float64) float64 { return a + (b-a)*t }
func (a vec) cross(b vec) vec {
	return vec{a.y*b.z - a.z*b.y, a.z*b.x - a.x*b.z, a.x*b.y - a.y*b.x}
}

// pt is a point in a picture (pixels) or on a face (millimetres); y runs down.
type pt struct{ x, y float64 }

// near is the closest distance that is drawn, in millimetres. Whatever comes
// nearer is cut off, because dividing by its depth would turn it inside out.
const near = 30

// camera stands somewhere in the room and looks at a target.
type camera struct {
	eye, right, up, ahead vec
	yaw                   float64 // radians; the room turns with the camera, only things are seen from the side
	focal, cx, cy         float64 // pixels
}

// orbit puts a camera dist millimetres from target; yaw to its right and pitch
// above it, in degrees, roll as a hand would tilt the camera.
func orbit(target vec, dist, yaw, pitch, roll, w, h float64) camera {
	a, b, r := yaw*math.Pi/180, pitch*math.Pi/180, roll*math.Pi/180
	out := vec{math.Sin(a) * math.Cos(b), math.Sin(b), math.Cos(a) * math.Cos(b)}
	right := vec{math.Cos(a), 0, -math.Sin(a)}
	ahead := out.mul(-1)
	up := right.cross(ahead)
	return camera{
		eye:   target.add(out.mul(dist)),
		right: right.mul(math.Cos(r)).add(up.mul(math.Sin(r))),
		up:    up.mul(math.Cos(r)).sub(right.mul(math.Sin(r))),
		ahead: ahead, yaw: a,
		focal: 1.75 * math.Max(w, h), cx: w / 2, cy: h / 2,
	}
}

func (c camera) depth(p vec) float64 { return p.sub(c.eye).dot(c.ahead) }

// scale is how many pixels a millimetre takes at p.
func (c camera) scale(p vec) float64 { return c.focal / math.Max(near, c.depth(p)) }

func (c camera) project(p vec) pt {
	q := p.sub(c.eye)
	k := c.focal / math.Max(near, q.dot(c.ahead))
	return pt{c.cx + q.dot(c.right)*k, c.cy - q.dot(c.up)*k}
}

// see returns the polygon as it falls on the picture, cut at the near plane;
// empty when all of it is behind the camera.
func (c camera) see(poly []vec) []pt {
	out := make([]pt, 0, len(poly)+2)
	for i, p := range poly {
		q := poly[(i+1)%len(poly)]
		dp, dq := c.depth(p)-near, c.depth(q)-near
		if dp >= 0 {
			out = append(out, c.project(p))
		}
		if (dp < 0) != (dq < 0) {
			out = append(out, c.project(p.add(p.toward(q).mul(dp/(dp-dq)))))
		}
	}
	return out
}

// hull returns the convex outline of points, in order (Andrew's monotone chain).
func hull(points []pt) []pt {
	ps := append([]pt(nil), points...)
	sortPoints(ps)
	if len(ps) < 3 {
		return ps
	}
	var out []pt
	for pass := 0; pass < 2; pass++ {
		floor := len(out)
		for _, p := range ps {
			for len(out) >= floor+2 && turn(out[len(out)-2], out[len(out)-1], p) <= 0 {
				out = out[:len(out)-1]
			}
			out = append(out, p)
		}
		out = out[:len(out)-1]
		for i, j := 0, len(ps)-1; i < j; i, j = i+1, j-1 {
			ps[i], ps[j] = ps[j], ps[i]
		}
	}
	return out
}

func turn(a, b, c pt) float64 { return (b.x-a.x)*(c.y-a.y) - (b.y-a.y)*(c.x-a.x) }
