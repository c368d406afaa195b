package metadata

import (
	"strings"
	"time"
)

// taken reads when the photo was taken: from DateTimeOriginal, and where that
// tag is missing from CreateDate, as cameras write the same into both. A
// DateTimeOriginal of blanks or nonsense is not missing. It says that the camera
// did not know: a film scanner leaves it blank beside the time of the scan.
func (t tags) taken() Taken {
	taken := Taken{
		Raw:       written(t.text(idOriginal)),
		RawSubSec: written(t.text(idSubSecOriginal)),
		RawOffset: written(t.text(idOffset)),
		From:      "DateTimeOriginal",
	}
	taken.Offset = parseOffset(taken.RawOffset)
	if taken.Raw == "" {
		taken.Raw = written(t.text(idDigitized))
		taken.RawSubSec = written(t.text(idSubSecDigital))
		taken.From = "CreateDate"
	}
	wall, ok := parseWall(taken.Raw, taken.RawSubSec)
	if !ok {
		taken.From = ""
	}
	taken.Wall = wall
	return taken
}

// written is a text as the camera wrote it, made valid UTF-8 for the ledger.
func written(s string) string { return strings.ToValidUTF8(s, "\ufffd") }

// parseWall reads "2024:05:17 14:30:00". The standard knows colons alone; of the
// forms seen in files, dashes, slashes and dots in the date, a T between date and
// time, and a zone behind them are understood too, and the zone is left aside.
// Blanks and zeros mean unknown (CIPA DC-008, 4.6.5), and a day or an hour that
// does not exist is unknown as well: a clock that shows it is not running.
func parseWall(raw, subSec string) (time.Time, bool) {
	s := strings.TrimSpace(raw)
	if len(s) < 19 || !zoneOrNothing(s[19:]) {
		return time.Time{}, false
	}
	var n [6]int
	for i, at := range [6]int{0, 5, 8, 11, 14, 17} {
		width := 2
		if i == 0 {
			width = 4
		}
		v, ok := digits(s[at : at+width])
		if !ok {
			return time.Time{}, false
		}
		n[i] = v
	}
	if s[4] != s[7] || !strings.ContainsRune(":-/.", rune(s[4])) ||
		s[10] != ' ' && s[10] != 'T' || s[13] != ':' || s[16] != ':' {
		return time.Time{}, false
	}
	if n[0] == 0 || n[3] > 23 || n[4] > 59 || n[5] > 59 {
		return time.Time{}, false
	}
	wall := time.Date(n[0], time.Month(n[1]), n[2], n[3], n[4], n[5], nanoseconds(subSec), time.UTC)
	// Date carries 30 February over into March; what was carried was no date.
	if wall.Year() != n[0] || int(wall.Month()) != n[1] || wall.Day() != n[2] {
		return time.Time{}, false
	}
	return wall, true
}

// zoneOrNothing reports whether what follows a time is blank, or parts of a
// second and a zone.
func zoneOrNothing(s string) bool {
	s = strings.TrimSpace(s)
	if frac, ok := strings.CutPrefix(s, "."); ok {
		s = strings.TrimLeft(frac, "0123456789")
	}
	return s == "" || parseOffset(s) != ""
}

// nanoseconds reads the digits of SubSecTime, which follow the point: "5" is
// half a second, "05" a twentieth. Digits beyond the ninth are dropped, as is
// everything from the first other character on.
func nanoseconds(subSec string) int {
	s := strings.TrimSpace(subSec)
	n := 0
	for i := range 9 {
		n *= 10
		if i < len(s) && s[i] >= '0' && s[i] <= '9' {
			n += int(s[i] - '0')
		} else {
			s = s[:min(i, len(s))]
		}
	}
	return n
}

// parseOffset gives an offset as "+02:00", "" for blanks and for what is none.
// The standard's form is ±HH:MM (CIPA DC-008, 4.6.5); "Z", a missing colon and
// missing digits are understood. Offsets in use run from -12:00 to +14:00.
func parseOffset(raw string) string {
	s := strings.TrimSpace(raw)
	if s == "Z" || s == "z" {
		return "+00:00"
	}
	if s == "" || s[0] != '+' && s[0] != '-' {
		return ""
	}
	hours, minutes, colon := strings.Cut(s[1:], ":")
	if !colon {
		minutes = "00"
		if len(hours) > 2 {
			hours, minutes = hours[:len(hours)-2], hours[len(hours)-2:]
		}
	}
	h, ok := digits(hours)
	m, ok2 := digits(minutes)
	if !ok || !ok2 || len(hours) > 2 || len(minutes) != 2 || m > 59 {
		return ""
	}
	if total := h*60 + m; total > 14*60 || s[0] == '-' && total > 12*60 {
		return ""
	}
	if len(hours) == 1 {
		hours = "0" + hours
	}
	return s[:1] + hours + ":" + minutes
}

// digits reads a short text of nothing but decimal digits.
func digits(s string) (n int, ok bool) {
	for _, c := range []byte(s) {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = n*10 + int(c-'0')
	}
	return n, s != ""
}
