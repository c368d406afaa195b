package timing_test

import (
	"testing"
	"time"
	_ "time/tzdata" // the rules must not depend on the machine

	"pgregory.net/rapid"

	"haulbook/intake/timing"
)

// wall reads a camera's time, carried in UTC.
func wall(t testing.TB, s string) time.Time {
	t.Helper()
	at, err := time.Parse("2006-01-02 15:04:05", s)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// utc reads an instant, "" for the zero time.
func utc(t testing.TB, s string) time.Time {
	t.Helper()
	if s == "" {
		return time.Time{}
	}
	at, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// TestZoneRules holds what zones do against the files of IANA tzdb 2025c:
// europe (Rule EU, Rule Eire), northamerica (Rule US), australasia (Rule LH,
// Zone Pacific/Apia, whose clocks went from 29 to 31 December 2011), asia (Zone
// Asia/Kathmandu 5:45).
func TestZoneRules(t *testing.T) {
	for _, tt := range []struct{ zone, wall, at, doubt string }{
		// last Sunday of October, 1:00u
		{"Europe/Berlin", "2026-10-25 01:59:59", "2026-10-24T23:59:59Z", ""},
		{"Europe/Berlin", "2026-10-25 02:00:00", "2026-10-25T00:00:00Z", timing.SetBack},
		{"Europe/Berlin", "2026-10-25 02:59:59", "2026-10-25T00:59:59Z", timing.SetBack},
		{"Europe/Berlin", "2026-10-25 03:00:00", "2026-10-25T02:00:00Z", ""},
		// last Sunday of March, 1:00u
		{"Europe/Berlin", "2026-03-29 01:59:59", "2026-03-29T00:59:59Z", ""},
		{"Europe/Berlin", "2026-03-29 02:00:00", "2026-03-29T01:00:00Z", timing.NeverWas},
		{"Europe/Berlin", "2026-03-29 02:59:59", "2026-03-29T01:59:59Z", timing.NeverWas},
		{"Europe/Berlin", "2026-03-29 03:00:00", "2026-03-29T01:00:00Z", ""},
		// winter time is the negative one here; the first reading is summer's all the same
		{"Europe/Dublin", "2026-10-25 01:30:00", "2026-10-25T00:30:00Z", timing.SetBack},
		// first Sunday of November, second Sunday of March, 2:00
		{"America/New_York", "2026-11-01 00:59:59", "2026-11-01T04:59:59Z", ""},
		{"America/New_York", "2026-11-01 01:30:00", "2026-11-01T05:30:00Z", timing.SetBack},
		{"America/New_York", "2026-11-01 02:00:00", "2026-11-01T07:00:00Z", ""},
		{"America/New_York", "2026-03-08 02:30:00", "2026-03-08T07:30:00Z", timing.NeverWas},
		// first Sundays of April and October, half an hour between 10:30 and 11:00
		{"Australia/Lord_Howe", "2026-04-05 01:29:59", "2026-04-04T14:29:59Z", ""},
		{"Australia/Lord_Howe", "2026-04-05 01:30:00", "2026-04-04T14:30:00Z", timing.SetBack},
		{"Australia/Lord_Howe", "2026-04-05 01:59:59", "2026-04-04T14:59:59Z", timing.SetBack},
		{"Australia/Lord_Howe", "2026-04-05 02:00:00", "2026-04-04T15:30:00Z", ""},
		{"Australia/Lord_Howe", "2026-10-04 02:15:00", "2026-10-03T15:45:00Z", timing.NeverWas},
		{"Australia/Lord_Howe", "2026-10-04 02:30:00", "2026-10-03T15:30:00Z", ""},
		{"Asia/Kathmandu", "2026-07-14 12:00:00", "2026-07-14T06:15:00Z", ""},
		{"Pacific/Apia", "2011-12-30 12:00:00", "2011-12-30T22:00:00Z", timing.NeverWas},
		{"Pacific/Kiritimati", "2026-07-14 12:00:00", "2026-07-13T22:00:00Z", ""},
		{"UTC", "2026-10-25 02:30:00", "2026-10-25T02:30:00Z", ""},
		{"-03:30", "2026-10-25 02:30:00", "2026-10-25T06:00:00Z", ""},
	} {
		t.Run(tt.zone+" "+tt.wall, func(t *testing.T) {
			got := timing.Resolve(timing.Known{Wall: wall(t, tt.wall), Haul: tt.zone})
			want := timing.Resolved{At: utc(t, tt.at), Local: wall(t, tt.wall), Zone: tt.zone, From: timing.FromHaul, Doubt: tt.doubt}
			if got != want {
				t.Errorf("got %+v, want %+v", got, want)
			}
		})
	}
}

func TestResolveAsksInOrder(t *testing.T) {
	shot := wall(t, "2026-07-14 18:30:00")
	for _, tt := range []struct {
		name  string
		known timing.Known
		want  timing.Resolved
	}{
		{"the photo's own offset", timing.Known{Wall: shot, Offset: "+05:45", GPS: utc(t, "2026-07-14T16:30:00Z"), Haul: "Europe/Berlin"},
			timing.Resolved{At: utc(t, "2026-07-14T12:45:00Z"), Zone: "+05:45", From: timing.FromOffset}},
		{"an offset settles the hour that was twice", timing.Known{Wall: wall(t, "2026-10-25 02:30:00"), Offset: "+01:00", Haul: "Europe/Berlin"},
			timing.Resolved{At: utc(t, "2026-10-25T01:30:00Z"), Zone: "+01:00", From: timing.FromOffset}},
		{"an offset that is none", timing.Known{Wall: shot, Offset: "+25:99", Haul: "Europe/Berlin"},
			timing.Resolved{At: utc(t, "2026-07-14T16:30:00Z"), Zone: "Europe/Berlin", From: timing.FromHaul}},
		{"satellites before the haul", timing.Known{Wall: shot, GPS: utc(t, "2026-07-14T16:29:21Z"), Haul: "America/New_York"},
			timing.Resolved{At: utc(t, "2026-07-14T16:30:00Z"), Zone: "+02:00", From: timing.FromPosition}},
		{"the haul before the camera", timing.Known{Wall: shot, Haul: "America/New_York", Camera: "Europe/Berlin", Book: "UTC"},
			timing.Resolved{At: utc(t, "2026-07-14T22:30:00Z"), Zone: "America/New_York", From: timing.FromHaul}},
		{"the camera before the book", timing.Known{Wall: shot, Camera: "Europe/Berlin", Book: "UTC"},
			timing.Resolved{At: utc(t, "2026-07-14T16:30:00Z"), Zone: "Europe/Berlin", From: timing.FromCamera}},
		{"the book at last", timing.Known{Wall: shot, Book: "Europe/Berlin"},
			timing.Resolved{At: utc(t, "2026-07-14T16:30:00Z"), Zone: "Europe/Berlin", From: timing.FromBook}},
		{"a zone nobody knows is passed over", timing.Known{Wall: shot, Haul: "Europe/Nowhere", Book: "UTC"},
			timing.Resolved{At: utc(t, "2026-07-14T18:30:00Z"), Zone: "UTC", From: timing.FromBook}},
		{"no zone", timing.Known{Wall: shot}, timing.Resolved{}},
		{"the machine's own zone is none", timing.Known{Wall: shot, Haul: "Local", Camera: "localtime"}, timing.Resolved{}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			tt.want.Local = tt.known.Wall
			if got := timing.Resolve(tt.known); got != tt.want {
				t.Errorf("got %+v, want %+v", got, tt.want)
			}
		})
	}
	t.Run("no time", func(t *testing.T) {
		got := timing.Resolve(timing.Known{Offset: "+02:00", GPS: utc(t, "2026-07-14T16:30:00Z"), Book: "UTC", Correction: time.Hour})
		if got != (timing.Resolved{}) {
			t.Errorf("got %+v, want nothing: the satellites' time is never the time", got)
		}
	})
}

func TestSatellitesImplyAZone(t *testing.T) {
	for _, tt := range []struct{ name, wall, gps, want string }{
		{"to the second", "2026-07-14 18:30:00", "2026-07-14T16:30:00Z", "+02:00"},
		{"a fix nine minutes old", "2026-07-14 18:30:00", "2026-07-14T16:21:00Z", "+02:00"},
		{"a clock nine minutes slow", "2026-07-14 18:21:00", "2026-07-14T16:30:00Z", "+02:00"},
		{"ten minutes are the limit", "2026-07-14 18:40:00", "2026-07-14T16:30:00Z", "+02:00"},
		{"beyond ten minutes", "2026-07-14 18:40:01", "2026-07-14T16:30:00Z", ""},
		{"a fix a quarter of an hour old is no zone of +02:15", "2026-07-14 18:30:00", "2026-07-14T16:15:00Z", ""},
		{"half-hour zones", "2026-07-14 18:30:00", "2026-07-14T13:01:00Z", "+05:30"},
		{"Kathmandu is not Kolkata", "2026-07-14 18:30:00", "2026-07-14T12:46:00Z", "+05:45"},
		{"St John's in summer", "2026-07-14 18:30:00", "2026-07-14T21:00:00Z", "-02:30"},
		{"over midnight", "2026-07-15 00:30:00", "2026-07-14T22:30:00Z", "+02:00"},
		{"Kiritimati", "2026-07-15 13:00:00", "2026-07-14T23:00:00Z", "+14:00"},
		{"the western end", "2026-07-14 02:00:00", "2026-07-14T14:00:00Z", "-12:00"},
		{"further than any zone", "2026-07-15 15:00:00", "2026-07-14T23:00:00Z", ""},
		{"a receiver that counts weeks from the start", "2026-07-14 18:30:00", "2006-11-28T16:30:00Z", ""},
		{"a clock that was never set", "2000-01-01 00:10:00", "2026-07-14T16:30:00Z", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got := timing.Resolve(timing.Known{Wall: wall(t, tt.wall), GPS: utc(t, tt.gps)})
			if got.Zone != tt.want {
				t.Errorf("zone: got %q, want %q", got.Zone, tt.want)
			}
			if (got.From == timing.FromPosition) != (tt.want != "") || got.At.IsZero() != (tt.want == "") {
				t.Errorf("got %+v: zone, source and instant come together or not at all", got)
			}
		})
	}
}

func TestCorrectionComesFirst(t *testing.T) {
	// A clock that was never set: only with its correction do the satellites
	// imply a zone, and the haul's zone find winter.
	known := timing.Known{Wall: wall(t, "2000-01-01 00:10:00"), Haul: "Europe/Berlin"}
	known.Correction = wall(t, "2026-07-14 18:30:00").Sub(known.Wall)
	want := timing.Resolved{At: utc(t, "2026-07-14T16:30:00Z"), Local: wall(t, "2026-07-14 18:30:00"), Zone: "Europe/Berlin", From: timing.FromHaul}
	if got := timing.Resolve(known); got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
	known.GPS = utc(t, "2026-07-14T16:30:00Z")
	want.Zone, want.From = "+02:00", timing.FromPosition
	if got := timing.Resolve(known); got != want {
		t.Errorf("with satellites: got %+v, want %+v", got, want)
	}
}

var zones = []string{
	"", "Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu", "Pacific/Apia", "Africa/Casablanca",
	"Europe/Dublin", "America/St_Johns", "Pacific/Chatham", "+05:45", "-12:00", "Local", "Nowhere/Else", "+99:00",
}

// drawKnown draws anything that may be known around a photo.
func drawKnown(t *rapid.T) timing.Known {
	zone := rapid.SampledFrom(zones)
	start := time.Date(1995, 1, 1, 0, 0, 0, 0, time.UTC)
	known := timing.Known{
		Wall:       start.Add(time.Duration(rapid.Int64Range(0, 40*365*86400).Draw(t, "second")) * time.Second),
		Offset:     rapid.SampledFrom([]string{"", "", "+02:00", "-03:30", "+14:00", "+15:00", "+2:00", "Z"}).Draw(t, "offset"),
		Haul:       zone.Draw(t, "haul"),
		Camera:     zone.Draw(t, "camera"),
		Book:       zone.Draw(t, "book"),
		Correction: time.Duration(rapid.Int64Range(-86400_000, 86400_000).Draw(t, "correction")) * time.Millisecond,
	}
	if rapid.Bool().Draw(t, "satellites") {
		known.GPS = known.Wall.Add(time.Duration(rapid.Int64Range(-20*3600, 20*3600).Draw(t, "behind")) * time.Second)
	}
	return known
}

// Resolve never invents: what it says follows from what it was told.
func TestResolveNeverInvents(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		known := drawKnown(t)
		got := timing.Resolve(known)
		if want := known.Wall.Add(known.Correction); !got.Local.Equal(want) {
			t.Fatalf("local: got %s, want wall and correction %s", got.Local, want)
		}
		told := map[string]string{
			"": "", timing.FromOffset: known.Offset, timing.FromPosition: got.Zone,
			timing.FromHaul: known.Haul, timing.FromCamera: known.Camera, timing.FromBook: known.Book,
		}
		if want, ok := told[got.From]; !ok || got.Zone != want {
			t.Fatalf("zone %q is not the one of %q, %q", got.Zone, got.From, want)
		}
		if got.From == "" {
			if !got.At.IsZero() || got.Doubt != "" {
				t.Fatalf("got %+v: an instant or a doubt without a zone", got)
			}
			return
		}
		loc, err := time.LoadLocation(got.Zone)
		if err != nil {
			fixed, err := time.Parse("-07:00", got.Zone)
			if err != nil {
				t.Fatalf("zone %q is neither a name nor an offset", got.Zone)
			}
			loc = fixed.Location()
		}
		const layout = "2006-01-02 15:04:05.999999999"
		shown := got.At.In(loc).Format(layout)
		if same := shown == got.Local.Format(layout); same == (got.Doubt == timing.NeverWas) {
			t.Fatalf("clocks in %s showed %s at %s: %+v", got.Zone, shown, got.At, got)
		}
		if got.From == timing.FromPosition && got.At.Sub(known.GPS).Abs() > 10*time.Minute {
			t.Fatalf("got %s, the satellites said %s", got.At, known.GPS)
		}
	})
}

// Resolve counts the readings of an hour rightly: we try every quarter of an hour
// that an offset may be, near every change of the zones.
func TestReadingsOfAnHour(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		zone := rapid.SampledFrom([]string{"Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Africa/Casablanca",
			"Europe/Dublin", "America/St_Johns", "Pacific/Chatham", "Pacific/Apia", "America/Caracas"}).Draw(t, "zone")
		loc, err := time.LoadLocation(zone)
		if err != nil {
			t.Fatal(err)
		}
		day := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(0, 30*365).Draw(t, "day"))
		change, _ := day.In(loc).ZoneBounds()
		shot := change.UTC().Add(time.Duration(rapid.IntRange(-16*3600, 16*3600).Draw(t, "second")) * time.Second)
		var readings []time.Time
		for quarter := 16 * 4; quarter >= -16*4; quarter-- {
			at := shot.Add(-time.Duration(quarter) * 15 * time.Minute)
			if at.In(loc).Format(time.DateTime) == shot.Format(time.DateTime) {
				readings = append(readings, at)
			}
		}
		got := timing.Resolve(timing.Known{Wall: shot, Book: zone})
		switch len(readings) {
		case 0:
			if got.Doubt != timing.NeverWas {
				t.Fatalf("%s in %s never was: got %+v", shot, zone, got)
			}
		case 1:
			if got.Doubt != "" || !got.At.Equal(readings[0]) {
				t.Fatalf("%s in %s was %s: got %+v", shot, zone, readings[0], got)
			}
		default:
			if got.Doubt != timing.SetBack || !got.At.Equal(readings[0]) {
				t.Fatalf("%s in %s was %s: got %+v", shot, zone, readings, got)
			}
		}
	})
}

func BenchmarkResolve(b *testing.B) {
	known := timing.Known{Wall: wall(b, "2026-10-25 02:30:00"), Book: "Europe/Berlin"}
	for b.Loop() {
		if timing.Resolve(known).Doubt != timing.SetBack {
			b.Fatal("no doubt in the hour that was twice")
		}
	}
}
