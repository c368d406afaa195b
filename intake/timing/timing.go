// Package timing works out when a photo was really taken, and how we know.
//
// It knows clocks: a camera's wall clock that runs wrong, the zone it was read
// in, the hours that a zone has twice or never, and the clock page of the desk,
// whose photo tells by how much a camera is wrong. It does not know files, tags,
// groups or rows, and has no clock of its own: values in, values out. The rules
// of the zones are those of package time, so a program that must not depend on
// its machine for them links time/tzdata.
//
// It promises never to invent: without a zone there is no instant, without a
// camera's time there is nothing at all, and what was decided between two
// readings is said in words.
package timing

import "time"

// Known is what is known around one photo. The zones are IANA names
// ("Europe/Berlin") or offsets ("+02:00"); "" and what is neither are none.
type Known struct {
	Wall   time.Time // the camera's wall clock, carried in time.UTC; zero unknown
	Offset string    // "+02:00" as written with Wall, "" none
	GPS    time.Time // UTC stamp of the satellites' clock, zero none

	Haul, Camera, Book string // zone of each, "" none

	// Correction is what to add to Wall: true local time minus camera time, as
	// Measure gives it.
	Correction time.Duration
}

// Resolved is when a photo was taken, as well as it can be known.
type Resolved struct {
	At time.Time // UTC; zero unknown
	// Local is the corrected wall clock, carried in time.UTC; zero unknown. It is
	// Wall and Correction and nothing else, also in an hour that did not exist.
	Local time.Time
	Zone  string // what At was worked out with: "+02:00" or an IANA name; "" none
	From  string // where Zone came from: one of the constants, "" none
	Doubt string // "", SetBack or NeverWas
}

// Where a zone came from, in the order in which they are asked.
const (
	FromOffset   = "offset"   // written by the camera beside the time
	FromPosition = "position" // inferred from the satellites' clock
	FromHaul     = "haul"
	FromCamera   = "camera"
	FromBook     = "book"
)

// The doubts, as sentences to stand beside a time. After SetBack, At is the first
// of the two readings, which is the one in summer time; after NeverWas it is the
// time that a clock shows which nobody has put forward yet.
const (
	SetBack  = "the clock was set back in this hour: one of two"
	NeverWas = "this hour did not exist"
)

// Resolve works out when the photo was taken. The zone is the first that is known
// in the order of the constants. The satellites' time is never the answer itself:
// it may be as old as the last fix, so it only picks among the offsets in use.
func Resolve(k Known) Resolved {
	if k.Wall.IsZero() {
		return Resolved{}
	}
	r := Resolved{Local: k.Wall.Add(k.Correction)}
	if offset, ok := parseOffset(k.Offset); ok {
		r.At, r.Zone, r.From = r.Local.Add(-offset), k.Offset, FromOffset
		return r
	}
	if offset, ok := implied(r.Local, k.GPS); ok {
		r.At, r.Zone, r.From = r.Local.Add(-offset), formatOffset(offset), FromPosition
		return r
	}
	for _, asked := range []struct{ zone, from string }{
		{k.Haul, FromHaul}, {k.Camera, FromCamera}, {k.Book, FromBook},
	} {
		if loc, ok := load(asked.zone); ok {
			r.At, r.Doubt = instant(r.Local, loc)
			r.Zone, r.From = asked.zone, asked.from
			return r
		}
	}
	return r
}

// implied is the offset that the satellites' time implies for a wall clock. Ten
// minutes are what a camera's clock may be wrong and a fix may be old together;
// nearly all zones are further apart (common practice, no source).
func implied(local, gps time.Time) (time.Duration, bool) {
	if gps.IsZero() {
		return 0, false
	}
	ahead := local.Sub(gps)
	offset := nearestInUse(ahead)
	return offset, (ahead - offset).Abs() <= 10*time.Minute
}

// instant is when clocks in loc showed wall. Each stretch of one offset in which
// wall falls is a reading; where there is none it fell into the gap between two,
// and is read with the offset before, by which the camera's clock still ran.
// time.Date does not promise which reading it takes.
func instant(wall time.Time, loc *time.Location) (time.Time, string) {
	const day = 24 * time.Hour // further from UTC than any zone ever was
	var first, early time.Time
	readings := 0
	for t := wall.Add(-day); ; {
		_, seconds := t.In(loc).Zone()
		start, end := t.In(loc).ZoneBounds()
		u := wall.Add(-time.Duration(seconds) * time.Second).UTC()
		if u.Before(start) {
			break
		}
		switch {
		case !end.IsZero() && !u.Before(end):
			early = u // not in this stretch any more
		case readings == 0:
			first, readings = u, 1
		default:
			readings++
		}
		if end.IsZero() {
			break
		}
		t = end
	}
	switch readings {
	case 0:
		return early, NeverWas
	case 1:
		return first, ""
	}
	return first, SetBack
}
