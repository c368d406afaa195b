package timing

import (
	"fmt"
	"time"

	"haulbook/intake"
)

// Sighting is one photo of the clock page.
type Sighting struct {
	Shown  time.Time // what the page showed, UTC in whole seconds
	Wall   time.Time // what the camera wrote, carried in time.UTC
	SubSec bool      // the camera wrote parts of a second
	Offset string    // "+02:00" as written with Wall, "" none
	Zone   string    // best zone known for the photo, IANA name or offset, "" none
}

// Correction is what a camera's clock is wrong by.
type Correction struct {
	Shift time.Duration // add to the camera's wall clock for true local time; whole milliseconds
	Doubt time.Duration // the truth is no further from Shift than this
	How   string        // ByPage or ByPageAlone
}

// How a correction was found.
const (
	ByPage      = "clock page"
	ByPageAlone = "clock page, zone unknown"
)

const (
	// A screen shows a change a few frames late, and what a camera calls the
	// moment of a shot is a few frames wide: no number of sightings gets below
	// (common practice, no source).
	least = 100 * time.Millisecond
	// A page may be late by half a second on a slow phone, and a quartz clock
	// drifts as much in a day: sightings this far apart still agree (common
	// practice, no source).
	allowance = 500 * time.Millisecond
	// Longer differences than this do not fit into a time.Duration.
	longest = 250 * 365 * 24 * time.Hour
)

// DisagreeError says that two sightings cannot come from one clock that was left
// alone. It is an intake.ErrConflict.
type DisagreeError struct {
	A, B time.Time     // the camera's wall clock at both, in their order
	By   time.Duration // how far apart the two corrections are
}

// Error implements error.
func (e *DisagreeError) Error() string {
	by := e.By.Round(time.Second).String()
	if e.By >= 48*time.Hour {
		by = fmt.Sprintf("%d days", e.By/(24*time.Hour))
	}
	const layout = "2006-01-02 15:04:05"
	return fmt.Sprintf("the clock photos that the camera dates %s and %s disagree by %s: it was set in between, or one shows an old page",
		e.A.Format(layout), e.B.Format(layout), by)
}

// Is makes every DisagreeError an intake.ErrConflict.
func (e *DisagreeError) Is(target error) bool { return target == intake.ErrConflict }

// Measure works out what one camera's clock is wrong by. A page that shows a
// second and a camera that writes whole seconds leave one second of doubt either
// way; each further sighting narrows it.
//
// The zone of a sighting is its Offset, else its Zone. Where neither is known, a
// clock that is wrong and a clock in another zone look alike: the offset in use
// that is nearest counts as the zone and the rest as error, so an error of more
// than half an hour is taken for a zone. Of several sightings the ones without a
// zone follow the others. ByPageAlone says that no zone was known at all.
//
// Sightings that lack a time are left aside. Without a zone, a clock that no zone
// explains, and no sighting at all, are an *intake.FieldError; sightings that
// contradict each other are a *DisagreeError.
func Measure(s []Sighting) (Correction, error) {
	usable := make([]Sighting, 0, len(s))
	for _, one := range s {
		if !one.Shown.IsZero() && !one.Wall.IsZero() && one.Shown.Sub(one.Wall).Abs() < longest {
			usable = append(usable, one)
		}
	}
	if len(usable) == 0 {
		return Correction{}, &intake.FieldError{Field: "clock",
			Problem: "no photo has both, the time on the clock page and a time by the camera"}
	}
	start, how := roughly(usable)
	if how == "" {
		return Correction{}, &intake.FieldError{Field: "zone",
			Problem: "no zone explains how far the camera's clock is off: name its zone to set it right"}
	}
	low, high := usable[0].bounds(start), usable[0].bounds(start)
	for _, one := range usable[1:] {
		b := one.bounds(start)
		if b.low > low.low {
			low = b
		}
		if b.high < high.high {
			high = b
		}
	}
	if low.low-high.high > allowance {
		a, b := low, high
		if b.wall.Before(a.wall) {
			a, b = b, a
		}
		return Correction{}, &DisagreeError{A: a.wall, B: b.wall, By: low.middle() - high.middle()}
	}
	return between(low.low, high.high, how), nil
}

// roughly is a correction to the second from one sighting, preferring one with a
// zone, and how it was found: "" when no zone explains the difference.
func roughly(s []Sighting) (time.Duration, string) {
	for _, one := range s {
		if offset, ok := one.offset(); ok {
			return one.Shown.Add(offset).Sub(one.Wall), ByPage
		}
	}
	ahead := s[0].Wall.Sub(s[0].Shown)
	offset := nearestInUse(ahead)
	if (ahead - offset).Abs() > 30*time.Minute {
		return 0, ""
	}
	return offset - ahead, ByPageAlone
}

// offset is the one that the camera wrote, else that of the zone at the moment
// shown: an instant has one offset, so summer time leaves no doubt here.
func (s Sighting) offset() (time.Duration, bool) {
	if offset, ok := parseOffset(s.Offset); ok {
		return offset, true
	}
	loc, ok := load(s.Zone)
	if !ok {
		return 0, false
	}
	_, seconds := s.Shown.In(loc).Zone()
	return time.Duration(seconds) * time.Second, true
}

// bounds are two limits of a correction, and where the camera's clock stood.
type bounds struct {
	low, high time.Duration
	wall      time.Time
}

func (b bounds) middle() time.Duration { return b.low + (b.high-b.low)/2 }

// bounds are those that one sighting sets: the page showed its second for a
// second, and the camera cut its own time off by up to a grain. A sighting
// without a zone takes the one that fits the rough correction best.
func (s Sighting) bounds(rough time.Duration) bounds {
	offset, ok := s.offset()
	if !ok {
		offset = nearestInUse(s.Wall.Sub(s.Shown) + rough)
	}
	d := s.Shown.Add(offset).Sub(s.Wall)
	return bounds{low: d - s.grain(), high: d + time.Second, wall: s.Wall}
}

// grain is the width of what the camera writes. One digit of a second may be all
// it has, and trailing zeros do not tell; too wide a grain is never wrong.
func (s Sighting) grain() time.Duration {
	ns := time.Duration(s.Wall.Nanosecond())
	switch {
	case !s.SubSec:
		return time.Second
	case ns%(100*time.Millisecond) == 0:
		return 100 * time.Millisecond
	case ns%(10*time.Millisecond) == 0:
		return 10 * time.Millisecond
	}
	return time.Millisecond
}

// between puts the correction into the middle of its limits. Limits that cross,
// by no more than the allowance, were set by sightings that agree but for it.
func between(low, high time.Duration, how string) Correction {
	shift := (low + (high-low)/2).Round(time.Millisecond)
	doubt := max(high-shift, shift-low, least)
	if low >= high {
		doubt = allowance
	}
	// Rounded up: a doubt that is cut off would exclude the truth.
	doubt = (doubt + time.Millisecond - 1).Truncate(time.Millisecond)
	return Correction{Shift: shift, Doubt: doubt, How: how}
}
