// Package grouping proposes which photos of one haul show the same item.
//
// It knows when each photo was taken, by which camera, which own tag was seen in
// it and what a human has said about it. It knows nothing of files, pictures,
// numbers or databases, has no clock and does no I/O.
//
// It promises that every photo lands in exactly one group (dividers in none),
// that what a human said and what is already an item is obeyed, that the same
// shots in any order give the same groups, and that every boundary carries the
// probability that it is right.
package grouping

import (
	"time"

	"haulbook/intake"
)

// Cut is what a human said about the boundary before a shot.
type Cut int8

// The three things a human can have said about a boundary.
const (
	Unsaid   Cut = iota // nothing: the computation decides
	CutHere             // a new item begins with this shot
	JoinHere            // this shot continues the group of the shot before it
)

// Shot is one photo as grouping sees it.
type Shot struct {
	Taken   time.Time // wall clock of the camera, not zero
	Camera  string    // which clock: one name per camera body or phone
	Counter int       // file counter, breaks ties of one camera, decides nothing else
	Tag     string    // own tag code seen in the photo, "" none: hard evidence
	Plate   bool      // probably shows the plate: a linear code or a foreign one was seen in it: soft evidence
	Item    string    // item the photo already belongs to, "" free: hard
	Divider bool      // a divider card: a certain boundary, in no group itself
	Cut     Cut       // what a human said about the boundary before this shot
}

// Result is the proposed split of one haul.
type Result struct {
	Order  []int                    // indices into the shots, in corrected shooting order
	Before []intake.Boundary        // Before[k] is the boundary before the shot Order[k]; the first is a cut with certainty 1
	Shifts map[string]time.Duration // estimated clock error per camera, to be added to Taken

	divider []bool // per place in Order
}

// Groups returns the split as lists of indices into the shots, each in shooting
// order; dividers are in none.
func (r Result) Groups() [][]int {
	var groups [][]int
	open := false
	for k, shot := range r.Order {
		if r.divider[k] {
			open = false
			continue
		}
		if !open || r.Before[k].Cut {
			groups = append(groups, nil)
			open = true
		}
		groups[len(groups)-1] = append(groups[len(groups)-1], shot)
	}
	return groups
}
