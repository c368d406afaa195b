package bench

import (
	"errors"
	"net/http"
	"strings"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// addInstead answers Enter in the field that names an item: a number and no
// plate means that the photos are of that thing. Both at once is a question.
func (a *area) addInstead(w http.ResponseWriter, r *http.Request, reading intake.Reading) error {
	if reading == (intake.Reading{}) {
		return a.attach(w, r)
	}
	return a.again(w, r, http.StatusBadRequest, func(p *groupPage) {
		p.Problem = intake.FieldError{Field: "number", Problem: "is filled in beside the plate: press Add, or empty it and save"}
	})
}

// attach answers POST /bench/{group}/attach: late photos join their item.
func (a *area) attach(w http.ResponseWriter, r *http.Request) error {
	ctx, id := r.Context(), r.PathValue("group")
	next, err := a.after(r, id)
	if err != nil {
		return err
	}
	// A number that leads nowhere is the same mistake as one that takes no
	// photos: both are said at the field, with the page as it was.
	item, err := a.chosen(r)
	var it intake.Item
	if err == nil {
		it, err = a.Plates.Attach(ctx, desk.By(r), id, item)
	}
	var wrong *intake.FieldError
	switch {
	case errors.As(err, &wrong):
		return a.again(w, r, http.StatusBadRequest, func(p *groupPage) { p.Problem = *wrong })
	case errors.Is(err, intake.ErrConflict):
		return a.again(w, r, http.StatusConflict, func(p *groupPage) {
			p.Problem = intake.FieldError{Field: "number", Problem: "takes no photos of this group: it is closed, or the tag in view belongs to another thing"}
		})
	case err != nil:
		return err
	}
	a.frame.SetFlash(w, a.said(r, desk.By(r).Op, it, "has the photos now."))
	http.Redirect(w, r, next+leaving(r), http.StatusSeeOther)
	return nil
}

// chosen is the item named by the button or typed as a number.
func (a *area) chosen(r *http.Request) (intake.ID, error) {
	if id := r.PostFormValue("item"); id != "" {
		return intake.ID(id), nil
	}
	ref := strings.TrimSpace(r.PostFormValue("number"))
	if ref == "" || a.Item == nil {
		return "", &intake.FieldError{Field: "number", Problem: "is empty: type the number of the thing, 2026.1.3 for one"}
	}
	it, err := a.Item(r.Context(), ref)
	if errors.Is(err, intake.ErrNotFound) || errors.Is(err, intake.ErrInvalid) {
		return "", &intake.FieldError{Field: "number", Problem: "is no number or tag code of this book"}
	}
	return it.ID, err
}
