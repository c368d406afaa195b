package items

import (
	"errors"
	"fmt"
	"net/http"
	"strings"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// haulPage is the page struct of haul.html.
type haulPage struct {
	desk.Base
	Haul    intake.Haul
	Items   []intake.Item
	Groups  []intake.Group
	History []intake.Change
	Form    form
	Late    bool // an edit of an older version came in: Form shows both
	Editing bool
}

// haul answers GET /hauls/{ref} for an id or a haul number.
func (a *area) haul(w http.ResponseWriter, r *http.Request) error {
	h, err := a.Hauls.Haul(r.Context(), r.PathValue("ref"))
	if err != nil {
		return err
	}
	if toCanonical(w, r, haulPath(h)) {
		return nil
	}
	p, err := a.haulPage(r, h)
	if err != nil {
		return err
	}
	return a.pages.Render(w, http.StatusOK, "haul", p)
}

// haulPage reads everything the page shows of a haul. Its form stands at the
// record; an answer to a form that came in replaces it.
func (a *area) haulPage(r *http.Request, h intake.Haul) (haulPage, error) {
	p := haulPage{Base: a.frame.Base(r, h.Name, "hauls"), Haul: h, Form: a.haulFormOf(h)}
	var err error
	if p.Items, err = a.Hauls.Items(r.Context(), h.ID); err != nil {
		return p, err
	}
	if p.Groups, err = a.Waiting(r.Context(), h.ID); err != nil {
		return p, err
	}
	p.History, err = a.History.Of(r.Context(), "haul", string(h.ID))
	return p, err
}

// haulForm is the edit form of a haul, empty. The date is free text, because
// half of a collection was acquired "about 1998".
func haulForm(version int) form {
	return form{Version: version, Fields: []field{
		{Name: "name", Label: "Name", Kind: "line"},
		{Name: "source", Label: "Source: who it came from, for keepers only", Kind: "line"},
		{Name: "occasion", Label: "Occasion", Kind: "line"},
		{Name: "acquired", Label: "Acquired, as well as it is known: 2026-05-09, about 1998", Kind: "line"},
		{Name: "price", Label: "Paid for the whole", Kind: "amount"},
		{Name: "currency", Label: "Currency, three letters", Kind: "amount"},
		{Name: "notes", Label: "Notes", Kind: "text"},
		{Name: "closed", Label: "Closed: its photos wait on the bench no longer", Kind: "check"},
	}}
}

// haulFormOf is the edit form as the record has it. A haul without a price
// offers the book's currency, so that a price is one number to type.
func (a *area) haulFormOf(h intake.Haul) form {
	currency := a.Currency
	if h.Price.Known() {
		currency = h.Price.Currency
	}
	return haulForm(h.Version).filled(map[string]string{
		"name": h.Name, "source": h.Source, "occasion": h.Occasion, "acquired": h.Acquired,
		"price": h.Price.String(), "currency": currency, "notes": h.Notes, "closed": yes(h.Closed),
	})
}

// amendHaul answers POST /hauls/{id}/amend, as amend does for items.
func (a *area) amendHaul(w http.ResponseWriter, r *http.Request) error {
	seen, err := seenVersion(r)
	if err != nil {
		return err
	}
	id := r.PathValue("id")
	typed := haulForm(seen).typed(r.PostForm)
	saved, err := a.saveHaul(r, id, typed)
	if err == nil {
		a.frame.SetFlash(w, a.changed(r, "haul", string(saved.ID), saved.Number.String(), "Changed."))
		http.Redirect(w, r, haulPath(saved), http.StatusSeeOther)
		return nil
	}
	var wrong *intake.FieldError
	late := errors.Is(err, intake.ErrConflict)
	if !late && !errors.As(err, &wrong) {
		return err
	}
	now, readErr := a.Hauls.Haul(r.Context(), id)
	if readErr != nil {
		return readErr
	}
	p, readErr := a.haulPage(r, now)
	if readErr != nil {
		return readErr
	}
	p.Path, p.Editing, p.Late = haulPath(now), true, late
	if late {
		p.Form = typed.meet(p.Form)
		return a.pages.Render(w, http.StatusConflict, "haul", p)
	}
	p.Form = typed.refused(*wrong, p.Form)
	return a.pages.Render(w, http.StatusBadRequest, "haul", p)
}

// saveHaul changes the fields that came in and leaves the others. What it reads
// first may be newer than what the keeper saw; the version then says so.
func (a *area) saveHaul(r *http.Request, id string, typed form) (intake.Haul, error) {
	next, err := a.Hauls.Haul(r.Context(), id)
	if err != nil {
		return intake.Haul{}, err
	}
	if repeat, err := a.repeated(r, "haul", string(next.ID)); err != nil || repeat {
		if err == nil && typed.meet(a.haulFormOf(next)).Collides() {
			err = errOldPage
		}
		return next, err
	}
	for name, into := range map[string]*string{
		"name": &next.Name, "source": &next.Source, "occasion": &next.Occasion, "acquired": &next.Acquired, "notes": &next.Notes,
	} {
		if text := typed.get(name); text != nil {
			*into = *text
		}
	}
	if closed := typed.get("closed"); closed != nil {
		next.Closed = *closed != ""
	}
	if price := typed.get("price"); price != nil {
		if next.Price, err = a.money(*price, typed.get("currency")); err != nil {
			return intake.Haul{}, err
		}
	}
	saved, err := a.Hauls.Amend(r.Context(), desk.By(r), next.ID, typed.Version, next)
	if err != nil {
		return intake.Haul{}, fmt.Errorf("amend haul: %w", err)
	}
	return saved, nil
}

// money reads a price. An empty one is unknown, whatever the currency says.
func (a *area) money(amount string, currency *string) (intake.Money, error) {
	if strings.TrimSpace(amount) == "" {
		return intake.Money{}, nil
	}
	in := a.Currency
	if currency != nil {
		in = *currency
	}
	return intake.ParseMoney(amount, in)
}
