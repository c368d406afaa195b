package desk

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"net/http"
	"strings"
	"time"
)

// Base is what the layout needs; every page struct embeds one, made by
// Frame.Base.
type Base struct {
	Title   string // of the page
	Active  string // the entry of the bar that is open: "today", "bench", "items", "hauls", "tags", "devices"
	House   string // the bar's own name
	Book    string // the book's id
	Keeper  bool
	Person  string
	Device  string // by name
	Address string // what tags carry, "" when not set
	Flash   *Flash
	Search  string // words searched for on this page
	Path    string // of this page with its query, for links that come back
	Version int64  // of the book when the page was made
}

// Flash is one sentence shown once on the page after a change.
type Flash struct {
	Text string
	Undo int64  // history sequence the Undo button takes back, 0 for no button
	Tag  string // a number shown in a tag beside the text, "" for none
}

// Base returns the layout's part of a page. It takes the flash with it, so call
// it once a request, before anything is written.
func (f *Frame) Base(r *http.Request, title, active string) Base {
	b := f.bare(r, title, active)
	// A page that refreshes itself in the background must not use up the
	// sentence that another tab is about to show.
	if b.Keeper && r.Header.Get(liveHeader) == "" && r.Method == http.MethodGet {
		b.Flash = f.takeFlash(visitOf(r).w, r)
	}
	return b
}

// bare is Base without the flash, which an error page must not use up: it may
// be the answer to a missing picture that nobody looks at.
func (f *Frame) bare(r *http.Request, title, active string) Base {
	v := visitOf(r)
	b := Base{
		Title: title, Active: active, House: f.config.Title, Book: f.config.Book,
		Keeper: v.keeper, Person: v.person, Device: v.device, Address: f.config.Address(),
		Search: bounded(r.URL.Query().Get("q"), 200), Path: r.URL.RequestURI(),
	}
	if !v.keeper {
		return b
	}
	if f.config.Changed != nil {
		if version, err := f.config.Changed(r.Context()); err == nil {
			b.Version = version
		}
	}
	return b
}

// flashLife is short: a flash belongs to the redirect that follows at once.
const flashLife = time.Minute

// SetFlash leaves a sentence for the next page this browser opens. It survives
// the 303 and is shown once. Text beyond 300 characters is cut.
func (f *Frame) SetFlash(w http.ResponseWriter, flash Flash) {
	flash.Text, flash.Tag = bounded(strings.ToValidUTF8(flash.Text, "\uFFFD"), 300), bounded(flash.Tag, 40)
	body, err := json.Marshal(flash)
	if err != nil {
		return // a struct of strings and a number always marshals
	}
	value := base64.RawURLEncoding.EncodeToString(append(f.signFlash(body), body...))
	http.SetCookie(w, &http.Cookie{
		Name: f.flashName(), Value: value, Path: "/", MaxAge: int(flashLife / time.Second),
		HttpOnly: true, SameSite: http.SameSiteLaxMode,
	})
}

// takeFlash reads the flash and takes its cookie away. An unsigned one is
// dropped: other programs on this host could set the cookie, and the sentence
// would speak with our voice.
func (f *Frame) takeFlash(w http.ResponseWriter, r *http.Request) *Flash {
	c, err := r.Cookie(f.flashName())
	if err != nil {
		return nil
	}
	http.SetCookie(w, &http.Cookie{Name: f.flashName(), Path: "/", MaxAge: -1, HttpOnly: true, SameSite: http.SameSiteLaxMode})
	raw, err := base64.RawURLEncoding.DecodeString(c.Value)
	if err != nil || len(raw) < sha256.Size || !hmac.Equal(raw[:sha256.Size], f.signFlash(raw[sha256.Size:])) {
		return nil
	}
	var flash Flash
	if json.Unmarshal(raw[sha256.Size:], &flash) != nil {
		return nil
	}
	return &flash
}

func (f *Frame) signFlash(body []byte) []byte {
	mac := hmac.New(sha256.New, f.flashes[:])
	mac.Write(body)
	return mac.Sum(nil)
}

func (f *Frame) flashName() string { return f.cookieName() + "_flash" }
