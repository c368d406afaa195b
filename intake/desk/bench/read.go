package bench

import (
	"errors"
	"net/http"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// read answers POST /bench/{group}/read: the plate is typed, the number given,
// and the next group comes up.
func (a *area) read(w http.ResponseWriter, r *http.Request) error {
	ctx, id := r.Context(), r.PathValue("group")
	reading := intake.Reading{
		Name: r.PostFormValue("name"), Maker: r.PostFormValue("maker"),
		Model: r.PostFormValue("model"), Serial: r.PostFormValue("serial"),
	}
	if plate := r.PostFormValue("plate"); plate != "" {
		var err error
		if reading.Plate, err = intake.ParsePhotoID(plate); err != nil {
			return err
		}
	}
	if twins, err := a.unseenTwins(r, reading); err != nil {
		return err
	} else if len(twins) > 0 {
		return a.again(w, r, reading, http.StatusOK, func(p *groupPage) { p.Twins, p.Sure = twins, true })
	}
	_, next, err := a.around(r, id)
	if err != nil {
		return err
	}
	it, err := a.Plates.Read(ctx, desk.By(r), id, reading)
	var field *intake.FieldError
	switch {
	case errors.As(err, &field):
		return a.again(w, r, reading, http.StatusBadRequest, func(p *groupPage) { p.Problem = *field })
	case errors.Is(err, intake.ErrConflict):
		return a.again(w, r, reading, http.StatusConflict, func(p *groupPage) { p.Moved = true })
	case err != nil:
		return err
	}
	a.frame.SetFlash(w, a.given(r, it, "given to "+it.Title()+"."))
	http.Redirect(w, r, next, http.StatusSeeOther)
	return nil
}

// unseenTwins returns look-alikes the keeper has not been shown yet.
func (a *area) unseenTwins(r *http.Request, reading intake.Reading) ([]intake.Item, error) {
	clean, err := reading.Clean()
	if r.PostFormValue("sure") != "" || err != nil || clean.Serial == "" {
		return nil, nil // what cannot be kept is complained about when it is read
	}
	return a.Plates.Twins(r.Context(), clean.Maker, clean.Model, clean.Serial)
}

// around returns where the bench goes from a group: back to the one before it
// and on to the one after it.
func (a *area) around(r *http.Request, id string) (back, next string, err error) {
	groups, err := a.Groups.Groups(r.Context(), "")
	if err != nil {
		return "", "", err
	}
	before, after := neighbours(groups, id)
	back, next = "/bench", "/bench"
	if before != "" {
		back = "/bench/" + before
	}
	if after != "" {
		next = "/bench/" + after
	}
	return back, next, nil
}

// again renders the group's page once more with what was typed. When the group
// is no longer what it was, the page is of the one that holds its first photo.
func (a *area) again(w http.ResponseWriter, r *http.Request, typed intake.Reading, status int, more func(*groupPage)) error {
	g, err := a.Groups.Group(r.Context(), r.PathValue("group"))
	if errors.Is(err, intake.ErrConflict) {
		conflict := err
		if g, err = a.holding(r.Context(), r.PathValue("group")); errors.Is(err, intake.ErrNotFound) {
			return conflict
		}
	}
	if err != nil {
		return err
	}
	p, err := a.page(r, g)
	if err != nil {
		return err
	}
	p.Form = typed
	more(&p)
	return a.pages.Render(w, status, "group", p)
}

// given is the flash after an act on an item: its number, and Undo for it.
func (a *area) given(r *http.Request, it intake.Item, text string) desk.Flash {
	flash := desk.Flash{Tag: it.Number.String(), Text: text}
	flash.Undo = a.newest(r, "item", string(it.ID))
	return flash
}

// newest is the last change of a subject, 0 when there is none to take back.
func (a *area) newest(r *http.Request, kind, id string) int64 {
	changes, err := a.History(r.Context(), kind, id)
	if err != nil {
		return 0
	}
	var seq int64
	for _, c := range changes {
		seq = max(seq, c.Seq)
	}
	return seq
}

// attach answers POST /bench/{group}/attach: late photos join their item.
func (a *area) attach(w http.ResponseWriter, r *http.Request) error {
	_, next, err := a.around(r, r.PathValue("group"))
	if err != nil {
		return err
	}
	it, err := a.Plates.Attach(r.Context(), desk.By(r), r.PathValue("group"), intake.ID(r.PostFormValue("item")))
	if errors.Is(err, intake.ErrConflict) {
		return a.moved(w, r, err)
	} else if err != nil {
		return err
	}
	a.frame.SetFlash(w, a.given(r, it, "has the photos now."))
	http.Redirect(w, r, next, http.StatusSeeOther)
	return nil
}

// twinsPage is the page struct of twins.html, a fragment without the frame.
type twinsPage struct {
	desk.Base
	Twins []intake.Item
}

// twins answers GET /bench/twins while a serial is typed.
func (a *area) twins(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	clean, err := intake.Reading{Maker: q.Get("maker"), Model: q.Get("model"), Serial: q.Get("serial")}.Clean()
	if err != nil {
		return err
	}
	p := twinsPage{}
	if clean.Serial != "" {
		if p.Twins, err = a.Plates.Twins(r.Context(), clean.Maker, clean.Model, clean.Serial); err != nil {
			return err
		}
	}
	return a.pages.Render(w, http.StatusOK, "twins", p)
}
