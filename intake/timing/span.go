package timing

import (
	"time"

	"haulbook/intake"
)

// Span is a stretch of one camera's wall clock, as the camera counts it, in which
// one correction holds.
type Span struct {
	From, To time.Time // wall clock carried in time.UTC; From is in it, To is not; a zero To is open
	Shift    time.Duration
	ID       intake.ID // of the correction
	Ended    bool      // taken back: it holds nowhere any more
}

// Day is the span that a correction gets unless somebody widens it: the true
// local day of the sighting, from midnight to midnight, told in the camera's
// wrong time. The caller fills in the ID.
func Day(wall time.Time, shift time.Duration) Span {
	midnight := wall.Add(shift).Truncate(24 * time.Hour)
	return Span{From: midnight.Add(-shift), To: midnight.Add(24*time.Hour - shift), Shift: shift}
}

func (s Span) holds(wall time.Time) bool {
	return !s.Ended && !wall.Before(s.From) && (s.To.IsZero() || wall.Before(s.To))
}

// At is the correction that applies to a camera's time, and its ID: 0 and "" when
// there is none. Of several the newest wins, which is the one that begins last:
// an open span yields to what was measured later on, whatever the order in which
// people entered them. Of two that begin together the later in spans wins, so
// the caller lists them as they were made.
func At(spans []Span, wall time.Time) (time.Duration, intake.ID) {
	var newest Span
	found := false
	for _, s := range spans {
		if !wall.IsZero() && s.holds(wall) && (!found || !s.From.Before(newest.From)) {
			newest, found = s, true
		}
	}
	return newest.Shift, newest.ID
}
