package main

import (
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"haulbook/cmd/haulbook/drawn"
	"haulbook/intake"
	"haulbook/labels"
	"haulbook/watch"
)

// runningDesk is a book with its inbox watched and its desk open, as haulbook
// run has it, but with files settled after a moment.
type runningDesk struct {
	book  string
	here  string // the desk's address on this machine
	there string // as another machine reaches it: what its tags carry
}

func startDesk(t *testing.T) runningDesk {
	t.Helper()
	own := "127.0.0.1"
	if ip := ownAddress(t); ip != nil {
		own = ip.String()
	}
	l, err := net.Listen("tcp", net.JoinHostPort("", "0"))
	if err != nil {
		t.Fatal(err)
	}
	d := runningDesk{
		book: filepath.Join(t.TempDir(), "book"),
		here: "http://127.0.0.1:" + port(l), there: "http://" + net.JoinHostPort(own, port(l)),
	}
	done(t, "init", d.book, "--address", d.there, "--return", "Found? Write to the keeper.")
	ctx, stop := context.WithCancel(context.Background())
	var out, talk transcript
	s := &streams{ctx: ctx, in: strings.NewReader(""), out: &out, talk: &talk, now: time.Now}
	b, err := openBook(s, d.book)
	if err != nil {
		t.Fatal(errors.Join(err, l.Close()))
	}
	ended := make(chan error, 1)
	pace := watch.Folder{Settle: 50 * time.Millisecond, Rescan: 200 * time.Millisecond}
	go func() { ended <- errors.Join(work(s, b, l, b.settings.inboxes(b.dir), pace), b.close()) }()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil || talk.String() != "" {
			t.Errorf("the desk ended with %v and said %q", err, talk.String())
		}
	})
	return d
}

// ownAddress is an address of this machine that is not the loopback one: over
// it we are a stranger to ourselves. Nil where there is no network.
func ownAddress(t *testing.T) net.IP {
	t.Helper()
	found, err := net.InterfaceAddrs()
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range found {
		if n, ok := a.(*net.IPNet); ok && n.IP.To4() != nil && !n.IP.IsLoopback() && !n.IP.IsLinkLocalUnicast() {
			return n.IP
		}
	}
	return nil
}

// drop lets photos land in the inbox as a sync would bring them.
func (d runningDesk) drop(t *testing.T, haul drawn.Haul, thing int) {
	t.Helper()
	folder := filepath.Join(d.book, "inbox", haul.Folder)
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, p := range haul.Photos {
		if p.Thing != thing {
			continue
		}
		path := filepath.Join(folder, p.Name)
		if err := errors.Join(os.WriteFile(path+".part", p.Bytes, 0o644), os.Rename(path+".part", path)); err != nil {
			t.Fatal(err)
		}
	}
}

// photosOf counts the photos of one thing.
func photosOf(haul drawn.Haul, thing int) (n int) {
	for _, p := range haul.Photos {
		if p.Thing == thing {
			n++
		}
	}
	return n
}

// TestBrowser is an afternoon at the desk with a real browser: photos land,
// plates are typed, one is taken back, a tag is printed and scanned, a phone is
// paired and shut out again. Then every page is looked at in both sizes.
func TestBrowser(t *testing.T) {
	haul, err := drawn.Invent(drawn.Options{Seed: 6, Width: 640, Things: 3})
	if err != nil {
		t.Fatal(err)
	}
	w := startBrowser(t)
	d := startDesk(t)
	number := readAtBench(t, w, d, haul)
	tag := printAtDesk(t, w, d, number)
	code, _ := intake.CodeInURL(tag)

	// Scanned at the keeper's own machine, and found by its number.
	w.open(t, d.here+"/T/"+string(code))
	w.until(t, `location.pathname === "/items/`+number+`"`)
	w.says(t, haul.Things[0].Name)
	t.Run("phone", func(t *testing.T) { pairPhone(t, w, d, tag, number) })

	pages := []struct{ name, path string }{
		{"today", "/"}, {"bench", "/bench"}, {"items", "/items"}, {"item", "/items/" + number}, {"hauls", "/hauls"},
		{"haul", "/hauls/" + strings.TrimSuffix(number, ".1")}, {"tags", "/tags"}, {"devices", "/devices"}, {"find", "/find?q=terminal"},
		{"unknown-tag", "/T/00000000"}, {"unknown-page", "/nowhere"},
	}
	for _, size := range []string{"desk", "phone"} {
		if w.size = size; size == "phone" {
			w.do(t, "make the window narrow", w.narrow())
		}
		for _, p := range pages {
			w.open(t, d.here+p.path)
			w.look(t, p.name)
		}
	}
	w.quiet(t, "/T/00000000", "/nowhere")
}

// readAtBench sees a thing's photos arrive without reloading, types its plate,
// takes it back and types it again. It returns the number.
func readAtBench(t *testing.T, w *window, d runningDesk, haul drawn.Haul) string {
	t.Helper()
	w.open(t, d.here+"/bench")
	w.look(t, "bench-empty")
	w.ask(t, `(window.sameWindow = "as opened")`)
	d.drop(t, haul, 0)
	w.says(t, "1 group waits")
	if w.ask(t, `String(window.sameWindow)`) != "as opened" {
		t.Error("the page was loaded again to show the group")
	}
	w.click(t, `a.btn.go[href="/bench"]`)
	// The rest of its photos may still be coming, and shows up in the open page.
	w.until(t, fmt.Sprintf(`document.querySelectorAll("#film a[data-show]").length === %d`, photosOf(haul, 0)))
	w.open(t, d.here+"/bench")
	typePlate(t, w, haul.Things[0])
	number := w.ask(t, `document.querySelector(".flash .tag").textContent.trim()`)
	if _, err := intake.ParseNumber(number); err != nil {
		t.Fatalf("after Enter the desk says %q: %v", number, err)
	}

	w.press(t, "u") // Undo
	w.until(t, `location.pathname.startsWith("/bench/")`)
	w.says(t, "gets its number back")
	if again := w.ask(t, `document.querySelector("#will .tag").textContent.trim()`); again != number {
		t.Errorf("undone, the group would get %s, not the %s it had", again, number)
	}
	if got := done(t, "show", "--book", d.book, "--json", number); !strings.Contains(got, `"state":"withdrawn"`) {
		t.Errorf("undone, %s is shown as %s", number, got)
	}
	savePlate(t, w, haul.Things[0]) // the words are still there
	if again := w.ask(t, `document.querySelector(".flash .tag").textContent.trim()`); again != number {
		t.Errorf("read again, the thing became %s and not %s again", again, number)
	}
	d.drop(t, haul, 1) // the bench is empty again, and follows again
	w.says(t, "1 group waits")
	return number
}

// typePlate types what a plate says, from field to field, and saves with Enter.
func typePlate(t *testing.T, w *window, thing drawn.Thing) {
	t.Helper()
	w.until(t, `document.activeElement && document.activeElement.id === "name"`)
	w.press(t, thing.Name+"\t"+thing.Maker+"\t"+thing.Model+"\t"+thing.Serial)
	savePlate(t, w, thing)
}

// savePlate presses Enter in a form that must hold what the plate says.
func savePlate(t *testing.T, w *window, thing drawn.Thing) {
	t.Helper()
	if got, want := w.ask(t, `["name", "maker", "model", "serial"].map((f) => document.getElementById(f).value).join("|")`),
		strings.Join([]string{thing.Name, thing.Maker, thing.Model, thing.Serial}, "|"); got != want {
		t.Fatalf("the fields say %q, want %q", got, want)
	}
	w.look(t, "bench-typed")
	w.press(t, "\r")
	w.until(t, `!!document.querySelector(".flash .tag")`)
}

// printAtDesk asks for the tags that wait, as the form on the page does, and
// reads the address on the one label.
func printAtDesk(t *testing.T, w *window, d runningDesk, number string) string {
	t.Helper()
	w.open(t, d.here+"/tags")
	w.says(t, number)
	w.click(t, `input[name="stock"][value="letter-3x10"]`)
	w.look(t, "tags-to-print")
	encoded := w.ask(t, `(async () => {
		const form = document.getElementById("printing");
		const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)) });
		const bytes = new Uint8Array(await answer.arrayBuffer());
		return answer.headers.get("Content-Type") + " " + btoa(Array.from(bytes, (b) => String.fromCharCode(b)).join(""));
	})()`)
	kind, body, _ := strings.Cut(encoded, " ")
	pdf, err := base64.StdEncoding.DecodeString(body)
	if err != nil || kind != "application/pdf" {
		t.Fatalf("printing answered %s: %v\n%.300s", kind, err, pdf)
	}
	stock, err := labels.StockNamed("letter-3x10")
	if err != nil {
		t.Fatal(err)
	}
	pages := rasterised(t, pdf, 300)
	read := scan(t, label(stock, pages[0], 0))
	code, ok := intake.CodeInURL(read)
	if !ok || read != code.TagURL(d.there) {
		t.Fatalf("the label says %q, want a tag of %s", read, d.there)
	}
	return read
}

// pairPhone scans the tag with a phone that nobody knows, pairs it with the
// code that the desk shows, scans again, and shuts it out.
func pairPhone(t *testing.T, w *window, d runningDesk, tag, number string) {
	if ownAddress(t) == nil {
		t.Skip("this machine has no network address, so that nobody here can be a stranger")
	}
	p := w.phone(t)
	p.open(t, tag)
	p.says(t, "Part of a private collection")
	p.look(t, "card")
	for _, path := range []string{"/", "/items/" + number} {
		p.open(t, d.there+path)
		if page := p.ask(t, `document.body.innerText`); strings.Contains(page, number) {
			t.Errorf("a stranger's phone sees %s at %s:\n%s", number, path, page)
		}
	}

	w.open(t, d.here+"/devices")
	w.click(t, `form[action="/devices/pair"] button`)
	w.says(t, "Open its camera and point it at the code.")
	w.look(t, "pair")
	address := w.ask(t, `document.querySelector(".pairing code").textContent`)
	if !strings.HasPrefix(address, d.there+"/PAIR/") {
		t.Errorf("the code to pair leads to %s, not to %s", address, d.there)
	}
	p.open(t, address)
	p.look(t, "ask")
	p.do(t, "name the phone", chromedp.Focus(chromedp.CSS("#name")))
	p.press(t, "attic phone\r")
	p.until(t, `!location.pathname.toLowerCase().startsWith("/pair/")`)
	p.open(t, tag)
	p.until(t, `location.pathname === "/items/`+number+`"`)
	p.look(t, "item-scanned")
	p.open(t, address)
	p.says(t, "This code does not pair") // it works once

	w.open(t, d.here+"/devices")
	w.says(t, "attic phone")
	w.look(t, "devices-paired")
	w.click(t, `button[aria-label="Shut out attic phone"]`)
	w.says(t, "can no longer open the book")
	p.open(t, tag)
	p.says(t, "Part of a private collection")
	p.quiet(t, "/", "/items/"+number, strings.TrimPrefix(address, d.there))
}
