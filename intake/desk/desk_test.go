package desk_test

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// bench is a frame to try things on, with what it wrote and a clock to set.
type bench struct {
	*desk.Frame
	config  desk.Config
	log     *bytes.Buffer
	devices *memoryDevices
	now     time.Time
	address string
}

func open(t *testing.T, change ...func(*desk.Config)) *bench {
	t.Helper()
	b := &bench{
		log: &bytes.Buffer{}, devices: &memoryDevices{},
		now: time.Date(2026, 11, 25, 9, 30, 0, 0, time.UTC), address: "http://192.168.1.20:8417",
	}
	b.config = desk.Config{
		Book: "k7m2", Devices: b.devices, Address: func() string { return b.address },
		Retired: func() []string { return []string{"http://shed.lan:8417"} },
		Log:     slog.New(slog.NewTextHandler(b.log, nil)), Now: func() time.Time { return b.now },
	}
	for _, c := range change {
		c(&b.config)
	}
	var err error
	if b.Frame, err = desk.New(b.config); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.Close)
	return b
}

// send answers one request. What is not set in r looks like the book's own
// computer at work, with the Origin that a browser would send.
func (b *bench) send(t *testing.T, method, target, form string, change ...func(*http.Request)) *httptest.ResponseRecorder {
	t.Helper()
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
	b.ServeHTTP(w, r)
	return w
}

// stranger makes r come from a phone in the house that nobody paired.
func stranger(r *http.Request) {
	r.Host, r.RemoteAddr = "192.168.1.20:8417", "192.168.1.77:40000"
	if r.Header.Get("Origin") != "" {
		r.Header.Set("Origin", "http://192.168.1.20:8417")
	}
}

func header(name, value string) func(*http.Request) {
	return func(r *http.Request) { r.Header.Set(name, value) }
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

// inline finds what the content security policy would refuse to run.
var inline = regexp.MustCompile(`(?i)<style|<script(?:\s+[^>]*)?>[^<]|<[a-z][^>]*\s(?:style|on[a-z]+)\s*=`)

// quoted is the value of an attribute, where such words are only words.
var quoted = regexp.MustCompile(`="[^"]*"`)

func nothingInline(t *testing.T, body string) {
	t.Helper()
	if found := inline.FindString(quoted.ReplaceAllString(body, `=""`)); found != "" {
		t.Errorf("page has inline %q, which the policy refuses", found)
	}
}

// memoryDevices keeps devices for as long as a test runs.
type memoryDevices struct {
	mu     sync.Mutex
	list   []intake.Device
	hashes []string
	broken error
	seen   int
}

func (m *memoryDevices) Add(_ context.Context, by intake.By, name, person, kind, secretHash string, expires time.Time) (intake.Device, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	d := intake.Device{ID: intake.NewID(), Name: name, Person: cmp.Or(person, by.Person), Kind: kind, Expires: expires}
	m.list, m.hashes = append(m.list, d), append(m.hashes, secretHash)
	return d, m.broken
}

func (m *memoryDevices) BySecret(_ context.Context, hash string) (intake.Device, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for i, h := range m.hashes {
		if h == hash && m.list[i].Revoked.IsZero() {
			return m.list[i], m.broken
		}
	}
	return intake.Device{}, cmp.Or(m.broken, intake.ErrNotFound)
}

func (m *memoryDevices) Seen(context.Context, intake.ID) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.seen++
	return m.broken
}

func (m *memoryDevices) List(context.Context) ([]intake.Device, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return append([]intake.Device(nil), m.list...), m.broken
}

func (m *memoryDevices) Revoke(_ context.Context, _ intake.By, id intake.ID) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	for i := range m.list {
		if m.list[i].ID == id {
			m.list[i].Revoked = time.Now()
			return m.broken
		}
	}
	return intake.ErrNotFound
}

func TestErrorsBecomeCalmPages(t *testing.T) {
	b := open(t)
	secret := errors.New("open /home/somebody/book.db: disk on fire")
	tests := []struct {
		name   string
		err    error
		status int
		shows  string
	}{
		{"not found", fmt.Errorf("item 9: %w", intake.ErrNotFound), 404, "Not in this book"},
		{"invalid", fmt.Errorf("number \"<b>\": %w", intake.ErrInvalid), 400, "&lt;b&gt;"},
		{"field", &intake.FieldError{Field: "name", Problem: "is needed"}, 400, "The name is needed"},
		{"conflict", fmt.Errorf("amend: %w", intake.ErrConflict), 409, "Changed meanwhile"},
		{"refusal", &desk.Refusal{Status: 429, Title: "Slowly", Text: "Wait.", RetryAfter: time.Minute}, 429, "Slowly"},
		{"too long", &http.MaxBytesError{Limit: 1}, 413, "Too long"},
		{"internal", secret, 500, "Reference in the log"},
	}
	for i, tt := range tests {
		b.Anyone(fmt.Sprintf("GET /error/%d", i), func(http.ResponseWriter, *http.Request) error { return tt.err })
		t.Run(tt.name, func(t *testing.T) {
			w := b.send(t, "GET", fmt.Sprintf("/error/%d", i), "")
			status(t, w, tt.status)
			contains(t, w.Body.String(), tt.shows)
			lacks(t, w.Body.String(), "somebody", "<b>\"")
			nothingInline(t, w.Body.String())
		})
	}
	if !strings.Contains(b.log.String(), "disk on fire") {
		t.Errorf("the log lacks the error: %s", b.log)
	}
}

func TestRetryAfterIsSaid(t *testing.T) {
	b := open(t)
	b.Anyone("GET /slow", func(http.ResponseWriter, *http.Request) error {
		return &desk.Refusal{Status: 429, Title: "Slowly", RetryAfter: 90 * time.Second}
	})
	if got := b.send(t, "GET", "/slow", "").Header().Get("Retry-After"); got != "91" {
		t.Errorf("Retry-After = %q, want 91", got)
	}
}

// TestPanicIsOnePage: the page shows a reference, the log shows the panic and
// the same reference.
func TestPanicIsOnePage(t *testing.T) {
	b := open(t)
	b.Anyone("GET /panic", func(http.ResponseWriter, *http.Request) error { panic("the drawer fell out") })
	w := b.send(t, "GET", "/panic", "")
	status(t, w, 500)
	lacks(t, w.Body.String(), "drawer", "goroutine")
	reference := regexp.MustCompile(`<code>([0-9a-z]{8})</code>`).FindStringSubmatch(w.Body.String())
	if reference == nil {
		t.Fatalf("no reference on the page:\n%s", w.Body)
	}
	contains(t, b.log.String(), reference[1], "the drawer fell out", "desk_test.go")
}

// TestPanicAfterTheFirstByte must not append a second page to the first.
func TestPanicAfterTheFirstByte(t *testing.T) {
	b := open(t)
	b.Anyone("GET /half", func(w http.ResponseWriter, _ *http.Request) error {
		fmt.Fprint(w, "half")
		return errors.New("the rest is missing")
	})
	w := b.send(t, "GET", "/half", "")
	if got := w.Body.String(); got != "half" {
		t.Errorf("body = %q, want only what was sent before", got)
	}
	contains(t, b.log.String(), "the rest is missing")
}

func TestWrongPathsAndMethods(t *testing.T) {
	b := open(t)
	b.Anyone("POST /only-post", func(http.ResponseWriter, *http.Request) error { return nil })
	status(t, b.send(t, "GET", "/nothing", ""), 404)
	status(t, b.send(t, "GET", "/only-post", ""), 405)
	status(t, b.send(t, "GET", "/static/0/none.css", ""), 404)
	status(t, b.send(t, "GET", "/static/0/../../desk.go", ""), 404)
	status(t, b.send(t, "GET", "/static/0/..%2f..%2fdesk.go", ""), 404)
	w := b.send(t, "GET", "/nothing", "", stranger)
	status(t, w, 404)
	lacks(t, w.Body.String(), `class="bar"`)
}

func TestBookNeedsAnID(t *testing.T) {
	for _, id := range []string{"", "; =", "é"} {
		if _, err := desk.New(desk.Config{Book: id}); err == nil {
			t.Errorf("New with book %q opened", id)
		}
	}
}

func TestFormLimits(t *testing.T) {
	b := open(t)
	got := 0
	b.Keeper("POST /form", func(_ http.ResponseWriter, r *http.Request) error {
		got = len(r.PostForm.Get("a"))
		return nil
	})
	b.Upload("POST /photo", 3<<20, func(_ http.ResponseWriter, r *http.Request) error {
		var whole bytes.Buffer
		_, err := whole.ReadFrom(r.Body)
		got = whole.Len()
		return err
	})
	status(t, b.send(t, "POST", "/form", "a="+strings.Repeat("x", 10_000)), 200)
	if got != 10_000 {
		t.Errorf("field has %d characters, want 10000", got)
	}
	status(t, b.send(t, "POST", "/form", "a="+strings.Repeat("x", 1<<20)), 413)
	status(t, b.send(t, "POST", "/form", "a=%zz"), 400)
	status(t, b.send(t, "POST", "/form", "--x", header("Content-Type", "multipart/form-data")), 400)
	status(t, b.send(t, "POST", "/photo", strings.Repeat("x", 2<<20), header("Content-Type", "image/jpeg")), 200)
	if got != 2<<20 {
		t.Errorf("upload has %d bytes, want %d", got, 2<<20)
	}
	status(t, b.send(t, "POST", "/photo", strings.Repeat("x", 4<<20), header("Content-Type", "image/jpeg")), 413)
}

func TestByNamesTheSender(t *testing.T) {
	b := open(t)
	var got intake.By
	b.Keeper("POST /change", func(_ http.ResponseWriter, r *http.Request) error {
		got = desk.By(r)
		return nil
	})
	status(t, b.send(t, "POST", "/change", "op=abc&why=typed+wrong"), 200)
	if want := (intake.By{Person: "keeper", Device: "this computer", Op: "abc", Why: "typed wrong"}); got != want {
		t.Errorf("By = %+v, want %+v", got, want)
	}
	status(t, b.send(t, "POST", "/change?op=from-query", "op="+strings.Repeat("x", 999)), 200)
	if len(got.Op) != 64 {
		t.Errorf("Op has %d characters, want it bounded to 64", len(got.Op))
	}
	status(t, b.send(t, "POST", "/change?op=from-query", ""), 200)
	if got.Op != "from-query" {
		t.Errorf("Op = %q, want from-query", got.Op)
	}
}

// page renders one file with main as its block.
func page(t *testing.T, b *bench, main string) *desk.Pages {
	t.Helper()
	p, err := b.Pages(fstest.MapFS{"one.html": {Data: []byte(main)}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}
