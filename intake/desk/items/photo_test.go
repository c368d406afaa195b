package items_test

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"haulbook/cmd/haulbook/drawn"
	"haulbook/intake"
	"haulbook/metadata"
)

func TestPhotoPage(t *testing.T) {
	s := open(t)
	a := shot(0, intake.SeenCode{Text: "SB-0018 <&>", Symbology: intake.SymbologyCode39})
	a.Photo.Meta.Damage, a.Photo.Meta.Lens = "the file ends before the picture does", "32 mm"
	a.Photo.Meta.Position = &metadata.Position{Latitude: 48.123456, Longitude: 11.654321}
	s.receive(t, a)
	body := s.get(t, "/photos/"+photoAt(0).String())
	contains(t, body, "IMG_0000.JPG", "9 May 2026, 14:00:00", "zone &#43;02:00", "2026:05:09 14:00:00 &#43;02:00", "Lumora Pocket 9", "32 mm",
		"4000 × 3000 pixels · 293 KB · jpeg", "SB-0018 &lt;&amp;&gt;", "code39", "Damaged: the file ends", `href="/hauls/2026.1"`,
		"The file knows the spot", "/photos/"+photoAt(0).String()+"/large")
	lacks(t, body, "48.12", "11.65")
	for _, nothing := range []string{photoAt(1).String(), "x", strings.Repeat("z", 64), "%3Cb%3E"} {
		code(t, s.send(t, "GET", "/photos/"+nothing, nil), 404)
	}
}

func TestPhotoPageOfLittle(t *testing.T) {
	s := open(t)
	a := shot(0)
	a.Photo.Name, a.Photo.Meta = hostile, metadata.Info{Format: metadata.FormatPNG}
	s.receive(t, a)
	body := s.get(t, "/photos/"+photoAt(0).String())
	contains(t, body, "the camera wrote no time", "not said", "293 KB · png", harmless)
	lacks(t, body, "0 × 0", "<script>alert", "As written", "%!")
	a = shot(1)
	a.Photo.Meta.Make, a.Photo.Meta.Model, a.Photo.Meta.Taken.Offset = "Lumora", "Lumora Pocket 9", ""
	s.receive(t, a)
	body = s.get(t, "/photos/"+photoAt(1).String())
	contains(t, body, `<dd dir="auto">Lumora Pocket 9</dd>`, "by the camera’s clock, zone unknown")
}

// TestForget: only with its box ticked; then the picture, the page's facts and
// the link to the item are gone, and the keeper is back at the item.
func TestForget(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	id := photoAt(5)
	s.draw(t, id, []byte("jpeg"))
	page := "/photos/" + id.String()
	contains(t, s.get(t, page+"?of="+string(it.ID)), `name="of" value="`+string(it.ID)+`"`, `<a href="/items/2026.1.1">2026.1.1</a>`)
	form := url.Values{"op": {"f1"}, "of": {string(it.ID)}}
	body := code(t, s.send(t, "POST", page+"/forget", form), 400)
	contains(t, body, "Tick the box first", "<details class=\"edit sheet\" open", `name="of" value="`+string(it.ID)+`"`)
	if len(s.erased) != 0 {
		t.Fatal("erased without its box ticked")
	}
	form.Set("sure", "1")
	to, body := s.follow(t, page+"/forget", form)
	if to != "/items/2026.1.1" || len(s.erased) != 1 || s.erased[0] != id {
		t.Errorf("leads to %s, erased %v", to, s.erased)
	}
	contains(t, body, "Forgotten. The same file is not taken in again.")
	lacks(t, body, id.String(), `data-key="u"`)
	body = s.get(t, page)
	contains(t, body, "This photo was forgotten", "<title>A forgotten photo")
	lacks(t, body, "IMG_0005", "Lumora", "14:00", "/large", "forget\"")
	w := s.send(t, "GET", page+"/large", nil)
	contains(t, code(t, w, 200), ">forgotten</text>")
	if got := w.Header().Get("Cache-Control"); got != "no-store" || w.Header().Get("ETag") != "" {
		t.Errorf("the place of a forgotten picture is cached: %q", got)
	}
	// Sent again, it is the same change; without an item it leads to today.
	s.follow(t, page+"/forget", form)
	if w := s.send(t, "POST", page+"/forget", url.Values{"op": {"f2"}, "sure": {"1"}, "of": {"//evil.example"}}); w.Header().Get("Location") != "/" {
		t.Errorf("leads to %q, want today", w.Header().Get("Location"))
	}
}

// TestPictureHeaders with a real JPEG: kept for good under its hash, asked for
// again with its tag, and never with a name of its own.
func TestPictureHeaders(t *testing.T) {
	s := open(t)
	s.receive(t, shot(0))
	plan := must(drawn.Plan(drawn.Options{Width: 160, Things: 1}))(t)
	at := slices.IndexFunc(plan.Photos, func(p drawn.Photo) bool { return strings.HasSuffix(p.Name, ".JPG") })
	jpeg := must(plan.Draw(at))(t)
	s.draw(t, photoAt(0), jpeg)
	tags := map[string]bool{}
	for _, size := range []string{"small", "large", "full"} {
		target := "/photos/" + photoAt(0).String() + "/" + size
		w := s.send(t, "GET", target, nil)
		body, h := code(t, w, 200), w.Header()
		if body != string(jpeg) || h.Get("Content-Type") != "image/jpeg" {
			t.Errorf("%s: %d bytes of %s", size, len(body), h.Get("Content-Type"))
		}
		if got := h.Get("Cache-Control"); got != "private, max-age=31536000, immutable" {
			t.Errorf("%s: Cache-Control = %q", size, got)
		}
		if h.Get("X-Content-Type-Options") != "nosniff" || h.Get("Content-Disposition") != "" {
			t.Errorf("%s: headers %v", size, h)
		}
		tag := h.Get("ETag")
		if tags[tag] || !strings.HasPrefix(tag, `"`) {
			t.Errorf("%s: ETag = %q, want one of its own", size, tag)
		}
		tags[tag] = true
		w = s.send(t, "GET", target, nil, func(r *http.Request) { r.Header.Set("If-None-Match", tag) })
		if code(t, w, http.StatusNotModified) != "" || w.Header().Get("ETag") != tag {
			t.Errorf("%s: a 304 with %d bytes and tag %q", size, w.Body.Len(), w.Header().Get("ETag"))
		}
		w = s.send(t, "HEAD", target, nil)
		if code(t, w, 200) != "" || w.Header().Get("Content-Length") == "" {
			t.Errorf("%s: HEAD sent %d bytes", size, w.Body.Len())
		}
		w = s.send(t, "GET", target, nil, func(r *http.Request) { r.Header.Set("Range", "bytes=0-1") })
		if code(t, w, http.StatusPartialContent) != "\xff\xd8" {
			t.Errorf("%s: a range sent %q", size, w.Body)
		}
	}
	for _, nothing := range []string{"/photos/" + photoAt(0).String() + "/original", "/photos/" + photoAt(0).String() + "/",
		"/photos/x/small", "/photos/" + photoAt(9).String() + "/small", "/photos/" + photoAt(0).String() + "/..%2f..%2fbook.db"} {
		code(t, s.send(t, "GET", nothing, nil), 404)
	}
}

// TestPlaceholder says why there is no picture, and is never kept.
func TestPlaceholder(t *testing.T) {
	s := open(t)
	looks := map[intake.Look]string{intake.LookPending: "no picture yet", intake.LookFailed: "cannot be drawn", intake.LookDone: "no picture yet"}
	second := 0
	for look, words := range looks {
		a := shot(second)
		a.Photo.Look = look
		s.receive(t, a)
		w := s.send(t, "GET", "/photos/"+photoAt(second).String()+"/small", nil)
		contains(t, code(t, w, 200), `aria-label="`+words+`"`, ">"+words+"</text></svg>")
		if w.Header().Get("Content-Type") != "image/svg+xml" || w.Header().Get("Cache-Control") != "no-store" || w.Header().Get("ETag") != "" {
			t.Errorf("%s: headers %v", look, w.Header())
		}
		second++
	}
	// A preview that was drawn and is gone from the disk is no picture either.
	s.previews[photoAt(0)] = "/nowhere/preview"
	contains(t, code(t, s.send(t, "GET", "/photos/"+photoAt(0).String()+"/small", nil), 200), "</svg>")
}

// TestStrangersGetNothing: no page, no picture, no change, and no way to tell
// what is in the book from what is not.
func TestStrangersGetNothing(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	s.draw(t, photoAt(0), []byte("jpeg"))
	photo := "/photos/" + photoAt(0).String()
	secrets := []string{"video terminal", "0B81", "Orrel", "Millbrook", "2026.1.1", "IMG_", string(it.ID), "jpeg"}
	for target, want := range map[string]int{
		"/items": 403, "/items/2026.1.1": 403, "/items/2026.1.9": 403, "/items/" + string(it.ID): 403, "/hauls": 403, "/hauls/2026.1": 403,
		"/find?q=terminal": 403, "/find?q=2026.1.1": 403, photo: 403, "/photos/" + photoAt(9).String(): 403,
		photo + "/small": 404, photo + "/full": 404, "/photos/" + photoAt(9).String() + "/small": 404,
	} {
		w := s.send(t, "GET", target, nil, stranger)
		body := code(t, w, want)
		for _, secret := range secrets {
			if strings.Contains(body, secret) || strings.Contains(w.Header().Get("Location"), secret) {
				t.Errorf("%s shows a stranger %q", target, secret)
			}
		}
	}
	before := must(s.history.Recent(t.Context(), 100))(t)
	for target, form := range map[string]url.Values{
		"/items/" + string(it.ID) + "/amend": {"op": {"1"}, "version": {"1"}, "name": {"mine"}},
		"/items/" + string(it.ID) + "/part":  {"op": {"2"}, "part": {"mine"}},
		"/hauls/2026.1/amend":                {"op": {"3"}, "version": {"1"}, "name": {"mine"}},
		"/undo":                              {"op": {"4"}, "seq": {s.newest(t, it)}},
		photo + "/forget":                    {"op": {"5"}, "sure": {"1"}},
	} {
		code(t, s.send(t, "POST", target, form, stranger), 403)
		// Nor does another site, through the keeper's own browser.
		code(t, s.send(t, "POST", target, form, func(r *http.Request) { r.Header.Set("Origin", "http://evil.example") }), 403)
	}
	if after := must(s.history.Recent(t.Context(), 100))(t); len(after) != len(before) || len(s.erased) != 0 {
		t.Errorf("a stranger made %d changes and erased %d photos", len(after)-len(before), len(s.erased))
	}
}

// TestTimesAreAsWritten: the wall clock of the shot is shown, whatever zone this
// computer is in.
func TestTimesAreAsWritten(t *testing.T) {
	local := time.Local
	time.Local = time.FixedZone("elsewhere", -9*3600)
	t.Cleanup(func() { time.Local = local })
	s := open(t)
	s.terminal(t)
	contains(t, s.get(t, "/items/2026.1.1"), "view · 14:00:00")
	contains(t, s.get(t, "/photos/"+photoAt(0).String()), "9 May 2026, 14:00:00")
}
