package today_test

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"haulbook/intake"
	"haulbook/intake/desk"
	"haulbook/intake/desk/today"
	"haulbook/intake/grouping"
	"haulbook/intake/sqlite"
	"haulbook/metadata"
)

// shop is the page over a real book.
type shop struct {
	*desk.Frame
	photos  sqlite.Photos
	bench   sqlite.Bench
	items   sqlite.Items
	codes   sqlite.Codes
	history sqlite.History
	doubt   bool // every boundary is doubtful
	human   bool // … but somebody has said so
}

var keeper = intake.By{Person: "Ada Quill", Device: "workshop"}

func open(t *testing.T, change ...func(*today.Config)) *shop {
	t.Helper()
	db, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "book.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	s := &shop{photos: sqlite.Photos{DB: db}, items: sqlite.Items{DB: db}, codes: sqlite.Codes{DB: db}, history: sqlite.History{DB: db}}
	s.bench = sqlite.Bench{DB: db, Split: s.minutes}
	if s.Frame, err = desk.New(desk.Config{Book: "k7m2", Changed: db.Version}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	c := today.Config{
		Ledger: s.photos, Waiting: s.bench.Groups, Recent: s.items.List, Entered: s.items.Entered,
		Inboxes: []string{"/home/ada/<inbox>"},
	}
	for _, change := range change {
		change(&c)
	}
	if err := today.Register(s.Frame, c); err != nil {
		t.Fatal(err)
	}
	return s
}

// minutes is a split that tests can reckon with: a minute's gap is a boundary.
func (s *shop) minutes(shots []grouping.Shot) (r grouping.Result) {
	certainty := 1.0
	if s.doubt {
		certainty = 0.6
	}
	for i := range shots {
		r.Order = append(r.Order, i)
	}
	slices.SortStableFunc(r.Order, func(a, b int) int { return shots[a].Taken.Compare(shots[b].Taken) })
	for k, i := range r.Order {
		cut := k == 0 || shots[i].Taken.Sub(shots[r.Order[k-1]].Taken) >= time.Minute
		b := intake.Boundary{Cut: cut, Certainty: certainty, Human: s.human}
		if k == 0 {
			b.Certainty = 1
		}
		r.Before = append(r.Before, b)
	}
	return r
}

// shot is one invented photo, at a second of the afternoon; a negative one has
// no time.
func shot(second int, codes ...intake.SeenCode) intake.Arrival {
	name := fmt.Sprintf("IMG_%04d.JPG", second)
	a := intake.Arrival{Path: "/inbox/" + name, Haul: "Millbrook swap meet", Photo: intake.Photo{
		ID: sha256.Sum256([]byte(name)), Name: name, Look: intake.LookDone, Codes: codes,
		Meta: metadata.Info{Format: metadata.FormatJPEG},
	}}
	if second >= 0 {
		a.Photo.Meta.Taken.Wall = time.Date(2026, 5, 9, 14, 0, second, 0, time.UTC)
	}
	return a
}

func (s *shop) receive(t *testing.T, arrivals ...intake.Arrival) {
	t.Helper()
	for _, a := range arrivals {
		if err := s.photos.Receive(t.Context(), keeper, &a); err != nil {
			t.Fatal(err)
		}
	}
}

func (s *shop) read(t *testing.T, name string) intake.Item {
	t.Helper()
	groups := must(s.bench.Groups(t.Context(), ""))(t)
	return must(s.bench.Read(t.Context(), keeper, groups[0].ID(), intake.Reading{Name: name}))(t)
}

func must[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func (s *shop) send(change ...func(*http.Request)) *httptest.ResponseRecorder {
	r := httptest.NewRequest("GET", "/", nil)
	r.Host, r.RemoteAddr = "localhost:8417", "127.0.0.1:50000"
	for _, c := range change {
		c(r)
	}
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w
}

func (s *shop) get(t *testing.T) string {
	t.Helper()
	w := s.send()
	if w.Code != 200 {
		t.Fatalf("status = %d\n%s", w.Code, w.Body)
	}
	return w.Body.String()
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

// TestEmptyBookSaysWhatToDo, with the folder as the keeper knows it.
func TestEmptyBookSaysWhatToDo(t *testing.T) {
	body := open(t).get(t)
	contains(t, body, "The book is empty", "/home/ada/&lt;inbox&gt;", `href="/tags"`, `data-live id="today"`)
	lacks(t, body, "Nothing waits", "Read plates", "Print tags", "0 items", "Last numbered")
}

func TestNamesEveryInbox(t *testing.T) {
	s := open(t, func(c *today.Config) { c.Inboxes = []string{"/a", "/b"} })
	contains(t, s.get(t), "<code>/a</code> or <code>/b</code>")
}

// TestWhatWaits: every kind of thing that wants a hand stands on the page with
// the link to the page that deals with it.
func TestWhatWaits(t *testing.T) {
	s := open(t)
	s.receive(t, shot(0), shot(5), shot(600), shot(1200), shot(1205), shot(1210), shot(-1))
	pending := shot(1215)
	pending.Photo.Look = intake.LookPending
	s.receive(t, pending)
	s.read(t, "video terminal")
	if err := s.photos.Refuse(t.Context(), intake.Arrival{Path: "/inbox/list.pdf", Reason: "is not a photo in a format we read"}); err != nil {
		t.Fatal(err)
	}
	groups := must(s.bench.Groups(t.Context(), ""))(t)
	body := s.get(t)
	contains(t, body, "1 item · 8 photos · 1 haul", "1 photo arrived and waits for its picture",
		`<a href="/hauls/2026.1" dir="auto">Millbrook swap meet</a>`, "haul 2026.1 · 2 groups to read", `<a class="btn go end" href="/bench/`+groups[0].ID()+`">Read plates`,
		`href="/bench/`+groups[1].ID()+`"`, "4 photos", "1 item without a printed tag", `href="/tags"`,
		"Without a time", `href="/bench/`+groups[2].ID()+`"`, "IMG_-001.JPG", "Left alone", "list.pdf", "is not a photo in a format we read",
		"Last numbered", "2026.1.1", "video terminal")
	lacks(t, body, "Nothing waits", "The book is empty", "doubtful", "Without a number yet")
}

// TestNothingWaits when everything has its number and its tag.
func TestNothingWaits(t *testing.T) {
	s := open(t)
	s.receive(t, shot(0))
	it := s.read(t, "modem")
	contains(t, s.get(t), "1 item without a printed tag")
	code := must(s.codes.For(t.Context(), keeper, it.ID))(t)
	if err := s.codes.Printed(t.Context(), keeper, []intake.Print{{Code: code, Stock: "a4-3x8", Address: "http://192.168.1.20:8417"}}); err != nil {
		t.Fatal(err)
	}
	body := s.get(t)
	contains(t, body, "Nothing waits", "1 item · 1 photo · 1 haul", "Last numbered")
	lacks(t, body, "Print tags", "Read plates")
}

// TestUndoneNumberIsPending: the group that comes back shows the number that
// waits for it.
func TestUndoneNumberIsPending(t *testing.T) {
	s := open(t)
	s.receive(t, shot(0))
	s.read(t, "modem")
	last := must(s.history.Last(t.Context(), keeper.Device))(t)
	must(s.history.Undo(t.Context(), keeper, last.Seq))(t)
	contains(t, s.get(t), `<span class="tag pending"><bdi>2026.1.1</bdi></span>`, "1 group to read")
}

// TestDoubts are counted, so that they are looked at first; what a human said is
// no doubt.
func TestDoubts(t *testing.T) {
	s := open(t)
	s.doubt = true
	s.receive(t, shot(0), shot(600))
	contains(t, s.get(t), "1 doubtful boundary<")
	s.receive(t, shot(1200))
	contains(t, s.get(t), "2 doubtful boundaries")
	s.human = true
	lacks(t, s.get(t), "doubtful")
}

// TestEnteredItemsWait: a thing that has only its tag is on the page until its
// plate is read, once, whether it has photos or not.
func TestEnteredItemsWait(t *testing.T) {
	s := open(t)
	blank := must(s.codes.Blank(t.Context(), keeper, 2))(t)
	bare := must(s.codes.Enter(t.Context(), keeper, blank[0]))(t)
	body := s.get(t)
	contains(t, body, "Without a number yet", `href="/items/`+string(bare.ID)+`"`, string(blank[0][:4])+" "+string(blank[0][4:]), "no photo yet")
	lacks(t, body, "The book is empty", "Nothing waits")
	// One whose photos wait in a group stands there, and not twice.
	shown := must(s.codes.Enter(t.Context(), keeper, blank[1]))(t)
	s.receive(t, shot(0, intake.SeenCode{Text: blank[1].TagURL("http://192.168.1.20:8417"), Symbology: intake.SymbologyQR, Share: 0.1}))
	body = s.get(t)
	contains(t, body, "1 photo, tagged", string(bare.ID))
	lacks(t, body, string(shown.ID))
	// A desk that was not told of them has none.
	s = open(t, func(c *today.Config) { c.Entered = nil })
	contains(t, s.get(t), "The book is empty")
}

// TestLongRowsAreCut: the page is a look, not a list, and counts the rest.
func TestLongRowsAreCut(t *testing.T) {
	s := open(t)
	for i := range 30 {
		s.receive(t, shot(i*600))
	}
	for i := range 11 {
		if err := s.photos.Refuse(t.Context(), intake.Arrival{Path: fmt.Sprintf("/inbox/file-%d.pdf", i), Reason: "is not a photo"}); err != nil {
			t.Fatal(err)
		}
	}
	for range 7 {
		s.read(t, "modem")
	}
	for i := range 8 {
		s.receive(t, shot(30_000+i*600))
	}
	body := s.get(t)
	contains(t, body, "31 groups to read", "and 7 more", "and 3 more")
	if got := strings.Count(body, `<li><a href="/bench/`); got != 24 {
		t.Errorf("%d groups shown, want 24", got)
	}
	if got := strings.Count(body, "file-"); got != 8 {
		t.Errorf("%d files named, want 8", got)
	}
	if got := strings.Count(body, `<li><a href="/items/2026.1.`); got != 6 {
		t.Errorf("%d items shown, want 6", got)
	}
}

// TestHostileWords stay words.
func TestHostileWords(t *testing.T) {
	const hostile = "\"><script>alert(1)</script><b onmouseover='x'>&amp; \u202egnp.exe {{.Base}} %s"
	s := open(t)
	a := shot(0)
	a.Haul, a.Photo.Name = hostile, hostile
	b := shot(-1)
	b.Haul, b.Photo.Name = hostile, hostile
	s.receive(t, a, shot(600), b)
	s.read(t, hostile)
	c := shot(1200)
	c.Haul, c.Photo.Name = hostile, hostile
	s.receive(t, c)
	if err := s.photos.Refuse(t.Context(), intake.Arrival{Path: "/inbox/" + hostile, Reason: hostile}); err != nil {
		t.Fatal(err)
	}
	body := s.get(t)
	lacks(t, body, "<script>alert", "<b onmouseover", "%!")
	if got := strings.Count(body, "&lt;script&gt;alert(1)&lt;/script&gt;"); got < 5 {
		t.Errorf("the hostile text stands %d times on the page, want haul, photo, item, file and reason", got)
	}
}

// TestStrangersSeeNothing of what waits.
func TestStrangersSeeNothing(t *testing.T) {
	s := open(t)
	s.receive(t, shot(0))
	w := s.send(func(r *http.Request) { r.Host, r.RemoteAddr = "192.168.1.20:8417", "192.168.1.77:40000" })
	if w.Code != http.StatusForbidden {
		t.Errorf("status = %d, want 403", w.Code)
	}
	lacks(t, w.Body.String(), "Millbrook", "group", "IMG_", "inbox", "photo")
}

// TestABookThatIsAway is an error page, whichever question fails.
func TestABookThatIsAway(t *testing.T) {
	away := errors.New("the disk is away")
	for name, change := range map[string]func(*today.Config){
		"waiting": func(c *today.Config) {
			c.Waiting = func(context.Context, intake.ID) ([]intake.Group, error) { return nil, away }
		},
		"entered": func(c *today.Config) {
			c.Entered = func(context.Context) ([]intake.Item, error) { return nil, away }
		},
		"recent": func(c *today.Config) {
			c.Recent = func(context.Context, intake.Number, int) ([]intake.Item, error) { return nil, away }
		},
	} {
		t.Run(name, func(t *testing.T) {
			w := open(t, change).send()
			if w.Code != http.StatusInternalServerError {
				t.Errorf("status = %d, want 500", w.Code)
			}
			lacks(t, w.Body.String(), "the disk is away", "The book is empty", "Nothing waits")
		})
	}
}
