package bench

import (
	"slices"
	"testing"
	"time"

	"haulbook/intake"
	"haulbook/metadata"
)

var noon = time.Date(2026, 5, 9, 12, 0, 0, 0, time.UTC)

func TestSpaces(t *testing.T) {
	for _, row := range []struct {
		pause time.Duration
		class int
		says  string
	}{
		{0, 0, ""},
		{3 * time.Second, 0, ""},
		{4 * time.Second, 1, ""},
		{time.Minute, 4, ""},
		{-time.Minute, 4, ""}, // a clock that was set back
		{16 * time.Minute, 7, ""},
		{17 * time.Minute, 8, "17 min"},
		{89 * time.Minute, 8, "89 min"},
		{90 * time.Minute, 8, "2 h"},
		{30 * time.Hour, 8, "30 h"},
		{50 * time.Hour, 8, "2 days"},
	} {
		if got := spaceFor(noon, noon.Add(row.pause)); got != row.class {
			t.Errorf("%v has class %d, want %d", row.pause, got, row.class)
		}
		if got := pauseFor(noon, noon.Add(row.pause)); got != row.says {
			t.Errorf("%v says %q, want %q", row.pause, got, row.says)
		}
	}
	if got := spaceFor(time.Time{}, noon); got != 0 {
		t.Errorf("a first photo has class %d", got)
	}
	if got := pauseFor(noon, time.Time{}); got != "" {
		t.Errorf("an undated photo says %q", got)
	}
}

// shot is a photo taken some minutes after noon, undated below zero.
func shot(id byte, minutes int) intake.ShownPhoto {
	var p intake.ShownPhoto
	p.ID[0] = id
	if minutes >= 0 {
		p.Meta.Taken = metadata.Taken{Wall: noon.Add(time.Duration(minutes) * time.Minute)}
	}
	return p
}

func TestLayRibbon(t *testing.T) {
	unsure := intake.Boundary{Cut: true, Certainty: 0.6}
	said := intake.Boundary{Cut: true, Certainty: 0.1, Human: true}
	item := func(n int) intake.Item {
		return intake.Item{ID: "x", Number: intake.Number{Year: 2026, Haul: 1, Item: n}, State: intake.StateAccessioned}
	}
	groups := []intake.Group{
		{Photos: []intake.ShownPhoto{shot(1, 0), shot(2, 1)}, Item: item(1), Before: intake.Boundary{Cut: true, Certainty: 1}},
		{Photos: []intake.ShownPhoto{shot(3, 5)}, Before: unsure},
		{Photos: []intake.ShownPhoto{shot(4, 40)}, Before: unsure},
		{Photos: []intake.ShownPhoto{shot(5, 41)}, Before: said},
		{Photos: []intake.ShownPhoto{shot(6, 42)}, Item: item(1), Before: unsure}, // late, by its tag: still waits
		{},
		{Photos: []intake.ShownPhoto{shot(7, -1)}, Undated: true},
	}
	waiting := slices.Concat(groups[1:5], groups[6:])
	ribbon := layRibbon(groups, waiting, groups[2].ID())
	type row struct {
		link                             string
		number                           int
		current, next, doubtful, movable bool
		space                            int
		pause                            string
	}
	want := []row{
		{link: "/items/2026.1.1", number: 1},
		{link: "/bench/" + groups[1].ID(), space: 5},
		{link: "/bench/" + groups[2].ID(), current: true, doubtful: true, movable: true, space: 8, pause: "35 min"},
		{link: "/bench/" + groups[3].ID(), next: true, movable: true, space: 4},
		{link: "/bench/" + groups[4].ID(), doubtful: true, movable: true, space: 4},
		{link: "/bench/" + groups[6].ID()},
	}
	if len(ribbon) != len(want) {
		t.Fatalf("%d bunches, want %d", len(ribbon), len(want))
	}
	for i, b := range ribbon {
		got := row{b.Link, b.Number.Item, b.Current, b.Next, b.Doubtful, b.Movable, b.Space, b.Pause}
		if got != want[i] {
			t.Errorf("bunch %d: got %+v, want %+v", i, got, want[i])
		}
	}
	if got := ribbon[0].Photos[1].Space; got != 4 {
		t.Errorf("a minute inside a group has class %d, want 4", got)
	}
	if got := ribbon[2].Percent; got != 60 {
		t.Errorf("%d %%, want 60", got)
	}
}

// TestJoinsOffered: only where the group stands in the ribbon, and not past its ends.
func TestJoinsOffered(t *testing.T) {
	first, second := intake.PhotoID{1}, intake.PhotoID{2}
	ribbon := []bunch{{First: first, Current: true}, {First: second, Movable: true}}
	p := groupPage{Ribbon: ribbon}
	if p.JoinBack() != "" || p.JoinOn() != second.String() || p.Doubt() != nil {
		t.Errorf("back %q, on %q, doubt %v", p.JoinBack(), p.JoinOn(), p.Doubt())
	}
	ribbon[0].Current, ribbon[1].Current, ribbon[1].Doubtful = false, true, true
	if p.JoinBack() != second.String() || p.JoinOn() != "" || p.Doubt() == nil {
		t.Errorf("back %q, on %q, doubt %v", p.JoinBack(), p.JoinOn(), p.Doubt())
	}
	ribbon[1].Current = false
	if p.JoinBack() != "" || p.JoinOn() != "" || p.Doubt() != nil {
		t.Errorf("a group without a place is offered back %q, on %q", p.JoinBack(), p.JoinOn())
	}
}
