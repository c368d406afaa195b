package pictures

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"golang.org/x/sync/semaphore"

	"haulbook/intake"
	"haulbook/metadata"
)

// ErrNoPicture means that the photo cannot be drawn: its format is not decoded
// here, it is damaged beyond use, or it is too large. The photo itself is kept.
var ErrNoPicture = errors.New("no picture can be drawn from it")

// Size names a preview by its long edge in pixels. A photo that is smaller than
// a size is drawn at its own size: previews never enlarge.
type Size int

// The sizes: Small for lists, Large for pages, Full for the loupe over a plate.
const (
	Small Size = 480
	Large Size = 1600
	Full  Size = 3000
)

// Valid reports whether s is one of the three sizes.
func (s Size) Valid() bool { return s == Small || s == Large || s == Full }

// Darkroom draws previews into Dir. Every limit left at zero has a default that
// keeps a program with a few concurrent looks below 1 GiB. A Darkroom is for
// concurrent use and must not be copied after its first.
type Darkroom struct {
	// Dir holds the previews. Everything in it can be deleted at any time.
	Dir string
	// Worker prepares, without starting it, a process that calls ServeWorker on
	// its standard streams: the own binary again. With nil, HEIC cannot be drawn.
	Worker func(ctx context.Context) *exec.Cmd
	// WorkerTime is how long a worker may take for one picture; 0 is a minute.
	WorkerTime time.Duration
	// MaxPixels is the largest picture decoded, width × height; 0 is 120 million.
	MaxPixels int
	// MaxBytes is the most memory one decode may need, by estimate from its
	// header; 0 is 600 million.
	MaxBytes int64
	// Budget is the memory that all decodes at once may need, by estimate; 0 is
	// 400 million. A single larger decode waits for all others and runs alone.
	Budget int64

	once    sync.Once
	memory  *semaphore.Weighted
	workers *semaphore.Weighted
}

const (
	defaultWorkerTime = time.Minute
	defaultMaxPixels  = 120_000_000
	defaultMaxBytes   = 600_000_000
	defaultBudget     = 400_000_000
)

// open fills in the limits. It is done late so that a Darkroom is a plain struct.
func (d *Darkroom) open() {
	d.once.Do(func() {
		if d.WorkerTime <= 0 {
			d.WorkerTime = defaultWorkerTime
		}
		if d.MaxPixels <= 0 {
			d.MaxPixels = defaultMaxPixels
		}
		if d.MaxBytes <= 0 {
			d.MaxBytes = defaultMaxBytes
		}
		if d.Budget <= 0 {
			d.Budget = defaultBudget
		}
		d.memory = semaphore.NewWeighted(d.Budget)
		// A worker takes some 25 bytes a pixel outside our own budget: one is enough.
		d.workers = semaphore.NewWeighted(1)
	})
}

// Slow reports whether a format takes seconds to draw, so that its photos should
// be entered first and looked at afterwards.
func Slow(f metadata.Format) bool { return f == metadata.FormatHEIC }

// Look decodes the original at path once, draws the Small and the Large preview
// and returns the codes in view, each text once. An error is an ErrNoPicture when
// the photo cannot be drawn, the context's error when that ended, and otherwise
// means that Dir could not be written.
func (d *Darkroom) Look(ctx context.Context, path string, p intake.Photo) ([]intake.SeenCode, error) {
	var codes []intake.SeenCode
	err := d.withFrame(ctx, path, p, func(f frame) error {
		large, err := d.draw(ctx, p.ID, f, Large)
		if err != nil {
			return err
		}
		if _, err := d.draw(ctx, p.ID, large, Small); err != nil {
			return err
		}
		codes, err = seen(ctx, f, large)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("look at %s: %w", nameOf(p, path), err)
	}
	return codes, nil
}

// Preview returns the path of an upright JPEG of the photo whose long edge is
// size or, for a smaller photo, its own. It is made again from the original at
// path when it is missing. Errors are those of Look.
func (d *Darkroom) Preview(ctx context.Context, path string, p intake.Photo, size Size) (string, error) {
	if !size.Valid() {
		return "", fmt.Errorf("preview of %s: there is no size of %d pixels: %w", nameOf(p, path), size, intake.ErrInvalid)
	}
	preview := d.path(p.ID, size)
	if _, err := os.Stat(preview); err == nil {
		return preview, nil
	}
	err := d.withFrame(ctx, path, p, func(f frame) error {
		_, err := d.draw(ctx, p.ID, f, size)
		return err
	})
	if err != nil {
		return "", fmt.Errorf("preview of %s: %w", nameOf(p, path), err)
	}
	return preview, nil
}

// Erase removes every preview of a forgotten photo, unfinished ones too. Having
// none is no error.
func (d *Darkroom) Erase(id intake.PhotoID) error {
	drawn, err := os.ReadDir(d.folder(id))
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("erase previews of %s: %w", id, err)
	}
	for _, entry := range drawn {
		if !strings.HasPrefix(entry.Name(), id.String()+"-") {
			continue
		}
		err := os.Remove(filepath.Join(d.folder(id), entry.Name()))
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			return fmt.Errorf("erase previews of %s: %w", id, err)
		}
	}
	return nil
}

// nameOf is what an error calls the photo: the name it arrived with.
func nameOf(p intake.Photo, path string) string {
	if p.Name != "" {
		return p.Name
	}
	return filepath.Base(path)
}
