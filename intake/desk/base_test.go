package desk_test

import (
	"encoding/base64"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"haulbook/intake/desk"
)

type plainPage struct{ desk.Base }

// flashing registers a change that leaves a flash and a page that shows it.
func flashing(t *testing.T, b *bench, flash desk.Flash) {
	t.Helper()
	pages := page(t, b, `{{define "main"}}<h1>{{.Title}}</h1>{{end}}`)
	b.Keeper("POST /change", func(w http.ResponseWriter, r *http.Request) error {
		b.SetFlash(w, flash)
		http.Redirect(w, r, "/page", http.StatusSeeOther)
		return nil
	})
	b.Anyone("GET /page", func(w http.ResponseWriter, r *http.Request) error {
		return pages.Render(w, 200, "one", plainPage{b.Base(r, "A page", "items")})
	})
}

// flashCookie returns the cookie as the browser would send it, "" for none.
func flashCookie(w *httptest.ResponseRecorder) string {
	for _, c := range w.Result().Cookies() {
		if c.Name == "hb_k7m2_flash" && c.MaxAge >= 0 {
			return c.Name + "=" + c.Value
		}
	}
	return ""
}

func TestFlashIsShownOnce(t *testing.T) {
	b := open(t)
	flashing(t, b, desk.Flash{Text: "Plate read.", Undo: 41, Tag: "2026.7.14"})
	cookie := flashCookie(b.send(t, "POST", "/change", ""))
	if cookie == "" {
		t.Fatal("no flash cookie")
	}
	// Neither a background refresh nor a missing picture uses it up.
	w := b.send(t, "GET", "/page", "", header("Cookie", cookie), header("X-Desk-Live", "1"))
	if len(w.Result().Cookies()) != 0 || strings.Contains(w.Body.String(), "Plate read.") {
		t.Error("a background refresh took the flash")
	}
	if w := b.send(t, "GET", "/nothing", "", header("Cookie", cookie)); len(w.Result().Cookies()) != 0 {
		t.Error("a 404 took the flash")
	}
	w = b.send(t, "GET", "/page", "", header("Cookie", cookie))
	contains(t, w.Body.String(), "Plate read.", "2026.7.14", `action="/undo"`, `name="seq" value="41"`, `name="op" value="`, `name="back" value="/page"`)
	nothingInline(t, w.Body.String())
	if got := w.Result().Cookies(); len(got) != 1 || got[0].MaxAge >= 0 {
		t.Errorf("cookies = %v, want the flash taken away", got)
	}
	lacks(t, b.send(t, "GET", "/page", "").Body.String(), "Plate read.")
}

func TestFlashWithoutUndo(t *testing.T) {
	b := open(t)
	flashing(t, b, desk.Flash{Text: "Noted."})
	w := b.send(t, "GET", "/page", "", header("Cookie", flashCookie(b.send(t, "POST", "/change", ""))))
	contains(t, w.Body.String(), "Noted.")
	lacks(t, w.Body.String(), "/undo")
}

func TestHostileFlash(t *testing.T) {
	for _, text := range []string{
		"a\r\nSet-Cookie: hb_k7m2=stolen", "<script>alert(1)</script>", `"'; Path=/; Domain=evil`, "\xff\xfe",
		"\u202Eesrever", strings.Repeat("long ", 2000), strings.Repeat("\"", 9000),
	} {
		b := open(t)
		flashing(t, b, desk.Flash{Text: text, Tag: text})
		w := b.send(t, "POST", "/change", "")
		status(t, w, 303)
		if got := w.Header().Values("Set-Cookie"); len(got) != 1 || len(got[0]) > 4096 || strings.ContainsAny(got[0], "\r\n") {
			t.Errorf("Set-Cookie = %q, want one line under 4096 bytes", got)
		}
		w = b.send(t, "GET", "/page", "", header("Cookie", flashCookie(w)))
		status(t, w, 200)
		contains(t, w.Body.String(), `class="flash"`)
		lacks(t, w.Body.String(), "<script>alert")
	}
}

// TestForgedFlash: another program on this host can set cookies for it, but
// must not put sentences into the desk's mouth.
func TestForgedFlash(t *testing.T) {
	b := open(t)
	flashing(t, b, desk.Flash{Text: "Honest."})
	honest := strings.TrimPrefix(flashCookie(b.send(t, "POST", "/change", "")), "hb_k7m2_flash=")
	raw, err := base64.RawURLEncoding.DecodeString(honest)
	if err != nil {
		t.Fatal(err)
	}
	changed := strings.Replace(string(raw), "Honest.", "Forged.", 1)
	for _, value := range []string{
		base64.RawURLEncoding.EncodeToString([]byte(changed)), base64.RawURLEncoding.EncodeToString([]byte(`{"Text":"Forged."}`)),
		"Forged.", "", "%%%", honest[:20],
	} {
		w := b.send(t, "GET", "/page", "", header("Cookie", "hb_k7m2_flash="+value))
		lacks(t, w.Body.String(), "Forged.", `class="flash"`)
	}
	// A stranger is shown nothing, whatever cookie he has.
	lacks(t, b.send(t, "GET", "/page", "", stranger, header("Cookie", "hb_k7m2_flash="+honest)).Body.String(), "Honest.")
}

func TestBaseFillsTheLayout(t *testing.T) {
	b := open(t, func(c *desk.Config) { c.Title = `<i>Attic & "shed"</i>` })
	flashing(t, b, desk.Flash{})
	hostile := `"><script>alert(1)</script>`
	r := func(r *http.Request) { r.URL.RawQuery = "q=" + strings.ReplaceAll(hostile, " ", "+") }
	w := b.send(t, "GET", "/page", "", r)
	contains(t, w.Body.String(), "&lt;i&gt;Attic &amp;", `href="/items" aria-current="page"`, "this computer", "Skip to the page", `action="/find"`)
	lacks(t, w.Body.String(), "<i>Attic", "<script>alert")
	if got := strings.Count(w.Body.String(), `aria-current="page"`); got != 1 {
		t.Errorf("%d entries of the bar are current, want 1", got)
	}
	if got := w.Header().Get("Cache-Control"); got != "private, no-cache" {
		t.Errorf("Cache-Control = %q", got)
	}
	w = b.send(t, "GET", "/page", "", stranger)
	lacks(t, w.Body.String(), `class="bar"`, "/devices", "this computer", "data-keeper")
}

func TestSearchWordsAreBounded(t *testing.T) {
	b := open(t)
	flashing(t, b, desk.Flash{})
	w := b.send(t, "GET", "/page?q="+strings.Repeat("é", 10_000), "")
	if got := strings.Count(w.Body.String(), "é"); got != 200 {
		t.Errorf("%d characters of the search came back, want 200", got)
	}
}

func ExampleFlash() {
	fmt.Printf("%+v\n", desk.Flash{Text: "Plate read.", Undo: 41, Tag: "2026.7.14"})
	// Output: {Text:Plate read. Undo:41 Tag:2026.7.14}
}
