package bench

import (
	"fmt"
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
	Next     bool // the waiting group that saving goes on to
	Undated  bool
	Space    int    // width class of the gap before it
	Pause    string // how long it was, where the strip shows less than its length
	Doubtful bool   // the reckoning is not sure of this boundary, and nobody has said
	Percent  int    // its certainty, for the words beside the mark
	First    intake.PhotoID
	Movable  bool // the boundary before it may be joined away
}

// frame is one photo in the ribbon.
type frame struct {
	intake.ShownPhoto
	Space int // width class of the gap before it, inside the group
}

// doubtBelow is the certainty under which a boundary is drawn as doubtful: one
// in five would be wrong. Above it a keeper would look at more right ones than
// the wrong ones are worth (a guess, no source).
const doubtBelow = 0.8

// widestSpace is the last gap class of the style sheet: 17 minutes and more.
const widestSpace = 8

// layRibbon puts the groups on the time axis. Widths follow the logarithm of
// the pauses: seconds, minutes and a lunch break all stay visible on one strip.
func layRibbon(groups, waiting []intake.Group, current string) []bunch {
	waits := make(map[string]bool, len(waiting))
	for _, g := range waiting {
		waits[g.ID()] = true
	}
	_, next := neighbours(waiting, current)
	ribbon := make([]bunch, 0, len(groups))
	var last time.Time
	for _, g := range groups {
		if len(g.Photos) == 0 {
			continue
		}
		id := g.ID()
		b := bunch{Link: "/bench/" + id, Current: id == current, Next: id == next, First: g.Photos[0].ID, Undated: g.Undated}
		// Not the item tells: late photos of a numbered thing wait, too.
		if !waits[id] {
			b.Number, b.Link = g.Item.Number, "/items/"+g.Item.Number.String()
		}
		if n := len(ribbon); n > 0 && !g.Undated {
			b.Movable = waits[id] && ribbon[n-1].Number.IsZero()
			b.Doubtful = b.Movable && !g.Before.Human && g.Before.Certainty < doubtBelow
			b.Percent = int(math.Round(100 * g.Before.Certainty))
		}
		for j, p := range g.Photos {
			// The gap before the first photo stands between the brackets.
			f := frame{ShownPhoto: p, Space: spaceFor(last, p.Taken())}
			if j == 0 {
				b.Space, b.Pause, f.Space = f.Space, pauseFor(last, p.Taken()), 0
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

// pauseFor says the length of a pause that the widest gap cannot show.
func pauseFor(before, after time.Time) string {
	if spaceFor(before, after) < widestSpace {
		return ""
	}
	const day = 24 * time.Hour
	switch pause := after.Sub(before).Abs(); {
	case pause < 90*time.Minute:
		return fmt.Sprintf("%d min", int(pause.Round(time.Minute)/time.Minute))
	case pause < 36*time.Hour:
		return fmt.Sprintf("%d h", int(pause.Round(time.Hour)/time.Hour))
	default:
		return fmt.Sprintf("%d days", int(pause.Round(day)/day))
	}
}

// here is the current bunch's place in the ribbon, -1 when it stands in none.
func (p groupPage) here() int {
	for i, b := range p.Ribbon {
		if b.Current {
			return i
		}
	}
	return -1
}

// JoinBack is the photo before which the boundary to the group before may be
// joined away, "" when it may not.
func (p groupPage) JoinBack() string { return p.joinable(p.here()) }

// JoinOn is the same for the boundary to the group behind.
func (p groupPage) JoinOn() string { return p.joinable(p.here() + 1) }

func (p groupPage) joinable(i int) string {
	// here is -1 for a group without a place, and nothing stands before the first.
	if p.here() < 0 || i >= len(p.Ribbon) || !p.Ribbon[i].Movable {
		return ""
	}
	return p.Ribbon[i].First.String()
}

// Doubt is the current group when the boundary before it wants a look, else nil.
func (p groupPage) Doubt() *bunch {
	if i := p.here(); i >= 0 && p.Ribbon[i].Doubtful {
		return &p.Ribbon[i]
	}
	return nil
}
