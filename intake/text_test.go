package intake_test

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"haulbook/intake"
)

func TestFoldSerial(t *testing.T) {
	tests := []struct{ name, a, b string }{
		// Common practice, no source: O/0, I/L/1, S/5, B/8, Z/2, G/6 read alike.
		{"every pair", "0B81-5S203", "OB8I-55ZO3"},
		{"separators and case", "ab 12/3", "AB-123"},
		{"full width digits", "１２３", "123"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if a, b := intake.FoldSerial(tt.a), intake.FoldSerial(tt.b); a != b || a == "" {
				t.Errorf("FoldSerial(%q) = %q, FoldSerial(%q) = %q; want the same key", tt.a, a, tt.b, b)
			}
		})
	}
	if intake.FoldSerial("A7") == intake.FoldSerial("A1") {
		t.Error("7 and 1 fold together, they should not")
	}
	if got := intake.FoldSerial("Ж-12?"); got != "Ж12?" {
		t.Errorf("FoldSerial keeps other scripts and the mark for unreadable: got %q", got)
	}
}

func TestReadingIsCleanedAndTheSerialKept(t *testing.T) {
	r, err := intake.Reading{Name: "  video\tterminal \n", Maker: "Orrel\x00& Dane", Serial: " 0B81  5S?03 "}.Clean()
	if err != nil {
		t.Fatal(err)
	}
	if want := (intake.Reading{Name: "video terminal", Maker: "Orrel & Dane", Serial: "0B81  5S?03"}); r != want {
		t.Errorf("got %+v, want %+v", r, want)
	}
	// Unicode Standard Annex 15: e followed by a combining acute composes to é.
	if r, err := (intake.Reading{Name: "Cafe\u0301"}).Clean(); err != nil || r.Name != "Café" {
		t.Errorf("got %q, %v; want NFC", r.Name, err)
	}
}

func TestReadingRefusesAtTheField(t *testing.T) {
	tests := []struct {
		name  string
		r     intake.Reading
		field string
	}{
		{"too long", intake.Reading{Maker: strings.Repeat("x", intake.MaxField+1)}, "maker"},
		{"not text", intake.Reading{Serial: "\xff\xfe"}, "serial"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := tt.r.Clean()
			var field *intake.FieldError
			if !errors.As(err, &field) || field.Field != tt.field || !errors.Is(err, intake.ErrInvalid) {
				t.Errorf("got %v, want a FieldError at %s", err, tt.field)
			}
		})
	}
}

func TestGroupIDKnowsItsMembers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "photos")
		g := intake.Group{Photos: make([]intake.ShownPhoto, n)}
		for i := range g.Photos {
			g.Photos[i].ID = intake.PhotoID(rapid.SliceOfN(rapid.Byte(), 32, 32).Draw(t, "id"))
		}
		first, version, err := intake.ParseGroupID(strings.ToUpper(g.ID()))
		if err != nil || first != g.Photos[0].ID.String()[:12] || first+"-"+version != g.ID() {
			t.Fatalf("ParseGroupID(%q) = %q, %q, %v", g.ID(), first, version, err)
		}
		shorter := intake.Group{Photos: g.Photos[:n-1]}
		if shorter.ID() == g.ID() {
			t.Fatal("losing a photo did not change the id")
		}
	})
	for _, s := range []string{"", "-", "abc", "0123456789ab-", "0123456789ab-0123456z", "0123456789ab-012345678"} {
		if _, _, err := intake.ParseGroupID(s); !errors.Is(err, intake.ErrInvalid) {
			t.Errorf("ParseGroupID(%q) = %v, want ErrInvalid", s, err)
		}
	}
}

func TestIDsNeverLookLikeNumbersOrCodes(t *testing.T) {
	seen := map[intake.ID]bool{}
	for range 1000 {
		id := intake.NewID()
		_, numberErr := intake.ParseNumber(string(id))
		_, codeErr := intake.ParseCode(string(id))
		if !intake.IsID(string(id)) || numberErr == nil || codeErr == nil || seen[id] {
			t.Fatalf("id %q: shape %v, number %v, code %v, seen %v", id, intake.IsID(string(id)), numberErr, codeErr, seen[id])
		}
		seen[id] = true
	}
	if intake.IsID("2026.7.14") || intake.IsID("") || intake.IsID("ABCDEFGHJKMNPQRS") {
		t.Error("IsID accepts what is no id")
	}
}
