package timing_test

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"haulbook/intake/timing"
)

// alphanumeric are the characters of a QR's alphanumeric mode: ISO/IEC 18004,
// table of the 45 (from memory).
const alphanumeric = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"

func TestClockText(t *testing.T) {
	at := time.Date(2026, 11, 25, 10, 15, 0, 999_000_000, time.FixedZone("", 3600))
	const want = "http://192.168.1.20:8417/CLOCK/20261125T091500Z"
	for _, address := range []string{
		"http://192.168.1.20:8417", "http://192.168.1.20:8417/", "HTTP://192.168.1.20:8417", "192.168.1.20:8417",
	} {
		if got := timing.ClockText(address, at); got != want {
			t.Errorf("%s: got %s, want %s", address, got, want)
		}
	}
	got := timing.ClockText("http://attic.local:8417", at)
	if want := "http://ATTIC.LOCAL:8417/CLOCK/20261125T091500Z"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	if rest := strings.TrimPrefix(got, "http"); strings.Trim(rest, alphanumeric) != "" {
		t.Errorf("%s leaves the alphanumeric mode", rest)
	}
}

func TestReadClock(t *testing.T) {
	want := time.Date(2026, 11, 25, 9, 15, 0, 0, time.UTC)
	for _, text := range []string{
		"http://192.168.1.20:8417/CLOCK/20261125T091500Z",
		"http://ATTIC.LOCAL/CLOCK/20261125T091500Z",
		"https://other.test/clock/20261125t091500z",
		"HTTP://[FE80::1]:8417/Clock/20261125T091500Z",
		" http://attic.local:8417/CLOCK/20261125T091500Z\r\n",
		"http://attic.local/book/CLOCK/20261125T091500Z", // behind a path of another server
	} {
		if got, ok := timing.ReadClock(text); !ok || got != want {
			t.Errorf("%q: got %v, %v, want %v", text, got, ok, want)
		}
	}
	for _, text := range []string{
		"", "CLOCK", "20261125T091500Z", "/CLOCK/20261125T091500Z", "http:///CLOCK/20261125T091500Z",
		"ftp://attic.local/CLOCK/20261125T091500Z", "attic.local:8417/CLOCK/20261125T091500Z",
		"http://attic.local/T/20261125T091500Z", "http://attic.local/OCLOCK/20261125T091500Z",
		"http://attic.local/CLOCK/20261125T091500", "http://attic.local/CLOCK/20261125T091500+0100",
		"http://attic.local/CLOCK/20261125T091500.5Z", "http://attic.local/CLOCK/20261125T09150.5Z",
		"http://attic.local/CLOCK/20260229T091500Z", "http://attic.local/CLOCK/20261125T240000Z",
		"http://attic.local/CLOCK/20261125T091560Z", "http://attic.local/CLOCK/20261325T091500Z",
		"http://attic.local/CLOCK/00010101T000000Z", "http://attic.local/CLOCK/20261125T091500Z/",
		"http://attic.local/CLOCK/20261125T091500Z?now", "http://attic.local/CLOCK/20261125T091500Z#now",
		"http://attic.local/CLOCK/%3220261125T091500Z", "http://attic.local/CLOCK/２0261125T091500Z", "http://a b/CLOCK/20261125T091500Z",
	} {
		if got, ok := timing.ReadClock(text); ok {
			t.Errorf("%q: got %v, want nothing", text, got)
		}
	}
}

func TestReadClockInvertsClockText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := time.Unix(rapid.Int64Range(-62_135_596_799, 253_402_300_799).Draw(t, "second"), rapid.Int64Range(0, 999_999_999).Draw(t, "ns"))
		address := rapid.SampledFrom([]string{"http://10.0.0.7:8417", "https://attic.test", "attic:80", "http://[fd00::7]:8417/"}).Draw(t, "address")
		text := timing.ClockText(address, at)
		if rapid.Bool().Draw(t, "folded") {
			text = strings.ToLower(text)
		}
		got, ok := timing.ReadClock(text)
		if want := at.UTC().Truncate(time.Second); !ok || got != want {
			t.Fatalf("%s: got %v, %v, want %v", text, got, ok, want)
		}
	})
}

// Whatever is read as a clock was written by ClockText, but for host and case.
func FuzzReadClock(f *testing.F) {
	f.Add("http://192.168.1.20:8417/CLOCK/20261125T091500Z")
	f.Add("https://a/b/clock/20261125t091500z")
	f.Add("http://a/CLOCK/20261125T091500,5Z")
	f.Fuzz(func(t *testing.T, text string) {
		at, ok := timing.ReadClock(text)
		if !ok {
			return
		}
		written := timing.ClockText("http://a", at)
		if path := strings.TrimPrefix(written, "http://A"); !strings.Contains(strings.ToUpper(text), path) {
			t.Errorf("%q: read %v, which is written %s", text, at, written)
		}
	})
}
