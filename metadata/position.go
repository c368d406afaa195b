package metadata

import (
	"math"
	"strings"

	"github.com/rwcarlsen/goexif/tiff"
)

// position reads where the photo was taken, nil when either half is missing:
// half a position is none. A position at 0°, 0° is kept as written.
func (t tags) position() *Position {
	latitude, ok := degrees(t.gps[2], t.gps[1], 90, "S")
	longitude, ok2 := degrees(t.gps[4], t.gps[3], 180, "W")
	if !ok || !ok2 {
		return nil
	}
	return &Position{Latitude: latitude, Longitude: longitude}
}

// degrees puts degrees, minutes and seconds together. Without a reference the
// number stands for itself, and a part over nothing ("0/0") leaves the position
// unknown: both as exiftool has it.
func degrees(value, ref *tiff.Tag, limit float64, negative string) (float64, bool) {
	if value == nil || value.Format() != tiff.RatVal {
		return 0, false
	}
	sum := 0.0
	for i, unit := range [3]float64{1, 60, 3600} {
		if uint32(i) >= value.Count {
			break
		}
		n, d, err := value.Rat2(i)
		if err != nil || d == 0 {
			return 0, false
		}
		sum += float64(n) / float64(d) / unit
	}
	if s := strings.TrimSpace(textOf(ref)); s != "" && strings.EqualFold(s[:1], negative) {
		sum = -sum
	}
	if math.IsNaN(sum) || math.IsInf(sum, 0) || math.Abs(sum) > limit {
		return 0, false
	}
	return sum + 0, true // + 0: no negative zero
}
