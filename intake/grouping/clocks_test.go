package grouping_test

import (
	"slices"
	"testing"
	"time"

	"haulbook/intake/grouping"
)

// Two cameras, a person taking up one or the other for the same item.
var twoCameras = recipe{items: 40, within: 7, between: 45, spread: 0.5, interrupted: 0.01, pause: 30 * time.Minute, second: 0.4}

func TestClocksAreFound(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*recipe)
	}{
		{"clocks agree", func(*recipe) {}},
		{"seconds", func(r *recipe) { r.skew = 75 * time.Second }},
		{"minutes", func(r *recipe) { r.skew = -23 * time.Minute }},
		{"summer time", func(r *recipe) { r.skew = time.Hour }},
		{"nine hours", func(r *recipe) { r.skew = 9 * time.Hour }},
		{"nine hours and something", func(r *recipe) { r.skew = -9*time.Hour - 400*time.Second }},
		{"slow hands", func(r *recipe) { r.within, r.between, r.skew = 25, 140, time.Hour }},
		{"second camera now and then", func(r *recipe) { r.second, r.skew = 0.1, 700*time.Second }},
		{"tags", func(r *recipe) { r.tags, r.unread, r.random, r.skew = "seen", 0.2, true, 40*time.Minute }},
	} {
		t.Run(c.name, func(t *testing.T) {
			for seed := range uint64(3) {
				r := twoCameras
				r.seed = seed
				c.change(&r)
				s := r.invent()
				got := grouping.Split(s.shots)
				shift := got.Shifts["reflex"] - got.Shifts["telephone"]
				if off := shift - r.skew; off.Abs() > 30*time.Second {
					t.Errorf("seed %d: clocks differ by %v, want %v", seed, shift, r.skew)
				}
				if exact := s.exact(got.Groups()); exact < r.items*3/4 {
					t.Errorf("seed %d: got %d of %d items exact", seed, exact, r.items)
				}
			}
		})
	}
}

// Clocks that are right stay right where the photos cannot tell: one camera in
// the morning, the other in the afternoon; or two people side by side.
func TestClocksAreLeftAlone(t *testing.T) {
	for seed := range uint64(4) {
		r := twoCameras
		r.seed, r.second = seed, 0
		s := r.invent()
		for i := range s.shots {
			if s.item[i] >= r.items/2 {
				s.shots[i].Camera = "reflex"
			}
		}
		if got := grouping.Split(s.shots).Shifts; got["reflex"] != got["telephone"] {
			t.Errorf("seed %d, one after the other: got %v, want no shift", seed, got)
		}

		one, r2 := r.invent(), r
		r2.seed = seed + 100
		two := r2.invent()
		for i := range two.shots {
			two.shots[i].Camera = "reflex"
		}
		if got := grouping.Split(slices.Concat(one.shots, two.shots)).Shifts; got["reflex"] != got["telephone"] {
			t.Errorf("seed %d, side by side: got %v, want no shift", seed, got)
		}
	}
}

// The second camera takes whole items, so that only the numbers of the tags tell
// its clock.
func TestTagNumbersTellTheClock(t *testing.T) {
	for seed := range uint64(3) {
		r := twoCameras
		r.seed, r.whole, r.skew, r.tags, r.unread = seed+10, true, 400*time.Second, "first", 0.1
		s := r.invent()
		if exact := s.exact(grouping.Split(s.shots).Groups()); exact < r.items*3/4 {
			t.Errorf("seed %d: got %d of %d items exact", seed, exact, r.items)
		}
	}
}

// A camera that changes to summer time in the middle leaves a pause of an hour,
// and nothing else changes.
func TestClockThatJumps(t *testing.T) {
	r := twoCameras
	r.seed, r.second, r.pause = 3, 0, 0
	s := r.invent()
	before := s.exact(grouping.Split(s.shots).Groups())
	for i := range s.shots {
		if s.item[i] >= 20 {
			s.shots[i].Taken = s.shots[i].Taken.Add(time.Hour)
		}
	}
	if after := s.exact(grouping.Split(s.shots).Groups()); after < before-1 {
		t.Errorf("items exact: got %d after the jump, want about %d", after, before)
	}
}

func TestThreeCameras(t *testing.T) {
	r := twoCameras
	r.seed, r.second, r.skew = 5, 0.5, 2*time.Hour
	s := r.invent()
	third := 0
	for i, shot := range s.shots {
		if shot.Camera == "telephone" && i > 0 && s.item[i] == s.item[i-1] && i%2 == 0 {
			s.shots[i].Camera, s.shots[i].Taken = "tablet", shot.Taken.Add(5*time.Minute)
			third++
		}
	}
	got := grouping.Split(s.shots)
	for camera, want := range map[string]time.Duration{"reflex": r.skew, "tablet": -5 * time.Minute} {
		if off := got.Shifts[camera] - got.Shifts["telephone"] - want; off.Abs() > 15*time.Second {
			t.Errorf("%s of %d shots: clock off by %v, want 0", camera, third, off)
		}
	}
}

// A clock that was never set, its battery was out, is decades away.
func TestClockNeverSet(t *testing.T) {
	r := twoCameras
	r.seed = 6
	s := r.invent()
	for i := range s.shots {
		if s.shots[i].Camera == "reflex" {
			s.shots[i].Taken = s.shots[i].Taken.AddDate(-26, -4, 0)
		}
	}
	got := grouping.Split(s.shots)
	want := afternoon.Sub(afternoon.AddDate(-26, -4, 0))
	if off := got.Shifts["reflex"] - got.Shifts["telephone"] - want; off.Abs() > 30*time.Second {
		t.Errorf("clock off by %v after the shift, want 0", off)
	}
}

// Another camera days later is another session, not a wrong clock.
func TestDaysLaterIsNoShift(t *testing.T) {
	r := twoCameras
	r.seed = 7
	s := r.invent()
	for i := range s.shots {
		if s.shots[i].Camera == "reflex" {
			s.shots[i].Taken = s.shots[i].Taken.AddDate(0, 0, 3)
		}
	}
	if got := grouping.Split(s.shots).Shifts; got["reflex"] != got["telephone"] {
		t.Errorf("got %v, want no shift", got)
	}
}
