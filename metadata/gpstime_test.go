package metadata_test

import (
	"testing"
	"time"

	"haulbook/metadata/container/specimen"
)

func TestGPSTime(t *testing.T) {
	// CIPA DC-008, 4.6.6: GPSTimeStamp is hour, minute and second as rationals,
	// GPSDateStamp is YYYY:MM:DD, both UTC.
	const stamp, day = 0x0007, 0x001d
	noon := []uint32{12, 1, 30, 1, 15, 1}
	at := func(nanoseconds int) time.Time { return time.Date(2024, 5, 17, 12, 30, 15, nanoseconds, time.UTC) }
	tests := []struct {
		name string
		gps  []specimen.Tag
		want time.Time
	}{
		{"both", []specimen.Tag{specimen.Rationals(stamp, noon...), specimen.Text(day, "2024:05:17")}, at(0)},
		{"parts of a second", []specimen.Tag{specimen.Rationals(stamp, 12, 1, 30, 1, 15250, 1000), specimen.Text(day, "2024:05:17")}, at(250e6)},
		{"a third of a second", []specimen.Tag{specimen.Rationals(stamp, 12, 1, 30, 1, 46, 3), specimen.Text(day, "2024:05:17")}, at(333e6)},
		{"fraction in the minutes", []specimen.Tag{specimen.Rationals(stamp, 12, 1, 3025, 100, 0, 1), specimen.Text(day, "2024:05:17")}, at(0)},
		{"date with dashes", []specimen.Tag{specimen.Rationals(stamp, noon...), specimen.Text(day, "2024-05-17")}, at(0)},
		{"date with a time behind", []specimen.Tag{specimen.Rationals(stamp, noon...), specimen.Text(day, "2024:05:17 09:00:00")}, at(0)},
		{"date with a space behind", []specimen.Tag{specimen.Rationals(stamp, noon...), specimen.Text(day, "2024:05:17 ")}, at(0)},
		{"midnight", []specimen.Tag{specimen.Rationals(stamp, 0, 1, 0, 1, 0, 1), specimen.Text(day, "2024:05:17")}, time.Date(2024, 5, 17, 0, 0, 0, 0, time.UTC)},
		{"no date", []specimen.Tag{specimen.Rationals(stamp, noon...)}, time.Time{}},
		{"no time", []specimen.Tag{specimen.Text(day, "2024:05:17")}, time.Time{}},
		{"blank date", []specimen.Tag{specimen.Rationals(stamp, noon...), specimen.Text(day, "    :  :  ")}, time.Time{}},
		{"30 February", []specimen.Tag{specimen.Rationals(stamp, noon...), specimen.Text(day, "2024:02:30")}, time.Time{}},
		{"a day of three digits", []specimen.Tag{specimen.Rationals(stamp, noon...), specimen.Text(day, "2024:05:170")}, time.Time{}},
		{"hour 24", []specimen.Tag{specimen.Rationals(stamp, 24, 1, 0, 1, 0, 1), specimen.Text(day, "2024:05:17")}, time.Time{}},
		{"minute 60", []specimen.Tag{specimen.Rationals(stamp, 12, 1, 60, 1, 0, 1), specimen.Text(day, "2024:05:17")}, time.Time{}},
		{"last millisecond rounded over", []specimen.Tag{specimen.Rationals(stamp, 23, 1, 59, 1, 599999, 10000), specimen.Text(day, "2024:05:17")}, time.Time{}},
		{"over nothing", []specimen.Tag{specimen.Rationals(stamp, 12, 1, 30, 1, 0, 0), specimen.Text(day, "2024:05:17")}, time.Time{}},
		{"hours alone", []specimen.Tag{specimen.Rationals(stamp, 12, 1), specimen.Text(day, "2024:05:17")}, time.Time{}},
		{"time as text", []specimen.Tag{specimen.Text(stamp, "12:30:15"), specimen.Text(day, "2024:05:17")}, time.Time{}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			info := read(t, jpegWith(specimen.Exif{Main: full.Main, GPS: tt.gps}))
			if got := info.GPSTime; !got.Equal(tt.want) || got.Location() != time.UTC {
				t.Errorf("%v, want %v", got, tt.want)
			}
			if !info.Taken.Wall.IsZero() {
				t.Errorf("taken %v: satellites must not say when", info.Taken.Wall)
			}
		})
	}
}
