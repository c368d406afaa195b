package timing_test

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"haulbook/intake"
	"haulbook/intake/timing"
)

func TestAt(t *testing.T) {
	day := func(n int) time.Time { return time.Date(2026, 7, n, 0, 0, 0, 0, time.UTC) }
	open := timing.Span{From: day(10), Shift: time.Minute, ID: "open"}
	always := timing.Span{Shift: 9 * time.Minute, ID: "always"}
	single := timing.Span{From: day(14), To: day(15), Shift: 2 * time.Minute, ID: "single"}
	again := timing.Span{From: day(14), To: day(15), Shift: 3 * time.Minute, ID: "again"}
	ended := timing.Span{From: day(14), To: day(15), Shift: 4 * time.Minute, ID: "ended", Ended: true}
	backwards := timing.Span{From: day(14), To: day(14), Shift: 5 * time.Minute, ID: "backwards"}
	for _, tt := range []struct {
		name  string
		spans []timing.Span
		wall  time.Time
		want  intake.ID
	}{
		{"none", nil, day(14), ""},
		{"before it", []timing.Span{open}, day(10).Add(-1), ""},
		{"its first moment", []timing.Span{open}, day(10), "open"},
		{"open for ever", []timing.Span{open}, day(10).AddDate(30, 0, 0), "open"},
		{"from for ever", []timing.Span{always}, day(10).AddDate(-30, 0, 0), "always"},
		{"its last moment", []timing.Span{single}, day(15).Add(-1), "single"},
		{"its end is outside", []timing.Span{single}, day(15), ""},
		{"the newer one", []timing.Span{open, single, always}, day(14), "single"},
		{"the newer one in any order", []timing.Span{single, always, open}, day(14), "single"},
		{"back to the older one", []timing.Span{open, single}, day(15), "open"},
		{"the later of two of one day", []timing.Span{single, again}, day(14), "again"},
		{"an ended one holds nowhere", []timing.Span{single, ended}, day(14), "single"},
		{"an empty one holds nowhere", []timing.Span{backwards}, day(14), ""},
		{"a photo without a time", []timing.Span{always}, time.Time{}, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			shift, id := timing.At(tt.spans, tt.wall)
			if id != tt.want {
				t.Errorf("got %q, want %q", id, tt.want)
			}
			for _, s := range tt.spans {
				if s.ID == tt.want && s.Shift != shift {
					t.Errorf("got a shift of %v, want %v", shift, s.Shift)
				}
			}
			if tt.want == "" && shift != 0 {
				t.Errorf("got a shift of %v from nowhere", shift)
			}
		})
	}
}

func TestDay(t *testing.T) {
	for _, tt := range []struct {
		name, wall string
		shift      time.Duration
		from, to   string
	}{
		{"a right clock", "2026-07-14 18:30:00", 0, "2026-07-14 00:00:00", "2026-07-15 00:00:00"},
		{"on midnight", "2026-07-14 00:00:00", 0, "2026-07-14 00:00:00", "2026-07-15 00:00:00"},
		{"a slow clock begins its day late", "2026-07-14 18:30:00", time.Hour, "2026-07-13 23:00:00", "2026-07-14 23:00:00"},
		{"a clock that still has yesterday", "2026-07-13 23:30:00", time.Hour, "2026-07-13 23:00:00", "2026-07-14 23:00:00"},
		{"a clock that was never set", "2000-01-01 00:10:00", 9691*24*time.Hour + 18*time.Hour + 20*time.Minute, "1999-12-31 05:40:00", "2000-01-01 05:40:00"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got := timing.Day(wall(t, tt.wall), tt.shift)
			if want := (timing.Span{From: wall(t, tt.from), To: wall(t, tt.to), Shift: tt.shift}); got != want {
				t.Errorf("got %+v, want %+v", got, want)
			}
		})
	}
}

// At picks the newest that holds, and what does not hold changes nothing.
func TestAtPicksTheNewest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		start := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
		at := func(label string) time.Time {
			return start.Add(time.Duration(rapid.IntRange(0, 20).Draw(t, label)) * time.Hour)
		}
		spans := make([]timing.Span, rapid.IntRange(0, 6).Draw(t, "spans"))
		for i := range spans {
			spans[i] = timing.Span{From: at("from"), Shift: time.Duration(i+1) * time.Minute, ID: intake.NewID(), Ended: rapid.Bool().Draw(t, "ended")}
			if rapid.Bool().Draw(t, "closed") {
				spans[i].To = at("to")
			}
		}
		shot := at("shot")
		shift, id := timing.At(spans, shot)

		// By the book: those that hold, stably by their beginning, the last.
		holding := slices.DeleteFunc(slices.Clone(spans), func(s timing.Span) bool {
			return s.Ended || shot.Before(s.From) || !s.To.IsZero() && !shot.Before(s.To)
		})
		slices.SortStableFunc(holding, func(a, b timing.Span) int { return a.From.Compare(b.From) })
		var want timing.Span
		if len(holding) > 0 {
			want = holding[len(holding)-1]
		}
		if shift != want.Shift || id != want.ID {
			t.Fatalf("got %v of %q, want %v of %q", shift, id, want.Shift, want.ID)
		}
		if again, same := timing.At(holding, shot); again != shift || same != id {
			t.Fatalf("without the spans that do not hold: got %v of %q, want %v of %q", again, same, shift, id)
		}
	})
}
