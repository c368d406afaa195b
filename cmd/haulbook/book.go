package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"github.com/gofrs/flock"

	"haulbook/intake"
	"haulbook/intake/originals"
	"haulbook/intake/pictures"
	"haulbook/intake/sqlite"
)

// lockRetry is how often a command that waits for the book's lock tries again.
const lockRetry = 50 * time.Millisecond

// bookFlag is the flag every command on a book has.
type bookFlag struct {
	Book string `required:"" env:"HAULBOOK_BOOK" placeholder:"DIR" help:"The book's folder (or HAULBOOK_BOOK)."`
}

// book is an open book: the folder, its settings, and the adapters over it.
type book struct {
	dir       string
	settings  settings
	db        *sqlite.DB
	originals originals.Store
	darkroom  *pictures.Darkroom
	lock      *flock.Flock
}

// open opens the book for as long as the command runs. Every command holds the
// book's lock shared; whoever gets it alone first sweeps what a killed process
// left behind.
func (f bookFlag) open(s *streams) (*book, error) { return openBook(s, f.Book) }

func openBook(s *streams, dir string) (*book, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, err
	}
	chosen, err := readSettings(dir)
	if err != nil {
		return nil, err
	}
	b := &book{
		dir: dir, settings: chosen,
		originals: originals.Store{Dir: filepath.Join(dir, "originals")},
		darkroom:  &pictures.Darkroom{Dir: filepath.Join(dir, "previews"), Worker: pictureWorker},
		lock:      flock.New(filepath.Join(dir, "lock")),
	}
	if err := b.share(s); err != nil {
		return nil, err
	}
	if b.db, err = sqlite.Open(s.ctx, filepath.Join(dir, "book.db"), sqlite.Options{Now: s.now, Zone: b.settings.Zone}); err != nil {
		b.lock.Unlock()
		return nil, err
	}
	if err := b.eraseForgotten(s.ctx); err != nil {
		return nil, errors.Join(err, b.close())
	}
	return b, nil
}

// share takes the lock alone when nobody else has the book, sweeps, and goes on
// sharing it.
func (b *book) share(s *streams) error {
	alone, err := b.lock.TryLock()
	if err != nil {
		return fmt.Errorf("lock %s: %w", b.dir, err)
	}
	if alone {
		_, sweepErr := b.originals.Sweep()
		if err := errors.Join(sweepErr, b.sweepPreviews(), b.lock.Unlock()); err != nil {
			return err
		}
	}
	_, err = b.lock.TryRLockContext(s.ctx, lockRetry)
	if err != nil {
		return fmt.Errorf("lock %s: %w", b.dir, err)
	}
	return nil
}

// sweepPreviews removes what a killed process left of a preview it was drawing;
// whole previews stay.
func (b *book) sweepPreviews() error {
	parts, err := fs.Glob(os.DirFS(b.darkroom.Dir), "*/*.part") // the book's own folder may have any name
	for _, part := range parts {
		err = errors.Join(err, os.Remove(filepath.Join(b.darkroom.Dir, filepath.FromSlash(part))))
	}
	return err
}

// eraseForgotten finishes what a process killed while forgetting did not: the
// row is emptied first, and bytes without a row to say what they are go here.
func (b *book) eraseForgotten(ctx context.Context) error {
	gone, err := sqlite.Photos{DB: b.db}.Forgotten(ctx)
	if err != nil {
		return err
	}
	for _, p := range gone {
		err = errors.Join(err, b.originals.Erase(p.ID, intake.Extension(p.Meta.Format)), b.darkroom.Erase(p.ID))
	}
	return err
}

func (b *book) close() error { return errors.Join(b.db.Close(), b.lock.Unlock()) }

// receiver returns the pipeline over this book.
func (b *book) receiver(s *streams) *intake.Receiver {
	return &intake.Receiver{
		Originals: b.originals, Ledger: sqlite.Photos{DB: b.db},
		Look: b.darkroom.Look, Slow: pictures.Slow, Now: s.now,
	}
}

// preview returns the path of an upright picture without metadata.
func (b *book) preview(ctx context.Context, id intake.PhotoID, size pictures.Size) (string, error) {
	p, err := sqlite.Photos{DB: b.db}.Photo(ctx, id)
	if err != nil {
		return "", err
	}
	if p.Gone {
		return "", fmt.Errorf("photo %s was forgotten: %w", id, intake.ErrNotFound)
	}
	return b.darkroom.Preview(ctx, b.originals.Path(id, intake.Extension(p.Meta.Format)), p, size)
}

// commandLine is who a change is by when it comes from a command.
func commandLine() intake.By {
	person := os.Getenv("USER")
	if person == "" {
		person = "keeper"
	}
	return intake.By{Person: person, Device: "command line"}
}

// pictureWorker starts this program again, as the process that draws slow
// formats, so that a bad file can only hurt itself.
func pictureWorker(ctx context.Context) *exec.Cmd {
	self, err := os.Executable()
	if err != nil {
		self = os.Args[0]
	}
	return exec.CommandContext(ctx, self, "picture-worker")
}

// haulNameFor reads the haul out of the first sub-folder that a photo lay in. The
// folders a camera makes itself say nothing: DCIM, and three digits with five
// characters (DCF, CIPA DC-009).
func haulNameFor(sub string) string {
	if strings.EqualFold(sub, "DCIM") {
		return ""
	}
	if len(sub) == 8 && strings.Trim(sub[:3], "0123456789") == "" && strings.ToUpper(sub[3:]) == sub[3:] &&
		strings.Trim(sub[3:], "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_") == "" {
		return ""
	}
	return sub
}
