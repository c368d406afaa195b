// Package tags holds the pages around printed tags: what opens when somebody
// scans one, and the sheet on which new ones are printed.
//
// It knows codes, what they lead to, and label paper by its sizes. It does not
// know how a QR or a PDF is drawn, nor where codes are kept: printing and the
// ledger are given to it. The pages of an item are somebody else's; a keeper's
// scan ends there.
//
// It promises that opening a tag changes nothing, that a stranger learns no
// more than the number and how to return the thing, that a code which was never
// printed looks to a stranger like one that leads nowhere, and that guessing
// codes is held up.
package tags

import (
	"context"
	"embed"
	"fmt"
	"io"
	"time"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// Codes is what the pages need of the ledger.
type Codes interface {
	// Resolve tells what a code leads to, intake.ErrNotFound for one that was
	// never made or seen.
	Resolve(ctx context.Context, code intake.Code) (intake.Target, error)
	// Untagged returns the items whose tag was never printed, in number order.
	Untagged(ctx context.Context) ([]intake.Item, error)
	// Addresses counts the tags printed with each address that are in use.
	Addresses(ctx context.Context) (map[string]int, error)
	// Enter makes an item of a blank tag's first use; repeated, the same item.
	Enter(ctx context.Context, by intake.By, code intake.Code) (intake.Item, error)
}

// PrintJob is what the keeper asked to have on paper.
type PrintJob struct {
	Stock string        // name of a Stock
	DPI   int           // 203, 300 or 600
	Skip  int           // labels already used on the first sheet
	Blank int           // fresh codes, tied to nothing yet
	Items []intake.Item // the things, in the order of the sheet
}

// Stock is a kind of label paper, in millimetres from the page's top left.
// Its fields are those of the drawing package in the same order, so that one
// converts to the other.
type Stock struct {
	Name           string
	PageW, PageH   float64
	Cols, Rows     int
	Left, Top      float64
	PitchX, PitchY float64
	LabelW, LabelH float64
	Corner         float64
}

// Pages serves the routes around tags. All fields but Photo and Now are
// required.
type Pages struct {
	Frame *desk.Frame
	Codes Codes
	// Item finds an item by id, number or code, or returns intake.ErrNotFound.
	Item func(ctx context.Context, ref string) (intake.Item, error)
	// Print draws the job, writes the whole PDF to w and notes that it was
	// printed. On an error nothing is written and nothing noted. An
	// intake.ErrInvalid is a sentence for the keeper. by.Op stands for the
	// whole job: a job of several changes makes an id for each from it.
	Print func(ctx context.Context, by intake.By, job PrintJob, w io.Writer) error
	// Stocks lists the label paper there is, the first one preselected.
	Stocks []Stock
	// Return is the owner's return line, "" for none.
	Return func() string
	// Photo is the address of a photo's preview of about this many pixels. Nil
	// shows the list without pictures.
	Photo func(id intake.PhotoID, pixels int) string
	Now   func() time.Time // nil is time.Now

	pages *desk.Pages
	tries *desk.Tries
}

//go:embed templates static
var files embed.FS

// A stranger's misses before he has to wait. 35 random bits and a check
// character stand behind each code, so that even the second figure, day and
// night, finds one of a thousand tags after a year and more.
const (
	missesPerPeer = 20
	missesAtAll   = 600
	missesWindow  = 10 * time.Minute
)

// Register adds the routes, the templates and the static files to the frame.
func (p *Pages) Register() error {
	if p.Now == nil {
		p.Now = time.Now
	}
	if p.Photo == nil {
		p.Photo = func(intake.PhotoID, int) string { return "" }
	}
	if len(p.Stocks) == 0 {
		return fmt.Errorf("register tag pages: no label paper: %w", intake.ErrInvalid)
	}
	var err error
	if p.pages, err = p.Frame.Area("tags", files, nil); err != nil {
		return err
	}
	p.tries = desk.NewTries(missesPerPeer, missesAtAll, missesWindow, p.Now)
	for _, path := range []string{"/t/{code}", "/T/{code}"} {
		p.Frame.Anyone("GET "+path, p.open)
		p.Frame.Keeper("POST "+path+"/enter", p.enter)
	}
	p.Frame.Keeper("GET /tags", p.sheet)
	p.Frame.Keeper("POST /tags/print", p.print)
	return nil
}
