package items

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// itemPage is the page struct of item.html.
type itemPage struct {
	desk.Base
	Item    intake.Item
	Whole   *intake.Item // the item it is a part of
	Shown   *intake.ShownPhoto
	History []intake.Change
	Form    form
	Theirs  *intake.Item // what the record says now, when an edit came too late
	Problem intake.FieldError
	Part    string // name typed for a new part
	Editing bool
}

// form is what stands in the fields, from the record or as it was typed.
type form struct {
	Name, Maker, Model, Serial, Notes string
	Quantity                          string
	Public                            bool
	Version                           int
}

// item answers GET /items/{ref} for an id, a number in any padding, or a code.
// The address in the bar ends up being the number.
func (a *area) item(w http.ResponseWriter, r *http.Request) error {
	it, err := a.Items.Item(r.Context(), r.PathValue("ref"))
	if err != nil {
		return err
	}
	if canonical := path(it); r.URL.Path != canonical {
		http.Redirect(w, r, canonical, http.StatusSeeOther)
		return nil
	}
	p, err := a.itemPage(r, it)
	if err != nil {
		return err
	}
	return a.pages.Render(w, http.StatusOK, "item", p)
}

func (a *area) itemPage(r *http.Request, it intake.Item) (itemPage, error) {
	p := itemPage{Base: a.frame.Base(r, it.Title(), "items"), Item: it, Form: formOf(it)}
	p.Shown = chosen(it.Photos, r.URL.Query().Get("photo"))
	if it.Parent != "" {
		whole, err := a.Items.Item(r.Context(), string(it.Parent))
		if err != nil {
			return p, err
		}
		p.Whole = &whole
	}
	var err error
	p.History, err = a.History.Of(r.Context(), "item", string(it.ID))
	return p, err
}

func formOf(it intake.Item) form {
	return form{
		Name: it.Name, Maker: it.Maker, Model: it.Model, Serial: it.Serial, Notes: it.Notes,
		Quantity: strconv.Itoa(max(it.Quantity, 1)), Public: it.Public, Version: it.Version,
	}
}

// chosen is the photo shown large: the one asked for, else the first that shows
// the thing whole, else the first.
func chosen(photos []intake.ShownPhoto, asked string) *intake.ShownPhoto {
	var first *intake.ShownPhoto
	for i := range photos {
		p := &photos[i]
		if asked != "" && p.ID.String() == asked {
			return p
		}
		if first == nil || first.As != intake.RoleView && p.As == intake.RoleView {
			first = p
		}
	}
	return first
}

// amend answers POST /items/{id}/amend. A field that cannot be kept comes back
// with its text and a sentence; an edit of an older version comes back beside
// what the record says now.
func (a *area) amend(w http.ResponseWriter, r *http.Request) error {
	typed, seen, err := typedForm(r)
	if err != nil {
		return err
	}
	id := intake.ID(r.PathValue("id"))
	it, err := a.Items.Amend(r.Context(), desk.By(r), id, seen, typed.amendment())
	if err == nil {
		a.frame.SetFlash(w, a.lastChange(r, "item", string(id), it.Number.String(), "Changed."))
		http.Redirect(w, r, path(it), http.StatusSeeOther)
		return nil
	}
	var field *intake.FieldError
	late := errors.Is(err, intake.ErrConflict)
	if !late && !errors.As(err, &field) {
		return err
	}
	now, readErr := a.Items.Item(r.Context(), string(id))
	if readErr != nil {
		return readErr
	}
	p, readErr := a.itemPage(r, now)
	if readErr != nil {
		return readErr
	}
	p.Form, p.Editing = typed, true
	if late {
		p.Theirs, p.Form.Version = &now, now.Version
		return a.pages.Render(w, http.StatusConflict, "item", p)
	}
	p.Problem = *field
	return a.pages.Render(w, http.StatusBadRequest, "item", p)
}

func typedForm(r *http.Request) (form, int, error) {
	if err := r.ParseForm(); err != nil {
		return form{}, 0, &intake.FieldError{Field: "form", Problem: "cannot be read"}
	}
	seen, err := strconv.Atoi(r.PostForm.Get("version"))
	if err != nil {
		return form{}, 0, &intake.FieldError{Field: "version", Problem: "is missing: open the page again"}
	}
	value := r.PostForm.Get
	return form{
		Name: value("name"), Maker: value("maker"), Model: value("model"), Serial: value("serial"),
		Notes: value("notes"), Quantity: value("quantity"), Public: value("public") != "", Version: seen,
	}, seen, nil
}

func (f form) amendment() intake.Amendment {
	am := intake.Amendment{
		Name: &f.Name, Maker: &f.Maker, Model: &f.Model, Serial: &f.Serial, Notes: &f.Notes, Public: &f.Public,
	}
	if typed := strings.TrimSpace(f.Quantity); typed != "" {
		n, err := strconv.Atoi(typed)
		if err != nil {
			n = -1 // no number at all is refused like one that is too small
		}
		am.Quantity = &n
	}
	return am
}

// addPart answers POST /items/{id}/part.
func (a *area) addPart(w http.ResponseWriter, r *http.Request) error {
	id := intake.ID(r.PathValue("id"))
	part, err := a.Items.AddPart(r.Context(), desk.By(r), id, r.PostFormValue("part"))
	var field *intake.FieldError
	if errors.As(err, &field) {
		it, readErr := a.Items.Item(r.Context(), string(id))
		if readErr != nil {
			return readErr
		}
		p, readErr := a.itemPage(r, it)
		if readErr != nil {
			return readErr
		}
		p.Problem, p.Part = intake.FieldError{Field: "part", Problem: field.Problem}, r.PostFormValue("part")
		return a.pages.Render(w, http.StatusBadRequest, "item", p)
	} else if err != nil {
		return err
	}
	a.frame.SetFlash(w, a.lastChange(r, "item", string(part.ID), part.Number.String(), "Part added."))
	http.Redirect(w, r, path(part), http.StatusSeeOther)
	return nil
}

// lastChange is the flash of the change just made: it offers to take back the
// newest change of the subject.
func (a *area) lastChange(r *http.Request, kind, id, number, text string) desk.Flash {
	flash := desk.Flash{Text: text, Tag: number}
	if changes, err := a.History.Of(r.Context(), kind, id); err == nil && len(changes) > 0 {
		newest := changes[0]
		for _, c := range changes {
			if c.Seq > newest.Seq {
				newest = c
			}
		}
		flash.Undo = newest.Seq
	}
	return flash
}
