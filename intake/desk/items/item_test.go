package items_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"haulbook/intake"
)

// TestItemsAreCalledByTheirNumber: every name of an item leads to its number,
// and keeps what was asked for there.
func TestItemsAreCalledByTheirNumber(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	part := must(s.items.AddPart(t.Context(), keeper, it.ID, "keyboard"))(t)
	code := must(s.codes.For(t.Context(), keeper, it.ID))(t)
	const number, lettered = "/items/2026.1.1", "/items/2026.1.1a"
	tests := []struct{ name, from, to string }{
		{"id", "/items/" + string(it.ID), number},
		{"id in capitals", "/items/" + strings.ToUpper(string(it.ID)), number},
		{"padded", "/items/2026.001.00001", number},
		{"spaces around", "/items/%202026.1.1%20", number},
		{"code", "/items/" + string(code), number},
		{"code in small letters", "/items/" + strings.ToLower(string(code)), number},
		{"query", "/items/2026.001.1?photo=ab&x=%22", number + "?photo=ab&x=%22"},
		{"part in capitals", "/items/2026.1.1A", lettered},
		{"part by id", "/items/" + string(part.ID), lettered},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			w := s.send(t, "GET", tt.from, nil)
			if got := w.Header().Get("Location"); w.Code != http.StatusSeeOther || got != tt.to {
				t.Errorf("%s = %d to %q, want %q", tt.from, w.Code, got, tt.to)
			}
		})
	}
	contains(t, s.get(t, number), "<title>2026.1.1 video terminal")
	contains(t, s.get(t, lettered), "keyboard", "Part of", number)
	for _, nothing := range []string{"/items/2026.1.2", "/items/2026.1.1b", "/items/x", "/items/%22%3E%3Cscript%3E", "/items/" + strings.Repeat("9", 2000)} {
		w := s.send(t, "GET", nothing, nil)
		if w.Code != http.StatusNotFound {
			t.Errorf("%.60s = %d, want 404", nothing, w.Code)
		}
		lacks(t, w.Body.String(), "<script>")
	}
}

func TestItemPage(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	must(s.items.AddPart(t.Context(), keeper, it.ID, "keyboard"))(t)
	must(s.items.AddPart(t.Context(), keeper, it.ID, "mains lead"))(t)
	code := must(s.codes.For(t.Context(), keeper, it.ID))(t)
	body := s.get(t, "/items/2026.1.1")
	contains(t, body,
		`<span class="tag big"><bdi>2026.1.1</bdi></span>`, "video terminal", "Orrel &amp; Dane · VT-7/B", "0B81-5S203",
		"not placed yet", "Millbrook swap meet", `href="/hauls/2026.1"`, "2026.1.1a", "keyboard", "2026.1.1b", "mains lead",
		string(code[:4])+" "+string(code[4:]), "not printed yet", `href="/tags?item=2026.1.1"`,
		"/photos/"+photoAt(0).String()+"/large", "view · 14:00:00", "/photos/"+photoAt(5).String()+"/small", "2 photos",
		"Plate read: 2026.1.1 video terminal", "Ada Quill", "Take back", `name="version" value="`,
	)
	lacks(t, body, "shown to strangers", "void", "taken back", "replaced", "how many", "alike under this number</dd>")
	// The photo asked for is the large one; one that is not this item's is ignored.
	contains(t, s.get(t, "/items/2026.1.1?photo="+photoAt(5).String()), `<img src="/photos/`+photoAt(5).String()+"/large", "plate · 14:00:05")
	contains(t, s.get(t, "/items/2026.1.1?photo="+photoAt(77).String()), `<img src="/photos/`+photoAt(0).String()+"/large")
}

// TestItemPageOfLittle: photo plus number is a complete record, and even that
// may be missing.
func TestItemPageOfLittle(t *testing.T) {
	s := open(t)
	s.item(t, 0, intake.Reading{})
	contains(t, s.get(t, "/items/2026.1.1"), "unnamed", "maker unknown", "no serial read", "none yet", "Print one")
	code := must(s.codes.Blank(t.Context(), keeper, 1))(t)[0]
	entered := must(s.codes.Enter(t.Context(), keeper, code))(t)
	body := s.get(t, "/items/"+string(entered.ID))
	contains(t, body, "no number yet", "No photo yet", "no haul yet", "waits for a number", string(code[:4])+" "+string(code[4:]), "Edit the record")
	lacks(t, body, "/tags?item=", "Add a part")
}

func TestSerialWithHoles(t *testing.T) {
	s := open(t)
	s.item(t, 0, intake.Reading{Name: "printer", Serial: "80?8-4669"})
	contains(t, s.get(t, "/items/2026.1.1"), "80?8-4669", "? was not readable")
}

func TestItemPageHostile(t *testing.T) {
	s := open(t)
	it := s.item(t, 0, intake.Reading{Name: hostile, Maker: hostile, Model: hostile, Serial: hostile})
	must(s.items.AddPart(t.Context(), keeper, it.ID, hostile))(t)
	notes := hostile + "\n" + strings.Repeat("long ", 3900)
	must(s.items.Amend(t.Context(), keeper, it.ID, s.again(t, it).Version, intake.Amendment{Notes: &notes}))(t)
	for _, page := range []string{"/items/2026.1.1", "/items/2026.1.1a", "/items/2026.1.1?photo=" + url.QueryEscape(hostile)} {
		body := s.get(t, page)
		lacks(t, body, "<script>alert", "<b onmouseover", "%!")
		contains(t, body, harmless)
	}
	// Direction marks of a name do not turn the rest of the page around.
	contains(t, s.get(t, "/items/2026.1.1"), `<h1 class="title" dir="auto">`, `<bdi>&#34;&gt;&lt;script`)
}

// TestVoidAndWithdrawn: both still answer under their number and say what they
// are; neither offers a form that could only fail.
func TestVoidAndWithdrawn(t *testing.T) {
	s := open(t)
	void, undone := s.terminal(t), s.item(t, 600, intake.Reading{Name: "modem"})
	_, body := s.follow(t, "/undo", url.Values{"op": {"u1"}, "seq": {s.newest(t, undone)}, "back": {"/items/2026.1.2"}})
	contains(t, body, "Undone: plate read: 2026.1.2 modem.", `<span class="tag big pending"><bdi>2026.1.2</bdi></span>`, "taken back",
		"its photos are on the bench again", "Its photos wait on the", "Do it again")
	lacks(t, body, "no serial read", "No photo yet", "Edit the record", "Add a part", "/tags?item=")
	if err := s.items.Void(t.Context(), keeper, void.ID, "counted twice"); err != nil {
		t.Fatal(err)
	}
	body = s.get(t, "/items/2026.1.1")
	contains(t, body, `<span class="tag big lost"><bdi>2026.1.1</bdi></span>`, ">void</span>", "This number is void", "counted twice", "video terminal")
	lacks(t, body, "Edit the record", "Add a part", "/tags?item=")
}

// TestReplacedTag: the old code is shown struck out with the reason.
func TestReplacedTag(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	old := must(s.codes.For(t.Context(), keeper, it.ID))(t)
	now := must(s.codes.Replace(t.Context(), keeper, old, "torn <off>"))(t)
	contains(t, s.get(t, "/items/2026.1.1"), `<s class="mono soft">`+string(old[:4])+" "+string(old[4:]), "replaced: <bdi>torn &lt;off&gt;</bdi>",
		string(now[:4])+" "+string(now[4:]))
}
