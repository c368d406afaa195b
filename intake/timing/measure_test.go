package timing_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"haulbook/intake"
	"haulbook/intake/timing"
)

func TestMeasureOneSighting(t *testing.T) {
	for _, tt := range []struct {
		name, shown, wall string
		subSec            bool
		offset, zone      string
		shift, doubt      time.Duration
		how               string
	}{
		{name: "whole seconds, one either way", shown: "2026-07-14T16:30:07Z", wall: "2026-07-14 18:26:00", zone: "Europe/Berlin",
			shift: 4*time.Minute + 7*time.Second, doubt: time.Second, how: timing.ByPage},
		{name: "a right clock", shown: "2026-07-14T16:30:07Z", wall: "2026-07-14 18:30:07", zone: "Europe/Berlin",
			doubt: time.Second, how: timing.ByPage},
		// The page says :07 until :08, the camera said :05.25: the shift is 1.74 to 2.75 s.
		{name: "parts of a second", shown: "2026-07-14T16:30:07Z", wall: "2026-07-14 18:30:05.25", subSec: true, zone: "Europe/Berlin",
			shift: 2245 * time.Millisecond, doubt: 505 * time.Millisecond, how: timing.ByPage},
		{name: "a tenth may be all that the camera has", shown: "2026-07-14T16:30:07Z", wall: "2026-07-14 18:30:05.5", subSec: true, zone: "Europe/Berlin",
			shift: 1950 * time.Millisecond, doubt: 550 * time.Millisecond, how: timing.ByPage},
		{name: "the offset as written before the zone", shown: "2026-07-14T16:30:00Z", wall: "2026-07-14 22:15:00", offset: "+05:45", zone: "Europe/Berlin",
			doubt: time.Second, how: timing.ByPage},
		{name: "summer time never set", shown: "2026-07-14T16:30:00Z", wall: "2026-07-14 17:30:00", zone: "Europe/Berlin",
			shift: time.Hour, doubt: time.Second, how: timing.ByPage},
		// tzdb, europe, Rule EU: the second reading of the hour that was twice
		{name: "the page settles the hour that was twice", shown: "2026-10-25T01:30:00Z", wall: "2026-10-25 02:30:00", zone: "Europe/Berlin",
			doubt: time.Second, how: timing.ByPage},
		{name: "a clock that was never set", shown: "2026-07-14T16:30:00Z", wall: "2000-01-01 00:10:00", zone: "Europe/Berlin",
			shift: 9691*24*time.Hour + 18*time.Hour + 20*time.Minute, doubt: time.Second, how: timing.ByPage},
		{name: "a zone nobody knows is none", shown: "2026-07-14T16:30:07Z", wall: "2026-07-14 18:26:00", zone: "Europe/Nowhere",
			shift: 4*time.Minute + 7*time.Second, doubt: time.Second, how: timing.ByPageAlone},
		{name: "no zone: the nearest is the zone", shown: "2026-07-14T16:30:00Z", wall: "2026-07-14 18:48:00",
			shift: -18 * time.Minute, doubt: time.Second, how: timing.ByPageAlone},
		{name: "no zone: Kathmandu", shown: "2026-07-14T16:30:00Z", wall: "2026-07-14 22:12:00",
			shift: 3 * time.Minute, doubt: time.Second, how: timing.ByPageAlone},
		{name: "no zone: three hours wrong is another zone", shown: "2026-07-14T16:30:00Z", wall: "2026-07-14 21:30:00",
			doubt: time.Second, how: timing.ByPageAlone},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := timing.Measure([]timing.Sighting{{
				Shown: utc(t, tt.shown), Wall: wall(t, tt.wall), SubSec: tt.subSec, Offset: tt.offset, Zone: tt.zone,
			}})
			if want := (timing.Correction{Shift: tt.shift, Doubt: tt.doubt, How: tt.how}); err != nil || got != want {
				t.Errorf("got %+v, %v, want %+v", got, err, want)
			}
		})
	}
}

// sightings are photos of a page by one camera in Berlin, taken at the seconds of
// the page and of the camera given, of one minute in summer.
func sightings(t testing.TB, seconds ...[2]int) []timing.Sighting {
	t.Helper()
	var s []timing.Sighting
	for _, pair := range seconds {
		s = append(s, timing.Sighting{
			Shown: utc(t, "2026-07-14T16:30:00Z").Add(time.Duration(pair[0]) * time.Second),
			Wall:  wall(t, "2026-07-14 18:30:00").Add(time.Duration(pair[1]) * time.Second),
			Zone:  "Europe/Berlin",
		})
	}
	return s
}

func TestMeasureSeveralSightings(t *testing.T) {
	for _, tt := range []struct {
		name         string
		s            []timing.Sighting
		shift, doubt time.Duration
	}{
		{"the same again teaches nothing", sightings(t, [2]int{10, 3}, [2]int{20, 13}), 7 * time.Second, time.Second},
		// 6 to 8 and 7 to 9 leave 7 to 8
		{"two halve the doubt", sightings(t, [2]int{10, 3}, [2]int{20, 12}), 7500 * time.Millisecond, 500 * time.Millisecond},
		{"order does not matter", sightings(t, [2]int{20, 12}, [2]int{10, 3}), 7500 * time.Millisecond, 500 * time.Millisecond},
		// 6 to 8 and 8 to 10 only touch: the page was a little late
		{"a late page", sightings(t, [2]int{10, 3}, [2]int{20, 11}), 8 * time.Second, 500 * time.Millisecond},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := timing.Measure(tt.s)
			if want := (timing.Correction{Shift: tt.shift, Doubt: tt.doubt, How: timing.ByPage}); err != nil || got != want {
				t.Errorf("got %+v, %v, want %+v", got, err, want)
			}
		})
	}
}

func TestMeasureMixedZones(t *testing.T) {
	// The camera is three hours slow. Alone, the photo without a zone would be
	// taken for one from another zone; it follows the one that knows better.
	s := sightings(t, [2]int{0, -3 * 3600}, [2]int{60, -3*3600 + 59})
	s[0].Zone = ""
	got, err := timing.Measure(s)
	want := timing.Correction{Shift: 3*time.Hour + 500*time.Millisecond, Doubt: 500 * time.Millisecond, How: timing.ByPage}
	if err != nil || got != want {
		t.Errorf("got %+v, %v, want %+v", got, err, want)
	}

	// Half an hour off, on the edge between two zones: both photos take the same.
	s = sightings(t, [2]int{0, 29*60 + 59}, [2]int{60, 31*60 + 0})
	s[0].Zone, s[1].Zone = "", ""
	got, err = timing.Measure(s)
	want = timing.Correction{Shift: -29*time.Minute - 59500*time.Millisecond, Doubt: 500 * time.Millisecond, How: timing.ByPageAlone}
	if err != nil || got != want {
		t.Errorf("on the edge: got %+v, %v, want %+v", got, err, want)
	}
}

func TestMeasureLeavesBadSightingsAside(t *testing.T) {
	good := sightings(t, [2]int{10, 3})
	want, err := timing.Measure(good)
	if err != nil {
		t.Fatal(err)
	}
	ancient := good[0]
	ancient.Wall = time.Date(2, 1, 1, 0, 0, 0, 0, time.UTC)
	got, err := timing.Measure([]timing.Sighting{{}, {Shown: good[0].Shown}, {Wall: good[0].Wall}, ancient, good[0]})
	if err != nil || got != want {
		t.Errorf("got %+v, %v, want %+v", got, err, want)
	}
	for name, s := range map[string][]timing.Sighting{
		"none":               nil,
		"no camera's time":   {{Shown: good[0].Shown, Zone: "UTC"}},
		"no page":            {{Wall: good[0].Wall, Zone: "UTC"}},
		"the year 2":         {ancient},
		"years and no zone":  {{Shown: good[0].Shown, Wall: wall(t, "2000-01-01 00:10:00")}},
		"a day and no zone":  {{Shown: good[0].Shown, Wall: good[0].Wall.AddDate(0, 0, 1)}},
		"west of every zone": {{Shown: utc(t, "2026-07-14T16:30:00Z"), Wall: wall(t, "2026-07-14 03:59:59")}},
	} {
		got, err := timing.Measure(s)
		var field *intake.FieldError
		if !errors.As(err, &field) || !errors.Is(err, intake.ErrInvalid) || got != (timing.Correction{}) {
			t.Errorf("%s: got %+v, %v, want a word for the keeper", name, got, err)
		}
	}
}

func TestMeasureContradictions(t *testing.T) {
	for _, tt := range []struct {
		name string
		s    []timing.Sighting
		by   time.Duration
		says string
	}{
		{"three seconds are no late page", sightings(t, [2]int{10, 3}, [2]int{20, 10}), 3 * time.Second,
			"dates 2026-07-14 18:30:03 and 2026-07-14 18:30:10 disagree by 3s"},
		{"told in the camera's order", sightings(t, [2]int{120, 120}, [2]int{60, 0}), time.Minute,
			"dates 2026-07-14 18:30:00 and 2026-07-14 18:32:00 disagree by 1m0s"},
		{"set in between", sightings(t, [2]int{0, 0}, [2]int{300, 300}, [2]int{600, 600 - 400*86400}), 400 * 24 * time.Hour,
			"disagree by 400 days"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := timing.Measure(tt.s)
			var disagree *timing.DisagreeError
			if !errors.As(err, &disagree) || !errors.Is(err, intake.ErrConflict) || errors.Is(err, intake.ErrInvalid) {
				t.Fatalf("got %+v, %v, want a conflict", got, err)
			}
			if disagree.By != tt.by || !strings.Contains(err.Error(), tt.says) {
				t.Errorf("got %v (%v), want %v and %q in it", err, disagree.By, tt.by, tt.says)
			}
		})
	}
}

// camera is a simulated one: it runs shift behind true local time.
type camera struct {
	loc   *time.Location
	shift time.Duration
	cut   time.Duration // what it cuts its time off to; a second for whole ones
}

// photographs takes a photo of the clock page at an instant.
func (c camera) photographs(at time.Time) timing.Sighting {
	local := at.In(c.loc)
	carried := time.Date(local.Year(), local.Month(), local.Day(), local.Hour(), local.Minute(), local.Second(), local.Nanosecond(), time.UTC)
	shown, _ := timing.ReadClock(timing.ClockText("http://10.0.0.7:8417", at))
	return timing.Sighting{
		Shown:  shown,
		Wall:   carried.Add(-c.shift).Truncate(c.cut),
		SubSec: c.cut < time.Second,
	}
}

// drawCamera draws one with a shift of at most the given size.
func drawCamera(t *rapid.T, most time.Duration) (c camera, zone string) {
	zone = rapid.SampledFrom([]string{"Europe/Berlin", "America/St_Johns", "Asia/Kathmandu", "Australia/Lord_Howe", "Pacific/Kiritimati"}).Draw(t, "zone")
	loc, err := time.LoadLocation(zone)
	if err != nil {
		t.Fatal(err)
	}
	return camera{
		loc:   loc,
		shift: time.Duration(rapid.Int64Range(-int64(most), int64(most)).Draw(t, "shift")),
		cut:   rapid.SampledFrom([]time.Duration{time.Second, 100 * time.Millisecond, 10 * time.Millisecond, time.Millisecond}).Draw(t, "cut"),
	}, zone
}

// The planted shift is found within the doubt, whatever the zone, and more
// sightings never make it worse by more than what a late page is allowed.
func TestMeasureFindsThePlantedShift(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, zone := drawCamera(t, 30*365*24*time.Hour)
		at := time.Unix(rapid.Int64Range(1_700_000_000, 1_900_000_000).Draw(t, "second"), 0)
		s := make([]timing.Sighting, rapid.IntRange(1, 12).Draw(t, "sightings"))
		last := time.Hour
		for i := range s {
			at = at.Add(time.Duration(rapid.Int64Range(0, int64(time.Minute)).Draw(t, "later")))
			s[i] = c.photographs(at)
			if rapid.Bool().Draw(t, "named") {
				s[i].Zone = zone
			} else {
				s[i].Offset = at.In(c.loc).Format("-07:00")
			}
			got, err := timing.Measure(s[:i+1])
			if err != nil {
				t.Fatal(err)
			}
			if (got.Shift-c.shift).Abs() > got.Doubt || got.Doubt <= 0 || got.Doubt > time.Second {
				t.Fatalf("got %+v, planted %v", got, c.shift)
			}
			// Rounding to milliseconds costs one at most.
			if got.Doubt > last+time.Millisecond {
				t.Fatalf("doubt grew from %v to %v with sighting %d", last, got.Doubt, i+1)
			}
			last = got.Doubt
		}
	})
}

// Without a zone the planted shift is found as long as no other zone is nearer.
func TestMeasureFindsThePlantedShiftWithoutAZone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, _ := drawCamera(t, 7*time.Minute) // Kathmandu and Kolkata are a quarter of an hour apart
		at := time.Unix(rapid.Int64Range(1_700_000_000, 1_900_000_000).Draw(t, "second"), rapid.Int64Range(0, 999_999_999).Draw(t, "ns"))
		got, err := timing.Measure([]timing.Sighting{c.photographs(at), c.photographs(at.Add(41700 * time.Millisecond))})
		if err != nil || (got.Shift-c.shift).Abs() > got.Doubt || got.How != timing.ByPageAlone {
			t.Fatalf("got %+v, %v, planted %v", got, err, c.shift)
		}
	})
}

// Going all the way: a photo taken by a camera that is wrong gets its true
// instant from a clock photo of the same day.
func TestClockPhotoToInstant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, zone := drawCamera(t, 30*365*24*time.Hour)
		noon := time.Date(2026, time.Month(rapid.IntRange(1, 12).Draw(t, "month")), 14, 12, 0, 0, 0, c.loc)
		page := c.photographs(noon.Add(time.Duration(rapid.Int64Range(0, int64(time.Hour)).Draw(t, "page"))))
		page.Zone = zone
		correction, err := timing.Measure([]timing.Sighting{page})
		if err != nil {
			t.Fatal(err)
		}
		day := timing.Day(page.Wall, correction.Shift)
		day.ID = intake.NewID()

		taken := noon.Add(time.Duration(rapid.Int64Range(-11*3600, 11*3600).Draw(t, "taken")) * time.Second)
		shot := c.photographs(taken).Wall
		shift, id := timing.At([]timing.Span{day}, shot)
		if id != day.ID {
			t.Fatalf("the photo of %s is outside of the day %s to %s", shot, day.From, day.To)
		}
		got := timing.Resolve(timing.Known{Wall: shot, Correction: shift, Camera: zone})
		// The doubt of the clock, and the second that the photo's own time was cut by.
		if off := got.At.Sub(taken).Abs(); off > correction.Doubt+time.Second || got.Doubt != "" {
			t.Fatalf("got %+v, taken at %s: %v off", got, taken, off)
		}
	})
}
