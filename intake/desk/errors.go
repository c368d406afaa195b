package desk

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"runtime/debug"
	"strconv"
	"time"

	"haulbook/intake"
)

// Refusal is an error whose page is already worded. Text is one sentence or
// two, for the person in front of it.
type Refusal struct {
	Status      int
	Title, Text string
	RetryAfter  time.Duration // 0 says nothing about when
}

// Error implements error.
func (e *Refusal) Error() string { return fmt.Sprintf("%s (%d)", e.Title, e.Status) }

// errStranger is a keepers' page asked for by somebody else.
var errStranger = errors.New("for keepers only")

// errorPage is the page struct of error.html.
type errorPage struct {
	Base
	Status    int
	Text      string
	Reference string // into the log
	Stranger  bool   // say how to pair
}

// problem turns an error into a page. The text of an intake error names what
// was asked for and may be shown; anything else stays in the log.
func problem(err error) errorPage {
	page := func(status int, title, text string) errorPage {
		return errorPage{Base: Base{Title: title}, Status: status, Text: text}
	}
	var refusal *Refusal
	var tooLong *http.MaxBytesError
	var field *intake.FieldError
	switch {
	case errors.As(err, &refusal):
		return page(refusal.Status, refusal.Title, refusal.Text)
	case errors.Is(err, errStranger):
		p := page(http.StatusForbidden, "For keepers only", "This device is not paired with the book yet.")
		p.Stranger = true
		return p
	case errors.As(err, &tooLong):
		return page(http.StatusRequestEntityTooLarge, "Too long", "More was sent than a form of this book holds. Nothing was changed.")
	case errors.As(err, &field):
		return page(http.StatusBadRequest, "That does not fit", "The "+field.Field+" "+bounded(field.Problem, 200)+". Nothing was changed.")
	case errors.Is(err, intake.ErrNotFound):
		return page(http.StatusNotFound, "Not in this book", "There is no such thing in this book. It may have been typed wrong.")
	case errors.Is(err, intake.ErrInvalid):
		return page(http.StatusBadRequest, "That does not fit", bounded(err.Error(), 300)+".")
	case errors.Is(err, intake.ErrConflict):
		return page(http.StatusConflict, "Changed meanwhile", "Somebody changed this since you opened it. Nothing of yours was saved: go back, look again and repeat it.")
	}
	return page(http.StatusInternalServerError, "Something went wrong", "It is written down in the log. What was saved before is still there.")
}

// fail answers with the page that err calls for.
func (f *Frame) fail(w http.ResponseWriter, r *http.Request, err error) {
	if errors.Is(err, context.Canceled) && r.Context().Err() != nil {
		return // the browser went away; nobody is left to read a page
	}
	page := problem(err)
	if page.Status >= http.StatusInternalServerError {
		page.Reference = string(intake.NewID()[:8])
		f.config.Log.Error("request failed", "reference", page.Reference, "method", r.Method, "path", r.URL.Path, "err", err)
	}
	if sent, ok := w.(*response); ok && sent.status != 0 {
		return
	}
	title := page.Title
	page.Base = f.bare(r, title, "")
	var refusal *Refusal
	if errors.As(err, &refusal) && refusal.RetryAfter > 0 {
		w.Header().Set("Retry-After", strconv.Itoa(int(refusal.RetryAfter.Seconds())+1))
	}
	w.Header().Set("Cache-Control", "no-store")
	if err := f.pages.Render(w, page.Status, "error", page); err != nil {
		f.config.Log.Error("render error page", "err", err)
		http.Error(w, title, page.Status)
	}
}

// recoverTo turns a panic of a handler into a 500 page, logged whole. r is a
// pointer because ServeHTTP replaces its request on the way.
func (f *Frame) recoverTo(w *response, r **http.Request) {
	cause := recover()
	if cause == nil {
		return
	}
	if cause == http.ErrAbortHandler {
		panic(cause) // net/http's own way to drop a connection
	}
	f.fail(w, *r, fmt.Errorf("panic: %v\n%s", cause, debug.Stack()))
}
