package bench

import (
	"context"
	"errors"
	"net/http"
	"slices"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// groupPage is the page struct of group.html.
type groupPage struct {
	desk.Base
	Group     intake.Group
	ID        string
	Ribbon    []bunch
	Shots     int // photos on the ribbon
	Done, All int // groups of the haul that have their number, and all
	Shown     *intake.ShownPhoto
	Number    intake.Number // the number that saving will give
	Form      intake.Reading
	Target    string // typed as the item that the photos are of
	Problem   intake.FieldError
	Likely    twins
	Sure      string // the serial whose twins the keeper has been shown
	Moved     bool   // the group changed while the form was typed
	News      string // what changed since the page was opened
	Back      string // the waiting groups before and after, "" at the ends
	Next      string
	Ahead     string // the next plate, fetched while this one is read
	Addable   bool   // an item of the book can be named
	words     map[string][]string
}

// wordsOffered is how many earlier words a field completes from: more than
// anybody scrolls through, and few enough to send with every page.
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
	// Words that came along from an act beside the form are newer than the book's.
	if p.Form = typedIn(r); p.Form == (intake.Reading{}) {
		p.Form = known(g)
	}
	return a.pages.Render(w, http.StatusOK, "group", p)
}

// known fills the form from what the book says already: an entered item may
// have been named before its plate was read.
func known(g intake.Group) intake.Reading {
	if g.Item.State != intake.StateEntered {
		return intake.Reading{}
	}
	return intake.Reading{Name: g.Item.Name, Maker: g.Item.Maker, Model: g.Item.Model, Serial: g.Item.Serial}
}

// page gathers everything around one group; the form is the caller's.
func (a *area) page(r *http.Request, g intake.Group) (groupPage, error) {
	ctx := r.Context()
	p := groupPage{Base: a.base(r), Group: g, ID: g.ID(), Number: g.Pending, Addable: a.Item != nil}
	waiting, err := a.Groups.Groups(ctx, g.Haul.ID)
	if err != nil {
		return p, err
	}
	ribbon, err := a.Groups.Ribbon(ctx, g.Haul.ID)
	if err != nil {
		return p, err
	}
	p.Ribbon = layRibbon(ribbon, waiting, p.ID)
	p.All, p.Done = len(p.Ribbon), len(p.Ribbon)-len(waiting)
	for _, b := range p.Ribbon {
		p.Shots += len(b.Photos)
	}
	p.stand(waiting)
	p.Shown = onStage(g, r.FormValue("photo"))
	// A promise, not a gift: another device may be faster, so the number is
	// drawn dashed until it is given.
	if p.Number.IsZero() {
		if p.Number, err = a.Groups.Next(ctx, g.Haul.ID); err != nil {
			return p, err
		}
	}
	if p.Known() != nil && a.Item != nil { // with its photos, which a group's item lacks
		if p.Group.Item, err = a.Item(ctx, string(g.Item.ID)); err != nil {
			return p, err
		}
	}
	p.words, err = a.earlierWords(ctx)
	return p, err
}

// stand finds the page's place among the groups that wait.
func (p *groupPage) stand(waiting []intake.Group) {
	p.Back, p.Next = neighbours(waiting, p.ID)
	for _, g := range waiting {
		if g.ID() == p.Next {
			p.Ahead = onStage(g, "").ID.String()
		}
	}
}

// earlierWords are offered, never filled in: a wrong word that stands there
// already is saved more easily than a missing one is typed.
func (a *area) earlierWords(ctx context.Context) (map[string][]string, error) {
	words := map[string][]string{}
	for _, field := range []string{"name", "maker", "model"} {
		found, err := a.Plates.Words(ctx, field, "", wordsOffered)
		if err != nil {
			return nil, err
		}
		words[field] = found
	}
	return words, nil
}

// onStage is the photo shown large: the one asked for, else the plate, else the
// first.
func onStage(g intake.Group, asked string) *intake.ShownPhoto {
	plate, shown := g.PlatePhoto(), 0
	for i, p := range g.Photos {
		if asked != "" && p.ID.String() == asked {
			return &g.Photos[i]
		}
		if p.ID == plate {
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
// of it. Adding them is then the only act: a thing does not get two numbers.
func (p groupPage) Known() *intake.Item {
	if p.Group.Item.ID == "" || p.Group.Item.State == intake.StateEntered {
		return nil
	}
	return &p.Group.Item
}

// Plate is the photo whose plate is read: the one on the stage if it shows one,
// for a thing may have several. "" means none.
func (p groupPage) Plate() string {
	plate := p.Group.PlatePhoto()
	if p.Shown.As == intake.RolePlate {
		plate = p.Shown.ID
	}
	if plate.IsZero() {
		return ""
	}
	return plate.String()
}

// Spot is where the shown photo stands in its group, from 1.
func (p groupPage) Spot() int {
	return 1 + slices.IndexFunc(p.Group.Photos, func(each intake.ShownPhoto) bool { return each.ID == p.Shown.ID })
}

// Roles are what the shown photo can be said to show.
func (p groupPage) Roles() []intake.Role {
	return []intake.Role{intake.RoleView, intake.RoleDetail, intake.RolePlate, intake.RoleTag}
}
