package grouping

import (
	"testing"
	"time"
)

func TestRunningNumber(t *testing.T) {
	for code, want := range map[string]int{
		"": noStep, "K4T": noStep, "2026.4.17": 17, "7": 7, "x/0003": 3, "A12B": noStep,
		"99999999999999999999": 999999999, // only the last digits: no code may overflow
		"ü42":                  42, "４２": noStep,
	} {
		if got := runningNumber(code); got != want {
			t.Errorf("running number of %q: got %d, want %d", code, got, want)
		}
	}
}

func FuzzRunningNumber(f *testing.F) {
	for _, code := range []string{"2026.4.17", "", "0", "K4T9", "\xff1"} {
		f.Add(code)
	}
	f.Fuzz(func(t *testing.T, code string) {
		if n := runningNumber(code); n != noStep && (n < 0 || n > 999999999) {
			t.Errorf("running number of %q: got %d, want none or nine digits at most", code, n)
		}
	})
}

func TestTagsCountOnlyWhenTheyDo(t *testing.T) {
	for _, c := range []struct {
		name string
		tags []string
		want bool
	}{
		{"no tags", []string{"", "", ""}, false},
		{"counting", []string{"1", "2", "", "3", "4", "5"}, true},
		{"counting with holes", []string{"h.9", "h.11", "h.12", "h.15", "h.16", "h.17"}, true},
		{"too few to tell", []string{"1", "2", "3"}, false},
		{"opaque", []string{"K4T0", "9WZ1", "QQ2X", "AB3A", "7M4C", "T5TT"}, false},
		{"backwards", []string{"6", "5", "4", "3", "2", "1"}, false},
		{"far apart", []string{"100", "250", "400", "550", "700", "850"}, false},
		{"one out of order", []string{"1", "2", "3", "5", "4", "6", "7", "8"}, true},
	} {
		var shots []Shot
		for i, tag := range c.tags {
			shots = append(shots, Shot{Taken: time.Unix(int64(i)*10, 0), Tag: tag})
		}
		if got := newHaul(shots).tagsCount(); got != c.want {
			t.Errorf("%s: got %v, want %v", c.name, got, c.want)
		}
	}
}

// newHaul forgets numbers that do not count, so a second look must agree.
func TestNumbersThatDoNotCountAreForgotten(t *testing.T) {
	h := newHaul([]Shot{{Taken: time.Unix(0, 0), Tag: "5"}, {Taken: time.Unix(9, 0), Tag: "3"}})
	for i, n := range h.number {
		if n != noStep {
			t.Errorf("shot %d: got number %d, want none", i, n)
		}
	}
}
