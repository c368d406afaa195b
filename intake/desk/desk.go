// Package desk is the frame that every web page of a book stands in: who may
// come in, what a page looks like, where its style sheet is, and how a page
// learns that the book has changed.
//
// It knows hosts, origins, paired devices, templates and static files. It does
// not know items, groups or tags: the pages of one area each live in a package
// below this one, register their routes here and embed Base in their page
// structs. It opens no port; limits of the connection belong to the caller's
// http.Server.
//
// It promises that a page reaches only a host this book answers to, that no
// write passes without a matching origin, that keepers' routes are closed to
// everybody else, that no script or style runs that is not a file of ours, and
// that an error of whatever kind ends as one calm page.
package desk

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"strings"
	"sync"
	"time"

	"haulbook/intake"
)

// Config says which book the frame serves. Book is required.
type Config struct {
	// Book is the book's own id. It names the cookies, because browsers share
	// cookies between ports: two books on one machine must not share a login.
	Book string
	// Title is shown in the bar, "haulbook" when empty.
	Title string
	// Address is printed on tags, "http://192.168.1.20:8417"; "" when not set.
	Address func() string
	// Retired lists addresses that earlier tags carry. They still resolve.
	Retired func() []string
	// Devices keeps the paired devices. Nil means that nobody can pair.
	Devices Devices
	// Changed returns a number that differs whenever the book has changed. Nil
	// means that pages do not refresh by themselves.
	Changed func(context.Context) (int64, error)
	Log     *slog.Logger     // nil discards
	Now     func() time.Time // nil is time.Now
}

// Frame serves the pages registered with it. Register everything before the
// first request; afterwards a Frame is safe for concurrent use.
type Frame struct {
	config  Config
	mux     *http.ServeMux
	cross   *http.CrossOriginProtection
	assets  map[string]asset
	pages   *Pages
	pairing *pairing
	live    *live
	flashes [32]byte // key that flash cookies are signed with, for this run only

	seenMu sync.Mutex
	seen   map[intake.ID]time.Time // device id: when Devices.Seen was last told
}

// Handler answers one request. A returned intake.ErrNotFound becomes a 404
// page, ErrInvalid 400, ErrConflict 409, a *Refusal what it says, anything else
// a 500 page that shows only a reference into the log.
type Handler func(w http.ResponseWriter, r *http.Request) error

// New returns a frame with its own routes: devices, pairing, live changes and
// static files.
func New(c Config) (*Frame, error) {
	if c.Book = cookieToken(c.Book); c.Book == "" {
		return nil, errors.New("open desk: the book has no id")
	}
	if c.Title == "" {
		c.Title = "haulbook"
	}
	if c.Address == nil {
		c.Address = func() string { return "" }
	}
	if c.Retired == nil {
		c.Retired = func() []string { return nil }
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	if c.Now == nil {
		c.Now = time.Now
	}
	f := &Frame{
		config: c, mux: http.NewServeMux(), cross: http.NewCrossOriginProtection(),
		assets: make(map[string]asset), pairing: newPairing(c.Now),
		live: newLive(c.Changed, c.Log), seen: make(map[intake.ID]time.Time),
	}
	rand.Read(f.flashes[:]) // never fails: crypto/rand ends the program instead
	f.Static("", ownStatic())
	var err error
	if f.pages, err = f.Pages(ownPages(), nil); err != nil {
		return nil, fmt.Errorf("open desk: %w", err)
	}
	f.mux.HandleFunc("GET /static/{hash}/{path...}", f.serveAsset)
	f.Keeper("GET /live", f.live.serve)
	f.deviceRoutes()
	return f, nil
}

// Close ends the streams of live changes, so that a server can shut down
// without waiting for open pages. Give it to http.Server.RegisterOnShutdown.
func (f *Frame) Close() { f.live.close() }

// Keeper registers a route for keepers only, as a pattern of http.ServeMux such
// as "POST /bench/read". A stranger gets a page that says how to pair.
func (f *Frame) Keeper(pattern string, h Handler) { f.handle(pattern, h, route{keeper: true}) }

// Anyone registers a route that strangers may use too. The handler asks
// Keeper(r) what it may show.
func (f *Frame) Anyone(pattern string, h Handler) { f.handle(pattern, h, route{}) }

// Upload registers a keepers' route whose body may be limit bytes long and is
// handed on unread, for photos sent from a phone. By then finds the operation
// id in the query, not in the form.
func (f *Frame) Upload(pattern string, limit int64, h Handler) {
	f.handle(pattern, h, route{keeper: true, limit: limit})
}

// route is what a pattern asks for before its handler runs.
type route struct {
	keeper bool
	limit  int64 // of the body; 0 is formLimit, with the form parsed beforehand
}

func (f *Frame) handle(pattern string, h Handler, rt route) {
	f.mux.HandleFunc(pattern, func(w http.ResponseWriter, r *http.Request) {
		if err := f.admit(w, r, rt); err != nil {
			f.fail(w, r, err)
			return
		}
		if err := h(w, r); err != nil {
			f.fail(w, r, err)
		}
	})
}

// formLimit bounds forms: the longest has a dozen fields of intake.MaxField
// characters.
const formLimit = 1 << 20

// admit closes keepers' routes to strangers and reads the form within bounds.
func (f *Frame) admit(w http.ResponseWriter, r *http.Request, rt route) error {
	if rt.keeper && !Keeper(r) {
		return errStranger
	}
	if r.Body == nil || isRead(r.Method) {
		return nil
	}
	if rt.limit > 0 {
		r.Body = http.MaxBytesReader(w, r.Body, rt.limit)
		return nil
	}
	r.Body = http.MaxBytesReader(w, r.Body, formLimit)
	parse := r.ParseForm
	if strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/form-data") {
		parse = func() error { return r.ParseMultipartForm(formLimit) }
	}
	if err := parse(); err != nil {
		var tooLong *http.MaxBytesError
		if errors.As(err, &tooLong) {
			return err
		}
		return &Refusal{Status: http.StatusBadRequest, Title: "The form did not arrive whole", Text: "Go back and send it again."}
	}
	return nil
}

// ServeHTTP implements http.Handler.
func (f *Frame) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	sent := &response{ResponseWriter: w}
	defer f.recoverTo(sent, &r)
	f.harden(sent.Header())
	visit := f.visit(sent, r)
	r = r.WithContext(context.WithValue(r.Context(), visitKey{}, visit))
	if err := f.guard(r); err != nil {
		f.fail(sent, r, err)
		return
	}
	if _, pattern := f.mux.Handler(r); pattern == "" {
		f.fail(sent, r, f.unrouted(r))
		return
	}
	f.mux.ServeHTTP(sent, r)
}

// unrouted tells a wrong path from a wrong method by asking the mux, whose own
// answer is bare text.
func (f *Frame) unrouted(r *http.Request) error {
	probe := &response{ResponseWriter: discard{http.Header{}}}
	h, _ := f.mux.Handler(r)
	h.ServeHTTP(probe, r)
	if probe.status == http.StatusMethodNotAllowed {
		return &Refusal{Status: probe.status, Title: "That does not work here", Text: "This address takes another kind of request."}
	}
	return &Refusal{Status: http.StatusNotFound, Title: "No such page", Text: "There is nothing at this address."}
}
