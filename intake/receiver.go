package intake

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"haulbook/metadata"
)

// Outcome is what became of one file.
type Outcome string

// The outcomes, as the take command prints them.
const (
	Added      Outcome = "added"
	Duplicate  Outcome = "duplicate"
	Version    Outcome = "version"
	Ignored    Outcome = "ignored"
	Unreadable Outcome = "unreadable"
)

// Arrival is one file on its way in, and afterwards what became of it. Photo
// holds the full reading, for a duplicate too. Reason is a sentence for people
// whenever something is not as it should be.
type Arrival struct {
	Path     string
	Haul     string // name of the haul, "" for the book's open haul
	Size     int64
	Modified time.Time
	Outcome  Outcome
	Reason   string
	Photo    Photo
}

// Originals keeps the bytes. Put must be durable before it returns: written
// once, synced, in place under its hash. Putting the same bytes again changes
// nothing.
type Originals interface {
	Put(ctx context.Context, src io.Reader, ext string) (PhotoID, int64, error)
	Path(id PhotoID, ext string) string
}

// Ledger keeps what is known of the bytes.
type Ledger interface {
	// Receive enters a.Photo once and notes where it came from, in one
	// transaction. It sets a.Outcome to Added, Duplicate (a.Photo is then the
	// row that was there) or Ignored (forgotten, with the reason).
	Receive(ctx context.Context, by By, a *Arrival) error
	// Refuse notes a file that is no photo, so that it is told once.
	Refuse(ctx context.Context, a Arrival) error
	// Looked stores what a look at the pixels found. Repeating it is one change.
	Looked(ctx context.Context, id PhotoID, look Look, codes []SeenCode) error
}

// Receiver is the pipeline from a settled file to its row in the ledger. Every
// step can be repeated: killed anywhere and run again, the end is the same.
// A Receiver is safe for concurrent use when its parts are.
type Receiver struct {
	Originals Originals
	Ledger    Ledger
	// Look decodes a photo once: it draws the previews and returns the codes in
	// view. Nil looks at nothing.
	Look func(ctx context.Context, path string, p Photo) ([]SeenCode, error)
	// Slow says which formats are entered first and looked at afterwards.
	Slow func(metadata.Format) bool
	Now  func() time.Time
}

// Receive takes in one file: original durable, then its row, then anything
// else. The returned error means that we could not work (disk full, ledger
// closed); a file that is merely bad has an Outcome and a Reason instead.
func (r *Receiver) Receive(ctx context.Context, by By, a Arrival) (Arrival, error) {
	a.Photo.Name = filepath.Base(a.Path)
	src, err := os.Open(a.Path)
	if err != nil {
		return r.refuse(ctx, a, plainFileProblem(err))
	}
	defer src.Close()
	stat, err := src.Stat()
	if err != nil || !stat.Mode().IsRegular() {
		return r.refuse(ctx, a, "is not a regular file")
	}
	a.Size, a.Modified = stat.Size(), stat.ModTime()
	info, err := metadata.Read(src, a.Size)
	if errors.Is(err, metadata.ErrNotPhoto) {
		return r.refuse(ctx, a, "is not a photo in a format we read")
	} else if err != nil {
		return r.refuse(ctx, a, plainFileProblem(err))
	}
	if err := r.store(ctx, src, info, &a); err != nil {
		return a, err
	}
	if a.Photo.Meta.Damage != "" {
		a.Reason = "damaged: " + a.Photo.Meta.Damage
	}
	if r.Slow != nil && r.Slow(info.Format) {
		return r.enterThenLook(ctx, by, a)
	}
	return r.lookThenEnter(ctx, by, a)
}

// store makes the original durable and reads the metadata again from what was
// stored, in case the file changed under us while it was copied.
func (r *Receiver) store(ctx context.Context, src *os.File, info metadata.Info, a *Arrival) error {
	if _, err := src.Seek(0, io.SeekStart); err != nil {
		return fmt.Errorf("receive %s: %w", a.Photo.Name, err)
	}
	ext := Extension(info.Format)
	id, size, err := r.Originals.Put(ctx, src, ext)
	if err != nil {
		return fmt.Errorf("receive %s: %w", a.Photo.Name, err)
	}
	a.Photo.ID, a.Photo.Size, a.Photo.Meta = id, size, info
	a.Photo.Received, a.Photo.Purpose, a.Photo.Look = r.Now().UTC(), ForAccession, LookPending
	if size == a.Size {
		return r.hashPicture(src, a)
	}
	stored, err := os.Open(r.Originals.Path(id, ext))
	if err != nil {
		return fmt.Errorf("receive %s: %w", a.Photo.Name, err)
	}
	defer stored.Close()
	if a.Photo.Meta, err = metadata.Read(stored, size); err != nil {
		return fmt.Errorf("receive %s: changed while it was copied: %w", a.Photo.Name, err)
	}
	return r.hashPicture(stored, a)
}

// hashPicture finds out what tells an edited copy from another shot.
func (r *Receiver) hashPicture(photo io.ReaderAt, a *Arrival) error {
	hash, err := metadata.PictureHash(photo, a.Photo.Size, a.Photo.Meta.Format)
	if err != nil {
		return fmt.Errorf("receive %s: %w", a.Photo.Name, err)
	}
	a.Photo.Picture = hash
	return nil
}

func (r *Receiver) lookThenEnter(ctx context.Context, by By, a Arrival) (Arrival, error) {
	codes, look, err := r.look(ctx, a.Photo)
	if err != nil {
		return a, err
	}
	a.Photo.Codes, a.Photo.Look = codes, look
	if err := r.Ledger.Receive(ctx, by, &a); err != nil {
		return a, fmt.Errorf("receive %s: %w", a.Photo.Name, err)
	}
	return a, nil
}

func (r *Receiver) enterThenLook(ctx context.Context, by By, a Arrival) (Arrival, error) {
	if err := r.Ledger.Receive(ctx, by, &a); err != nil {
		return a, fmt.Errorf("receive %s: %w", a.Photo.Name, err)
	}
	if a.Outcome == Ignored || a.Photo.Look != LookPending {
		return a, nil
	}
	var err error
	a.Photo, err = r.LookAgain(ctx, a.Photo)
	return a, err
}

// LookAgain looks at a photo whose look is pending, for instance because the
// program was killed in between, and returns it with what was seen.
func (r *Receiver) LookAgain(ctx context.Context, p Photo) (Photo, error) {
	codes, look, err := r.look(ctx, p)
	if err != nil {
		return p, err
	}
	if err := r.Ledger.Looked(ctx, p.ID, look, codes); err != nil {
		return p, fmt.Errorf("look at %s: %w", p.Name, err)
	}
	p.Codes, p.Look = codes, look
	return p, nil
}

// look returns an error only when ctx ended: a picture that cannot be drawn is
// a state of the photo, not a failure of the intake.
func (r *Receiver) look(ctx context.Context, p Photo) ([]SeenCode, Look, error) {
	if r.Look == nil {
		return nil, LookPending, nil
	}
	codes, err := r.Look(ctx, r.Originals.Path(p.ID, Extension(p.Meta.Format)), p)
	if ctx.Err() != nil {
		return nil, LookPending, ctx.Err()
	}
	if err != nil {
		return nil, LookFailed, nil
	}
	return codes, LookDone, nil
}

func (r *Receiver) refuse(ctx context.Context, a Arrival, reason string) (Arrival, error) {
	a.Outcome, a.Reason = Unreadable, reason
	if err := r.Ledger.Refuse(ctx, a); err != nil {
		return a, fmt.Errorf("note %s: %w", a.Photo.Name, err)
	}
	return a, nil
}

// plainFileProblem says in words why a file could not be read. The path stays
// out: whoever prints the sentence says which file.
func plainFileProblem(err error) string {
	switch {
	case errors.Is(err, os.ErrNotExist):
		return "is gone"
	case errors.Is(err, os.ErrPermission):
		return "may not be read by this program"
	}
	var path *os.PathError
	if errors.As(err, &path) {
		err = path.Err
	}
	return "cannot be read: " + strings.TrimSpace(err.Error())
}
