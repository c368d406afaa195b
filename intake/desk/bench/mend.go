package bench

import (
	"context"
	"errors"
	"net/http"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// The acts on boundaries and photos are buttons of the plate form with an
// address of their own: so the words typed so far come along, with and without
// scripts, and stand in the form of the page that follows.

// cut answers POST /bench/cut: a new thing begins with a photo. The page that
// follows is of the part before it, because numbers follow shooting order.
func (a *area) cut(w http.ResponseWriter, r *http.Request) error {
	photo, err := boundaryPhoto(r)
	if err != nil {
		return err
	}
	g, _, err := a.holding(r.Context(), photo)
	if err != nil {
		return err
	}
	first := photo
	if len(g.Photos) > 0 {
		first = g.Photos[0].ID
	}
	return a.bound(w, r, a.Cuts.Cut, photo, first, "cut", "A new thing begins there.")
}

// join answers POST /bench/join: a photo shows the same thing as the one before.
func (a *area) join(w http.ResponseWriter, r *http.Request) error {
	photo, err := boundaryPhoto(r)
	if err != nil {
		return err
	}
	return a.bound(w, r, a.Cuts.Join, photo, photo, "join", "Joined: this is one thing.")
}

// boundaryPhoto is the photo behind the boundary: named by the button, or the
// one selected in the form.
func boundaryPhoto(r *http.Request) (intake.PhotoID, error) {
	if before := r.FormValue("before"); before != "" {
		return intake.ParsePhotoID(before)
	}
	return intake.ParsePhotoID(r.FormValue("photo"))
}

// bound says a boundary and goes to the group of another photo. Where it cannot
// stand, the page says why and stays as it is.
func (a *area) bound(w http.ResponseWriter, r *http.Request, say func(context.Context, intake.By, intake.PhotoID) error,
	photo, then intake.PhotoID, act, done string) error {
	by := actBy(r, act, photo)
	err := say(r.Context(), by, photo)
	switch {
	case err == nil:
		a.frame.SetFlash(w, desk.Flash{Text: done, Undo: a.undoable(r, by.Op, "photo", photo.String())})
	case errors.Is(err, intake.ErrConflict), errors.Is(err, intake.ErrInvalid):
		a.frame.SetFlash(w, desk.Flash{Text: "That cannot be done here: the photos beside it belong to an item already, or there is nothing on that side."})
	default:
		return err
	}
	return a.backTo(w, r, then, "")
}

// actBy gives an act an operation id of its own. The form has one, and saving
// must find it unused after a split and a step back in the browser.
func actBy(r *http.Request, act string, photo intake.PhotoID) intake.By {
	by := desk.By(r)
	if by.Op != "" {
		by.Op = act + "-" + photo.String()[:12] + "-" + by.Op
	}
	return by
}

// holding finds the waiting group that has a photo, zero when none has, and
// where the bench goes on behind it.
func (a *area) holding(ctx context.Context, photo intake.PhotoID) (g intake.Group, next string, err error) {
	groups, err := a.Groups.Groups(ctx, "")
	if err != nil {
		return g, "", err
	}
	for _, each := range groups {
		for _, p := range each.Photos {
			if p.ID == photo {
				_, next = neighbours(groups, each.ID())
				return each, next, nil
			}
		}
	}
	return g, "", nil
}

// backTo leads to the waiting group that holds a photo now, with the words that
// were typed. shown is the photo to select, "" for the plate.
func (a *area) backTo(w http.ResponseWriter, r *http.Request, photo intake.PhotoID, shown string) error {
	g, _, err := a.holding(r.Context(), photo)
	if err != nil {
		return err
	}
	to := "/bench"
	if len(g.Photos) > 0 {
		to = "/bench/" + g.ID() + carried(r, shown)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// role answers POST /bench/role: what a photo shows.
func (a *area) role(w http.ResponseWriter, r *http.Request) error {
	photo, err := intake.ParsePhotoID(r.FormValue("photo"))
	if err != nil {
		return err
	}
	role := intake.Role(r.FormValue("role"))
	// Spelled out, because the sentence is read after the photo left the eye.
	shows := map[intake.Role]string{
		intake.RoleView: "the whole thing", intake.RoleDetail: "a detail", intake.RolePlate: "the plate", intake.RoleTag: "the tag",
	}[role]
	if shows == "" {
		return &intake.FieldError{Field: "role", Problem: "is none of view, detail, plate and tag"}
	}
	by := actBy(r, string(role), photo)
	if err := a.Photos.SetRole(r.Context(), by, photo, role); err != nil {
		return err
	}
	a.frame.SetFlash(w, desk.Flash{Text: "This photo shows " + shows + ".", Undo: a.undoable(r, by.Op, "photo", photo.String())})
	return a.backTo(w, r, photo, photo.String())
}

// leaveOut answers POST /bench/leave-out: a photo that shows nothing to keep
// leaves the bench. It stays in the book, and Undo brings it back.
func (a *area) leaveOut(w http.ResponseWriter, r *http.Request) error {
	photo, err := intake.ParsePhotoID(r.FormValue("photo"))
	if err != nil {
		return err
	}
	g, next, err := a.holding(r.Context(), photo)
	if err != nil {
		return err
	}
	by := actBy(r, "out", photo)
	if err := a.Photos.SetPurpose(r.Context(), by, photo, intake.LeftOut); err != nil {
		return err
	}
	a.frame.SetFlash(w, desk.Flash{Text: "Left out. The photo stays in the book.", Undo: a.undoable(r, by.Op, "photo", photo.String())})
	// The rest of its group, or where there is none, the group behind it.
	for _, p := range g.Photos {
		if p.ID != photo {
			return a.backTo(w, r, p.ID, "")
		}
	}
	to := "/bench"
	if next != "" {
		to += "/" + next
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}
