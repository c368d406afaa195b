package bench

import (
	"context"
	"errors"
	"net/http"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// boundary answers POST /bench/cut and /bench/join: what a human says about the
// gap before a photo. The page that follows is of the group that holds it.
func (a *area) boundary(say func(context.Context, intake.By, intake.PhotoID) error, done string) desk.Handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		photo, err := intake.ParsePhotoID(r.PostFormValue("photo"))
		if err != nil {
			return err
		}
		if err := say(r.Context(), desk.By(r), photo); err != nil {
			return a.refused(w, r, photo, err)
		}
		a.frame.SetFlash(w, desk.Flash{Text: done, Undo: a.newest(r, "photo", photo.String())})
		return a.backTo(w, r, photo)
	}
}

// refused tells why a boundary cannot stand and leaves the page as it is.
func (a *area) refused(w http.ResponseWriter, r *http.Request, photo intake.PhotoID, err error) error {
	if !errors.Is(err, intake.ErrConflict) && !errors.Is(err, intake.ErrInvalid) {
		return err
	}
	a.frame.SetFlash(w, desk.Flash{Text: "That cannot be done here: the photos beside it are numbered already, or there is nothing on that side."})
	return a.backTo(w, r, photo)
}

// backTo leads to the waiting group that holds a photo now.
func (a *area) backTo(w http.ResponseWriter, r *http.Request, photo intake.PhotoID) error {
	groups, err := a.Groups.Groups(r.Context(), "")
	if err != nil {
		return err
	}
	to := "/bench"
	for _, g := range groups {
		for _, p := range g.Photos {
			if p.ID == photo {
				to = "/bench/" + g.ID() + "?photo=" + photo.String()
			}
		}
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// role answers POST /bench/role: what a photo shows.
func (a *area) role(w http.ResponseWriter, r *http.Request) error {
	photo, err := intake.ParsePhotoID(r.PostFormValue("photo"))
	if err != nil {
		return err
	}
	role := intake.Role(r.PostFormValue("role"))
	if !role.Valid() {
		return &intake.FieldError{Field: "role", Problem: "is none of view, detail, plate and tag"}
	}
	if err := a.Photos.SetRole(r.Context(), desk.By(r), photo, role); err != nil {
		return err
	}
	a.frame.SetFlash(w, desk.Flash{Text: "This photo shows the " + string(role) + ".", Undo: a.newest(r, "photo", photo.String())})
	return a.backTo(w, r, photo)
}

// leaveOut answers POST /bench/leave-out: a photo that shows nothing to keep
// leaves the bench. It stays in the book, and Undo brings it back.
func (a *area) leaveOut(w http.ResponseWriter, r *http.Request) error {
	photo, err := intake.ParsePhotoID(r.PostFormValue("photo"))
	if err != nil {
		return err
	}
	if err := a.Photos.SetPurpose(r.Context(), desk.By(r), photo, intake.LeftOut); err != nil {
		return err
	}
	a.frame.SetFlash(w, desk.Flash{Text: "Left out. The photo stays in the book.", Undo: a.newest(r, "photo", photo.String())})
	next, err := intake.ParsePhotoID(r.PostFormValue("next"))
	if err != nil {
		http.Redirect(w, r, "/bench", http.StatusSeeOther)
		return nil
	}
	return a.backTo(w, r, next)
}
