package intake

import "time"

// Camera is one camera body or phone, with its clock. Its photos say which it
// is; only the name and the zone are chosen by people.
type Camera struct {
	ID                  ID
	Name                string
	Make, Model, Serial string
	Zone                string    // what its clock is set to: an IANA name or "+02:00"; "" unknown
	Photos              int       // kept, forgotten ones not counted
	Last                time.Time // by its own clock, carried in time.UTC; zero when none is dated
	Sample              PhotoID   // its last photo, zero for none
	Clock               Correction
	Corrections         []Correction // those that stand, as they were made; filled where one camera is asked for
}

// Correction is what one camera's clock is wrong by in a stretch of its time. It
// is never rewritten, only taken back and replaced. The zero ID means none. Of
// two that overlap, the one that begins later holds.
type Correction struct {
	ID       ID
	Camera   ID
	From, To time.Time     // by the camera's clock, carried in time.UTC; To is not in it, zero is open
	Shift    time.Duration // true local time minus camera time; whole milliseconds
	Doubt    time.Duration // the truth is no further from Shift than this; negative unknown
	How      string        // "typed", "clock page", "clock page, zone unknown"
	Photo    PhotoID       // that shows the clock page, zero for none
	Made     time.Time     // UTC
}

// CorrectionTyped is the How of a correction that a person typed.
const CorrectionTyped = "typed"
