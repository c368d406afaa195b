package bench_test

import (
	"bytes"
	"context"
	"fmt"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"haulbook/cmd/haulbook/drawn"
	"haulbook/intake"
	"haulbook/intake/desk"
	"haulbook/intake/desk/bench"
	"haulbook/intake/grouping"
	"haulbook/intake/originals"
	"haulbook/intake/sqlite"
)

// stand is a bench over a real book, filled with drawn photos whose truth is
// known, and a browser with its cookies in front of it.
type stand struct {
	*desk.Frame
	t        *testing.T
	db       *sqlite.DB
	store    sqlite.Bench
	items    sqlite.Items
	history  sqlite.History
	receiver intake.Receiver
	shows    map[int64]int            // time of a shot → the thing it shows
	code     map[string]string        // photo name → tag code in view
	unsure   map[int]bool             // things whose first boundary is in doubt
	byThing  map[int][]intake.PhotoID // in shooting order
	things   []drawn.Thing
	cookies  map[string]string
}

var keeper = intake.By{Person: "Ada Quill", Device: "workshop"}

// openStand opens an empty book.
func openStand(t *testing.T) *stand {
	t.Helper()
	s := &stand{
		t: t, shows: map[int64]int{}, code: map[string]string{}, unsure: map[int]bool{},
		byThing: map[int][]intake.PhotoID{}, cookies: map[string]string{},
	}
	db, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "book.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	s.db, s.store, s.items, s.history = db, sqlite.Bench{DB: db, Split: s.split}, sqlite.Items{DB: db}, sqlite.History{DB: db}
	s.receiver = intake.Receiver{Originals: originals.Store{Dir: t.TempDir()}, Ledger: sqlite.Photos{DB: db}, Look: s.look, Now: time.Now}
	if s.Frame, err = desk.New(desk.Config{Book: "k7m2", Changed: db.Version}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	err = bench.Register(s.Frame, bench.Config{
		Groups: s.store, Plates: s.store, Cuts: s.store, Photos: sqlite.Photos{DB: db},
		History: s.history.Of, Item: s.items.Item, Inboxes: []string{"/home/ada/inbox"},
	})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// fullStand has a haul of four things, the first with a tag made ahead.
func fullStand(t *testing.T) *stand {
	t.Helper()
	s := openStand(t)
	codes, err := sqlite.Codes{DB: s.db}.Blank(t.Context(), keeper, 1)
	if err != nil {
		t.Fatal(err)
	}
	s.take(drawn.Options{Things: 4, Codes: []string{string(codes[0])}}, "Millbrook swap meet", 0)
	return s
}

// drawnHauls are kept between tests: drawing is most of what they take.
var drawnHauls sync.Map

// draw invents a small haul. What its tags say is not drawn into the pictures,
// because look knows it; so tests with other codes share them.
func draw(t *testing.T, o drawn.Options) drawn.Haul {
	t.Helper()
	codes := o.Codes
	o.Width, o.Codes = 160, slices.Repeat([]string{"00000000"}, len(codes))
	key := fmt.Sprintf("%+v", o)
	kept, ok := drawnHauls.Load(key)
	if !ok {
		h, err := drawn.Invent(o)
		if err != nil {
			t.Fatal(err)
		}
		kept, _ = drawnHauls.LoadOrStore(key, h)
	}
	h := kept.(drawn.Haul)
	h.Things = slices.Clone(h.Things)
	for i := range h.Things {
		if h.Things[i].Code != "" {
			h.Things[i].Code, codes = codes[0], codes[1:]
		}
	}
	return h
}

// take draws a haul and takes it in. Its things are numbered from base.
func (s *stand) take(o drawn.Options, haul string, base int) {
	s.t.Helper()
	h := draw(s.t, o)
	s.things = append(s.things, h.Things...)
	thing := -1
	for _, p := range h.Photos {
		if !p.Damaged { // a damaged file shows the thing of the photo before it
			thing = p.Thing
		}
		if p.Role == drawn.Tag {
			s.code[p.Name] = h.Things[p.Thing].Code
		}
		a := s.arrive(haul, p.Name, p.Bytes)
		s.shows[a.Photo.Taken().UnixNano()] = base + thing
		s.byThing[base+thing] = append(s.byThing[base+thing], a.Photo.ID)
	}
}

func (s *stand) arrive(haul, name string, data []byte) intake.Arrival {
	s.t.Helper()
	path := filepath.Join(s.t.TempDir(), name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		s.t.Fatal(err)
	}
	a, err := s.receiver.Receive(s.t.Context(), keeper, intake.Arrival{Path: path, Haul: haul})
	if err != nil || a.Outcome != intake.Added {
		s.t.Fatalf("%s: outcome %q, reason %q, error %v", name, a.Outcome, a.Reason, err)
	}
	return a
}

// withoutTime takes the EXIF segment out of a JPEG (APP1; CIPA DC-008, 4.5.4),
// and with it the time.
func withoutTime(t *testing.T, jpeg []byte) []byte {
	t.Helper()
	at := bytes.Index(jpeg, []byte{0xff, 0xe1})
	if at < 0 {
		t.Fatal("no EXIF in the drawn photo")
	}
	length := int(jpeg[at+2])<<8 | int(jpeg[at+3])
	return append(bytes.Clone(jpeg[:at]), jpeg[at+2+length:]...)
}

func (s *stand) look(_ context.Context, _ string, p intake.Photo) ([]intake.SeenCode, error) {
	if code := s.code[p.Name]; code != "" {
		return []intake.SeenCode{{Text: "http://192.168.1.20:8417/T/" + code, Symbology: intake.SymbologyQR, Share: 0.1}}, nil
	}
	return nil, nil
}

// split knows the truth: a boundary stands where the thing changes, unless a
// human said otherwise.
func (s *stand) split(shots []grouping.Shot) grouping.Result {
	var r grouping.Result
	for i := range shots {
		r.Order = append(r.Order, i)
	}
	slices.SortStableFunc(r.Order, func(a, b int) int { return shots[a].Taken.Compare(shots[b].Taken) })
	for k, i := range r.Order {
		b := intake.Boundary{Cut: true, Certainty: 1}
		if k > 0 {
			thing, before := s.shows[shots[i].Taken.UnixNano()], s.shows[shots[r.Order[k-1]].Taken.UnixNano()]
			b = intake.Boundary{Cut: thing != before, Certainty: 0.97}
			if b.Cut && s.unsure[thing] {
				b.Certainty = 0.62
			}
			if shots[i].Cut != grouping.Unsaid {
				b = intake.Boundary{Cut: shots[i].Cut == grouping.CutHere, Certainty: 1, Human: true}
			}
		}
		r.Before = append(r.Before, b)
	}
	return r
}

// group is the address of the group that shows a thing now.
func (s *stand) group(thing int) string {
	s.t.Helper()
	groups, err := s.store.Ribbon(s.t.Context(), "")
	if err != nil {
		s.t.Fatal(err)
	}
	for _, g := range groups {
		for _, p := range g.Photos {
			if slices.Contains(s.byThing[thing], p.ID) {
				return "/bench/" + g.ID()
			}
		}
	}
	s.t.Fatalf("no group shows thing %d", thing)
	return ""
}

// answer is one page as a browser without scripts gets it.
type answer struct {
	t      *testing.T
	status int
	to     string // where it redirects, "" nowhere
	body   string
}

func (s *stand) send(method, target string, form url.Values, change ...func(*http.Request)) answer {
	s.t.Helper()
	r := httptest.NewRequestWithContext(s.t.Context(), method, target, strings.NewReader(form.Encode()))
	r.Host, r.RemoteAddr = "localhost:8417", "127.0.0.1:50000"
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Origin", "http://localhost:8417")
	}
	for name, value := range s.cookies {
		r.AddCookie(&http.Cookie{Name: name, Value: value})
	}
	for _, c := range change {
		c(r)
	}
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	for _, c := range w.Result().Cookies() {
		if s.cookies[c.Name] = c.Value; c.MaxAge < 0 {
			delete(s.cookies, c.Name)
		}
	}
	return answer{s.t, w.Code, w.Header().Get("Location"), w.Body.String()}
}

func (s *stand) get(target string, change ...func(*http.Request)) answer {
	s.t.Helper()
	return s.send(http.MethodGet, target, nil, change...)
}

func live(r *http.Request) { r.Header.Set("X-Desk-Live", "1") }

// post sends a form with an operation id of its own unless one is among pairs.
func (s *stand) post(target string, pairs ...string) answer {
	s.t.Helper()
	form := url.Values{"op": {string(intake.NewID())}}
	for i := 0; i < len(pairs); i += 2 {
		form.Set(pairs[i], pairs[i+1])
	}
	return s.send(http.MethodPost, target, form)
}

// follow opens pages until one does not redirect.
func (s *stand) follow(a answer) answer {
	s.t.Helper()
	for range 5 {
		if a.to == "" {
			return a
		}
		a = s.get(a.to)
	}
	s.t.Fatalf("redirected in circles, last to %s", a.to)
	return a
}

func (a answer) want(status int, texts ...string) answer {
	a.t.Helper()
	if a.status != status {
		a.t.Fatalf("status %d, want %d:\n%s", a.status, status, a.text())
	}
	for _, text := range texts {
		if !strings.Contains(a.body, text) {
			a.t.Errorf("page lacks %q:\n%s", text, a.text())
		}
	}
	return a
}

func (a answer) lacks(texts ...string) answer {
	a.t.Helper()
	for _, text := range texts {
		if strings.Contains(a.body, text) {
			a.t.Errorf("page has %q:\n%s", text, a.text())
		}
	}
	return a
}

var (
	markup = regexp.MustCompile(`(?s)<head.*</head>|<[^>]*>`)
	blanks = regexp.MustCompile(`\s+`)
)

// text is what the page says, for messages of failed tests.
func (a answer) text() string {
	return blanks.ReplaceAllString(html.UnescapeString(markup.ReplaceAllString(a.body, " ")), " ")
}

// value is what a field of the plate form holds.
func (a answer) value(name string) string {
	a.t.Helper()
	m := regexp.MustCompile(fmt.Sprintf(`<input[^>]* name="%s" value="([^"]*)"`, name)).FindStringSubmatch(a.body)
	if m == nil {
		a.t.Fatalf("no field %s:\n%s", name, a.text())
	}
	return html.UnescapeString(m[1])
}

// focus is the id of what has the focus when the page opens.
func (a answer) focus() string {
	a.t.Helper()
	m := regexp.MustCompile(`<[^>]* id="([^"]*)"[^>]* autofocus`).FindAllStringSubmatch(a.body, -1)
	if len(m) != 1 {
		a.t.Fatalf("%d elements take the focus, want 1", len(m))
	}
	return m[0][1]
}

// film lists the photos of the group on the page, as id and role.
func (a answer) film() (ids, roles []string) {
	for _, m := range regexp.MustCompile(`data-show="([0-9a-f]{64})" data-as="([a-z]+)"`).FindAllStringSubmatch(a.body, -1) {
		ids, roles = append(ids, m[1]), append(roles, m[2])
	}
	return ids, roles
}

// undo takes back what the flash on the page offers, as its button would, and
// returns where that leads.
func (s *stand) undo(a answer) string {
	s.t.Helper()
	var seq int64
	if _, err := fmt.Sscan(a.value("seq"), &seq); err != nil {
		s.t.Fatal(err)
	}
	if _, err := s.history.Undo(s.t.Context(), keeper, seq); err != nil {
		s.t.Fatal(err)
	}
	return a.value("back")
}
