package metadata

import (
	"strings"
	"time"

	"github.com/rwcarlsen/goexif/tiff"
)

// gpsTime puts GPSDateStamp and GPSTimeStamp together (CIPA DC-008, 4.6.6), both
// UTC. A date without a time tells no zone, nor does a time without a date: a
// clock may be a day off.
func (t tags) gpsTime() time.Time {
	date := strings.TrimSpace(textOf(t.gps[idGPSDateStamp]))
	// Some writers put the time behind the date as well; it stands in its own tag.
	date, _, _ = strings.Cut(date, " ")
	day, ok := parseWall(date+" 00:00:00", "")
	since, ok2 := timeOfDay(t.gps[idGPSTimeStamp])
	if !ok || !ok2 {
		return time.Time{}
	}
	return day.Add(since)
}

// timeOfDay reads hours, minutes and seconds as three rationals. Each may have a
// fraction, as writers differ in where they put it, but none may run over.
func timeOfDay(tag *tiff.Tag) (time.Duration, bool) {
	if tag == nil || tag.Format() != tiff.RatVal || tag.Count < 3 {
		return 0, false
	}
	sum := 0.0
	for i, limit := range [3]float64{24, 60, 60} {
		n, d, err := tag.Rat2(i)
		if err != nil || d == 0 {
			return 0, false
		}
		part := float64(n) / float64(d)
		if part < 0 || part >= limit {
			return 0, false
		}
		sum = sum*60 + part
	}
	// A thousandth is more than receivers know, and hides what division leaves over.
	since := time.Duration(sum*1000+0.5) * time.Millisecond
	return since, since < 24*time.Hour
}
