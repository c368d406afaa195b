// Package today is the desk's first page: what waits, and what to do next.
//
// It knows how to tell a keeper in one look what the book holds and what it
// wants. It does not know where anything is kept, and it changes nothing: every
// act on this page is a link to the page that does it.
//
// It promises that nothing that arrived disappears silently: photos without a
// time, files that were no photos, pictures that are not drawn yet and things
// that were tagged but not read are counted or named here until somebody has
// dealt with them.
package today

import (
	"context"
	"embed"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// Ledger is what the page reads.
type Ledger interface {
	Stats(ctx context.Context) (intake.Stats, error)
	// Refused lists the files that were no photos, newest first.
	Refused(ctx context.Context) ([]intake.Arrival, error)
}

// Config says where the page looks. All fields but Entered are required.
type Config struct {
	Ledger Ledger
	// Waiting returns the groups of every open haul that wait for a plate.
	Waiting func(ctx context.Context, haul intake.ID) ([]intake.Group, error)
	// Recent returns items, newest number first.
	Recent func(ctx context.Context, after intake.Number, limit int) ([]intake.Item, error)
	// Entered returns the items that have their tag and wait for a number. Nil
	// means that there are none.
	Entered func(ctx context.Context) ([]intake.Item, error)
	// Inboxes are the watched folders, as the keeper knows them.
	Inboxes []string
}

//go:embed templates static
var files embed.FS

// Register adds the page to the frame.
func Register(f *desk.Frame, c Config) error {
	pages, err := f.Area("today", files, nil)
	if err != nil {
		return err
	}
	d := &day{Config: c, frame: f, pages: pages}
	f.Keeper("GET /{$}", d.show)
	return nil
}

type day struct {
	Config
	frame *desk.Frame
	pages *desk.Pages
}

// page is the page struct of today.html.
type page struct {
	desk.Base
	Stats   intake.Stats
	Hauls   []haulWaiting
	Entered []intake.Item // those whose photos wait nowhere on this page
	Undated []intake.Group
	Refused []intake.Arrival
	Recent  []intake.Item
	Inboxes []string
	// How many there are that the page does not list.
	MoreEntered, MoreUndated, MoreRefused int
}

// haulWaiting is a haul with the groups that wait in it.
type haulWaiting struct {
	Haul   intake.Haul
	First  string // id of the group to begin with
	Groups []intake.Group
	More   int // groups that are not shown
	Doubts int // boundaries that want a look
}

// How much the page shows before it only counts: it is a look, not a list.
const (
	shownRefused = 8
	shownRecent  = 6
	shownWaiting = 24
)

// doubtBelow is the certainty under which a boundary wants a look first, as on
// the bench.
const doubtBelow = 0.8

// show answers GET /.
func (d *day) show(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	p := page{Base: d.frame.Base(r, "Today", "today"), Inboxes: d.Inboxes}
	var err error
	if p.Stats, err = d.Ledger.Stats(ctx); err != nil {
		return err
	}
	groups, err := d.Waiting(ctx, "")
	if err != nil {
		return err
	}
	p.Hauls, p.Undated = byHaul(groups)
	p.Undated, p.MoreUndated = first(p.Undated, shownWaiting)
	if p.Entered, err = d.entered(ctx, groups); err != nil {
		return err
	}
	p.Entered, p.MoreEntered = first(p.Entered, shownWaiting)
	if p.Refused, err = d.Ledger.Refused(ctx); err != nil {
		return err
	}
	p.Refused, p.MoreRefused = first(p.Refused, shownRefused)
	if p.Recent, err = d.Recent(ctx, intake.Number{}, shownRecent); err != nil {
		return err
	}
	return d.pages.Render(w, http.StatusOK, "today", p)
}

// entered returns the items without a number, without those that stand on the
// page already because their photos wait in a group.
func (d *day) entered(ctx context.Context, groups []intake.Group) ([]intake.Item, error) {
	if d.Entered == nil {
		return nil, nil
	}
	items, err := d.Entered(ctx)
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(items, func(it intake.Item) bool {
		return slices.ContainsFunc(groups, func(g intake.Group) bool { return g.Item.ID == it.ID })
	}), nil
}

// first cuts a list to what the page shows, and counts the rest.
func first[T any](list []T, n int) (shown []T, more int) {
	n = min(n, len(list))
	return list[:n], len(list) - n
}

// byHaul sorts waiting groups under their hauls, in the order they come, and
// takes the undated ones aside.
func byHaul(groups []intake.Group) (hauls []haulWaiting, undated []intake.Group) {
	place := map[intake.ID]int{}
	for _, g := range groups {
		if g.Undated {
			undated = append(undated, g)
			continue
		}
		at, known := place[g.Haul.ID]
		if !known {
			at = len(hauls)
			place[g.Haul.ID] = at
			hauls = append(hauls, haulWaiting{Haul: g.Haul, First: g.ID()})
		}
		hauls[at].Groups = append(hauls[at].Groups, g)
		if g.Before.Cut && !g.Before.Human && g.Before.Certainty < doubtBelow {
			hauls[at].Doubts++
		}
	}
	for i := range hauls {
		hauls[i].Groups, hauls[i].More = first(hauls[i].Groups, shownWaiting)
	}
	return hauls, undated
}

// Count is how many groups of the haul wait, in words.
func (h haulWaiting) Count() string { return count(len(h.Groups)+h.More, "group") }

// Looks is how many boundaries want a look, in words.
func (h haulWaiting) Looks() string { return count(h.Doubts, "doubtful boundary") }

// Empty reports whether the book holds nothing at all yet.
func (p page) Empty() bool { return p.Stats.Photos == 0 && p.Stats.Items == 0 && len(p.Entered) == 0 }

// Calm reports whether nothing waits for anybody.
func (p page) Calm() bool {
	return !p.Empty() && len(p.Hauls) == 0 && len(p.Undated) == 0 && len(p.Entered) == 0 && p.Stats.Untagged == 0 && p.Stats.Pending == 0
}

// Sum is what the book holds, in one line.
func (p page) Sum() string {
	parts := []string{count(p.Stats.Items, "item"), count(p.Stats.Photos, "photo"), count(p.Stats.Hauls, "haul")}
	return strings.Join(parts, " · ")
}

// Untagged is how many items want a printed tag, in words.
func (p page) Untagged() string { return count(p.Stats.Untagged, "item") }

// Drawing is how many pictures are still to be drawn, in words.
func (p page) Drawing() string { return count(p.Stats.Pending, "photo") }

func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	if stem, ok := strings.CutSuffix(noun, "y"); ok {
		noun = stem + "ie"
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
