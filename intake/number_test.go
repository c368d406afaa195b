package intake_test

import (
	"errors"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"haulbook/intake"
)

func TestParseNumber(t *testing.T) {
	tests := []struct {
		name, in string
		want     intake.Number
	}{
		// Buck and Gilmore, New Museum Registration Methods, AAM 1998.
		{"trinomial", "2026.14.1", intake.Number{Year: 2026, Haul: 14, Item: 1}},
		{"first part", "1995.5.2a", intake.Number{Year: 1995, Haul: 5, Item: 2, Part: 1}},
		{"third part", "1995.5.2c", intake.Number{Year: 1995, Haul: 5, Item: 2, Part: 3}},
		// Registrar practice, from memory: padding is display only.
		{"padded", "2026.014.003", intake.Number{Year: 2026, Haul: 14, Item: 3}},
		{"after z comes aa", "2026.7.14aa", intake.Number{Year: 2026, Haul: 7, Item: 14, Part: 27}},
		{"case and space", " 2026.7.14B\n", intake.Number{Year: 2026, Haul: 7, Item: 14, Part: 2}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := intake.ParseNumber(tt.in)
			if err != nil || got != tt.want {
				t.Errorf("ParseNumber(%q) = %v, %v; want %v", tt.in, got, err, tt.want)
			}
		})
	}
}

func TestParseNumberRefuses(t *testing.T) {
	for _, in := range []string{
		"", ".", "2026", "2026.7", "2026.7.0", "2026.0.1", "0.7.14", "26.7.14", "2026.7.14.2", "2026.7.-14",
		"2026.7.+14", "2026..14", "2026.7.14b2", "2026.7.14é", "2026.7.1000000", "2026.7.14zzzz", "２０２６.7.14",
		"2026.7.14-16", "2026/7/14", "99999999999999999999.1.1",
	} {
		if got, err := intake.ParseNumber(in); !errors.Is(err, intake.ErrInvalid) {
			t.Errorf("ParseNumber(%q) = %v, %v; want ErrInvalid", in, got, err)
		}
	}
}

func TestNumbersSortByComponent(t *testing.T) {
	// Registrar practice, from memory: numeric per component.
	in := []string{"2026.10.1", "2026.2.10", "2026.2.9", "2026.2.9b", "2026.2.9a", "2025.99.1", "2026.2.9aa"}
	want := []string{"2025.99.1", "2026.2.9", "2026.2.9a", "2026.2.9b", "2026.2.9aa", "2026.2.10", "2026.10.1"}
	slices.SortFunc(in, func(a, b string) int { return parse(t, a).Compare(parse(t, b)) })
	if !slices.Equal(in, want) {
		t.Errorf("got %v, want %v", in, want)
	}
}

func TestNumberComesBackFromItsText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := intake.Number{
			Year: rapid.IntRange(1900, 9999).Draw(t, "year"),
			Haul: rapid.IntRange(1, 999_999).Draw(t, "haul"),
			Item: rapid.IntRange(1, 999_999).Draw(t, "item"),
			Part: rapid.IntRange(0, 18_278).Draw(t, "part"),
		}
		if got, err := intake.ParseNumber(n.String()); err != nil || got != n {
			t.Fatalf("ParseNumber(%q) = %v, %v; want %#v", n, got, err, n)
		}
	})
}

func TestHaulNumber(t *testing.T) {
	got, err := intake.ParseHaulNumber("2026.007")
	if want := (intake.HaulNumber{Year: 2026, Haul: 7}); err != nil || got != want || got.String() != "2026.7" {
		t.Errorf("got %v, %v; want %v", got, err, want)
	}
	for _, in := range []string{"", "2026", "2026.7.1", "2026.x", "1.1"} {
		if _, err := intake.ParseHaulNumber(in); !errors.Is(err, intake.ErrInvalid) {
			t.Errorf("ParseHaulNumber(%q) = %v, want ErrInvalid", in, err)
		}
	}
}

func FuzzParseNumber(f *testing.F) {
	for _, s := range []string{"2026.7.14", "2026.7.14b", "2026.014.003zz", "", "2026.7", "a.b.c"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		n, err := intake.ParseNumber(s)
		if err != nil {
			if !n.IsZero() {
				t.Fatalf("ParseNumber(%q) gave %v beside an error", s, n)
			}
			return
		}
		if again, err := intake.ParseNumber(n.String()); err != nil || again != n {
			t.Fatalf("%q parsed to %v, whose text parsed to %v, %v", s, n, again, err)
		}
	})
}

func parse(t *testing.T, s string) intake.Number {
	t.Helper()
	n, err := intake.ParseNumber(s)
	if err != nil {
		t.Fatal(err)
	}
	return n
}
