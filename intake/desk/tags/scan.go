package tags

import (
	"errors"
	"fmt"
	"net/http"
	"net/mail"
	"strings"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// open answers a scan. It changes nothing: whoever follows a link, follows it
// for free.
func (p *Pages) open(w http.ResponseWriter, r *http.Request) error {
	keeper := desk.Keeper(r)
	if !keeper {
		if wait := p.tries.Wait(r); wait > 0 {
			return p.card(w, r, http.StatusTooManyRequests, intake.Target{})
		}
	}
	code, err := intake.ParseCode(r.PathValue("code"))
	var target intake.Target
	if err == nil {
		target, err = p.Codes.Resolve(r.Context(), code)
	}
	known := err == nil
	if err != nil && !errors.Is(err, intake.ErrNotFound) && !errors.Is(err, intake.ErrInvalid) {
		return fmt.Errorf("open tag: %w", err)
	}
	switch {
	case !keeper:
		return p.strange(w, r, target)
	case !known:
		return p.unknown(w, r, err)
	case target.Item != nil:
		return p.toItem(w, r, target)
	}
	return p.loose(w, r, target)
}

// toItem takes a keeper to the record. A tag that was replaced says so there.
func (p *Pages) toItem(w http.ResponseWriter, r *http.Request, target intake.Target) error {
	if target.Successor != "" {
		text := "This tag was replaced"
		if target.Reason != "" {
			text += " (" + target.Reason + ")"
		}
		p.Frame.SetFlash(w, desk.Flash{
			Text: text + ". The tag in use is " + grouped(target.Successor) + ": take this one off.",
			Tag:  target.Item.Number.String(),
		})
	}
	http.Redirect(w, r, itemPath(*target.Item), http.StatusSeeOther)
	return nil
}

// itemPath prefers the number, because it is what people read in the bar.
func itemPath(it intake.Item) string {
	if it.Number.IsZero() {
		return "/items/" + string(it.ID)
	}
	return "/items/" + it.Number.String()
}

func grouped(c intake.Code) string {
	if len(c) != 8 {
		return string(c)
	}
	return string(c[:4]) + " " + string(c[4:])
}

// loosePage is the page struct of loose.html: a known code without an item.
type loosePage struct {
	desk.Base
	Target intake.Target
}

func (p *Pages) loose(w http.ResponseWriter, r *http.Request, target intake.Target) error {
	page := loosePage{Base: p.Frame.Base(r, "Blank tag", "tags"), Target: target}
	switch {
	case target.Divider:
		page.Title = "Divider"
	case target.Place != "":
		page.Title = "A place"
	}
	return p.pages.Render(w, http.StatusOK, "loose", page)
}

// unknownPage is the page struct of unknown.html, for keepers.
type unknownPage struct {
	desk.Base
	Typed    string
	Misread  bool // it cannot be a code at all
	Problem  string
	Examples bool
}

func (p *Pages) unknown(w http.ResponseWriter, r *http.Request, cause error) error {
	page := unknownPage{Base: p.Frame.Base(r, "No such tag", "tags"), Misread: errors.Is(cause, intake.ErrInvalid)}
	for _, c := range r.PathValue("code") {
		if len(page.Typed) >= 40 {
			page.Typed += "…"
			break
		}
		page.Typed += string(c)
	}
	return p.pages.Render(w, http.StatusNotFound, "unknown", page)
}

// strange shows a stranger the card. A code that leads to nothing with a number
// counts as a miss, whether it is blank, undone or invented: the three cannot
// be told apart from outside.
func (p *Pages) strange(w http.ResponseWriter, r *http.Request, target intake.Target) error {
	if !numbered(target) {
		p.tries.Spend(r)
		return p.card(w, r, http.StatusNotFound, target)
	}
	return p.card(w, r, http.StatusOK, target)
}

// numbered reports whether a stranger may see the number: the thing has one
// and still counts.
func numbered(t intake.Target) bool {
	return t.Item != nil && !t.Item.Number.IsZero() && t.Item.State != intake.StateWithdrawn
}

// cardPage is the page struct of card.html: all that a stranger sees.
type cardPage struct {
	desk.Base
	Number intake.Number
	Name   string // only of an item that the keeper made public
	Return string
	Mail   string // Return when it is a mail address
	Slow   bool   // too many tries
}

func (p *Pages) card(w http.ResponseWriter, r *http.Request, status int, target intake.Target) error {
	page := cardPage{Base: p.Frame.Base(r, "Part of a private collection", ""), Slow: status == http.StatusTooManyRequests}
	if numbered(target) {
		page.Number = target.Item.Number
		if target.Item.Public {
			page.Name = target.Item.Title()
		}
	}
	if p.Return != nil {
		page.Return = strings.TrimSpace(p.Return())
		page.Mail = mailAddress(page.Return)
	}
	if page.Slow {
		w.Header().Set("Retry-After", "600")
	}
	return p.pages.Render(w, status, "card", page)
}

// mailAddress returns line when it is a bare mail address (RFC 5322) and
// nothing but one; a sentence that contains one is printed as it is.
func mailAddress(line string) string {
	a, err := mail.ParseAddress(line)
	if err != nil || a.Name != "" || a.Address != line || strings.ContainsAny(line, "?&%\"") {
		return ""
	}
	return line
}

// enter makes an item of a blank tag: the thing can be photographed, placed and
// counted before anybody reads its plate.
func (p *Pages) enter(w http.ResponseWriter, r *http.Request) error {
	code, err := intake.ParseCode(r.PathValue("code"))
	if err != nil {
		return err
	}
	it, err := p.Codes.Enter(r.Context(), desk.By(r), code)
	if err != nil {
		return fmt.Errorf("enter item of tag %s: %w", code, err)
	}
	p.Frame.SetFlash(w, desk.Flash{Text: "Entered. It gets its number when its plate is read."})
	http.Redirect(w, r, itemPath(it), http.StatusSeeOther)
	return nil
}
