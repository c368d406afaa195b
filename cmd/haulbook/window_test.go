package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/device"
)

// window is one page of a real browser with its console.
type window struct {
	ctx     context.Context
	size    string // "desk" or "phone", for the names of screenshots
	console func(yield func(chromedp.ConsoleMessage, error) bool)
}

// startBrowser opens a browser of a desktop's size. It knows no host but this
// machine: a page that asked another for anything would see an error.
func startBrowser(t *testing.T) *window {
	t.Helper()
	path := needTool(t, "chromium")
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	t.Cleanup(cancel)
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox)
	ctx, cancel = chromedp.NewExecAllocator(ctx, options...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	w := &window{ctx: ctx, size: "desk", console: chromedp.Console(ctx)}
	w.do(t, "open a window", chromedp.EmulateViewport(1280, 800))
	return w
}

// phone opens a window of a phone's size that shares nothing with this one: no
// cookie, no cache.
func (w *window) phone(t *testing.T) *window {
	t.Helper()
	ctx, cancel := chromedp.NewContext(w.ctx, chromedp.WithNewBrowserContext())
	t.Cleanup(cancel)
	p := &window{ctx: ctx, size: "phone", console: chromedp.Console(ctx)}
	p.do(t, "open a phone's window", p.narrow())
	return p
}

// narrow makes a window as wide as a common phone, with a finger for a pointer.
func (w *window) narrow() chromedp.Action[chromedp.Void] {
	return chromedp.Emulate(device.Info{Width: 390, Height: 844, Scale: 1, Mobile: true, Touch: true})
}

// do takes steps that must succeed.
func (w *window) do(t *testing.T, what string, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(w.ctx, steps...); err != nil {
		t.Fatalf("%s: %v\n%s", what, err, w.where())
	}
}

// where says what the window shows, for the message of a test that failed.
func (w *window) where() string {
	said, err := chromedp.Run(w.ctx, chromedp.Evaluate[string](`location.href + "\n" + document.body.innerText.slice(0, 1500)`))
	if err != nil {
		return err.Error()
	}
	return said
}

// open goes to an address and waits for the page.
func (w *window) open(t *testing.T, address string) {
	t.Helper()
	w.do(t, "open "+address, chromedp.Navigate(address))
}

// ask evaluates an expression in the page, a promise to its end.
func (w *window) ask(t *testing.T, expression string) string {
	t.Helper()
	said, err := chromedp.Run(w.ctx, chromedp.Evaluate[string](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatalf("%s: %v\n%s", expression, err, w.where())
	}
	return said
}

// until waits for a condition that the window comes to by itself, over as many
// pages as it takes.
func (w *window) until(t *testing.T, condition string) {
	t.Helper()
	for {
		_, err := chromedp.Run(w.ctx, chromedp.Poll[bool](condition, chromedp.WithPollingTimeout(patience/5)))
		if err == nil {
			return
		}
		// The page that was asked is gone, because the next one came up.
		left := strings.Contains(err.Error(), "Cannot find context") || strings.Contains(err.Error(), "navigated")
		if !left || w.ctx.Err() != nil {
			t.Fatalf("waiting for %s: %v\n%s", condition, err, w.where())
		}
	}
}

// says waits until the page's main part says something.
func (w *window) says(t *testing.T, words string) {
	t.Helper()
	w.until(t, fmt.Sprintf(`document.getElementById("main") && document.getElementById("main").innerText.includes(%q)`, words))
}

// press types real keys into whatever has the focus: "\t" goes on, "\r" is Enter.
func (w *window) press(t *testing.T, keys string, options ...chromedp.KeyOption) {
	t.Helper()
	w.do(t, "press "+keys, chromedp.KeyEvent(keys, options...))
}

// click clicks where the element is on the screen.
func (w *window) click(t *testing.T, selector string) {
	t.Helper()
	w.do(t, "click "+selector, chromedp.ScrollIntoView(chromedp.CSS(selector)), chromedp.Click(chromedp.CSS(selector)))
}

// look holds what every page keeps to at this size: nothing wider than the
// window, nothing asked of another machine, every picture drawn. It keeps a
// screenshot where HAULBOOK_SCREENSHOTS names a folder.
func (w *window) look(t *testing.T, name string) {
	t.Helper()
	w.until(t, `document.readyState === "complete"`)
	if wide := w.ask(t, `document.documentElement.scrollWidth > innerWidth ? document.documentElement.scrollWidth + " in " + innerWidth : ""`); wide != "" {
		t.Errorf("%s on a %s is too wide: %s", name, w.size, wide)
	}
	foreign := w.ask(t, `performance.getEntriesByType("resource").map((e) => new URL(e.name)).filter((u) => u.protocol !== "data:" && u.host !== location.host).map(String).join("\n")`)
	if foreign != "" {
		t.Errorf("%s asked other hosts: %s", name, foreign)
	}
	broken := w.ask(t, `Promise.all([...document.images].filter((i) => i.loading !== "lazy").map((i) => i.decode().then(() => "", () => i.src))).then((all) => all.filter(Boolean).join("\n"))`)
	if broken != "" {
		t.Errorf("%s: pictures that do not show: %s", name, broken)
	}
	folder := os.Getenv("HAULBOOK_SCREENSHOTS")
	if folder == "" {
		return
	}
	shot, err := chromedp.Run(w.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, name+"-"+w.size+".png"), shot, 0o644); err != nil {
		t.Fatal(err)
	}
}

// quiet reads the whole console: no error, no warning, no refusal by the
// policy. An answer that has to be an error is named by its path.
func (w *window) quiet(t *testing.T, expected ...string) {
	t.Helper()
	const last = "the test ends here"
	w.ask(t, fmt.Sprintf(`(console.log(%q), "")`, last))
	w.console(func(m chromedp.ConsoleMessage, err error) bool {
		if err != nil {
			t.Errorf("read the console: %v", err)
			return false
		}
		for _, path := range expected {
			if m.Source == "network" && strings.HasSuffix(m.URL, path) {
				return true
			}
		}
		if m.Type != chromedp.ConsoleLog && m.Type != chromedp.ConsoleDebug && m.Type != chromedp.ConsoleInfo {
			t.Errorf("the console of the %s says: %s (%s %s)", w.size, m, m.Source, m.URL)
		}
		return m.Text != last
	})
}
