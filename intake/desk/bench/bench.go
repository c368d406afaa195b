// Package bench holds the page where groups of photos wait for a plate reading:
// the ribbon of a haul, one group's photos large, and the fields beside them.
//
// It knows how a plate is read with few strokes and how a wrong boundary is
// mended. It does not know how groups come about or where numbers come from:
// a ledger is given to it. Pictures are served elsewhere.
//
// It promises that what was typed is never lost: a group that changed meanwhile,
// a field that cannot be kept, a thing that seems to be there already all bring
// the same page back with the same words in it. Every act on it can be undone.
package bench

import (
	"context"
	"embed"
	"net/http"
	"net/url"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// Groups is what the page reads of waiting photos.
type Groups interface {
	// Groups returns the waiting groups of a haul, of every open haul for "", in
	// shooting order, undated photos last.
	Groups(ctx context.Context, haul intake.ID) ([]intake.Group, error)
	// Ribbon returns all dated groups of a haul, numbered ones too.
	Ribbon(ctx context.Context, haul intake.ID) ([]intake.Group, error)
	// Group returns intake.ErrConflict when its photos are no longer these.
	Group(ctx context.Context, id string) (intake.Group, error)
	// Next is the number that the next group of the haul will get.
	Next(ctx context.Context, haul intake.ID) (intake.Number, error)
}

// Plates is what the page writes and asks about plates.
type Plates interface {
	Read(ctx context.Context, by intake.By, group string, r intake.Reading) (intake.Item, error)
	Attach(ctx context.Context, by intake.By, group string, item intake.ID) (intake.Item, error)
	// Twins returns the items that may be the very thing: same maker, model and
	// serial, or a serial that looks alike.
	Twins(ctx context.Context, maker, model, serial string) ([]intake.Item, error)
	// Words returns earlier names, makers or models, the most used first.
	Words(ctx context.Context, field, prefix string, limit int) ([]string, error)
}

// Photos is what the page says about single photos.
type Photos interface {
	Photo(ctx context.Context, id intake.PhotoID) (intake.Photo, error)
	SetRole(ctx context.Context, by intake.By, id intake.PhotoID, role intake.Role) error
	SetPurpose(ctx context.Context, by intake.By, id intake.PhotoID, purpose intake.Purpose) error
}

// Cuts is where a human's boundaries go.
type Cuts interface {
	Cut(ctx context.Context, by intake.By, before intake.PhotoID) error
	Join(ctx context.Context, by intake.By, before intake.PhotoID) error
}

// Config says where the page looks. All fields but Item are required.
type Config struct {
	Groups Groups
	Plates Plates
	Photos Photos
	Cuts   Cuts
	// History returns the changes of a subject, for the flash's Undo.
	History func(ctx context.Context, kind, id string) ([]intake.Change, error)
	// Item finds an item by number, code or id, for photos of a thing that is in
	// the book already. Nil leaves the offer away.
	Item func(ctx context.Context, ref string) (intake.Item, error)
	// Inboxes are the watched folders, for the empty page.
	Inboxes []string
}

//go:embed templates static
var files embed.FS

type area struct {
	Config
	frame *desk.Frame
	pages *desk.Pages
}

// Register adds the pages to the frame.
func Register(f *desk.Frame, c Config) error {
	pages, err := f.Area("bench", files, nil)
	if err != nil {
		return err
	}
	a := &area{Config: c, frame: f, pages: pages}
	f.Keeper("GET /bench", a.first)
	f.Keeper("GET /bench/twins", a.twins)
	f.Keeper("GET /bench/{group}", a.group)
	f.Keeper("GET /bench/{group}/read", reopen)
	f.Keeper("POST /bench/{group}/read", a.read)
	f.Keeper("GET /bench/{group}/attach", reopen)
	f.Keeper("POST /bench/{group}/attach", a.attach)
	f.Keeper("POST /bench/cut", a.cut)
	f.Keeper("POST /bench/join", a.join)
	f.Keeper("POST /bench/role", a.role)
	f.Keeper("POST /bench/leave-out", a.leaveOut)
	return nil
}

// liveHeader marks a page that desk.js fetches in the background to renew its
// live regions. Such an answer must not redirect.
const liveHeader = "X-Desk-Live"

// emptyPage is the page struct of empty.html.
type emptyPage struct {
	desk.Base
	Inboxes []string
	Waiting int // groups that came while the page was open
}

// first answers GET /bench: the first group that waits, or what to do when none
// does.
func (a *area) first(w http.ResponseWriter, r *http.Request) error {
	groups, err := a.Groups.Groups(r.Context(), "")
	if err != nil {
		return err
	}
	if len(groups) > 0 && r.Header.Get(liveHeader) == "" {
		// What Undo needs to lead back may have come this far.
		to := "/bench/" + groups[0].ID()
		if r.URL.RawQuery != "" {
			to += "?" + r.URL.RawQuery
		}
		http.Redirect(w, r, to, http.StatusSeeOther)
		return nil
	}
	p := emptyPage{Base: a.base(r), Inboxes: a.Inboxes, Waiting: len(groups)}
	return a.pages.Render(w, http.StatusOK, "empty", p)
}

// reopen answers the address of a form when it is opened as a page: the browser
// shows it after a form that came back with a question.
func reopen(w http.ResponseWriter, r *http.Request) error {
	http.Redirect(w, r, "/bench/"+url.PathEscape(r.PathValue("group")), http.StatusSeeOther)
	return nil
}
