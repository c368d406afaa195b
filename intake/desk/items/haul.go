package items

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// haulsPage is the page struct of hauls.html.
type haulsPage struct {
	desk.Base
	Hauls []intake.Haul
}

// hauls answers GET /hauls, newest first.
func (a *area) hauls(w http.ResponseWriter, r *http.Request) error {
	p := haulsPage{Base: a.frame.Base(r, "Hauls", "hauls")}
	var err error
	if p.Hauls, err = a.Hauls.List(r.Context()); err != nil {
		return err
	}
	return a.pages.Render(w, http.StatusOK, "hauls", p)
}

// haulPage is the page struct of haul.html.
type haulPage struct {
	desk.Base
	Haul    intake.Haul
	Items   []intake.Item
	Groups  []intake.Group
	History []intake.Change
	Form    haulForm
	Problem intake.FieldError
	Late    bool
	Editing bool
}

// haulForm is what stands in the fields of a haul.
type haulForm struct {
	Name, Source, Occasion, Acquired, Price, Currency, Notes string
	Version                                                  int
}

// haul answers GET /hauls/{ref} for an id or a haul number.
func (a *area) haul(w http.ResponseWriter, r *http.Request) error {
	h, err := a.Hauls.Haul(r.Context(), r.PathValue("ref"))
	if err != nil {
		return err
	}
	p, err := a.haulPage(r, h)
	if err != nil {
		return err
	}
	return a.pages.Render(w, http.StatusOK, "haul", p)
}

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

func (a *area) haulFormOf(h intake.Haul) haulForm {
	f := haulForm{
		Name: h.Name, Source: h.Source, Occasion: h.Occasion, Acquired: h.Acquired, Notes: h.Notes,
		Currency: a.Currency, Version: h.Version,
	}
	if h.Price.Known() {
		f.Price, f.Currency = h.Price.String(), h.Price.Currency
	}
	return f
}

// amendHaul answers POST /hauls/{id}/amend.
func (a *area) amendHaul(w http.ResponseWriter, r *http.Request) error {
	now, err := a.Hauls.Haul(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	typed := haulForm{
		Name: r.PostFormValue("name"), Source: r.PostFormValue("source"), Occasion: r.PostFormValue("occasion"),
		Acquired: r.PostFormValue("acquired"), Price: r.PostFormValue("price"), Currency: r.PostFormValue("currency"),
		Notes: r.PostFormValue("notes"),
	}
	if typed.Version, err = strconv.Atoi(r.PostFormValue("version")); err != nil {
		return &intake.FieldError{Field: "version", Problem: "is missing: open the page again"}
	}
	saved, err := a.saveHaul(r, now, typed)
	if err == nil {
		a.frame.SetFlash(w, a.lastChange(r, "haul", string(saved.ID), saved.Number.String(), "Changed."))
		http.Redirect(w, r, "/hauls/"+saved.Number.String(), http.StatusSeeOther)
		return nil
	}
	var field *intake.FieldError
	late := errors.Is(err, intake.ErrConflict)
	if !late && !errors.As(err, &field) {
		return err
	}
	p, readErr := a.haulPage(r, now)
	if readErr != nil {
		return readErr
	}
	p.Form, p.Editing, p.Late = typed, true, late
	if late {
		p.Form.Version = now.Version
		return a.pages.Render(w, http.StatusConflict, "haul", p)
	}
	p.Problem = *field
	return a.pages.Render(w, http.StatusBadRequest, "haul", p)
}

func (a *area) saveHaul(r *http.Request, now intake.Haul, typed haulForm) (intake.Haul, error) {
	next := now
	next.Name, next.Source, next.Occasion, next.Acquired, next.Notes = typed.Name, typed.Source, typed.Occasion, typed.Acquired, typed.Notes
	next.Price = intake.Money{}
	if strings.TrimSpace(typed.Price) != "" {
		var err error
		if next.Price, err = intake.ParseMoney(typed.Price, typed.Currency); err != nil {
			return intake.Haul{}, err
		}
	}
	saved, err := a.Hauls.Amend(r.Context(), desk.By(r), now.ID, typed.Version, next)
	if err != nil {
		return intake.Haul{}, fmt.Errorf("amend haul: %w", err)
	}
	return saved, nil
}
