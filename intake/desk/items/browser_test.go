package items_test

import (
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"haulbook/intake"
)

// browse opens the shop in a headless browser and returns how to go to a page,
// run a script in it and wait for an element, also of the page that comes next. Where no browser is installed the test is skipped and
// says so, unless HAULBOOK_REQUIRE_TOOLS=1 asks for it.
func (s *shop) browse(t *testing.T) (open func(path string), run func(script string) string, wait func(selector string)) {
	t.Helper()
	program, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("HAULBOOK_REQUIRE_TOOLS") == "1" {
			t.Fatal("chromium is not installed, and HAULBOOK_REQUIRE_TOOLS=1 asks for it")
		}
		t.Skip("chromium is not installed: what the pages' script does in a browser was not tried")
	}
	server := httptest.NewServer(http.HandlerFunc(s.ServeHTTP))
	t.Cleanup(server.Close)
	t.Cleanup(s.Close) // runs first: the server waits for streams to end
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(program), chromedp.NoSandbox)
	ctx, cancel := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	open = func(path string) {
		t.Helper()
		if err := chromedp.Do(ctx, chromedp.Navigate(server.URL+path)); err != nil {
			t.Fatal(err)
		}
	}
	run = func(script string) string {
		t.Helper()
		got, err := chromedp.Run(ctx, chromedp.Evaluate[string](script, chromedp.EvalAwaitPromise))
		if err != nil {
			t.Fatalf("%s: %v", script, err)
		}
		return got
	}
	wait = func(selector string) {
		t.Helper()
		if err := chromedp.Do(ctx, chromedp.WaitVisible(selector)); err != nil {
			t.Fatalf("wait for %s: %v", selector, err)
		}
	}
	return open, run, wait
}

// TestPicturesSwapInABrowser: a thumbnail changes the large picture, its words
// and its links without loading the page, and still does after the page has
// followed a change of the book.
func TestPicturesSwapInABrowser(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	page, run, _ := s.browse(t)
	page("/items/2026.1.1")
	const shown = `[...document.querySelectorAll("#stage img, #stage, #about")].map((e) => e.getAttribute("src") || e.getAttribute("href")).join(" ") + " " +
		document.querySelector("#stage .as").textContent + " " + document.querySelectorAll("a[data-show][aria-current]").length`
	want := func(second int, words string) string {
		p := "/photos/" + photoAt(second).String()
		return p + "/full " + p + "/large " + p + "?of=" + string(it.ID) + " " + words + " 1"
	}
	if got := run(shown); got != want(0, "view · 14:00:00") {
		t.Errorf("first %s", got)
	}
	press := `document.querySelectorAll("a[data-show]")[1].click();`
	if got := run(press + shown); got != want(5, "plate · 14:00:05") {
		t.Errorf("pressed: %s", got)
	}
	if got := run(`location.pathname + location.search`); got != "/items/2026.1.1?photo="+photoAt(5).String() {
		t.Errorf("the address is %s", got)
	}
	notes := "seen by the other desk"
	must(s.items.Amend(t.Context(), keeper, it.ID, it.Version, intake.Amendment{Notes: &notes}))(t)
	run(`new Promise((done) => { const look = () => document.getElementById("facts").textContent.includes("seen by the other desk") ? done("") : requestAnimationFrame(look); look(); })`)
	if got := run(strings.Replace(press, "[1]", "[0]", 1) + shown); got != want(0, "view · 14:00:00") {
		t.Errorf("after the book changed: %s", got)
	}
}

// TestTakeOverInABrowser: on the page of a late edit, one press puts what the
// book says into the field.
func TestTakeOverInABrowser(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	page, run, wait := s.browse(t)
	page("/items/2026.1.1")
	notes := "two keys \"stick\"\nsecond line"
	must(s.items.Amend(t.Context(), keeper, it.ID, it.Version, intake.Amendment{Notes: &notes}))(t)
	run(`(() => { document.getElementById("edit").open = true; document.getElementById("notes").value = "mine"; document.querySelector("#edit form").requestSubmit(); return ""; })()`)
	wait("[data-take=notes]")
	got := run(`document.getElementById("notes").value`)
	if got != "mine" {
		t.Errorf("the field has %q, want what was typed", got)
	}
	if got := run(`document.querySelector("[data-take=notes]").click(); document.getElementById("notes").value`); got != notes {
		t.Errorf("taken over: %q, want %q", got, notes)
	}
}
