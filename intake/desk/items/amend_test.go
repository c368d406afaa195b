package items_test

import (
	"fmt"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"haulbook/intake"
)

var field = regexp.MustCompile(`<input type="hidden" name="((?:seen-)?[a-z]+)" value="([^"]*)"|<input class="f[^"]*" id="[a-z]+" name="([a-z]+)" value="([^"]*)"`)

// edit reads the edit form off a page, as a browser would send it back: hidden
// fields and lines, with what the keeper types over them.
func edit(t *testing.T, body string, typed ...string) url.Values {
	t.Helper()
	_, body, found := strings.Cut(body, `/amend"`)
	if !found {
		t.Fatalf("no edit form:\n%s", body)
	}
	body, _, _ = strings.Cut(body, "</form>")
	form := url.Values{}
	for _, m := range field.FindAllStringSubmatch(body, -1) {
		form.Set(m[1]+m[3], unescape(m[2]+m[4]))
	}
	if _, text, found := strings.Cut(body, "<textarea"); found {
		_, text, _ = strings.Cut(text, ">\n")
		text, _, _ = strings.Cut(text, "</textarea>")
		// Browsers send the lines of a text with CRLF between them.
		form.Set("notes", strings.ReplaceAll(unescape(text), "\n", "\r\n"))
	}
	for i := 0; i < len(typed); i += 2 {
		form.Set(typed[i], typed[i+1])
	}
	if form.Get("version") == "" || form.Get("op") == "" {
		t.Fatalf("the form has no version or operation: %v", form)
	}
	return form
}

func unescape(s string) string {
	return strings.NewReplacer("&lt;", "<", "&gt;", ">", "&#34;", `"`, "&#39;", "'", "&amp;", "&", "&#43;", "+").Replace(s)
}

func code(t *testing.T, w *httptest.ResponseRecorder, want int) string {
	t.Helper()
	if w.Code != want {
		t.Fatalf("status = %d, want %d\n%s", w.Code, want, w.Body)
	}
	return w.Body.String()
}

func TestAmend(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	form := edit(t, s.get(t, "/items/2026.1.1"), "name", "Video terminal", "serial", "0B81-5S2?3", "quantity", "2",
		"notes", "Powered for 20 min.\r\nKey 7 sticks.", "public", "1")
	to, body := s.follow(t, "/items/"+string(it.ID)+"/amend", form)
	if to != "/items/2026.1.1" {
		t.Errorf("leads to %s", to)
	}
	contains(t, body, "Changed.", `action="/undo"`, "Powered for 20 min.\nKey 7 sticks.", "shown to strangers", "2 alike under this number")
	got := s.again(t, it)
	if got.Name != "Video terminal" || got.Maker != "Orrel & Dane" || got.Serial != "0B81-5S2?3" || got.Quantity != 2 || !got.Public ||
		got.Notes != "Powered for 20 min.\nKey 7 sticks." {
		t.Errorf("the book has %+v", got)
	}
	// A box that is off sends nothing but what it was.
	form = edit(t, body)
	s.follow(t, "/items/"+string(it.ID)+"/amend", form)
	if got := s.again(t, it); got.Public || got.Quantity != 2 {
		t.Errorf("public %t, quantity %d: want false and 2", got.Public, got.Quantity)
	}
}

// TestAmendSomeFields: what a form does not send stays as it is.
func TestAmendSomeFields(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	s.follow(t, "/items/"+string(it.ID)+"/amend", url.Values{"op": {"1"}, "version": {fmt.Sprint(it.Version)}, "notes": {"only this"}, "quantity": {" "}})
	if got := s.again(t, it); got.Notes != "only this" || got.Name != "video terminal" || got.Serial != "0B81-5S203" || got.Quantity != 1 {
		t.Errorf("the book has %+v", got)
	}
}

// TestAmendKeepsWhatWasTyped: a field that does not fit comes back with its
// text and a sentence beside it, and so does everything else that was typed.
func TestAmendKeepsWhatWasTyped(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	long := strings.Repeat("x", 10_000)
	tests := []struct{ field, typed, why string }{
		{"name", long, "The name is 10000 characters long, 500 fit."},
		{"maker", long, "The maker is 10000 characters long, 500 fit."},
		{"model", long, "The model is 10000 characters long, 500 fit."},
		{"serial", long, "The serial is 10000 characters long, 500 fit."},
		{"notes", strings.Repeat("x", 20_001), "The text is 20001 characters long, 20000 fit."},
		{"quantity", "a few", "The quantity is not a number of things"},
		{"quantity", "0", "The quantity is not a number of things"},
		{"quantity", "99999999999999999999", "The quantity is not a number of things"},
		{"name", "a\xffb", "The name has bytes that are not text."},
	}
	for i, tt := range tests {
		t.Run(fmt.Sprint(tt.field, i), func(t *testing.T) {
			typed := []string{"maker", hostile, tt.field, tt.typed}
			body := code(t, s.send(t, "POST", "/items/"+string(it.ID)+"/amend", edit(t, s.get(t, "/items/2026.1.1"), typed...)), 400)
			contains(t, body, tt.why, `aria-invalid="true" aria-describedby="`+tt.field+`-why"`, "<details class=\"edit sheet\" open")
			if tt.field != "maker" {
				contains(t, body, harmless)
			}
			if again := edit(t, body).Get(tt.field); tt.typed != "a\xffb" && again != tt.typed {
				t.Errorf("%s came back as %.40q, want what was typed", tt.field, again)
			}
			lacks(t, body, "<script>alert", "Changed meanwhile")
			// Links of the page lead to the record and not to the form's address.
			lacks(t, body, `value="/items/`+string(it.ID)+`/amend"`, `href="?photo`)
		})
	}
	if got := s.again(t, it); got.Version != it.Version || got.Maker != it.Maker {
		t.Errorf("a form that does not fit changed the book: %+v", got)
	}
	// Mended on the page that came back, it is saved.
	form := edit(t, s.get(t, "/items/2026.1.1"), "quantity", "many", "name", "Terminal")
	body := code(t, s.send(t, "POST", "/items/"+string(it.ID)+"/amend", form), 400)
	s.follow(t, "/items/"+string(it.ID)+"/amend", edit(t, body, "quantity", "3"))
	if got := s.again(t, it); got.Quantity != 3 || got.Name != "Terminal" {
		t.Errorf("the book has %+v", got)
	}
}

// TestLateAmendShowsBoth: two keepers open the same record. The second one's
// text is not lost, and does not overwrite what it never touched.
func TestLateAmendShowsBoth(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	target := "/items/" + string(it.ID) + "/amend"
	late := edit(t, s.get(t, "/items/2026.1.1"), "notes", "Came with <a> dust cover.", "name", "Video terminal")
	s.follow(t, target, edit(t, s.get(t, "/items/2026.1.1"), "notes", "Two keys stick.", "model", "VT-7/C", "public", "1"))
	body := code(t, s.send(t, "POST", target, late), 409)
	contains(t, body, "Changed meanwhile.", "In the book now", "As you typed it", "Two keys stick.", "Came with &lt;a&gt; dust cover.",
		`value="Video terminal"`, ">video terminal<")
	form := edit(t, body)
	if form.Get("model") != "VT-7/C" || form.Get("notes") != "Came with <a> dust cover." || !strings.Contains(body, `name="public" value="1" checked`) {
		t.Errorf("the form has %v, want the untouched model as the book has it now", form)
	}
	if got := s.again(t, it); got.Notes != "Two keys stick." || got.Name != "video terminal" {
		t.Errorf("a late edit changed the book: %+v", got)
	}
	// Saved once more, it goes in: both were seen.
	form.Set("public", "1")
	_, body = s.follow(t, target, form)
	lacks(t, body, "Changed meanwhile")
	got := s.again(t, it)
	if got.Notes != "Came with <a> dust cover." || got.Model != "VT-7/C" || got.Name != "Video terminal" || !got.Public {
		t.Errorf("the book has %+v", got)
	}
}

// TestLateAmendOfSomethingElse: nothing collides, and the page says so.
func TestLateAmendOfSomethingElse(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	target := "/items/" + string(it.ID) + "/amend"
	late := edit(t, s.get(t, "/items/2026.1.1"), "notes", "Two keys stick.")
	s.follow(t, target, edit(t, s.get(t, "/items/2026.1.1"), "notes", "Two keys stick."))
	body := code(t, s.send(t, "POST", target, late), 409)
	contains(t, body, "but nothing that you wrote")
	lacks(t, body, "In the book now")
}

// TestAmendOfSettledRecords: a void or undone record says in plain words why it
// is not changed, and gives the typed text back.
func TestAmendOfSettledRecords(t *testing.T) {
	s := open(t)
	void, undone := s.terminal(t), s.item(t, 600, intake.Reading{Name: "modem"})
	voidForm, undoneForm := edit(t, s.get(t, "/items/2026.1.1"), "notes", "my note"), edit(t, s.get(t, "/items/2026.1.2"), "notes", "my note")
	if err := s.items.Void(t.Context(), keeper, void.ID, "counted twice"); err != nil {
		t.Fatal(err)
	}
	s.follow(t, "/undo", url.Values{"op": {"u1"}, "seq": {s.newest(t, undone)}})
	body := code(t, s.send(t, "POST", "/items/"+string(void.ID)+"/amend", voidForm), 409)
	contains(t, body, "Not saved. This number is void.", "my note")
	lacks(t, body, "Changed meanwhile", `<button class="btn go">Save`)
	body = code(t, s.send(t, "POST", "/items/"+string(undone.ID)+"/amend", undoneForm), 409)
	contains(t, body, "Not saved. This was taken back.", "my note")
}

// TestAmendWithoutVersion: nothing can be compared, so nothing is saved.
func TestAmendWithoutVersion(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	for _, version := range []string{"", "new", "1.5", "<b>"} {
		body := code(t, s.send(t, "POST", "/items/"+string(it.ID)+"/amend", url.Values{"op": {"1"}, "name": {"x"}, "version": {version}}), 400)
		contains(t, body, "open the page again", "Nothing was changed")
	}
	code(t, s.send(t, "POST", "/items/nothing/amend", url.Values{"op": {"1"}, "name": {"x"}, "version": {"1"}}), 404)
}

// TestAmendTwiceIsOneChange: the same operation sent again, as a phone on a bad
// network does, changes nothing and is no conflict.
func TestAmendTwiceIsOneChange(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	target := "/items/" + string(it.ID) + "/amend"
	form := edit(t, s.get(t, "/items/2026.1.1"), "notes", "once")
	_, first := s.follow(t, target, form)
	_, second := s.follow(t, target, form)
	contains(t, first, "Changed.", `action="/undo"`)
	contains(t, second, "Changed.", `action="/undo"`)
	if got := len(must(s.history.Of(t.Context(), "item", string(it.ID)))(t)); got != 2 {
		t.Errorf("%d changes in the history, want 2: read and amended", got)
	}
	// Sent once more after it was taken back, it is not done again unasked.
	s.follow(t, "/undo", url.Values{"op": {"u"}, "seq": {s.newest(t, it)}})
	contains(t, code(t, s.send(t, "POST", target, form), 409), "changed after you opened the form", "In the book now", "once")
	if got := s.again(t, it); got.Notes != "" {
		t.Errorf("notes = %q: a repeat did an undone change again", got.Notes)
	}
}

// TestAmendFromAnOldPage: saved, gone back in the browser, typed something else
// and saved again. The form carries the operation id it had before, and what
// was typed the second time must not be lost as a repeat.
func TestAmendFromAnOldPage(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	target := "/items/" + string(it.ID) + "/amend"
	form := edit(t, s.get(t, "/items/2026.1.1"), "notes", "first")
	s.follow(t, target, form)
	form.Set("notes", "second")
	body := code(t, s.send(t, "POST", target, form), 409)
	contains(t, body, "changed after you opened the form", ">first<", "second")
	s.follow(t, target, edit(t, body))
	if got := s.again(t, it); got.Notes != "second" {
		t.Errorf("notes = %q, want second", got.Notes)
	}
}

// TestAmendOfNothing: saving without a change offers no undo, because that
// would take back something else.
func TestAmendOfNothing(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	_, body := s.follow(t, "/items/"+string(it.ID)+"/amend", edit(t, s.get(t, "/items/2026.1.1")))
	contains(t, body, "Nothing was different")
	lacks(t, body, `data-key="u"`)
}

func TestAddPart(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	target := "/items/" + string(it.ID) + "/part"
	form := url.Values{"op": {"p1"}, "part": {"keyboard"}}
	to, body := s.follow(t, target, form)
	if to != "/items/2026.1.1a" {
		t.Errorf("leads to %s, want the part", to)
	}
	contains(t, body, "Part added.", "keyboard", "Part of")
	if again, _ := s.follow(t, target, form); again != to {
		t.Errorf("pressing twice leads to %s and %s", to, again)
	}
	for typed, why := range map[string]string{
		" ":                        "The part is empty: say what it is.",
		strings.Repeat("k", 9_999): "The part is 9999 characters long, 500 fit.",
	} {
		body := code(t, s.send(t, "POST", target, url.Values{"op": {"p2"}, "part": {typed}}), 400)
		contains(t, body, why, `id="add-part"`, "<details class=\"edit sheet\" open", `value="`+typed+`"`)
	}
	part := must(s.items.Item(t.Context(), "2026.1.1a"))(t)
	code(t, s.send(t, "POST", "/items/"+string(part.ID)+"/part", url.Values{"op": {"p3"}, "part": {"key cap"}}), 409)
	lacks(t, s.get(t, "/items/2026.1.1a"), "Add a part")
	if got := s.again(t, it); len(got.Parts) != 1 {
		t.Errorf("%d parts, want 1", len(got.Parts))
	}
}
