package main

import (
	"context"
	"io"
	"net"

	"haulbook/intake"
	"haulbook/intake/desk"
	"haulbook/intake/desk/bench"
	"haulbook/intake/desk/items"
	"haulbook/intake/desk/tags"
	"haulbook/intake/desk/today"
	"haulbook/intake/pictures"
	"haulbook/intake/sqlite"
	"haulbook/labels"
)

// serveDesk puts the pages together over one book and answers on l until ctx
// ends.
func serveDesk(ctx context.Context, s *streams, b *book, l net.Listener, inboxes []string) error {
	frame, err := deskOf(s, b, inboxes)
	if err != nil {
		l.Close()
		return err
	}
	if s.serves != nil {
		s.serves("http://" + l.Addr().String())
	}
	return serve(ctx, l, frame, frame.Close)
}

// deskOf hands every area what it needs of the book.
func deskOf(s *streams, b *book, inboxes []string) (*desk.Frame, error) {
	frame, err := desk.New(desk.Config{
		Book:    b.settings.Book,
		Address: func() string { return b.settings.Address },
		Retired: func() []string { return b.settings.Retired },
		Devices: sqlite.Devices{DB: b.db},
		Changed: b.db.Version,
		Log:     logger(s),
		Now:     s.now,
	})
	if err != nil {
		return nil, err
	}
	for _, register := range []func(*desk.Frame, []string) error{b.registerToday, b.registerBench, b.registerItems, b.registerTags} {
		if err := register(frame, inboxes); err != nil {
			return nil, err
		}
	}
	return frame, nil
}

func (b *book) registerToday(f *desk.Frame, inboxes []string) error {
	return today.Register(f, today.Config{
		Ledger: sqlite.Photos{DB: b.db}, Waiting: sqlite.Bench{DB: b.db}.Groups, Recent: sqlite.Items{DB: b.db}.List,
		Entered: sqlite.Items{DB: b.db}.Entered, Inboxes: inboxes,
	})
}

func (b *book) registerBench(f *desk.Frame, inboxes []string) error {
	store := sqlite.Bench{DB: b.db}
	return bench.Register(f, bench.Config{
		Groups: store, Plates: store, Cuts: store, Photos: sqlite.Photos{DB: b.db},
		History: sqlite.History{DB: b.db}.Of, Item: sqlite.Items{DB: b.db}.Item, Inboxes: inboxes,
	})
}

func (b *book) registerItems(f *desk.Frame, _ []string) error {
	return items.Register(f, items.Config{
		Items: sqlite.Items{DB: b.db}, Hauls: sqlite.Hauls{DB: b.db}, History: sqlite.History{DB: b.db},
		Photo: sqlite.Photos{DB: b.db}.Photo, Forget: b.forget, Waiting: sqlite.Bench{DB: b.db}.Groups,
		Preview: b.previewNamed, Currency: b.settings.Currency,
	})
}

func (b *book) registerTags(f *desk.Frame, _ []string) error {
	pages := &tags.Pages{
		Frame: f, Codes: sqlite.Codes{DB: b.db}, Item: sqlite.Items{DB: b.db}.Item,
		Print: b.printFromDesk, Return: func() string { return b.settings.ReturnLine },
		Photo: func(id intake.PhotoID, _ int) string { return "/photos/" + id.String() + "/small" },
		Now:   b.db.Now,
	}
	for _, stock := range labels.Stocks() {
		pages.Stocks = append(pages.Stocks, tags.Stock(stock))
	}
	return pages.Register()
}

// printFromDesk writes the sheet into the browser's answer and notes it as
// printed once it is through.
func (b *book) printFromDesk(ctx context.Context, by intake.By, job tags.PrintJob, w io.Writer) error {
	return b.writeSheet(ctx, by, printJob(job), w)
}

// previewNamed draws a preview by the name of its size in an address.
func (b *book) previewNamed(ctx context.Context, id intake.PhotoID, size string) (string, error) {
	sizes := map[string]pictures.Size{"small": pictures.Small, "large": pictures.Large, "full": pictures.Full}
	return b.preview(ctx, id, sizes[size])
}

// forget erases a photo: first the row's contents, in one transaction, then the
// bytes. Killed in between, the next start finds a forgotten photo's bytes and
// erases them (eraseForgotten).
func (b *book) forget(ctx context.Context, by intake.By, id intake.PhotoID) error {
	store := sqlite.Photos{DB: b.db}
	p, err := store.Photo(ctx, id)
	if err != nil {
		return err
	}
	if err := store.Forget(ctx, by, id); err != nil {
		return err
	}
	if err := b.darkroom.Erase(id); err != nil {
		return err
	}
	return b.originals.Erase(id, intake.Extension(p.Meta.Format))
}
