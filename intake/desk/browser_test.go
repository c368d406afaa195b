package desk_test

import (
	"context"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"haulbook/intake/desk"
)

// tab is a page in a headless browser.
type tab struct{ ctx context.Context }

// browse opens a page. Where no browser is installed the test is skipped and says so, unless
// HAULBOOK_REQUIRE_TOOLS=1 asks for it.
func browse(t *testing.T, url string) tab {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("HAULBOOK_REQUIRE_TOOLS") == "1" {
			t.Fatal("chromium is not installed, and HAULBOOK_REQUIRE_TOOLS=1 asks for it")
		}
		t.Skip("chromium is not installed: what the desk's script does in a browser was not tried")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox)
	ctx, cancel := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	if err := chromedp.Do(ctx, chromedp.Navigate(url)); err != nil {
		t.Fatal(err)
	}
	return tab{ctx}
}

// patience is for a page that never gets there: it must not hang the run.
const patience = 90 * time.Second

// run evaluates a script, or what it promises, to a string.
func (p tab) run(t *testing.T, script string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	got, err := chromedp.Run(ctx, chromedp.Evaluate[string](script, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatalf("%s: %v", script, err)
	}
	return got
}

// follow clicks and waits for the page that it leads to.
func (p tab) follow(t *testing.T, selector string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	// A script that waits in the old page dies with it unanswered, so the old page
	// is marked, and nothing is asked before the new one stands.
	p.run(t, `String(document.documentElement.dataset.left = "yes")`)
	if _, err := chromedp.RunResponse(ctx, chromedp.Click(chromedp.CSS(selector))); err != nil {
		t.Fatalf("follow %s: %v", selector, err)
	}
	const arrived = `String(document.readyState === "complete" && !("left" in document.documentElement.dataset))`
	for {
		got, err := chromedp.Run(ctx, chromedp.Evaluate[string](arrived))
		if err == nil && got == "true" {
			return
		}
		if ctx.Err() != nil {
			t.Fatalf("follow %s: no new page came: %v", selector, err)
		}
	}
}

// until waits in the page for a condition and then gives value.
func until(condition, value string) string {
	return fmt.Sprintf(`new Promise((done) => { const look = () => (%s) ? done(String(%s)) : requestAnimationFrame(look); look(); })`, condition, value)
}

// livePage has a region that only tells, one with a form, and one that a
// script of the page has changed.
const livePage = `{{define "main"}}
<section data-live id="told"><b id="count">{{.Count}}</b> <a id="link" href="/x{{.Count}}">x</a></section>
<section data-live id="asked"><form method="post" action="/change"><input name="op" type="hidden" value="{{op}}"><input id="word" name="word" value="as saved"><i id="in-form">{{.Count}}</i></form></section>
<section data-live id="still"><p id="mine">the same</p></section>
<p id="outside">{{.Count}}</p><button id="press" data-key="j">press</button>
{{end}}`

type countPage struct {
	desk.Base
	Count int64
}

func TestLiveRegionsInABrowser(t *testing.T) {
	var version atomic.Int64
	var broken atomic.Bool
	version.Store(1)
	b, s := serving(t, &version, &broken)
	pages := page(t, b, livePage)
	b.Keeper("GET /live-page", func(w http.ResponseWriter, r *http.Request) error {
		return pages.Render(w, 200, "one", countPage{b.Base(r, "Live", ""), version.Load()})
	})
	p := browse(t, s.URL+"/live-page")
	check := func(what, script, want string) {
		t.Helper()
		if got := p.run(t, script); got != want {
			t.Errorf("%s: %q, want %q", what, got, want)
		}
	}
	p.run(t, `(() => { document.getElementById("word").value = "half typed"; document.getElementById("word").focus(); document.getElementById("mine").dataset.mark = "here"; window.kept = document.getElementById("still"); return ""; })()`)
	version.Store(2)
	check("region follows", until(`document.getElementById("count").textContent === "2"`, `document.getElementById("count").textContent`), "2")
	check("typed words stay", `document.getElementById("word").value`, "half typed")
	check("the field keeps the focus", `document.activeElement.id`, "word")
	check("the form was left alone", `document.getElementById("in-form").textContent`, "1")
	check("what the server did not change stays the same node", `String(window.kept === document.getElementById("still") && document.getElementById("mine").dataset.mark)`, "here")
	check("outside regions nothing moves", `document.getElementById("outside").textContent`, "1")

	// Words taken back and the field left: what waited is brought in.
	p.run(t, `(() => { const f = document.getElementById("word"); f.value = f.defaultValue; f.blur(); f.dispatchEvent(new FocusEvent("focusout", {bubbles: true})); return ""; })()`) // a headless page without the focus sends none itself
	check("the form follows later", until(`document.getElementById("in-form").textContent === "2"`, `document.getElementById("word").value`), "as saved")

	// A link that had the focus has it again.
	p.run(t, `(() => { document.getElementById("link").focus(); return ""; })()`)
	version.Store(3)
	check("focus comes back", until(`document.getElementById("count").textContent === "3"`, `document.activeElement.id`), "link")
}

func TestKeysInABrowser(t *testing.T) {
	var version atomic.Int64
	var broken atomic.Bool
	b, s := serving(t, &version, &broken)
	pages := page(t, b, livePage)
	b.Keeper("GET /live-page", func(w http.ResponseWriter, r *http.Request) error {
		return pages.Render(w, 200, "one", countPage{b.Base(r, "Keys", ""), 1})
	})
	p := browse(t, s.URL+"/live-page")
	p.run(t, `(() => { window.pressed = 0; document.getElementById("press").addEventListener("click", () => window.pressed++); return ""; })()`)
	key := func(target, key, modifiers string) string {
		return p.run(t, fmt.Sprintf(`(() => { %s.dispatchEvent(new KeyboardEvent("keydown", {key: %q, bubbles: true, cancelable: true %s})); return window.pressed + " " + document.activeElement.className; })()`, target, key, modifiers))
	}
	tests := []struct{ name, target, key, modifiers, want string }{
		{"a command key presses its button", "document.body", "j", "", "1 "},
		{"not with a modifier", "document.body", "j", ", ctrlKey: true", "1 "},
		{"not inside a field", `document.getElementById("word")`, "j", "", "1 "},
		{"another key does nothing", "document.body", "k", "", "1 "},
		{"slash goes to the search", "document.body", "/", "", "1 find"},
		{"escape leaves it", `document.querySelector(".find")`, "Escape", "", "1 "},
	}
	for _, tt := range tests {
		if got := key(tt.target, tt.key, tt.modifiers); got != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
}

// TestDevicesInABrowser reads the console of real pages: nothing is refused by
// the policy, nothing is wider than a narrow phone, every target is 44 pixels.
func TestDevicesInABrowser(t *testing.T) {
	var version atomic.Int64
	var broken atomic.Bool
	_, s := serving(t, &version, &broken)
	p := browse(t, s.URL+"/devices")
	if got := p.run(t, `String(getComputedStyle(document.querySelector(".bar")).display)`); got != "flex" {
		t.Errorf("the style sheet did not load: .bar is %s", got)
	}
	small := p.run(t, `[...document.querySelectorAll(".bar a, .btn, .find")].filter((e) => e.getClientRects().length && (e.getBoundingClientRect().height < 44 || e.getBoundingClientRect().width < 44)).map((e) => e.outerHTML).join("\n")`)
	if small != "" {
		t.Errorf("targets under 44 pixels:\n%s", small)
	}
	p.follow(t, ".btn.go")
	left := p.run(t, until(`document.querySelector("time[data-left]") && document.querySelector("time[data-left]").textContent.includes(":")`, `document.querySelector("time[data-left]").textContent`))
	if !strings.Contains(left, ":") {
		t.Errorf("countdown shows %q", left)
	}
}
