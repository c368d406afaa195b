package tags_test

import (
	"errors"
	"fmt"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"haulbook/intake"
	"haulbook/intake/desk"
	"haulbook/intake/desk/tags"
)

func TestSheetPageEmpty(t *testing.T) {
	s := open(t)
	w := s.send("GET", "/tags", "")
	status(t, w, 200)
	contains(t, w.Body.String(), "Every item has its printed tag", "Nothing waits", "http://192.168.1.20:8417", "100 %",
		"Collections Trust", "always deteriorates", "serial plate", `name="start"`, `name="dpi"`, `name="blank"`)
	lacks(t, w.Body.String(), `class="warn"`, " disabled")
	status(t, s.send("GET", "/tags", "", stranger), 403)
}

func TestSheetPageFull(t *testing.T) {
	s := open(t)
	for n := range 300 {
		it := numbered(n+1, fmt.Sprintf("Item %d", n+1))
		if n%2 == 0 {
			it.Photos = []intake.ShownPhoto{{Photo: intake.Photo{ID: intake.PhotoID{byte(n)}}}}
		}
		s.untagged = append(s.untagged, *it)
	}
	body := s.send("GET", "/tags", "").Body.String()
	contains(t, body, "300 items wait", "2026.7.300", "no photo", `src="/photos/02`, `loading="lazy"`)
	if got := strings.Count(body, `name="item"`); got != 300 {
		t.Errorf("%d items to choose, want 300", got)
	}
	if got := strings.Count(body, "checked"); got != 301 { // and one stock
		t.Errorf("%d ticks, want every item and one stock", got)
	}
}

func TestSheetPageHostile(t *testing.T) {
	for _, name := range []string{`<script>alert(1)</script>`, `" onclick="x`, "\u202Eesrever", "שלום", strings.Repeat("long ", 2000)} {
		s := open(t)
		s.untagged = []intake.Item{*numbered(1, name)}
		s.address = "http://" + name
		body := s.send("GET", "/tags?item="+url.QueryEscape(name), "").Body.String()
		lacks(t, body, "<script>alert", `" onclick="x`)
		contains(t, body, "1 item waits")
	}
}

func TestAddressWarnings(t *testing.T) {
	s := open(t)
	s.printed = map[string]int{"http://192.168.1.20:8417": 7, "http://192.168.1.9:8417": 48, "http://old.lan": 1, "http://never": 0}
	body := s.send("GET", "/tags", "").Body.String()
	contains(t, body, "48 printed tags carry", "http://192.168.1.9:8417", "1 printed tag carries", "http://old.lan")
	lacks(t, body, "http://never", "7 printed", " disabled")
	s.address = "http://localhost:8417"
	contains(t, s.send("GET", "/tags", "").Body.String(), "back to itself")
	s.address = ""
	body = s.send("GET", "/tags", "").Body.String()
	contains(t, body, "no address yet", "--address", "disabled>Make the PDF")
	for _, ip := range desk.NetworkAddresses() {
		contains(t, body, ip.String())
	}
}

func TestPrinting(t *testing.T) {
	s := open(t)
	s.untagged = []intake.Item{*numbered(1, "a"), *numbered(2, "b"), *numbered(3, "c")}
	s.targets[code(t, 1)] = intake.Target{Item: numbered(14, "printed before")}
	form := url.Values{
		"op": {"op-1"}, "stock": {"letter-3x10"}, "dpi": {"203"}, "start": {"8"}, "blank": {"5"},
		"item": {string(numbered(3, "").ID), string(numbered(1, "").ID)}, "more": {"2026.7.14,2026.7.14; 2026.7.14"},
	}
	w := s.send("POST", "/tags/print", form.Encode())
	status(t, w, 200)
	if got := w.Body.String(); got != "%PDF op-1 by keeper" {
		t.Errorf("body = %q", got)
	}
	h := w.Header()
	if h.Get("Content-Type") != "application/pdf" || h.Get("Content-Disposition") != `inline; filename="tags-2026-11-25.pdf"` || h.Get("Cache-Control") != "no-store" {
		t.Errorf("headers = %v", h)
	}
	if got := h.Get("Content-Security-Policy"); strings.Contains(got, "default-src") {
		t.Errorf("policy %q would stop the browser's own PDF viewer", got)
	}
	if len(s.jobs) != 1 {
		t.Fatalf("%d jobs", len(s.jobs))
	}
	job := s.jobs[0]
	got := fmt.Sprintf("%s %d dpi skip %d blank %d:", job.Stock, job.DPI, job.Skip, job.Blank)
	for _, it := range job.Items {
		got += " " + it.Number.String()
	}
	if want := "letter-3x10 203 dpi skip 7 blank 5: 2026.7.3 2026.7.1 2026.7.14"; got != want {
		t.Errorf("job = %s, want %s", got, want)
	}
	status(t, s.send("POST", "/tags/print", form.Encode(), stranger), 403)
	if len(s.jobs) != 1 {
		t.Error("a stranger printed")
	}
}

func TestPrintingRefuses(t *testing.T) {
	s := open(t)
	s.untagged = []intake.Item{*numbered(1, "a"), *numbered(2, "b")}
	good := func(change ...string) string {
		form := url.Values{"stock": {"a4-3x8"}, "dpi": {"300"}, "start": {"1"}, "blank": {"0"}, "item": {string(numbered(1, "").ID)}}
		for i := 0; i+1 < len(change); i += 2 {
			form.Set(change[i], change[i+1])
		}
		return form.Encode()
	}
	tests := []struct{ name, form, says string }{
		{"an empty item", good("item", ""), "not in this book"},
		{"nothing at all", "stock=a4-3x8", "choose an item"},
		{"no stock", good("stock", "a5-9x9"), "none of the label papers"},
		{"start 0", good("start", "0"), "from 1 to 24"},
		{"start beyond", good("start", "25"), "from 1 to 24"},
		{"start on a roll", good("stock", "roll-62x29", "start", "2"), "from 1 to 1"},
		{"blank negative", good("blank", "-1"), "from 0 to 500"},
		{"blank too many", good("blank", "501"), "from 0 to 500"},
		{"blank no number", good("blank", "1e3"), "whole number"},
		{"dpi", good("dpi", "72"), "from 203 to 600"},
		{"unknown number", good("more", "2026.9.9"), "2026.9.9"},
		{"hostile number", good("more", "<script>alert(1)</script>"), "&lt;script"},
		{"far too many", good("more", strings.Repeat("2026.7.1 ", 3000)), "go at a time"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			w := s.send("POST", "/tags/print", tt.form)
			status(t, w, 400)
			contains(t, w.Body.String(), `role="alert"`, tt.says)
			lacks(t, w.Body.String(), "<script>alert")
		})
	}
	if len(s.jobs) != 0 {
		t.Errorf("printed %d refused jobs", len(s.jobs))
	}
}

// TestRefusalKeepsTheForm: what was ticked and typed is still there.
func TestRefusalKeepsTheForm(t *testing.T) {
	s := open(t)
	s.untagged = []intake.Item{*numbered(1, "a"), *numbered(2, "b")}
	s.misprint = fmt.Errorf("tag 2026.7.2: no room for its QR on this paper: %w", intake.ErrInvalid)
	form := url.Values{"stock": {"letter-3x10"}, "dpi": {"600"}, "start": {"4"}, "blank": {"9"}, "item": {string(numbered(2, "").ID)}}
	w := s.send("POST", "/tags/print", form.Encode())
	status(t, w, 400)
	contains(t, w.Body.String(), "no room for its QR on this paper.", `value="item000000000002" checked`, `value="letter-3x10" data-cells="30" checked`,
		`value="600" selected`, `max="500" value="9"`, `min="1" value="4"`)
	lacks(t, w.Body.String(), `value="item000000000001" checked`, "not valid")
	s.misprint = errors.New("printer cable in /dev/lp0 unplugged")
	w = s.send("POST", "/tags/print", form.Encode())
	status(t, w, 500)
	lacks(t, w.Body.String(), "lp0")
}

// TestReprintLink: an item page links here with its number, and only that one
// is then chosen.
func TestReprintLink(t *testing.T) {
	s := open(t)
	s.untagged = []intake.Item{*numbered(1, "a")}
	body := s.send("GET", "/tags?item=2026.7.14", "").Body.String()
	contains(t, body, `name="more" value="2026.7.14"`)
	lacks(t, body, `value="item000000000001" checked`)
}

// TestDrawnSheets checks the little pictures against the paper they show: every
// label inside the sheet, none over another, as many as there are.
func TestDrawnSheets(t *testing.T) {
	body := open(t).send("GET", "/tags", "").Body.String()
	drawings := regexp.MustCompile(`(?s)<svg class="paper" width="(\d+)" height="(\d+)" viewBox="0 0 ([\d.]+) ([\d.]+)".*?</svg>`).FindAllStringSubmatch(body, -1)
	if len(drawings) != len(stocks) {
		t.Fatalf("%d drawings, want %d", len(drawings), len(stocks))
	}
	cell := regexp.MustCompile(`class="cell" x="([\d.-]+)" y="([\d.-]+)" width="([\d.-]+)" height="([\d.-]+)"`)
	for i, d := range drawings {
		w, h := number(t, d[3]), number(t, d[4])
		if shown, real := number(t, d[1])/number(t, d[2]), w/h; shown < real*0.97 || shown > real*1.03 {
			t.Errorf("%s is drawn %.2f wide to high, is %.2f", stocks[i].Name, shown, real)
		}
		cells := cell.FindAllStringSubmatch(d[0], -1)
		if len(cells) != stocks[i].Cells() {
			t.Errorf("%s has %d labels drawn, want %d", stocks[i].Name, len(cells), stocks[i].Cells())
		}
		right, bottom := 0.0, 0.0
		for n, c := range cells {
			x, y := number(t, c[1]), number(t, c[2])
			if n%stocks[i].Cols == 0 {
				right = 0
				if y < bottom {
					t.Errorf("%s: row of label %d overlaps the one above", stocks[i].Name, n)
				}
			}
			if x < right {
				t.Errorf("%s: label %d overlaps its neighbour", stocks[i].Name, n)
			}
			right, bottom = x+number(t, c[3]), y+number(t, c[4])
			if x < 0 || y < 0 || right > w || bottom > h {
				t.Errorf("%s: label %d leaves the sheet", stocks[i].Name, n)
			}
		}
	}
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	n, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func TestStockWords(t *testing.T) {
	for i, want := range []string{"70 × 37 mm, A4, 3 × 8", "66.7 × 25.4 mm, Letter, 3 × 10", "62 × 29 mm, roll"} {
		if got := stocks[i].Size() + ", " + stocks[i].Paper(); got != want {
			t.Errorf("%s = %q, want %q", stocks[i].Name, got, want)
		}
	}
	if got := (tags.Stock{PageW: 100, PageH: 100, Cols: 2, Rows: 2}).Paper(); got != "sheet, 2 × 2" {
		t.Errorf("Paper = %q", got)
	}
}

func TestRegisterNeedsPaper(t *testing.T) {
	f, err := desk.New(desk.Config{Book: "b"})
	if err != nil {
		t.Fatal(err)
	}
	if err := (&tags.Pages{Frame: f}).Register(); !errors.Is(err, intake.ErrInvalid) {
		t.Errorf("Register without paper = %v", err)
	}
}
