package bench

import (
	"math"
	"time"

	"haulbook/intake"
)

// bunch is one group as it stands in the ribbon.
type bunch struct {
	Link     string // the bench for a waiting group, the record for a numbered one
	Photos   []frame
	Number   intake.Number // given, zero while it waits
	Current  bool
	Undated  bool
	Space    int  // width class of the gap before it
	Doubtful bool // the reckoning is not sure of this boundary, and nobody has said
	Percent  int  // its certainty, for the words beside the mark
	First    intake.PhotoID
	Movable  bool // the boundary before it may be joined away
}

// frame is one photo in the ribbon.
type frame struct {
	intake.ShownPhoto
	Space int // width class of the gap before it, inside the group
}

// doubtBelow is the certainty under which a boundary is drawn as doubtful.
const doubtBelow = 0.8

// widestSpace is the last gap class of the style sheet.
const widestSpace = 8

// layRibbon puts the groups on the time axis. Widths follow the logarithm of
// the pauses: seconds, minutes and a lunch break all stay visible on one strip.
func layRibbon(groups []intake.Group, waiting map[string]bool, current string) []bunch {
	ribbon := make([]bunch, 0, len(groups))
	var last time.Time
	for _, g := range groups {
		if len(g.Photos) == 0 {
			continue
		}
		id := g.ID()
		b := bunch{Link: "/bench/" + id, Current: id == current, First: g.Photos[0].ID, Undated: g.Undated}
		if !waiting[id] {
			b.Number, b.Link = g.Item.Number, "/items/"+g.Item.Number.String()
		}
		if n := len(ribbon); n > 0 && !g.Undated {
			b.Movable = waiting[id] && ribbon[n-1].Number.IsZero()
			b.Doubtful = b.Movable && !g.Before.Human && g.Before.Certainty < doubtBelow
			b.Percent = int(math.Round(100 * g.Before.Certainty))
		}
		for j, p := range g.Photos {
			f := frame{ShownPhoto: p, Space: spaceFor(last, p.Taken())}
			if j == 0 {
				b.Space, f.Space = f.Space, 0
			}
			last = p.Taken()
			b.Photos = append(b.Photos, f)
		}
		ribbon = append(ribbon, b)
	}
	return ribbon
}

// spaceFor is the width class of a pause: 0 below four seconds, one more each
// time the pause doubles.
func spaceFor(before, after time.Time) int {
	if before.IsZero() || after.IsZero() {
		return 0
	}
	seconds := math.Abs(after.Sub(before).Seconds())
	return min(widestSpace, int(math.Log2(1+seconds/4)))
}
