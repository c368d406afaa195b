package bench_test

import (
	"slices"
	"testing"
	"time"

	"haulbook/cmd/haulbook/drawn"
	"haulbook/intake"
)

// lateStand has thing 0 numbered, and thing 4: new photos with the same tag,
// taken the day after.
func lateStand(t *testing.T) *stand {
	t.Helper()
	s := fullStand(t)
	s.post(s.group(0)+"/read", plate(s.things[0])...).want(303)
	s.take(drawn.Options{
		Seed: 7, Things: 1, Codes: []string{s.things[0].Code}, Start: time.Date(2026, 5, 10, 9, 0, 0, 0, time.UTC),
	}, "Millbrook swap meet", 4)
	return s
}

// TestLatePhotosOfATaggedThing: the tag in view says what they are, so adding
// them is one stroke, and a second number is not offered.
func TestLatePhotosOfATaggedThing(t *testing.T) {
	s := lateStand(t)
	late := s.group(4)
	page := s.get(late).want(200,
		"belongs to a thing in the book", "Add these photos to 2026.1.1", s.things[0].Name,
		"/photos/"+s.byThing[0][0].String()+"/small", `action="`+late+`/attach"`).lacks("given on saving")
	if got := page.focus(); got != "save" {
		t.Errorf("focus on %q, want the button", got)
	}
	page = s.follow(s.post(late+"/attach", "item", page.value("item"), "op", "late")).want(200, "2026.1.1", "has the photos now.", "Undo")
	it, err := s.items.Item(t.Context(), "2026.1.1")
	if err != nil || len(it.Photos) != len(s.byThing[0])+len(s.byThing[4]) {
		t.Fatalf("%d photos, error %v; want %d", len(it.Photos), err, len(s.byThing[0])+len(s.byThing[4]))
	}
	// Sent twice it is one act.
	s.post(late+"/attach", "item", string(it.ID), "op", "late").want(303)
	if back := s.undo(page); back != late {
		t.Errorf("undo leads to %q, want %q", back, late)
	}
	s.get(late).want(200, "Add these photos to 2026.1.1")
}

// TestReadingALateGroup: the form of a page from before the tag was known. The
// words are shown, no second number is given.
func TestReadingALateGroup(t *testing.T) {
	s := lateStand(t)
	page := s.post(s.group(4)+"/read", typed...).want(409, "Add these photos to 2026.1.1")
	if page.value("name") != "Half a name" || page.value("serial") != "0B8?" {
		t.Errorf("name %q, serial %q", page.value("name"), page.value("serial"))
	}
	if n, err := s.store.Next(t.Context(), ""); err != nil || n.Item != 2 {
		t.Errorf("next number %v, error %v", n, err)
	}
}

// TestAddingByNumber is for photos without a tag in view.
func TestAddingByNumber(t *testing.T) {
	s := fullStand(t)
	s.post(s.group(1)+"/read", plate(s.things[1])...).want(303)
	s.post(s.group(0)+"/read", plate(s.things[0])...).want(303)
	for _, row := range []struct {
		name, act string
		form      []string
		status    int
		says      string
	}{
		{"unknown number", "/attach", []string{"number", "2026.9.9"}, 400, "is no number or tag code of this book"},
		{"no number", "/attach", []string{"number", "  "}, 400, "is empty"},
		{"nonsense", "/read", []string{"number", "the grey one"}, 400, "is no number or tag code of this book"},
		{"number beside a plate", "/read", append(slices.Clone(typed), "number", "2026.1.1"), 400, "press Add, or empty it and save"},
		{"unknown id", "/attach", []string{"item", "0123456789abcdef"}, 404, ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			page := s.post(s.group(2)+row.act, row.form...).want(row.status, row.says)
			if row.status == 400 {
				page.want(400, `<details class="late" open>`)
			}
			if i := slices.Index(row.form, "name"); i >= 0 {
				page.wantTyped()
			}
		})
	}
	s.follow(s.post(s.group(2)+"/read", "number", "2026.001.001")).want(200, "2026.1.1", "has the photos now.")
	s.follow(s.post(s.group(3)+"/attach", append(slices.Clone(typed), "number", s.things[0].Code)...)).want(200, "2026.1.2", "has the photos now.")
	for number, things := range map[string][]int{"2026.1.1": {1, 2}, "2026.1.2": {0, 3}} {
		it, err := s.items.Item(t.Context(), number)
		if want := len(s.byThing[things[0]]) + len(s.byThing[things[1]]); err != nil || len(it.Photos) != want {
			t.Errorf("%s has %d photos, error %v; want %d", number, len(it.Photos), err, want)
		}
	}
}

// TestAddingToAClosedItem says so at the field.
func TestAddingToAClosedItem(t *testing.T) {
	s := fullStand(t)
	s.post(s.group(1)+"/read", plate(s.things[1])...).want(303)
	it, err := s.items.Item(t.Context(), "2026.1.1")
	if err != nil {
		t.Fatal(err)
	}
	if err := s.items.Void(t.Context(), intake.By{Person: "Ada Quill"}, it.ID, "sold"); err != nil {
		t.Fatal(err)
	}
	s.post(s.group(2)+"/attach", "number", "2026.1.1").want(409, "takes no photos of this group")
}
