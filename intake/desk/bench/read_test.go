package bench_test

import (
	"strings"
	"testing"

	"haulbook/cmd/haulbook/drawn"
	"haulbook/intake"
)

// plate types what a thing's plate says.
func plate(thing drawn.Thing) []string {
	return []string{"name", thing.Name, "maker", thing.Maker, "model", thing.Model, "serial", thing.Serial}
}

// TestReadingAHaul reads every plate with Enter alone: each save opens the next
// group, and the numbers follow shooting order.
func TestReadingAHaul(t *testing.T) {
	s := fullStand(t)
	page := s.follow(s.get("/bench"))
	s.post(s.group(-1)+"/leave", "x", "y").want(404) // no such act
	page = s.follow(s.post("/bench/leave-out", "photo", page.value("photo"))).want(200, "Left out")
	for i, thing := range s.things {
		here := s.group(i)
		if !strings.Contains(page.body, `action="`+here+`/read"`) {
			t.Fatalf("thing %d is not next:\n%s", i, page.text())
		}
		typed := append(plate(thing), "plate", page.value("plate"), "op", page.value("op"))
		page = s.follow(s.post(here+"/read", typed...)).want(200, "given to "+thing.Name+".", "Undo")
	}
	page.want(200, "Nothing waits for its plate")
	items, err := s.items.List(t.Context(), intake.Number{}, 10)
	if err != nil || len(items) != len(s.things) {
		t.Fatalf("%d items, error %v", len(items), err)
	}
	for i, thing := range s.things {
		it, err := s.items.Item(t.Context(), intake.Number{Year: items[0].Number.Year, Haul: 1, Item: i + 1}.String())
		if err != nil {
			t.Fatal(err)
		}
		if it.Name != thing.Name || it.Maker != thing.Maker || it.Model != thing.Model || it.Serial != thing.Serial {
			t.Errorf("%s is %q %q %q %q, want %+v", it.Number, it.Name, it.Maker, it.Model, it.Serial, thing)
		}
		if len(it.Photos) != len(s.byThing[i]) {
			t.Errorf("%s has %d photos, want %d", it.Number, len(it.Photos), len(s.byThing[i]))
		}
	}
	if it, err := s.items.Item(t.Context(), s.things[0].Code); err != nil || it.Name != s.things[0].Name {
		t.Errorf("the tag in view leads to %q, error %v", it.Name, err)
	}
}

func TestPhotoAndNumberAreEnough(t *testing.T) {
	s := fullStand(t)
	s.follow(s.post(s.group(1)+"/read")).want(200, "given to unnamed.")
}

// TestEarlierWordsAreOffered in the next form, never filled in.
func TestEarlierWordsAreOffered(t *testing.T) {
	s := fullStand(t)
	page := s.follow(s.post(s.group(0)+"/read", plate(s.things[0])...)).
		want(200, `list="makers"`, `<datalist id="makers"><option value="`+strings.ReplaceAll(s.things[0].Maker, "&", "&amp;")+`">`)
	if page.value("maker") != "" {
		t.Error("the maker is filled in")
	}
}

// TestTheSameFormTwice: pressing twice, or a browser that sends again, gives one
// number and no question.
func TestTheSameFormTwice(t *testing.T) {
	s := fullStand(t)
	form := append(plate(s.things[1]), "op", "once")
	here := s.group(1)
	s.follow(s.post(here+"/read", form...)).want(200, "2026.1.1", "given to "+s.things[1].Name)
	again := s.post(here+"/read", form...)
	s.follow(again.want(303)).want(200, "2026.1.1", "given to "+s.things[1].Name).lacks("The same thing twice?")
	items, err := s.items.List(t.Context(), intake.Number{}, 10)
	if err != nil || len(items) != 1 {
		t.Fatalf("%d items, error %v; want 1", len(items), err)
	}
}

// TestOtherWordsInTheSameForm: somebody went back in the browser, mended the
// serial and pressed Enter. The ledger keeps the first; the page must not claim
// that it kept the second.
func TestOtherWordsInTheSameForm(t *testing.T) {
	s := fullStand(t)
	here := s.group(1)
	s.post(here+"/read", "op", "once", "serial", "1C03-5F33O").want(303)
	s.post(here+"/read", "op", "once", "serial", "1C03-5F330").
		want(409, "These photos have their number already", "2026.1.1", "What you typed", "1C03-5F330")
}

// TestUndoRoundTrip: undo leads back to the group with its words, and reading
// it again gives the same number, whatever was read in between.
func TestUndoRoundTrip(t *testing.T) {
	s := fullStand(t)
	here := s.group(1)
	page := s.follow(s.post(here+"/read", plate(s.things[1])...)).want(200, "2026.1.1")
	back := s.undo(page)
	if !strings.HasPrefix(back, here) {
		t.Fatalf("undo leads to %q, want %q", back, here)
	}
	s.follow(s.post(s.group(2)+"/read", plate(s.things[2])...)).want(200, "2026.1.2")
	page = s.get(back).want(200, "2026.1.1", "gets its number back")
	for i, name := range []string{"name", "maker", "model", "serial"} {
		if got, want := page.value(name), plate(s.things[1])[2*i+1]; got != want {
			t.Errorf("%s holds %q, want %q", name, got, want)
		}
	}
	s.follow(s.post(here+"/read", plate(s.things[1])...)).want(200, "2026.1.1", "given to "+s.things[1].Name)
	s.follow(s.post(s.group(3)+"/read")).want(200, "2026.1.3")
}

// TestTheSameFormAfterUndo: undone, back in the browser, saved again. It counts.
func TestTheSameFormAfterUndo(t *testing.T) {
	s := fullStand(t)
	here, form := s.group(1), append(plate(s.things[1]), "op", "once")
	s.undo(s.follow(s.post(here+"/read", form...)).want(200, "2026.1.1"))
	page := s.follow(s.post(here+"/read", form...)).want(200, "given to "+s.things[1].Name, "Undo")
	it, err := s.items.Item(t.Context(), "2026.1.1")
	if err != nil || it.State != intake.StateAccessioned {
		t.Fatalf("state %q, error %v", it.State, err)
	}
	s.undo(page)
	if it, err = s.items.Item(t.Context(), "2026.1.1"); err != nil || it.State != intake.StateWithdrawn {
		t.Errorf("state %q after the second undo, error %v", it.State, err)
	}
}

// TestPlateOfAnotherGroup is a made-up form: refused, nothing given.
func TestPlateOfAnotherGroup(t *testing.T) {
	s := fullStand(t)
	s.post(s.group(1)+"/read", "plate", s.byThing[2][0].String()).want(400, "no photo of this group")
	s.post(s.group(1)+"/read", "plate", "nonsense").want(400)
	if n, err := s.store.Next(t.Context(), ""); err != nil || n.Item != 1 {
		t.Errorf("next number %v, error %v; want none given", n, err)
	}
}

// TestFormAddressOpensAsPage: after a form that came back with a question the
// browser shows the form's address, and may open it again.
func TestFormAddressOpensAsPage(t *testing.T) {
	s := fullStand(t)
	for _, act := range []string{"/read", "/attach"} {
		if got := s.get(s.group(1) + act); got.to != s.group(1) {
			t.Errorf("%s leads to %q, want %q", act, got.to, s.group(1))
		}
	}
}

// TestEnteredItemKeepsItsWords: a blank tag's first scan entered the thing and
// somebody named it; its plate is read later.
func TestEnteredItemKeepsItsWords(t *testing.T) {
	s := fullStand(t)
	it := s.enter(s.things[0].Code, "Terminal from the attic")
	page := s.get(s.group(0)).want(200, `action="`+s.group(0)+`/read"`)
	if got := page.value("name"); got != "Terminal from the attic" {
		t.Errorf("name holds %q", got)
	}
	if got := page.focus(); got != "maker" {
		t.Errorf("focus on %q, want the first empty field", got)
	}
	s.follow(s.post(s.group(0)+"/read", "name", "Terminal from the attic", "serial", "1C03")).want(200, "2026.1.1")
	if got, err := s.items.Item(t.Context(), string(it.ID)); err != nil || got.Number.String() != "2026.1.1" {
		t.Errorf("the entered item has number %v, error %v", got.Number, err)
	}
}
