package intake

import (
	"errors"
	"strings"
	"testing"
)

func TestAmendmentClean(t *testing.T) {
	text := func(s string) *string { return &s }
	number := func(n int) *int { return &n }
	got, err := Amendment{
		Name: text(" a\tb "), Serial: text(" X  1\x00 "), Notes: text("one\r\ntwo\x07\n"), Quantity: number(2),
	}.Clean()
	if err != nil {
		t.Fatal(err)
	}
	if *got.Name != "a b" || *got.Serial != "X  1" || *got.Notes != "one\ntwo" || *got.Quantity != 2 || got.Maker != nil {
		t.Errorf("got %q %q %q %d, maker %v", *got.Name, *got.Serial, *got.Notes, *got.Quantity, got.Maker)
	}
	bad := []struct {
		field string
		a     Amendment
	}{
		{"name", Amendment{Name: text("\xff")}},
		{"model", Amendment{Model: text(strings.Repeat("x", MaxField+1))}},
		{"serial", Amendment{Serial: text("\xff")}},
		{"notes", Amendment{Notes: text("\xff")}},
		{"notes", Amendment{Notes: text(strings.Repeat("x", MaxNotes+1))}},
		{"quantity", Amendment{Quantity: number(0)}},
	}
	for _, tt := range bad {
		_, err := tt.a.Clean()
		var field *FieldError
		if !errors.As(err, &field) || field.Field != tt.field {
			t.Errorf("Clean with a bad %s = %v, want a FieldError of it", tt.field, err)
		}
	}
}
