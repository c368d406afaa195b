package tags_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"haulbook/intake"
	"haulbook/intake/desk"
	"haulbook/intake/desk/tags"
)

// shelf is a ledger of codes small enough to read, and a printer that keeps
// what it was given.
type shelf struct {
	*desk.Frame
	now      time.Time
	address  string
	ret      string
	targets  map[intake.Code]intake.Target
	untagged []intake.Item
	printed  map[string]int
	entered  []intake.Code
	jobs     []tags.PrintJob
	broken   error
	misprint error
}

func (s *shelf) Resolve(_ context.Context, code intake.Code) (intake.Target, error) {
	target, ok := s.targets[code]
	if s.broken != nil {
		return intake.Target{}, s.broken
	}
	if !ok {
		return intake.Target{}, fmt.Errorf("code %s: %w", code, intake.ErrNotFound)
	}
	target.Code = code
	return target, nil
}

func (s *shelf) Untagged(context.Context) ([]intake.Item, error) { return s.untagged, s.broken }

func (s *shelf) Addresses(context.Context) (map[string]int, error) {
	return maps.Clone(s.printed), s.broken
}

func (s *shelf) Enter(_ context.Context, _ intake.By, code intake.Code) (intake.Item, error) {
	if !s.targets[code].Blank {
		return intake.Item{}, fmt.Errorf("enter: %w", intake.ErrConflict)
	}
	s.entered = append(s.entered, code)
	return intake.Item{ID: "0123456789abcdef", State: intake.StateEntered}, s.broken
}

// item finds untagged items by id and any numbered target by its number.
func (s *shelf) item(_ context.Context, ref string) (intake.Item, error) {
	for _, t := range s.targets {
		if t.Item != nil && t.Item.Number.String() == ref {
			return *t.Item, nil
		}
	}
	return intake.Item{}, fmt.Errorf("item %q: %w", ref, intake.ErrNotFound)
}

func (s *shelf) print(_ context.Context, by intake.By, job tags.PrintJob, w io.Writer) error {
	if s.misprint != nil {
		return s.misprint
	}
	s.jobs = append(s.jobs, job)
	_, err := fmt.Fprintf(w, "%%PDF %s by %s", by.Op, by.Person)
	return err
}

// stocks are two papers and a roll; sizes as sold, names of sizes only.
var stocks = []tags.Stock{
	{Name: "a4-3x8", PageW: 210, PageH: 297, Cols: 3, Rows: 8, Top: 0.5, PitchX: 70, PitchY: 37, LabelW: 70, LabelH: 37},
	{Name: "letter-3x10", PageW: 215.9, PageH: 279.4, Cols: 3, Rows: 10, Left: 4.76, Top: 12.7, PitchX: 69.85, PitchY: 25.4, LabelW: 66.675, LabelH: 25.4, Corner: 2},
	{Name: "roll-62x29", PageW: 62, PageH: 29, Cols: 1, Rows: 1, PitchX: 62, PitchY: 29, LabelW: 62, LabelH: 29, Corner: 1.5},
}

func open(t *testing.T, change ...func(*tags.Pages)) *shelf {
	t.Helper()
	s := &shelf{
		now: time.Date(2026, 11, 25, 9, 30, 0, 0, time.UTC), address: "http://192.168.1.20:8417",
		targets: map[intake.Code]intake.Target{}, printed: map[string]int{},
	}
	var err error
	s.Frame, err = desk.New(desk.Config{
		Book: "k7m2", Address: func() string { return s.address }, Log: slog.New(slog.DiscardHandler), Now: func() time.Time { return s.now },
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	p := &tags.Pages{
		Frame: s.Frame, Codes: s, Item: s.item, Print: s.print, Stocks: stocks,
		Return: func() string { return s.ret }, Now: func() time.Time { return s.now },
		Photo: func(id intake.PhotoID, pixels int) string { return fmt.Sprintf("/photos/%s/%d", id, pixels) },
	}
	for _, c := range change {
		c(p)
	}
	if err := p.Register(); err != nil {
		t.Fatal(err)
	}
	return s
}

func (s *shelf) send(method, target, form string, change ...func(*http.Request)) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, target, strings.NewReader(form))
	r.Host, r.RemoteAddr = "localhost:8417", "127.0.0.1:50000"
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Origin", "http://localhost:8417")
	}
	for _, c := range change {
		c(r)
	}
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w
}

func stranger(r *http.Request) {
	r.Host, r.RemoteAddr = "192.168.1.20:8417", "192.168.1.77:40000"
	if r.Header.Get("Origin") != "" {
		r.Header.Set("Origin", "http://192.168.1.20:8417")
	}
}

// code makes the nth of a row of valid codes.
func code(t *testing.T, n byte) intake.Code {
	t.Helper()
	c, err := intake.NewCode(strings.NewReader(strings.Repeat(string([]byte{n & 31, 1, 2, 3, 4, 5, 6 + n>>5, 7, 8}), 7)))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func numbered(n int, name string) *intake.Item {
	return &intake.Item{
		ID: intake.ID(fmt.Sprintf("item%012d", n)), Number: intake.Number{Year: 2026, Haul: 7, Item: n}, State: intake.StateAccessioned,
		Name: name, Maker: "Orrel & Dane", Serial: "0B81-5S203", Place: "Attic", Notes: "from a neighbour",
	}
}

func status(t *testing.T, w *httptest.ResponseRecorder, want int) {
	t.Helper()
	if w.Code != want {
		t.Fatalf("status = %d, want %d\n%s", w.Code, want, w.Body)
	}
}

func contains(t *testing.T, body string, wants ...string) {
	t.Helper()
	for _, want := range wants {
		if !strings.Contains(body, want) {
			t.Errorf("page lacks %q:\n%s", want, body)
		}
	}
}

func lacks(t *testing.T, body string, unwanted ...string) {
	t.Helper()
	for _, u := range unwanted {
		if strings.Contains(body, u) {
			t.Errorf("page shows %q:\n%s", u, body)
		}
	}
}

func TestKeepersScanOpensTheRecord(t *testing.T) {
	s := open(t)
	c, unnumbered := code(t, 1), code(t, 2)
	s.targets[c] = intake.Target{Item: numbered(14, "Video terminal")}
	s.targets[unnumbered] = intake.Target{Item: &intake.Item{ID: "0123456789abcdef", State: intake.StateEntered}}
	folded := strings.NewReplacer("1", "l", "0", "O").Replace(strings.ToLower(string(c)))
	for _, path := range []string{"/t/" + string(c), "/T/" + string(c), "/t/" + strings.ToLower(string(c)), "/T/" + folded} {
		w := s.send("GET", path, "")
		status(t, w, http.StatusSeeOther)
		if got := w.Header().Get("Location"); got != "/items/2026.7.14" {
			t.Errorf("%s leads to %s", path, got)
		}
	}
	w := s.send("GET", "/t/"+string(unnumbered), "")
	if got := w.Header().Get("Location"); got != "/items/0123456789abcdef" {
		t.Errorf("an item without a number leads to %q", got)
	}
	if len(s.entered) != 0 {
		t.Error("opening a tag changed something")
	}
}

func TestReplacedTagSaysSo(t *testing.T) {
	s := open(t)
	old, used := code(t, 1), code(t, 2)
	s.targets[old] = intake.Target{Item: numbered(14, "Video terminal"), Successor: used, Reason: "torn <off>"}
	w := s.send("GET", "/t/"+string(old), "")
	status(t, w, http.StatusSeeOther)
	cookie := strings.Split(w.Header().Get("Set-Cookie"), ";")[0]
	if cookie == "" {
		t.Fatal("no flash")
	}
	w = s.send("GET", "/tags", "", func(r *http.Request) { r.Header.Set("Cookie", cookie) })
	contains(t, w.Body.String(), "This tag was replaced (torn &lt;off&gt;)", string(used[:4])+" "+string(used[4:]), "2026.7.14")
	loose := code(t, 3)
	s.targets[loose] = intake.Target{Successor: used, Reason: "burnt"}
	contains(t, s.send("GET", "/t/"+string(loose), "").Body.String(), "This tag was replaced", "burnt")
}

func TestBlankTag(t *testing.T) {
	s := open(t)
	c, tied := code(t, 1), code(t, 2)
	s.targets[c] = intake.Target{Blank: true}
	s.targets[tied] = intake.Target{Item: numbered(1, "x")}
	w := s.send("GET", "/t/"+string(c), "")
	status(t, w, 200)
	contains(t, w.Body.String(), "Blank tag, not used yet", `action="/t/`+string(c)+`/enter"`, `name="op" value="`)
	status(t, s.send("POST", "/t/"+string(c)+"/enter", "op=1", stranger), 403)
	if len(s.entered) != 0 {
		t.Fatal("a stranger entered an item")
	}
	w = s.send("POST", "/T/"+strings.ToLower(string(c))+"/enter", "op=1")
	status(t, w, http.StatusSeeOther)
	if got := w.Header().Get("Location"); got != "/items/0123456789abcdef" || len(s.entered) != 1 {
		t.Errorf("entering leads to %q, entered %v", got, s.entered)
	}
	status(t, s.send("POST", "/t/"+string(tied)+"/enter", "op=2"), 409)
	status(t, s.send("POST", "/t/nonsense/enter", "op=3"), 400)
}

func TestPlacesAndDividers(t *testing.T) {
	s := open(t)
	place, divider := code(t, 1), code(t, 2)
	s.targets[place] = intake.Target{Place: "Attic › <East> bay"}
	s.targets[divider] = intake.Target{Divider: true}
	contains(t, s.send("GET", "/t/"+string(place), "").Body.String(), "Attic › &lt;East&gt; bay")
	contains(t, s.send("GET", "/t/"+string(divider), "").Body.String(), "Divider")
}

func TestUnknownCodeHelpsTheKeeper(t *testing.T) {
	s := open(t)
	w := s.send("GET", "/t/"+string(code(t, 9)), "")
	status(t, w, 404)
	contains(t, w.Body.String(), "never made it", `action="/find"`)
	for _, typed := range []string{"7K3M9Q2D", "x", "%3Cscript%3Ealert(1)%3C%2Fscript%3E", strings.Repeat("A", 10_000), "%E2%80%AEabc"} {
		w := s.send("GET", "/t/"+typed, "")
		status(t, w, 404)
		contains(t, w.Body.String(), "misread")
		lacks(t, w.Body.String(), "<script>alert", strings.Repeat("A", 50))
	}
}

// private is what a stranger must never see of an item.
var private = []string{"Orrel", "0B81", "Attic", "neighbour", `href="/items`, `href="/tags`, "/devices", "Undo", "<form", "action="}

func TestStrangersCard(t *testing.T) {
	s := open(t)
	c, public := code(t, 1), code(t, 2)
	s.targets[c] = intake.Target{Item: numbered(14, "Video terminal")}
	shown := numbered(15, "Line printer")
	shown.Public = true
	s.targets[public] = intake.Target{Item: shown}
	w := s.send("GET", "/T/"+string(c), "", stranger)
	status(t, w, 200)
	contains(t, w.Body.String(), "2026.7.14", "Part of a private collection")
	lacks(t, w.Body.String(), append(private, "Video terminal", "mailto:")...)
	w = s.send("GET", "/T/"+string(public), "", stranger)
	contains(t, w.Body.String(), "2026.7.15", "Line printer")
	lacks(t, w.Body.String(), private...)
	// Lost: it still brings the thing home.
	s.targets[c] = intake.Target{Item: numbered(14, "Video terminal"), Successor: public}
	contains(t, s.send("GET", "/t/"+string(c), "", stranger).Body.String(), "2026.7.14")
}

// TestStrangersCannotTellCodesApart: a blank tag, one that was undone, a place
// and one that was never made give the same answer to the byte.
func TestStrangersCannotTellCodesApart(t *testing.T) {
	s := open(t)
	withdrawn := numbered(3, "Undone")
	withdrawn.State = intake.StateWithdrawn
	s.targets[code(t, 1)] = intake.Target{Blank: true}
	s.targets[code(t, 2)] = intake.Target{Place: "Attic"}
	s.targets[code(t, 3)] = intake.Target{Item: withdrawn}
	s.targets[code(t, 4)] = intake.Target{Item: &intake.Item{ID: "0123456789abcdef"}}
	s.targets[code(t, 5)] = intake.Target{Divider: true}
	want := ""
	for _, c := range []string{string(code(t, 9)), string(code(t, 1)), string(code(t, 2)), string(code(t, 3)), string(code(t, 4)), string(code(t, 5)), "nonsense"} {
		w := s.send("GET", "/t/"+c, "", stranger)
		status(t, w, 404)
		lacks(t, w.Body.String(), private...)
		if want == "" {
			want = w.Body.String()
			contains(t, want, "Part of a private collection")
		} else if w.Body.String() != want {
			t.Errorf("code %s looks different:\n%s", c, w.Body)
		}
	}
}

func TestReturnLine(t *testing.T) {
	s := open(t)
	c := code(t, 1)
	s.targets[c] = intake.Target{Item: numbered(14, "x")}
	tests := []struct{ line, want, not string }{
		{"keeper@example.com", `href="mailto:keeper@example.com"`, ""},
		{" keeper@example.com ", `href="mailto:keeper@example.com"`, ""},
		{"Please write to keeper@example.com", "Please write to keeper@example.com", "mailto:"},
		{"Keeper <keeper@example.com>", "Keeper &lt;keeper@example.com&gt;", "mailto:"},
		{"keeper@example.com?cc=a@b.example", "keeper@example.com?cc=", "mailto:"},
		{"javascript:alert(1)", "javascript:alert(1)", "href=\"javascript"},
		{`<b onclick="x">call</b>`, "&lt;b onclick", "<b onclick"},
		{"טלפון 05550", "טלפון 05550", "mailto:"},
		{"", "The owner would be glad", "mailto:"},
	}
	for _, tt := range tests {
		s.ret = tt.line
		body := s.send("GET", "/t/"+string(c), "", stranger).Body.String()
		contains(t, body, tt.want)
		if tt.not != "" {
			lacks(t, body, tt.not)
		}
	}
	s = open(t, func(p *tags.Pages) { p.Return = nil })
	contains(t, s.send("GET", "/t/x", "", stranger).Body.String(), "private collection")
}

func TestGuessingCodesIsHeldUp(t *testing.T) {
	s := open(t)
	c := code(t, 1)
	s.targets[c] = intake.Target{Item: numbered(14, "x")}
	for range 500 { // a visitor who scans a whole room
		status(t, s.send("GET", "/t/"+string(c), "", stranger), 200)
	}
	guess := func(peer string) int {
		return s.send("GET", "/t/"+string(code(t, 9)), "", stranger, func(r *http.Request) { r.RemoteAddr = peer }).Code
	}
	for n := range 20 {
		if got := guess("192.168.1.66:1"); got != 404 {
			t.Fatalf("guess %d = %d, want 404", n+1, got)
		}
	}
	w := s.send("GET", "/t/"+string(c), "", stranger, func(r *http.Request) { r.RemoteAddr = "192.168.1.66:2" })
	status(t, w, 429)
	lacks(t, w.Body.String(), "2026.7.14")
	if w.Header().Get("Retry-After") == "" {
		t.Error("429 without Retry-After")
	}
	status(t, s.send("GET", "/t/"+string(c), "", stranger), 200)
	for n := range 580 {
		guess(fmt.Sprintf("10.%d.%d.1:1", n/250, n%250))
	}
	if got := guess("10.9.9.9:1"); got != 429 {
		t.Errorf("guess 601 altogether = %d, want 429", got)
	}
	status(t, s.send("GET", "/t/"+string(c), ""), http.StatusSeeOther) // never the keeper
	s.now = s.now.Add(10 * time.Minute)
	status(t, s.send("GET", "/t/"+string(c), "", stranger), 200)
}

func TestBrokenLedgerIsNoCard(t *testing.T) {
	s := open(t)
	s.broken = errors.New("disk I/O error in /somewhere")
	w := s.send("GET", "/t/"+string(code(t, 1)), "", stranger)
	status(t, w, 500)
	lacks(t, w.Body.String(), "disk")
}
