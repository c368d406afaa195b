package bench

import (
	"context"
	"errors"
	"net/http"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// read answers POST /bench/{group}/read: the plate is typed, the number given,
// and the next group comes up.
func (a *area) read(w http.ResponseWriter, r *http.Request) error {
	ctx, id, reading := r.Context(), r.PathValue("group"), typedIn(r)
	if r.PostFormValue("number") != "" {
		return a.addInstead(w, r, reading)
	}
	if plate := r.PostFormValue("plate"); plate != "" {
		var err error
		if reading.Plate, err = intake.ParsePhotoID(plate); err != nil {
			return err
		}
	}
	// A group that waits no more may be this very form sent a second time: the
	// ledger knows, so it is asked before anybody is.
	if g, err := a.Groups.Group(ctx, id); err == nil {
		found, err := a.unseenTwins(r, g, reading)
		if err != nil {
			return err
		}
		if len(found.Items) > 0 {
			return a.again(w, r, http.StatusOK, func(p *groupPage) { p.Likely, p.Sure = found, reading.Serial })
		}
	}
	// Asked now: once the group is read it has no neighbours any more.
	next, err := a.after(r, id)
	if err != nil {
		return err
	}
	by := desk.By(r)
	it, err := a.give(ctx, &by, id, reading)
	var wrong *intake.FieldError
	switch {
	case errors.As(err, &wrong) && wrong.Field != "plate": // that one is no field a keeper types in
		return a.again(w, r, http.StatusBadRequest, func(p *groupPage) { p.Problem = *wrong })
	case errors.Is(err, intake.ErrConflict):
		return a.again(w, r, http.StatusConflict, func(*groupPage) {})
	case err != nil:
		return err
	case differs(it, reading):
		return a.taken(w, r, it, reading.Plate, reading)
	}
	a.frame.SetFlash(w, a.said(r, by.Op, it, "given to "+it.Title()+"."))
	http.Redirect(w, r, next+leaving(r), http.StatusSeeOther)
	return nil
}

// give reads a group under the form's operation id. When that id was used for a
// reading that has been undone since, the ledger answers with the withdrawn
// item; somebody who saves the same form once more means it, so it is read under
// another id, which by then holds.
func (a *area) give(ctx context.Context, by *intake.By, group string, reading intake.Reading) (intake.Item, error) {
	it, err := a.Plates.Read(ctx, *by, group, reading)
	if err == nil && it.State == intake.StateWithdrawn {
		by.Op += "-again"
		it, err = a.Plates.Read(ctx, *by, group, reading)
	}
	return it, err
}

// differs reports whether something typed is not what the item says. That is
// so when a form was sent, taken back to by the browser, and sent once more
// with other words under the same operation id: the ledger keeps the first.
func differs(it intake.Item, reading intake.Reading) bool {
	clean, err := reading.Clean()
	if err != nil {
		return true
	}
	for _, f := range [][2]string{{clean.Name, it.Name}, {clean.Maker, it.Maker}, {clean.Model, it.Model}, {clean.Serial, it.Serial}} {
		if f[0] != "" && f[0] != f[1] {
			return true
		}
	}
	return false
}

// after is where the bench goes on from a group: to the next one that waits, or
// to the first that was skipped.
func (a *area) after(r *http.Request, id string) (string, error) {
	groups, err := a.Groups.Groups(r.Context(), "")
	if err != nil {
		return "", err
	}
	if _, next := neighbours(groups, id); next != "" {
		return "/bench/" + next, nil
	}
	return "/bench", nil
}

// said is the flash after an act on an item: its number, and Undo for what was
// done under this operation id.
func (a *area) said(r *http.Request, op string, it intake.Item, text string) desk.Flash {
	return desk.Flash{Tag: it.Number.String(), Text: text, Undo: a.undoable(r, op, "item", string(it.ID))}
}

// undoable is the change made under an operation id, and without one the last
// of its subject; 0 when there is nothing to take back. A history that cannot
// be read costs the button, not the act.
func (a *area) undoable(r *http.Request, op, kind, id string) int64 {
	changes, err := a.History(r.Context(), kind, id)
	if err != nil {
		return 0
	}
	var last intake.Change
	for _, c := range changes {
		if c.Seq > last.Seq && (op == "" || c.By.Op == op) {
			last = c
		}
	}
	if last.UndoneBy != 0 || !last.Undoable {
		return 0
	}
	return last.Seq
}
