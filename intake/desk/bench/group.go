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

// groupPage is the page struct of group.html.
type groupPage struct {
	desk.Base
	Group   intake.Group
	ID      string
	Ribbon  []bunch
	Done    int // groups of the haul that have their number
	All     int
	Shown   *intake.ShownPhoto // the photo on the stage
	Number  intake.Number      // the number Enter will give
	Form    intake.Reading
	Problem intake.FieldError
	Twins   []intake.Item
	Sure    bool // the keeper has seen the twins
	Moved   bool // the group changed while the form was typed
	Next    string
	Back    string
	Names   []string
	Makers  []string
	Models  []string
}

// wordsOffered is how many earlier words a field completes from.
const wordsOffered = 60

// group answers GET /bench/{group}. A group that changed meanwhile leads on to
// the one that has its first photo now.
func (a *area) group(w http.ResponseWriter, r *http.Request) error {
	g, err := a.Groups.Group(r.Context(), r.PathValue("group"))
	if errors.Is(err, intake.ErrConflict) {
		return a.moved(w, r, err)
	} else if err != nil {
		return err
	}
	p, err := a.page(r, g)
	if err != nil {
		return err
	}
	p.Form = readingOf(g)
	return a.pages.Render(w, http.StatusOK, "group", p)
}

// readingOf fills the form from what is known already: an entered item may have
// been named before its plate was read.
func readingOf(g intake.Group) intake.Reading {
	if g.Item.State != intake.StateEntered {
		return intake.Reading{}
	}
	return intake.Reading{Name: g.Item.Name, Maker: g.Item.Maker, Model: g.Item.Model, Serial: g.Item.Serial}
}

// moved sends on from a stale address.
func (a *area) moved(w http.ResponseWriter, r *http.Request, conflict error) error {
	now, err := a.holding(r.Context(), r.PathValue("group"))
	if errors.Is(err, intake.ErrNotFound) {
		return conflict
	} else if err != nil {
		return err
	}
	a.frame.SetFlash(w, desk.Flash{Text: "This group changed meanwhile. Here is the one that holds its first photo now."})
	http.Redirect(w, r, "/bench/"+now.ID(), http.StatusSeeOther)
	return nil
}

// holding finds the waiting group that has the first photo of a stale one.
func (a *area) holding(ctx context.Context, stale string) (intake.Group, error) {
	first, _, err := intake.ParseGroupID(stale)
	if err != nil {
		return intake.Group{}, err
	}
	groups, err := a.Groups.Groups(ctx, "")
	if err != nil {
		return intake.Group{}, err
	}
	for _, g := range groups {
		for _, p := range g.Photos {
			if strings.HasPrefix(p.ID.String(), first) {
				return g, nil
			}
		}
	}
	return intake.Group{}, fmt.Errorf("group %s: %w", stale, intake.ErrNotFound)
}

// page gathers everything around one group; the form is the caller's.
func (a *area) page(r *http.Request, g intake.Group) (groupPage, error) {
	ctx := r.Context()
	p := groupPage{Base: a.frame.Base(r, "Bench", "bench"), Group: g, ID: g.ID(), Number: g.Pending}
	waiting, err := a.Groups.Groups(ctx, g.Haul.ID)
	if err != nil {
		return p, err
	}
	ribbon, err := a.Groups.Ribbon(ctx, g.Haul.ID)
	if err != nil {
		return p, err
	}
	waits := make(map[string]bool, len(waiting))
	for _, each := range waiting {
		waits[each.ID()] = true
	}
	p.Ribbon = layRibbon(ribbon, waits, p.ID)
	p.All, p.Done = len(p.Ribbon), len(p.Ribbon)-len(waiting)
	p.Back, p.Next = neighbours(waiting, p.ID)
	p.Shown = onStage(g, r.URL.Query().Get("photo"))
	if p.Number.IsZero() {
		if p.Number, err = a.Groups.Next(ctx, g.Haul.ID); err != nil {
			return p, err
		}
	}
	return p, a.offerWords(ctx, &p)
}

func (a *area) offerWords(ctx context.Context, p *groupPage) error {
	for _, f := range []struct {
		name string
		list *[]string
	}{{"name", &p.Names}, {"maker", &p.Makers}, {"model", &p.Models}} {
		words, err := a.Plates.Words(ctx, f.name, "", wordsOffered)
		if err != nil {
			return err
		}
		*f.list = words
	}
	return nil
}

// onStage is the photo shown large: the one asked for, else the plate, else the
// first.
func onStage(g intake.Group, asked string) *intake.ShownPhoto {
	shown := 0
	for i, p := range g.Photos {
		if asked != "" && p.ID.String() == asked {
			return &g.Photos[i]
		}
		if p.As == intake.RolePlate {
			shown = i
		}
	}
	return &g.Photos[shown]
}

// neighbours are the waiting groups before and after one, "" at the ends.
func neighbours(waiting []intake.Group, id string) (back, next string) {
	at := slices.IndexFunc(waiting, func(g intake.Group) bool { return g.ID() == id })
	if at > 0 {
		back = waiting[at-1].ID()
	}
	if at >= 0 && at+1 < len(waiting) {
		next = waiting[at+1].ID()
	}
	return back, next
}

// Known is the item that the group's tag belongs to, when these are late photos
// of it: adding them is then the likely act, reading a plate the other one.
func (p groupPage) Known() *intake.Item {
	if p.Group.Item.ID == "" || p.Group.Item.State == intake.StateEntered {
		return nil
	}
	return &p.Group.Item
}

// Doubtful reports whether the boundary before this group wants a look.
func (p groupPage) Doubtful() bool {
	return slices.ContainsFunc(p.Ribbon, func(b bunch) bool { return b.Current && b.Doubtful })
}

// Joinable reports whether the group can be joined with the one before it.
func (p groupPage) Joinable() bool {
	return slices.ContainsFunc(p.Ribbon, func(b bunch) bool { return b.Current && b.Movable })
}

// Spot is where the shown photo stands in its group, from 1.
func (p groupPage) Spot() int {
	return 1 + slices.IndexFunc(p.Group.Photos, func(each intake.ShownPhoto) bool { return each.ID == p.Shown.ID })
}

// Why is the complaint about one field, "" for none.
func (p groupPage) Why(field string) string {
	if p.Problem.Field == field {
		return p.Problem.Problem
	}
	return ""
}
