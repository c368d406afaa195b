package bench

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// standing finds the group that has the first photo of a stale one, and reports
// whether it still waits. ErrNotFound: no open haul shows that photo any more.
func (a *area) standing(ctx context.Context, stale string) (g intake.Group, waits bool, err error) {
	first, _, err := intake.ParseGroupID(stale)
	if err != nil {
		return g, false, err
	}
	waiting, err := a.Groups.Groups(ctx, "")
	if err != nil {
		return g, false, err
	}
	if g, found := withPhoto(waiting, first); found {
		return g, true, nil
	}
	all, err := a.Groups.Ribbon(ctx, "")
	if err != nil {
		return g, false, err
	}
	if g, found := withPhoto(all, first); found {
		return g, false, nil
	}
	return g, false, fmt.Errorf("group %s: %w", stale, intake.ErrNotFound)
}

// withPhoto finds the group that has the photo whose id begins so.
func withPhoto(groups []intake.Group, digits string) (intake.Group, bool) {
	for _, g := range groups {
		for _, p := range g.Photos {
			if strings.HasPrefix(p.ID.String(), digits) {
				return g, true
			}
		}
	}
	return intake.Group{}, false
}

// moved leads on from a stale address: to the group that holds its first photo
// now, or to the item that these photos became. A page that is open already is
// told so in its live regions instead.
func (a *area) moved(w http.ResponseWriter, r *http.Request, conflict error) error {
	g, waits, err := a.standing(r.Context(), r.PathValue("group"))
	if errors.Is(err, intake.ErrNotFound) {
		return conflict
	} else if err != nil {
		return err
	}
	if r.Header.Get(liveHeader) != "" {
		p, err := a.page(r, g)
		if err != nil {
			return err
		}
		p.News = news(g, waits)
		return a.pages.Render(w, http.StatusOK, "group", p)
	}
	if !waits {
		a.frame.SetFlash(w, desk.Flash{Tag: g.Item.Number.String(), Text: "is what these photos became meanwhile."})
		http.Redirect(w, r, "/items/"+g.Item.Number.String(), http.StatusSeeOther)
		return nil
	}
	// Whoever comes from an act of their own, an undo say, has a sentence waiting
	// that tells more.
	if !sentenceWaits(r) {
		a.frame.SetFlash(w, desk.Flash{Text: "This group changed meanwhile. Here is the one that holds its first photo now."})
	}
	http.Redirect(w, r, "/bench/"+g.ID()+carried(r, ""), http.StatusSeeOther)
	return nil
}

// sentenceWaits reports whether the browser brings a flash that no page has
// shown yet.
func sentenceWaits(r *http.Request) bool {
	return slices.ContainsFunc(r.Cookies(), func(c *http.Cookie) bool { return strings.HasSuffix(c.Name, "_flash") })
}

func news(g intake.Group, waits bool) string {
	switch n := len(g.Photos); {
	case !waits:
		return "These photos are " + g.Item.Number.String() + " by now."
	case n == 1:
		return "This group changed: it has one photo now."
	default:
		return fmt.Sprintf("This group changed: it has %d photos now.", n)
	}
}

// takenPage is the page struct of taken.html: the photos got their number from
// somebody else while the form was typed.
type takenPage struct {
	desk.Base
	Item  intake.Item
	Photo intake.PhotoID
	Typed []field
}

// taken shows what the photos became beside what was typed, so that nobody has
// to read the plate again to mend the record.
func (a *area) taken(w http.ResponseWriter, r *http.Request, it intake.Item, photo intake.PhotoID, typed intake.Reading) error {
	p := takenPage{Base: a.base(r), Item: it, Photo: photo}
	for _, f := range (groupPage{Form: typed}).Fields() {
		if f.Value != "" {
			p.Typed = append(p.Typed, f)
		}
	}
	return a.pages.Render(w, http.StatusConflict, "taken", p)
}

// again renders the group's page once more with what was typed. When the group
// is no longer what it was, the page is of the one that holds its first photo.
func (a *area) again(w http.ResponseWriter, r *http.Request, status int, more func(*groupPage)) error {
	ctx, id, typed := r.Context(), r.PathValue("group"), typedIn(r)
	g, err := a.Groups.Group(ctx, id)
	moved := errors.Is(err, intake.ErrConflict)
	if moved {
		conflict, waits := err, false
		g, waits, err = a.standing(ctx, id)
		switch {
		case errors.Is(err, intake.ErrNotFound):
			return conflict
		case err == nil && !waits:
			return a.taken(w, r, g.Item, g.Photos[0].ID, typed)
		}
		status = http.StatusConflict
	}
	if err != nil {
		return err
	}
	p, err := a.page(r, g)
	if err != nil {
		return err
	}
	p.Form, p.Moved = typed, moved
	p.Target = r.FormValue("number")
	if !moved {
		more(&p)
	}
	return a.pages.Render(w, status, "group", p)
}
