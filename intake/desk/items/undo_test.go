package items_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"haulbook/intake"
)

// newest is the sequence of the newest change of an item, as a form sends it.
func (s *shop) newest(t *testing.T, it intake.Item) string {
	t.Helper()
	changes := must(s.history.Of(t.Context(), "item", string(it.ID)))(t)
	if len(changes) == 0 {
		t.Fatalf("%s has no history", it.Number)
	}
	return fmt.Sprint(changes[0].Seq)
}

// TestUndoAndUndoOfUndo: an amendment is taken back from the list, and done
// again from the line that took it back.
func TestUndoAndUndoOfUndo(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	page := s.get(t, "/items/2026.1.1")
	s.follow(t, "/items/"+string(it.ID)+"/amend", edit(t, page, "name", "Terminal"))
	steps := []struct{ op, flash, name, button string }{
		{"u1", "Undone: 2026.1.1 video terminal amended.", "video terminal", "Do it again"},
		{"u2", "Done again: 2026.1.1 video terminal amended.", "Terminal", "Take back"},
		{"u3", "Undone: 2026.1.1 video terminal amended.", "video terminal", "Do it again"},
	}
	for _, step := range steps {
		to, body := s.follow(t, "/undo", url.Values{"op": {step.op}, "seq": {s.newest(t, it)}, "back": {"/items/2026.1.1"}})
		if to != "/items/2026.1.1" {
			t.Errorf("%s leads to %s", step.op, to)
		}
		contains(t, body, step.flash, `<h1 class="title" dir="auto">`+step.name, `data-key="u"`)
		if got := s.again(t, it).Name; got != step.name {
			t.Errorf("%s: the book has %q, want %q", step.op, got, step.name)
		}
		if first, _, _ := strings.Cut(after(t, body, "Take back", "Do it again"), ":"); first != step.button {
			t.Errorf("%s: the newest line offers %q, want %q", step.op, first, step.button)
		}
	}
}

// after returns the page from the first history button on.
func after(t *testing.T, body string, buttons ...string) string {
	t.Helper()
	at := len(body)
	for _, b := range buttons {
		if i := strings.Index(body, `aria-label="`+b+":"); i >= 0 {
			at = min(at, i+len(`aria-label="`))
		}
	}
	return body[at:]
}

// TestUndoTwiceIsOneChange: a second press under the same operation id is no
// redo.
func TestUndoTwiceIsOneChange(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	form := url.Values{"op": {"u1"}, "seq": {s.newest(t, it)}, "back": {"/items/2026.1.1"}}
	s.follow(t, "/undo", form)
	s.follow(t, "/undo", form)
	if got := s.again(t, it).State; got != intake.StateWithdrawn {
		t.Errorf("state = %s, want withdrawn", got)
	}
	// A second browser that shows the same button is told, in words.
	form.Set("op", "u2")
	_, body := s.follow(t, "/undo", form)
	contains(t, body, "Not taken back: it was undone already by keeper.")
}

// TestUndoConflictSaysWhatStandsInTheWay in words a person can act on.
func TestUndoConflictSaysWhatStandsInTheWay(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	read := s.newest(t, it)
	name := "Terminal"
	must(s.items.Amend(t.Context(), keeper, it.ID, it.Version, intake.Amendment{Name: &name}))(t)
	_, body := s.follow(t, "/undo", url.Values{"op": {"u1"}, "seq": {read}, "back": {"/items/2026.1.1"}})
	contains(t, body, "Not taken back: Ada Quill changed it since (2026.1.1 video terminal amended), take that back first.")
	lacks(t, body, "undo change", "changed meanwhile", `data-key="u"`)
	if got := s.again(t, it); got.State != intake.StateAccessioned || got.Name != "Terminal" {
		t.Errorf("a refused undo changed the book: %+v", got)
	}
	code := must(s.codes.For(t.Context(), keeper, it.ID))(t)
	if code == "" {
		t.Fatal("no tag")
	}
	// What went to paper has no button, and says so when it is asked for anyway.
	lines := s.get(t, "/items/2026.1.1")
	contains(t, lines, "Tag made for 2026.1.1")
	lacks(t, lines, "Take back: Tag made")
	_, body = s.follow(t, "/undo", url.Values{"op": {"u2"}, "seq": {s.newest(t, it)}, "back": {"/items/2026.1.1"}})
	contains(t, body, "Not taken back: tag made cannot be taken back.")
}

func TestUndoOfNothing(t *testing.T) {
	s := open(t)
	s.terminal(t)
	for _, seq := range []string{"", "0", "-1", "x", "9e9", "<b>"} {
		w := s.send(t, "POST", "/undo", url.Values{"op": {"u"}, "seq": {seq}})
		contains(t, code(t, w, 400), "not named")
	}
	code(t, s.send(t, "POST", "/undo", url.Values{"op": {"u"}, "seq": {"99999"}}), 404)
	code(t, s.send(t, "GET", "/undo?seq=1", nil), 405)
}

// TestBackStaysInTheHouse: the address that a form gives to return to is a path
// of this desk, or it is today's page.
func TestBackStaysInTheHouse(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	tests := []struct{ back, to string }{
		{"/items/2026.1.1", "/items/2026.1.1"},
		{"/items?after=2026.1.7&as=list", "/items?after=2026.1.7&as=list"},
		{"/find?q=a%2F%2Fb", "/find?q=a%2F%2Fb"},
		{"", "/"}, {"items", "/"}, {"?a=b", "/"},
		{"//evil.example/", "/"}, {"///evil.example/", "/"}, {"http://evil.example/", "/"}, {"https:evil.example", "/"},
		{"javascript:alert(1)", "/"}, {`/\evil.example`, "/"}, {`\\evil.example`, "/"}, {"/\t/evil.example", "/"},
		{"/\n/evil.example", "/"}, {"/a\r\nSet-Cookie: x=y", "/"}, {" //evil.example", "/"}, {"/%zz", "/"},
		{"/" + strings.Repeat("a", 3000), "/"},
	}
	for i, tt := range tests {
		w := s.send(t, "POST", "/undo", url.Values{"op": {fmt.Sprint("u", i)}, "seq": {s.newest(t, it)}, "back": {tt.back}})
		if got := w.Header().Get("Location"); w.Code != http.StatusSeeOther || got != tt.to {
			t.Errorf("back %.40q leads to %.60q (%d), want %q", tt.back, got, w.Code, tt.to)
		}
	}
	// A path that browsers could read as a host comes out as a path.
	w := s.send(t, "POST", "/undo", url.Values{"op": {"dots"}, "seq": {s.newest(t, it)}, "back": {"/.//evil.example"}})
	if got := w.Header().Get("Location"); strings.HasPrefix(got, "//") || !strings.HasPrefix(got, "/") {
		t.Errorf("Location = %q", got)
	}
}

// TestLongHistoryIsFolded: the newest dozen lines stand open.
func TestLongHistoryIsFolded(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	for i := range 14 {
		notes := fmt.Sprint("note ", i)
		it = must(s.items.Amend(t.Context(), keeper, it.ID, it.Version, intake.Amendment{Notes: &notes}))(t)
	}
	body := s.get(t, "/items/2026.1.1")
	open, folded, found := strings.Cut(body, "<summary>Earlier</summary>")
	if got := strings.Count(open, `action="/undo"`); !found || got != 12 {
		t.Errorf("%d lines stand open, want 12", got)
	}
	if got := strings.Count(folded, `action="/undo"`); got != 3 {
		t.Errorf("%d lines are folded, want 3", got)
	}
}

func seq(c intake.Change) string { return fmt.Sprint(c.Seq) }
