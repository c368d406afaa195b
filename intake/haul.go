package intake

import "time"

// Haul is a lot of things acquired together: one source, one occasion.
// Price is what was paid for the whole; how it splits is decided elsewhere.
type Haul struct {
	ID       ID
	Number   HaulNumber
	Name     string
	Source   string // who it came from; for keepers only
	Occasion string
	Acquired string // a date as known: "2026-05-09", "about 1998", ""
	Price    Money
	Zone     string // where its photos were taken: an IANA name or "+02:00"; "" follows the camera, then the book
	Notes    string
	Closed   bool // its groups no longer wait on the bench
	Opened   time.Time
	Version  int

	// What the book counts in it.
	Photos, Items, Waiting int
}
