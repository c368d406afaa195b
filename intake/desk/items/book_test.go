package items_test

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"haulbook/intake"
	"haulbook/intake/desk"
	"haulbook/intake/desk/items"
	"haulbook/intake/grouping"
	"haulbook/intake/sqlite"
	"haulbook/metadata"
)

// shop is the pages over a real book, with everything a test asks of it.
type shop struct {
	*desk.Frame
	db       *sqlite.DB
	photos   sqlite.Photos
	hauls    sqlite.Hauls
	bench    sqlite.Bench
	items    sqlite.Items
	codes    sqlite.Codes
	history  sqlite.History
	previews map[intake.PhotoID]string // paths of what is drawn
	erased   []intake.PhotoID          // photos whose bytes were erased
}

var keeper = intake.By{Person: "Ada Quill", Device: "workshop"}

func open(t *testing.T) *shop {
	t.Helper()
	// A clock that never stands still, so that the order of events shows.
	var ticks atomic.Int64
	start := time.Date(2026, 5, 9, 18, 0, 0, 0, time.UTC)
	now := func() time.Time { return start.Add(time.Duration(ticks.Add(1)) * time.Second) }
	db, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "book.db"), sqlite.Options{Now: now})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	s := &shop{
		db: db, photos: sqlite.Photos{DB: db}, hauls: sqlite.Hauls{DB: db}, bench: sqlite.Bench{DB: db, Split: minutes},
		items: sqlite.Items{DB: db}, codes: sqlite.Codes{DB: db}, history: sqlite.History{DB: db}, previews: map[intake.PhotoID]string{},
	}
	if s.Frame, err = desk.New(desk.Config{Book: "k7m2", Changed: db.Version, Now: now}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	err = items.Register(s.Frame, items.Config{
		Items: s.items, Hauls: s.hauls, History: s.history, Photo: s.photos.Photo, Waiting: s.bench.Groups, Currency: "EUR",
		Preview: func(_ context.Context, id intake.PhotoID, size string) (string, error) {
			if path, ok := s.previews[id]; ok {
				return path + "." + size, nil
			}
			return "", errors.New("not drawn")
		},
		Forget: func(ctx context.Context, by intake.By, id intake.PhotoID) error {
			s.erased = append(s.erased, id)
			delete(s.previews, id)
			return s.photos.Forget(ctx, by, id)
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// minutes is a split that tests can reckon with: a minute's gap is a boundary.
func minutes(shots []grouping.Shot) (r grouping.Result) {
	for i := range shots {
		r.Order = append(r.Order, i)
	}
	slices.SortStableFunc(r.Order, func(a, b int) int { return shots[a].Taken.Compare(shots[b].Taken) })
	for k, i := range r.Order {
		cut := k == 0 || shots[i].Taken.Sub(shots[r.Order[k-1]].Taken) >= time.Minute
		r.Before = append(r.Before, intake.Boundary{Cut: cut, Certainty: 1})
	}
	return r
}

var afternoon = time.Date(2026, 5, 9, 14, 0, 0, 0, time.UTC)

// shot is one invented photo, at a second of the afternoon.
func shot(second int, codes ...intake.SeenCode) intake.Arrival {
	name := fmt.Sprintf("IMG_%04d.JPG", second)
	wall := afternoon.Add(time.Duration(second) * time.Second)
	return intake.Arrival{
		Path: "/inbox/" + name, Haul: "Millbrook swap meet", Size: 300_000, Modified: wall,
		Photo: intake.Photo{
			ID: sha256.Sum256([]byte(name)), Name: name, Size: 300_000, Codes: codes, Look: intake.LookDone,
			Meta: metadata.Info{
				Format: metadata.FormatJPEG, Width: 4000, Height: 3000, Orientation: 1, Make: "Lumora", Model: "Pocket 9",
				Taken: metadata.Taken{Raw: wall.Format("2006:01:02 15:04:05"), RawOffset: "+02:00", Wall: wall, Offset: "+02:00", From: "DateTimeOriginal"},
			},
		},
	}
}

func photoAt(second int) intake.PhotoID { return shot(second).Photo.ID }

func (s *shop) receive(t *testing.T, arrivals ...intake.Arrival) {
	t.Helper()
	for _, a := range arrivals {
		if err := s.photos.Receive(t.Context(), keeper, &a); err != nil {
			t.Fatal(err)
		}
	}
}

// item photographs one thing at this second of the afternoon and reads its plate.
func (s *shop) item(t *testing.T, second int, r intake.Reading) intake.Item {
	t.Helper()
	s.receive(t, shot(second), shot(second+5))
	groups := must(s.bench.Groups(t.Context(), ""))(t)
	at := slices.IndexFunc(groups, func(g intake.Group) bool { return g.Photos[0].ID == photoAt(second) })
	if at < 0 {
		t.Fatalf("no group begins at second %d", second)
	}
	return must(s.bench.Read(t.Context(), keeper, groups[at].ID(), r))(t)
}

// terminal is the thing that most tests look at.
func (s *shop) terminal(t *testing.T) intake.Item {
	t.Helper()
	return s.item(t, 0, intake.Reading{Name: "video terminal", Maker: "Orrel & Dane", Model: "VT-7/B", Serial: "0B81-5S203"})
}

// again reads an item as the book has it now.
func (s *shop) again(t *testing.T, it intake.Item) intake.Item {
	t.Helper()
	return must(s.items.Item(t.Context(), string(it.ID)))(t)
}

// must turns a result with an error into the result, or ends the test.
func must[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// send answers one request from the book's own computer, with the Origin that a
// browser would send. Every page that comes back is looked over.
func (s *shop) send(t *testing.T, method, target string, form url.Values, change ...func(*http.Request)) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest(method, target, strings.NewReader(form.Encode()))
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
	if method != http.MethodHead && strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") && w.Body.Len() > 0 && w.Code != http.StatusSeeOther {
		wellFormed(t, target, w.Body.String())
	}
	return w
}

func (s *shop) get(t *testing.T, target string) string {
	t.Helper()
	w := s.send(t, "GET", target, nil)
	if w.Code != 200 {
		t.Fatalf("%s = %d, want 200\n%s", target, w.Code, w.Body)
	}
	return w.Body.String()
}

// follow sends a form, checks that it was accepted, and returns the page it
// leads to, with the flash that the redirect carried.
func (s *shop) follow(t *testing.T, target string, form url.Values) (location, body string) {
	t.Helper()
	w := s.send(t, "POST", target, form)
	if w.Code != http.StatusSeeOther {
		t.Fatalf("%s = %d, want 303\n%s", target, w.Code, w.Body)
	}
	location = w.Header().Get("Location")
	page := s.send(t, "GET", location, nil, func(r *http.Request) {
		for _, c := range w.Result().Cookies() {
			r.AddCookie(c)
		}
	})
	return location, page.Body.String()
}

// stranger makes r come from a phone in the house that nobody paired.
func stranger(r *http.Request) {
	r.Host, r.RemoteAddr = "192.168.1.20:8417", "192.168.1.77:40000"
	if r.Header.Get("Origin") != "" {
		r.Header.Set("Origin", "http://192.168.1.20:8417")
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

var (
	element = regexp.MustCompile(`<(/?)([a-zA-Z][a-zA-Z0-9]*)((?:\s+[a-zA-Z:-]+(?:="[^"]*")?)*)\s*>`)
	noEnd   = regexp.MustCompile(`^(?:input|img|meta|link|br|hr)$`)
	ids     = regexp.MustCompile(`\sid="([^"]*)"`)
	inline  = regexp.MustCompile(`\s(?:style|on[a-z]+)=`)
	quoted  = regexp.MustCompile(`="[^"]*"`) // where such words are only words
)

// wellFormed checks that every element is closed in its turn, that no id stands
// twice and that nothing is inline, which the policy would refuse.
func wellFormed(t *testing.T, target, body string) {
	t.Helper()
	var stack []string
	seen := map[string]bool{}
	for _, m := range element.FindAllStringSubmatch(body, -1) {
		if inline.MatchString(quoted.ReplaceAllString(m[3], `=""`)) {
			t.Errorf("%s: %s is inline", target, m[0])
		}
		if id := ids.FindStringSubmatch(m[3]); id != nil {
			if seen[id[1]] {
				t.Errorf("%s: id %q stands twice", target, id[1])
			}
			seen[id[1]] = true
		}
		switch {
		case noEnd.MatchString(m[2]):
		case m[1] == "":
			stack = append(stack, m[2])
		case len(stack) == 0 || stack[len(stack)-1] != m[2]:
			t.Fatalf("%s: </%s> closes %v", target, m[2], stack)
		default:
			stack = stack[:len(stack)-1]
		}
	}
	if len(stack) > 0 {
		t.Errorf("%s: %v stay open", target, stack)
	}
}

// draw puts a preview of every size on disk, and returns its bytes.
func (s *shop) draw(t *testing.T, id intake.PhotoID, jpeg []byte) {
	t.Helper()
	path := filepath.Join(t.TempDir(), id.String())
	for _, size := range []string{"small", "large", "full"} {
		if err := os.WriteFile(path+"."+size, jpeg, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	s.previews[id] = path
}

// hostile is text that tries to be more than text.
const hostile = "\"><script>alert(1)</script><b onmouseover='x'>&amp; \u202egnp.exe {{.Base}} %s"

// harmless is how hostile must stand on a page: html/template writes quotes as
// numbers.
const harmless = "&lt;script&gt;alert(1)&lt;/script&gt;"
