package items_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"haulbook/intake"
)

func (s *shop) haul(t *testing.T) intake.Haul {
	t.Helper()
	return must(s.hauls.Haul(t.Context(), "2026.1"))(t)
}

func TestHaulsEmptyAndFull(t *testing.T) {
	s := open(t)
	contains(t, s.get(t, "/hauls"), "No haul yet", "A folder inside the inbox names a haul")
	s.terminal(t)
	s.receive(t, shot(600), shot(601))
	attic := shot(9000)
	attic.Haul = hostile
	s.receive(t, attic)
	body := s.get(t, "/hauls")
	contains(t, body, "Millbrook swap meet", "haul 2026.1", "1 item · 4 photos", "Read 1 plate",
		"/photos/"+photoAt(0).String()+"/small", "/photos/"+photoAt(600).String()+"/small", harmless, "haul 2026.2", "0 items · 1 photo")
	lacks(t, body, "<script>alert", "<b onmouseover", "%!")
	if strings.Index(body, "2026.2") > strings.Index(body, "haul 2026.1") {
		t.Error("the older haul stands first")
	}
}

// TestHaulsShowTheirOwnPictures, and not those of the haul before.
func TestHaulsShowTheirOwnPictures(t *testing.T) {
	s := open(t)
	s.terminal(t)
	attic := shot(9000)
	attic.Haul = "attic"
	s.receive(t, attic)
	groups := must(s.bench.Groups(t.Context(), ""))(t)
	must(s.bench.Read(t.Context(), keeper, groups[0].ID(), intake.Reading{Name: "modem"}))(t)
	newest, older, _ := strings.Cut(s.get(t, "/hauls"), "haul 2026.1")
	lacks(t, newest, photoAt(0).String())
	contains(t, newest, photoAt(9000).String())
	contains(t, older, photoAt(0).String())
}

func TestHaulPage(t *testing.T) {
	s := open(t)
	s.receive(t, shot(600))
	h := s.haul(t)
	for _, name := range []string{"2026.001", string(h.ID), strings.ToUpper(string(h.ID))} {
		w := s.send(t, "GET", "/hauls/"+name, nil)
		if got := w.Header().Get("Location"); w.Code != http.StatusSeeOther || got != "/hauls/2026.1" {
			t.Errorf("%s = %d to %q, want the number", name, w.Code, got)
		}
	}
	for _, nothing := range []string{"2026.2", "x", "%3Cscript%3E"} {
		code(t, s.send(t, "GET", "/hauls/"+nothing, nil), http.StatusNotFound)
	}
	groups := must(s.bench.Groups(t.Context(), h.ID))(t)
	body := s.get(t, "/hauls/2026.1")
	contains(t, body, "Millbrook swap meet", "1 photo · 0 items", "not said", "Waiting for a plate", "Read 1 plate", `href="/bench/`+groups[0].ID(),
		`value="EUR"`, "Nothing has been changed yet", "/photos/"+photoAt(600).String()+"/small")
	s.terminal(t)
	body = s.get(t, "/hauls/2026.1")
	contains(t, body, "3 photos · 1 item", "2026.1.1", "video terminal")
}

func TestHaulIsQuietWhenNothingIsThere(t *testing.T) {
	s := open(t)
	must(s.hauls.Named(t.Context(), keeper, "empty crate"))(t)
	body := s.get(t, "/hauls/2026.1")
	contains(t, body, "Nothing numbered yet", "0 photos · 0 items")
	lacks(t, body, "/bench/", "Waiting for a plate")
}

func TestAmendHaul(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	h := s.haul(t)
	target := "/hauls/" + string(h.ID) + "/amend"
	to, body := s.follow(t, target, edit(t, s.get(t, "/hauls/2026.1"), "name", "Millbrook", "source", "Ben Larkin", "occasion", "swap meet",
		"acquired", "about 1998", "price", "1 250,5", "currency", "eur", "notes", "One table.\r\nPaid in cash."))
	if to != "/hauls/2026.1" {
		t.Errorf("leads to %s", to)
	}
	contains(t, body, "Changed.", "Ben Larkin", "swap meet", "about 1998", "1250.50 EUR", "One table.\nPaid in cash.")
	got := s.haul(t)
	want := intake.Money{Minor: 125050, Currency: "EUR"}
	if got.Price != want || got.Name != "Millbrook" || got.Notes != "One table.\nPaid in cash." || got.Closed {
		t.Errorf("the book has %+v", got)
	}
	contains(t, s.get(t, "/items/"+it.Number.String()), "Millbrook", "about 1998")
	// An emptied price is unknown again, and not nothing.
	s.follow(t, target, edit(t, body, "price", "", "closed", "1"))
	if got := s.haul(t); got.Price.Known() || !got.Closed || got.Source != "Ben Larkin" {
		t.Errorf("the book has %+v", got)
	}
	contains(t, s.get(t, "/hauls"), "closed")
	// And back again, from the history.
	changes := must(s.history.Of(t.Context(), "haul", string(h.ID)))(t)
	s.follow(t, "/undo", url.Values{"op": {"u1"}, "seq": {seq(changes[0])}})
	if got := s.haul(t); got.Price != want || got.Closed {
		t.Errorf("undone, the book has %+v", got)
	}
}

func TestAmendHaulKeepsWhatWasTyped(t *testing.T) {
	s := open(t)
	s.receive(t, shot(0))
	h := s.haul(t)
	target := "/hauls/" + string(h.ID) + "/amend"
	tests := []struct{ field, typed, why string }{
		{"name", "", "The name is empty, a haul needs a name."},
		{"name", strings.Repeat("x", 10_000), "The name is 10000 characters long, 500 fit."},
		{"source", strings.Repeat("x", 10_000), "The source is 10000 characters long"},
		{"acquired", strings.Repeat("x", 501), "The date is 501 characters long"},
		{"price", "a lot", "The price is not an amount, like 22.50."},
		{"price", "-5", "The price is not an amount"},
		{"price", "22.505", "The price has more than 2 digits after the point."},
		{"price", "99999999999999999999", "The price is not an amount"},
	}
	for _, tt := range tests {
		t.Run(tt.field+" "+tt.typed[:min(len(tt.typed), 9)], func(t *testing.T) {
			form := edit(t, s.get(t, "/hauls/2026.1"), "occasion", hostile, tt.field, tt.typed)
			body := code(t, s.send(t, "POST", target, form), 400)
			contains(t, body, tt.why, harmless, tt.field+"-why")
			lacks(t, body, "<script>alert")
			if got := edit(t, body).Get(tt.field); got != tt.typed {
				t.Errorf("%s came back as %.30q", tt.field, got)
			}
		})
	}
	form := edit(t, s.get(t, "/hauls/2026.1"), "price", "5", "currency", "euro")
	contains(t, code(t, s.send(t, "POST", target, form), 400), "The currency is not the three letters of a currency", `value="euro"`, `value="5"`)
	if got := s.haul(t); got.Version != h.Version {
		t.Error("a form that does not fit changed the book")
	}
}

// TestLateAmendOfHaulShowsBoth as it does for items.
func TestLateAmendOfHaulShowsBoth(t *testing.T) {
	s := open(t)
	s.receive(t, shot(0))
	target := "/hauls/" + string(s.haul(t).ID) + "/amend"
	late := edit(t, s.get(t, "/hauls/2026.1"), "source", "<i>Ada</i>", "price", "20")
	s.follow(t, target, edit(t, s.get(t, "/hauls/2026.1"), "source", "Ben Larkin", "occasion", "house clearance", "price", "30"))
	body := code(t, s.send(t, "POST", target, late), 409)
	contains(t, body, "Changed meanwhile.", "In the book now", "Ben Larkin", "&lt;i&gt;Ada&lt;/i&gt;", "30.00", `value="20"`, `value="house clearance"`)
	if got := s.haul(t); got.Source != "Ben Larkin" {
		t.Errorf("source = %q: a late edit changed the book", got.Source)
	}
	form := edit(t, body)
	s.follow(t, target, form)
	s.follow(t, target, form) // the same operation again is one change
	if got := s.haul(t); got.Source != "<i>Ada</i>" || got.Occasion != "house clearance" || got.Price.Minor != 2000 {
		t.Errorf("the book has %+v", got)
	}
	form.Set("source", "Carla")
	contains(t, code(t, s.send(t, "POST", target, form), 409), "changed after you opened the form", "Carla")
	contains(t, code(t, s.send(t, "POST", target, url.Values{"op": {"x"}, "name": {"y"}}), 400), "open the page again")
	code(t, s.send(t, "POST", "/hauls/2026.7/amend", url.Values{"op": {"x"}, "version": {"1"}}), 404)
}
