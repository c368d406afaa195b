package desk_test

import (
	"errors"
	"html/template"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"haulbook/intake"
	"haulbook/intake/desk"
)

type tryPage struct {
	desk.Base
	Text   string
	Number intake.Number
	Code   intake.Code
	At     time.Time
}

func render(t *testing.T, b *bench, main string, p tryPage) string {
	t.Helper()
	w := httptest.NewRecorder()
	if err := page(t, b, main).Render(w, 200, "one.html", p); err != nil {
		t.Fatal(err)
	}
	return w.Body.String()
}

func TestTemplateFunctions(t *testing.T) {
	b := open(t)
	p := tryPage{Number: intake.Number{Year: 2026, Haul: 7, Item: 14}, Code: "7K3M9Q2X", At: b.now.Add(-21 * 24 * time.Hour), Text: `"><b>`}
	tests := []struct{ main, want string }{
		{`{{tag .Number}}`, `<span class="tag"><bdi>2026.7.14</bdi></span>`},
		{`{{tag .Number "big" "pending"}}`, `<span class="tag big pending"><bdi>2026.7.14</bdi></span>`},
		{`{{tag ""}}`, `<span class="tag pending"><bdi>no number yet</bdi></span>`},
		{`{{tag .Text}}`, `<bdi>&#34;&gt;&lt;b&gt;</bdi>`},
		{`{{tag .Number .Text}}`, `<span class="tag"><bdi>`},
		{`{{code .Code}}`, `7K3M 9Q2X`},
		{`{{code "short"}}`, `short`},
		{`{{date .At}}`, `4 Nov 2026`},
		{`{{ago .At}}`, `3 weeks ago`},
		{`{{asset "desk.css"}}`, `/static/`},
	}
	for _, tt := range tests {
		if got := render(t, b, `{{define "main"}}[`+tt.main+`]{{end}}`, p); !strings.Contains(got, "["+tt.want) && !strings.Contains(got, tt.want) {
			t.Errorf("%s lacks %s:\n%s", tt.main, tt.want, got)
		}
	}
	first, second := render(t, b, `{{define "main"}}op={{op}};{{end}}`, p), render(t, b, `{{define "main"}}op={{op}};{{end}}`, p)
	if first == second {
		t.Error("two pages carry the same operation id")
	}
}

func TestHostileTextIsEscapedInEveryPlace(t *testing.T) {
	b := open(t)
	main := `{{define "main"}}<p title="{{.Text}}">{{.Text}}</p><a href="{{.Text}}">x</a><input value="{{.Text}}">{{tag .Text}}{{end}}`
	for _, text := range []string{`"><script>alert(1)</script>`, `javascript:alert(1)`, `' onmouseover='x`, "\u202E<b>", strings.Repeat("<x>", 10_000)} {
		got := render(t, b, main, tryPage{Text: text, Base: desk.Base{Title: text, House: text}})
		lacks(t, got, "<script>alert", "<b>", "<x>", `href="javascript`)
	}
}

func TestPagesFindTheirFiles(t *testing.T) {
	b := open(t)
	files := fstest.MapFS{
		"pages/list.html":  {Data: []byte(`{{define "main"}}list {{template "strip" "a"}} {{shout "b"}}{{end}}{{define "head"}}<meta name="x">{{end}}{{define "foot"}}<p>foot</p>{{end}}`)},
		"pages/other.html": {Data: []byte(`{{define "main"}}other {{template "note" "n"}}{{end}}`)},
		"parts/strip.html": {Data: []byte(`{{define "strip"}}<strip {{.}}>{{end}}`)},
		"_note.html":       {Data: []byte(`{{define "note"}}<note {{.}}>{{end}}`)},
		"static/list.js":   {Data: []byte(`ignored`)},
	}
	p, err := b.Pages(files, template.FuncMap{"shout": strings.ToUpper})
	if err != nil {
		t.Fatal(err)
	}
	for name, wants := range map[string][]string{"list": {"list <strip a> B", `<meta name="x">`, "<p>foot</p>"}, "other.html": {"other <note n>"}} {
		w := httptest.NewRecorder()
		if err := p.Render(w, http.StatusTeapot, name, plainPage{}); err != nil {
			t.Fatal(err)
		}
		status(t, w, http.StatusTeapot)
		contains(t, w.Body.String(), wants...)
	}
	for _, name := range []string{"strip", "_note", "none", ""} {
		if err := p.Render(httptest.NewRecorder(), 200, name, plainPage{}); err == nil {
			t.Errorf("Render(%q) found a page", name)
		}
	}
}

// TestFailingTemplateLeavesNoHalfPage: nothing is sent before all is made.
func TestFailingTemplateLeavesNoHalfPage(t *testing.T) {
	b := open(t)
	pages := page(t, b, `{{define "main"}}the first half {{.Nothing}}{{end}}`)
	b.Anyone("GET /broken", func(w http.ResponseWriter, r *http.Request) error {
		return pages.Render(w, 200, "one", plainPage{b.Base(r, "x", "")})
	})
	w := b.send(t, "GET", "/broken", "")
	status(t, w, 500)
	lacks(t, w.Body.String(), "the first half", ".Nothing")
	missing := page(t, b, `{{define "main"}}{{asset "none.css"}}{{end}}`)
	if err := missing.Render(httptest.NewRecorder(), 200, "one", plainPage{}); err == nil {
		t.Error("a missing static file went unnoticed")
	}
}

func TestPagesRefuseBadTemplates(t *testing.T) {
	b := open(t)
	for name, body := range map[string]string{"a.html": `{{define "main"}}{{end`, "b.html": `{{nofunc}}`, "parts/c.html": `{{if}}`} {
		if _, err := b.Pages(fstest.MapFS{name: {Data: []byte(body)}}, nil); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("Pages(%s) = %v, want an error that names the file", name, err)
		}
	}
}

func TestStaticFiles(t *testing.T) {
	b := open(t)
	b.Static("bench", fstest.MapFS{"bench.js": {Data: []byte("1")}, "list.js": {Data: []byte("bench")}, "page.html": {Data: []byte("no")}})
	b.Static("items", fstest.MapFS{"list.js": {Data: []byte("items")}, "deep/x.svg": {Data: []byte("<svg/>")}})
	url := func(name string) string {
		t.Helper()
		got := render(t, b, `{{define "main"}}[{{asset "`+name+`"}}]{{end}}`, tryPage{})
		_, rest, _ := strings.Cut(got, "[")
		u, _, _ := strings.Cut(rest, "]")
		return u
	}
	tests := []struct{ name, body, kind string }{
		{"bench.js", "1", "text/javascript"}, {"bench/list.js", "bench", "text/javascript"}, {"list.js", "bench", "text/javascript"},
		{"items/list.js", "items", "text/javascript"}, {"x.svg", "<svg/>", "image/svg+xml"}, {"desk.css", "--paper", "text/css"}, {"desk.js", "use strict", "text/javascript"},
	}
	for _, tt := range tests {
		w := b.send(t, "GET", url(tt.name), "", stranger) // the card of a stranger needs the style too
		status(t, w, 200)
		contains(t, w.Body.String(), tt.body)
		if got := w.Header().Get("Content-Type"); !strings.HasPrefix(got, tt.kind) {
			t.Errorf("%s has type %q, want %s", tt.name, got, tt.kind)
		}
		if got := w.Header().Get("Cache-Control"); !strings.Contains(got, "immutable") {
			t.Errorf("%s: Cache-Control = %q, want immutable", tt.name, got)
		}
	}
	// An older page asks under an older hash: it gets today's file, not for keeps.
	w := b.send(t, "GET", "/static/000000000000/desk.css", "")
	status(t, w, 200)
	if got := w.Header().Get("Cache-Control"); got != "no-cache" {
		t.Errorf("under an old hash Cache-Control = %q, want no-cache", got)
	}
	status(t, b.send(t, "GET", "/static/000000000000/bench/page.html", ""), 404)
}

func TestAgo(t *testing.T) {
	now := time.Date(2026, 11, 25, 9, 30, 0, 0, time.UTC)
	tests := []struct {
		before time.Duration
		want   string
	}{
		{-time.Hour, "just now"}, {0, "just now"}, {59 * time.Second, "just now"}, {time.Minute, "1 minute ago"},
		{59 * time.Minute, "59 minutes ago"}, {time.Hour, "1 hour ago"}, {23 * time.Hour, "23 hours ago"},
		{24 * time.Hour, "1 day ago"}, {13 * 24 * time.Hour, "13 days ago"}, {14 * 24 * time.Hour, "2 weeks ago"},
		{59 * 24 * time.Hour, "8 weeks ago"}, {61 * 24 * time.Hour, "2 months ago"}, {400 * 24 * time.Hour, "13 months ago"},
		{731 * 24 * time.Hour, "2 years ago"}, {20 * 365 * 24 * time.Hour, "20 years ago"},
	}
	for _, tt := range tests {
		if got := desk.Ago(now.Add(-tt.before), now); got != tt.want {
			t.Errorf("Ago(%v) = %q, want %q", tt.before, got, tt.want)
		}
	}
	if got := desk.Ago(time.Time{}, now); got != "never" {
		t.Errorf("Ago(zero) = %q, want never", got)
	}
	if got := desk.Date(time.Time{}); got != "" {
		t.Errorf("Date(zero) = %q, want nothing", got)
	}
}

func TestRefusalIsAnError(t *testing.T) {
	var r *desk.Refusal
	if err := error(&desk.Refusal{Status: 429, Title: "Slowly"}); !errors.As(err, &r) || err.Error() != "Slowly (429)" {
		t.Errorf("Refusal = %v", err)
	}
}
