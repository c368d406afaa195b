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
	Words  string
	Number bool        // the words are a number that was never given
	Tag    intake.Code // the words, which found nothing, may be this tag's code
	Items  []intake.Item
	More   bool
}

const (
	findLimit = 60
	maxWords  = 500
)

// find answers GET /find?q=. A number, a code or a scanned address lands on the
// record at once, whatever a keyboard-wedge scanner made of its case and
// punctuation; anything else is words. Eight letters and digits may be a code
// by chance (one in 36 is): a serial that the book knows goes before a tag that
// it does not.
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
	if code, ok := intake.FindCode(words); ok && len(p.Items) == 0 {
		// A tag that leads to no item: blank, of a place, or unknown. Eight plain
		// letters may as well be a word, so the page only offers it.
		if strings.ContainsAny(words, "0123456789/") {
			http.Redirect(w, r, "/t/"+string(code), http.StatusSeeOther)
			return nil
		}
		p.Tag = code
	}
	if len(p.Items) > findLimit {
		p.Items, p.More = p.Items[:findLimit], true
	}
	_, err := intake.ParseNumber(words)
	p.Number = err == nil
	return a.pages.Render(w, http.StatusOK, "find", p)
}

// direct returns where the words lead by themselves, "" when they are words.
func (a *area) direct(r *http.Request, words string) (string, error) {
	if number, err := intake.ParseHaulNumber(words); err == nil {
		haul, err := a.Hauls.Haul(r.Context(), number.String())
		if err == nil {
			return haulPath(haul), nil
		}
		return "", unlessAbsent(err)
	}
	ref := words
	code, isCode := intake.FindCode(words)
	if _, err := intake.ParseNumber(words); err != nil {
		if !isCode {
			return "", nil
		}
		ref = string(code)
	}
	it, err := a.Items.Item(r.Context(), ref)
	if err != nil {
		return "", unlessAbsent(err)
	}
	if ref == string(code) && it.Code() != code {
		return "/t/" + string(code), nil // a tag that was replaced says so there
	}
	return path(it), nil
}

// unlessAbsent keeps the errors that mean we could not look.
func unlessAbsent(err error) error {
	if errors.Is(err, intake.ErrNotFound) || errors.Is(err, intake.ErrInvalid) {
		return nil
	}
	return err
}
