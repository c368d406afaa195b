// Package items holds the pages of what is in the book: items, hauls and
// photos, the search box, and taking changes back.
//
// It knows how a record is read and mended on a page. It does not know how it is
// stored, found or drawn: a ledger and a function for pictures are given to it.
// Plates are read elsewhere, tags are printed elsewhere.
//
// It promises that a picture served is a preview without metadata and goes to
// keepers only, that an edit of something that changed meanwhile is shown side
// by side instead of lost, and that every change it lists can be taken back
// from the list when it still can be at all.
package items

import (
	"context"
	"embed"
	"html/template"
	"strings"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// Items is what the pages need of the items.
type Items interface {
	Item(ctx context.Context, ref string) (intake.Item, error)
	// List returns items from the newest number down, beginning after one.
	List(ctx context.Context, after intake.Number, limit int) ([]intake.Item, error)
	// Entered returns the items that wait for a number, oldest first.
	Entered(ctx context.Context) ([]intake.Item, error)
	Find(ctx context.Context, words string, limit int) ([]intake.Item, error)
	// Amend changes the record that was seen at this version, or returns
	// intake.ErrConflict.
	Amend(ctx context.Context, by intake.By, id intake.ID, seen int, a intake.Amendment) (intake.Item, error)
	AddPart(ctx context.Context, by intake.By, whole intake.ID, name string) (intake.Item, error)
}

// Hauls is what the pages need of the hauls.
type Hauls interface {
	Haul(ctx context.Context, ref string) (intake.Haul, error)
	List(ctx context.Context) ([]intake.Haul, error)
	Amend(ctx context.Context, by intake.By, id intake.ID, seen int, h intake.Haul) (intake.Haul, error)
	Items(ctx context.Context, id intake.ID) ([]intake.Item, error)
}

// History is what the pages need of the history.
type History interface {
	Of(ctx context.Context, kind, id string) ([]intake.Change, error)
	Undo(ctx context.Context, by intake.By, seq int64) (intake.Change, error)
}

// Config says where the pages look. All fields are required.
type Config struct {
	Items   Items
	Hauls   Hauls
	History History
	// Photo returns one photo's row.
	Photo func(ctx context.Context, id intake.PhotoID) (intake.Photo, error)
	// Forget erases a photo for good: bytes, previews and metadata.
	Forget func(ctx context.Context, by intake.By, id intake.PhotoID) error
	// Preview returns the path of an upright JPEG without metadata. Any error
	// shows a placeholder.
	Preview func(ctx context.Context, id intake.PhotoID, size string) (string, error)
	// Waiting returns the groups of a haul that wait for a plate.
	Waiting func(ctx context.Context, haul intake.ID) ([]intake.Group, error)
	// Currency is what prices are typed in when nothing else is said, ISO 4217.
	Currency string
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
	pages, err := f.Area("items", files, template.FuncMap{"path": path, "acts": acts, "face": face, "kib": kib})
	if err != nil {
		return err
	}
	a := &area{Config: c, frame: f, pages: pages}
	a.routes(f)
	return nil
}

func (a *area) routes(f *desk.Frame) {
	f.Keeper("GET /items", a.list)
	f.Keeper("GET /items/{ref}", a.item)
	f.Keeper("POST /items/{id}/amend", a.amend)
	f.Keeper("POST /items/{id}/part", a.addPart)
	f.Keeper("GET /hauls", a.hauls)
	f.Keeper("GET /hauls/{ref}", a.haul)
	f.Keeper("POST /hauls/{id}/amend", a.amendHaul)
	f.Keeper("GET /find", a.find)
	f.Keeper("POST /undo", a.undo)
	f.Keeper("GET /photos/{id}", a.photo)
	f.Keeper("POST /photos/{id}/forget", a.forget)
	// For a stranger a picture is not there at all: a page that says how to
	// pair is of no use in the place of an image.
	f.Anyone("GET /photos/{id}/{size}", a.picture)
}

// path is where an item's page is: its number where it has one, because that is
// what people read in the bar.
func path(it intake.Item) string {
	if it.Number.IsZero() {
		return "/items/" + string(it.ID)
	}
	return "/items/" + it.Number.String()
}

// face is the photo that stands for an item in a list, nil where it has none.
func face(it intake.Item) *intake.ShownPhoto { return chosen(it.Photos, "") }

// hasUnread reports whether a serial was read with holes.
func hasUnread(serial string) bool { return strings.Contains(serial, "?") }
