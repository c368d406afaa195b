package drawn

import (
	"fmt"
	"time"
)

// shot is what is needed to draw a photo again.
type shot struct {
	pose    pose
	kit     int // index into cameras
	subSec  string
	png     bool
	damaged bool
	all     bool // the overview
}

// kit is a camera as its files tell it.
type kit struct {
	maker, model, serial string
	name                 string // file name pattern
	first                int    // its counter that afternoon
	phone                bool   // writes zone and fractions of a second
	film                 film
}

func (k kit) String() string { return k.maker + " " + k.model }

const (
	phone   = 0
	compact = 1
)

// cameras are the two of the afternoon. The compact one is a few years older:
// no zone, no fractions, cooler, darker in the corners, more grain.
func cameras() [2]kit {
	return [2]kit{
		phone: {"Lumora", "Pocket 9", "", "IMG_%04d.%s", 4071, true,
			film{[3]float64{1.025, 1.0, 0.965}, 0.20, 0.20, 7}},
		compact: {"Veltrix", "C-310", "31074415", "DSCN%04d.%s", 312, false,
			film{[3]float64{0.975, 1.0, 1.02}, 0.30, 0.28, 12}},
	}
}

// afternoon walks through the shots and hands out times and file names.
type afternoon struct {
	d      *dice
	now    time.Time
	counts [2]int
	photos []Photo
}

// snap takes one photo after a pause of lo to hi seconds.
func (a *afternoon) snap(lo, hi float64, thing int, s shot) {
	a.now = a.now.Add(time.Duration(a.d.between(lo, hi)*1000) * time.Millisecond)
	k := cameras()[s.kit]
	taken := a.now
	if k.phone {
		s.subSec = fmt.Sprintf("%03d", taken.Nanosecond()/1e6)
	} else {
		taken = taken.Truncate(time.Second)
	}
	ext := "JPG"
	if s.png {
		ext = "PNG"
	}
	name := fmt.Sprintf(k.name, k.first+a.counts[s.kit], ext)
	a.counts[s.kit]++
	a.photos = append(a.photos, Photo{Name: name, Thing: thing, Role: s.pose.role, Taken: taken,
		Camera: k.String(), Damaged: s.damaged, shot: s})
}

// shootingOrder takes the photos: an overview, then thing by thing. A tag is
// laid on right after the first view, as one does who tags while photographing.
// Somewhere past the middle the phone's battery gives out, so that plates and
// details of a few things come from the compact camera.
func shootingOrder(things []Thing, o Options) []Photo {
	a := &afternoon{d: throw(o.Seed, 2), now: o.Start}
	designs := catalogue()
	if len(things) > 1 {
		a.snap(1, 5, -1, shot{pose: pose{role: View, yaw: -12, pitch: 27}, all: true})
	}
	// Fixed places instead of dice: every haul has one file of each kind.
	damaged, png := len(things)/2, len(things)/3
	for i, t := range things {
		lo, hi := 25.0, 90.0
		for n, p := range poses(designs[t.plan], t) {
			s := shot{pose: p, png: i == png && n == 0}
			if p.role != View && p.role != Tag && i >= len(things)*5/12 && i < len(things)*8/12 {
				s.kit = compact
			}
			if s.png {
				// Its eXIf must not need turning: few readers turn a PNG.
				s.pose.turn = 0
			}
			a.snap(lo, hi, i, s)
			lo, hi = 4, 9
			if i == damaged && n == 0 {
				p.yaw += 14
				a.snap(lo, hi, -1, shot{pose: p, damaged: true})
			}
		}
	}
	return a.photos
}

// poses are a design's own, with the tag photo put in where the thing has a code.
func poses(d design, t Thing) []pose {
	if t.Code == "" {
		return d.poses
	}
	out := append([]pose{d.poses[0]}, pose{role: Tag, spot: "tag", turn: map[bool]int{true: 6}[d.kind == "monitor"]})
	return append(out, d.poses[1:]...)
}
