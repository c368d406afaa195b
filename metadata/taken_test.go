package metadata

import (
	"strings"
	"testing"
	"time"
)

func TestParseWall(t *testing.T) {
	at := func(y int, mo time.Month, d, h, mi, s, ns int) time.Time {
		return time.Date(y, mo, d, h, mi, s, ns, time.UTC)
	}
	tests := []struct {
		raw, subSec string
		want        time.Time // zero: unknown
	}{
		// The form of CIPA DC-008, 4.6.5.
		{"2024:05:17 14:30:00", "", at(2024, 5, 17, 14, 30, 0, 0)},
		{"2024:02:29 23:59:59", "", at(2024, 2, 29, 23, 59, 59, 0)},
		{"0001:01:01 00:00:00", "1", at(1, 1, 1, 0, 0, 0, 1e8)},
		{"9999:12:31 23:59:59", "", at(9999, 12, 31, 23, 59, 59, 0)},
		{"1904:01:01 00:00:00", "", at(1904, 1, 1, 0, 0, 0, 0)},
		// Blank is unknown by the same clause; zeros are common practice, no source.
		{"    :  :     :  :  ", "", time.Time{}},
		{"                   ", "", time.Time{}},
		{"0000:00:00 00:00:00", "", time.Time{}},
		{"", "", time.Time{}},
		// Days and hours that do not exist.
		{"2021:02:30 12:00:00", "", time.Time{}},
		{"2023:02:29 12:00:00", "", time.Time{}},
		{"2021:13:01 12:00:00", "", time.Time{}},
		{"2021:00:01 12:00:00", "", time.Time{}},
		{"2021:01:00 12:00:00", "", time.Time{}},
		{"0000:01:01 12:00:00", "", time.Time{}},
		{"2021:02:13 24:00:00", "", time.Time{}},
		{"2021:02:13 25:61:61", "", time.Time{}},
		{"2016:12:31 23:59:60", "", time.Time{}},
		// Seen in files, though not in the standard.
		{"2021-02-13T11:03:31", "", at(2021, 2, 13, 11, 3, 31, 0)},
		{"2021/02/13 11:03:31", "", at(2021, 2, 13, 11, 3, 31, 0)},
		{"2021.02.13 11:03:31", "", at(2021, 2, 13, 11, 3, 31, 0)},
		{"2021:02:13 11:03:31+02:00", "", at(2021, 2, 13, 11, 3, 31, 0)},
		{"2021:02:13 11:03:31Z", "", at(2021, 2, 13, 11, 3, 31, 0)},
		{"2021-02-13T11:03:31.25+01:00", "", at(2021, 2, 13, 11, 3, 31, 0)},
		{"2021:02:13 11:03:31 ", "", at(2021, 2, 13, 11, 3, 31, 0)},
		// And what is no time.
		{"2021:02-13 11:03:31", "", time.Time{}},
		{"2021:02:13 11.03.31", "", time.Time{}},
		{"2021:02:13 11:03", "", time.Time{}},
		{"2021:02:13 11:03:3x", "", time.Time{}},
		{"+021:02:13 11:03:31", "", time.Time{}},
		{"2021: 2:13 11:03:31", "", time.Time{}},
		{"2021:02:13 11:03:31 o'clock", "", time.Time{}},
		{"13/02/2021 11:03:31", "", time.Time{}},
		{"last Saturday, at noon", "", time.Time{}},
		{strings.Repeat("\ufffd", 19), "", time.Time{}},
	}
	for _, tt := range tests {
		got, ok := parseWall(tt.raw, tt.subSec)
		if !got.Equal(tt.want) || ok == tt.want.IsZero() {
			t.Errorf("%q %q: %v %v, want %v", tt.raw, tt.subSec, got, ok, tt.want)
		}
	}
}

func TestNanoseconds(t *testing.T) {
	// The digits follow the point (CIPA DC-008, 4.6.5), however many there are.
	tests := map[string]int{
		"": 0, "0": 0, "000": 0, "5": 500_000_000, "05": 50_000_000, "12": 120_000_000,
		"054": 54_000_000, "123456": 123_456_000, "123456789": 123_456_789,
		"1234567891234": 123_456_789, "  7 ": 700_000_000, "    ": 0, "4x9": 400_000_000, "x": 0, "-5": 0,
	}
	for in, want := range tests {
		if got := nanoseconds(in); got != want {
			t.Errorf("%q: %d, want %d", in, got, want)
		}
	}
}

func TestParseOffset(t *testing.T) {
	tests := map[string]string{
		"+02:00": "+02:00", "-03:30": "-03:30", "+05:45": "+05:45", "+00:00": "+00:00",
		"+14:00": "+14:00", "-12:00": "-12:00", "Z": "+00:00", "+0530": "+05:30",
		"+5:30": "+05:30", "+2": "+02:00", "-07": "-07:00", "+02:00 ": "+02:00",
		// Blank is unknown (CIPA DC-008, 4.6.5).
		"   :  ": "", "": "", "       ": "",
		"+14:01": "", "+15:00": "", "-12:30": "", "+02:60": "", "+99:99": "", "02:00": "",
		"+aa:bb": "", "+": "", "+02:0": "", "+002:00": "", "UTC": "", "+02:00:00": "", "\ufffd": "",
	}
	for in, want := range tests {
		if got := parseOffset(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

func TestTidy(t *testing.T) {
	tests := []struct{ in, want string }{
		{"Oak & Iron", "Oak & Iron"},
		{"  Oak  & Iron \t", "Oak  & Iron"},
		{"000123", "000123"},
		{"a\tb\nc", "abc"},
		{"\x1b[31mred\x1b[0m", "[31mred[0m"},
		{"\u202egnp.exe", "gnp.exe"},
		{"M\u00fcller Gr\u00f6\u00dfe \U0001f5a5", "M\u00fcller Gr\u00f6\u00dfe \U0001f5a5"},
		{"M\xfcller", "M\u00fcller"}, // ISO/IEC 8859-1
		{"\xff\xfe", "\u00ff\u00fe"},
		{"<img src=x>", "<img src=x>"},
		{"\u0085 \u00a0", ""},
		{"", ""},
	}
	for _, tt := range tests {
		if got := tidy(tt.in); got != tt.want {
			t.Errorf("%q: %q, want %q", tt.in, got, tt.want)
		}
	}
}
