package items

import (
	"errors"
	"net/http"
	"strings"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// findPage is the page struct of find.html.
type findPage struct {
	desk.Base
	Words string
	Items []intake.Item
	More  bool
}

const (
	findLimit = 60
	maxWords  = 500
)

// find answers GET /find?q=. A number, a code or a scanned address lands on the
// record at once, whatever a keyboard-wedge scanner made of its case and
// punctuation; anything else is words.
func (a *area) find(w http.ResponseWriter, r *http.Request) error {
	words := strings.TrimSpace(r.URL.Query().Get("q"))
	if runes := []rune(words); len(runes) > maxWords {
		words = string(runes[:maxWords])
	}
	if to, err := a.direct(r, words); err != nil {
		return err
	} else if to != "" {
		http.Redirect(w, r, to, http.StatusSeeOther)
		return nil
	}
	p := findPage{Base: a.frame.Base(r, "Find", ""), Words: words}
	p.Search = words
	if words != "" {
		var err error
		if p.Items, err = a.Items.Find(r.Context(), words, findLimit+1); err != nil {
			return err
		}
	}
	if len(p.Items) > findLimit {
		p.Items, p.More = p.Items[:findLimit], true
	}
	return a.pages.Render(w, http.StatusOK, "find", p)
}

// direct returns where the words lead by themselves, "" when they are words.
func (a *area) direct(r *http.Request, words string) (string, error) {
	if haul, err := intake.ParseHaulNumber(words); err == nil {
		if _, err := a.Hauls.Haul(r.Context(), haul.String()); err == nil {
			return "/hauls/" + haul.String(), nil
		}
	}
	ref := words
	code, isCode := intake.FindCode(words)
	if isCode {
		ref = string(code)
	} else if _, err := intake.ParseNumber(words); err != nil {
		return "", nil
	}
	it, err := a.Items.Item(r.Context(), ref)
	switch {
	case err == nil:
		return path(it), nil
	case errors.Is(err, intake.ErrNotFound) && isCode && strings.ContainsAny(words, "0123456789"):
		// A valid code that leads to no item: the tag's own page says what it is.
		// One word in thirty of eight plain letters passes for a code; those stay words.
		return "/t/" + ref, nil
	case errors.Is(err, intake.ErrNotFound), errors.Is(err, intake.ErrInvalid):
		return "", nil
	}
	return "", err
}

// undo answers POST /undo: the flash's button and the history's. "back" is a
// path of this desk.
func (a *area) undo(w http.ResponseWriter, r *http.Request) error {
	seq, err := parseSeq(r.PostFormValue("seq"))
	if err != nil {
		return err
	}
	change, err := a.History.Undo(r.Context(), desk.By(r), seq)
	switch {
	case errors.Is(err, intake.ErrConflict):
		a.frame.SetFlash(w, desk.Flash{Text: "This cannot be taken back any more: something it touched has changed since. Take the later change back first."})
	case err != nil:
		return err
	default:
		a.frame.SetFlash(w, desk.Flash{Text: "Taken back. " + sentence(change.Summary), Undo: change.Seq})
	}
	http.Redirect(w, r, localPath(r.PostFormValue("back")), http.StatusSeeOther)
	return nil
}
