package timing

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"haulbook/intake"
)

// CheckZone says whether name can stand as a zone: an IANA name such as
// "Europe/Berlin", an offset such as "+02:00", or "" for none. Otherwise the
// error is an *intake.FieldError for the person who typed it.
func CheckZone(name string) error {
	if name == "" {
		return nil
	}
	if _, ok := load(name); !ok {
		return &intake.FieldError{
			Field:   "zone",
			Problem: fmt.Sprintf("%.40q is no zone we know: write it like \"Europe/Berlin\" or \"+02:00\"", name),
		}
	}
	return nil
}

// load finds the rules of a zone by IANA name or offset. Names that stand for
// whatever a machine is set to are none, and neither is the right/ tree, whose
// clocks count leap seconds, which no camera does (tzdb, theory.html).
func load(name string) (*time.Location, bool) {
	if offset, ok := parseOffset(name); ok {
		return time.FixedZone(name, int(offset/time.Second)), true
	}
	tree, _, _ := strings.Cut(name, "/")
	if slices.Contains([]string{"", "Local", "localtime", "posixrules", "Factory", "right", "posix"}, tree) {
		return nil, false
	}
	loc, err := time.LoadLocation(name)
	return loc, err == nil
}

// The ends of what is in use (tzdb, Etc/GMT+12 and Pacific/Kiritimati).
const (
	westmost = -12 * time.Hour
	eastmost = 14 * time.Hour
)

// oddMinutes are the offsets in minutes that are no whole hours and were in use
// anywhere since 2000, when phones and cameras with satellites came up. Source:
// IANA tzdb 2025c; the test goes through all of its zones. Leaving out the
// quarters in which nobody lives keeps an old fix from passing for a zone.
var oddMinutes = []int{
	-570, -270, -210, -150, // Marquesas, Caracas to 2016, St John's
	210, 270, 330, 345, 390, // Tehran, Kabul, Kolkata, Kathmandu, Yangon
	510, 525, 570, 585, 630, // Pyongyang to 2018, Eucla, Adelaide, Eucla to 2009, Adelaide
	690, 765, 825, // Norfolk to 2015, Chatham
}

// nearestInUse is the offset nearest to d; of two as near, the whole hours.
func nearestInUse(d time.Duration) time.Duration {
	nearest := min(max(d.Round(time.Hour), westmost), eastmost)
	for _, m := range oddMinutes {
		if odd := time.Duration(m) * time.Minute; (d - odd).Abs() < (d - nearest).Abs() {
			nearest = odd
		}
	}
	return nearest
}

// parseOffset reads the one form "+02:00", and "-00:00" as UTC; package metadata
// understands what else cameras write. Package time would take sixty minutes
// too, so what it made is written again and compared.
func parseOffset(s string) (time.Duration, bool) {
	t, err := time.Parse("-07:00", s)
	if err != nil {
		return 0, false
	}
	_, seconds := t.Zone()
	offset := time.Duration(seconds) * time.Second
	same := s == "-00:00" || s == formatOffset(offset)
	return offset, same && offset >= westmost && offset <= eastmost
}

func formatOffset(d time.Duration) string {
	return time.Time{}.In(time.FixedZone("", int(d/time.Second))).Format("-07:00")
}
