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

// itemForm is the edit form of an item, empty. The serial comes after what is
// read first on most plates; whether strangers see it comes last, because it is
// the one field with a consequence outside the house.
func itemForm(version int) form {
	return form{Version: version, Fields: []field{
		{Name: "name", Label: "Name", Kind: "line"},
		{Name: "maker", Label: "Maker", Kind: "line"},
		{Name: "model", Label: "Model", Kind: "line"},
		{Name: "serial", Label: "Serial, exactly as read (? for what you cannot read)", Kind: "mono"},
		{Name: "quantity", Label: "How many alike under this number", Kind: "amount"},
		{Name: "notes", Label: "Notes", Kind: "text"},
		{Name: "public", Label: "Strangers who scan the tag may see what it is. Never where, from whom or its serial.", Kind: "check"},
	}}
}

// formOf is the edit form as the record has it. An item from before quantities
// were kept counts as one.
func formOf(it intake.Item) form {
	return itemForm(it.Version).filled(map[string]string{
		"name": it.Name, "maker": it.Maker, "model": it.Model, "serial": it.Serial, "notes": it.Notes,
		"quantity": strconv.Itoa(max(it.Quantity, 1)), "public": yes(it.Public),
	})
}

// amend answers POST /items/{id}/amend. A field that cannot be kept comes back
// with its text and a sentence; an edit of an older version comes back beside
// what the record says now.
func (a *area) amend(w http.ResponseWriter, r *http.Request) error {
	seen, err := seenVersion(r)
	if err != nil {
		return err
	}
	typed, id := itemForm(seen).typed(r.PostForm), intake.ID(r.PathValue("id"))
	it, err := a.saveItem(r, id, typed)
	if err == nil {
		a.frame.SetFlash(w, a.changed(r, "item", string(id), it.Number.String(), "Changed."))
		http.Redirect(w, r, path(it), http.StatusSeeOther)
		return nil
	}
	var wrong *intake.FieldError
	late := errors.Is(err, intake.ErrConflict)
	if !late && !errors.As(err, &wrong) {
		return err
	}
	p, readErr := a.itemAgain(r, id)
	if readErr != nil {
		return readErr
	}
	p.Editing, p.Late = true, late
	if late {
		p.Form = typed.meet(p.Form)
		return a.pages.Render(w, http.StatusConflict, "item", p)
	}
	p.Form = typed.refused(*wrong, p.Form)
	return a.pages.Render(w, http.StatusBadRequest, "item", p)
}

// saveItem amends the record, unless this very form did so before: then nothing
// is changed, and what differs from the record is a conflict.
func (a *area) saveItem(r *http.Request, id intake.ID, typed form) (intake.Item, error) {
	repeat, err := a.repeated(r, "item", string(id))
	if err != nil {
		return intake.Item{}, err
	}
	if !repeat {
		return a.Items.Amend(r.Context(), desk.By(r), id, typed.Version, amendment(typed))
	}
	it, err := a.Items.Item(r.Context(), string(id))
	if err == nil && typed.meet(formOf(it)).Collides() {
		err = errOldPage
	}
	return it, err
}

// errOldPage: the form was sent before, then the browser went back to it and
// something else was typed. To the ledger it is a repeat, done already; the
// keeper's words would be lost without a sign.
var errOldPage = fmt.Errorf("the form was sent before: %w", intake.ErrConflict)

// itemAgain is the item's page as the answer to a form: what it links back to
// is the record, not the form's own address.
func (a *area) itemAgain(r *http.Request, id intake.ID) (itemPage, error) {
	it, err := a.Items.Item(r.Context(), string(id))
	if err != nil {
		return itemPage{}, err
	}
	p, err := a.itemPage(r, it)
	p.Path = path(it)
	return p, err
}

// seenVersion is the version of the record that the form was made from. Without
// one nothing can be compared, so nothing is saved.
func seenVersion(r *http.Request) (int, error) {
	seen, err := strconv.Atoi(r.PostFormValue("version"))
	if err != nil {
		return 0, &intake.FieldError{Field: "version", Problem: "is missing: open the page again"}
	}
	return seen, nil
}

// amendment is the form as the ledger takes it. A field that did not come in, or
// a quantity that was emptied, stays as it is.
func amendment(f form) intake.Amendment {
	am := intake.Amendment{
		Name: f.get("name"), Maker: f.get("maker"), Model: f.get("model"), Serial: f.get("serial"), Notes: f.get("notes"),
	}
	if public := f.get("public"); public != nil {
		on := *public != ""
		am.Public = &on
	}
	if typed := f.get("quantity"); typed != nil && strings.TrimSpace(*typed) != "" {
		n, err := strconv.Atoi(strings.TrimSpace(*typed))
		if err != nil {
			n = -1 // no number at all is refused like one that is too small
		}
		am.Quantity = &n
	}
	return am
}

// addPart answers POST /items/{id}/part.
func (a *area) addPart(w http.ResponseWriter, r *http.Request) error {
	id, name := intake.ID(r.PathValue("id")), r.PostFormValue("part")
	part, err := a.partNamed(r, id, name)
	var wrong *intake.FieldError
	if errors.As(err, &wrong) {
		p, err := a.itemAgain(r, id)
		if err != nil {
			return err
		}
		p.Part = field{Name: "part", Value: name, Why: wrong.Problem}
		return a.pages.Render(w, http.StatusBadRequest, "item", p)
	} else if err != nil {
		return err
	}
	a.frame.SetFlash(w, a.changed(r, "item", string(part.ID), part.Number.String(), "Part added."))
	http.Redirect(w, r, path(part), http.StatusSeeOther)
	return nil
}

// partNamed adds a part. The ledger takes one without a name; somebody who
// pressed the button with an empty field meant something else.
func (a *area) partNamed(r *http.Request, whole intake.ID, name string) (intake.Item, error) {
	if strings.TrimSpace(name) == "" {
		return intake.Item{}, &intake.FieldError{Field: "part", Problem: "is empty: say what it is"}
	}
	return a.Items.AddPart(r.Context(), desk.By(r), whole, name)
}
