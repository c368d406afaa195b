// Package watch turns a folder into a sequence of files that have stopped changing.
//
// It knows file names, sizes, modification times and folders. It does not know what is in a file: whoever needs a
// complete structure brings the check along. It never writes, renames or removes anything in the folder.
//
// It promises that every file that stays in the folder is handed over at least once, one at a time, however it got
// there and whether or not the system tells of changes: events only shorten the wait, a periodic scan decides.
// A file is handed over once for each state it settles in, never while it is seen to change.
package watch

import (
	"context"
	"errors"
	"path/filepath"
	"time"
)

// What a duration of zero (or less) in a Folder stands for. Copies over a slow network pause for less than the first;
// the second is what a person waits without wondering; the third outlasts a phone that lost its network for a moment.
// Common practice, no source.
const (
	defaultSettle   = 2 * time.Second
	defaultRescan   = 10 * time.Second
	defaultPatience = 60 * time.Second
)

// Folder says which folder to watch and when a file in it counts as finished. Only Dir must be set. The functions are
// called from the goroutine of Run, never two at once.
type Folder struct {
	// Dir is the folder, watched with everything below it. It may be a symbolic link, and need not exist yet.
	Dir string

	// Settle is how long size and modification time must have stood still; 0 is 2 s.
	Settle time.Duration

	// Rescan is the pause between two scans of the whole folder; 0 is 10 s. Where no events come (network shares),
	// it is the longest time a new file stays unseen.
	Rescan time.Duration

	// Patience is how long, counted from its last change, a file that is not complete is waited for before it is
	// handed over as it is; 0 is 60 s.
	Patience time.Duration

	// Complete reports whether the structure of a file of size bytes is complete; nil is always. It is asked of files
	// that have settled, again after each further Settle, and must cope with a file that is gone by then.
	Complete func(path string, size int64) bool

	// Known reports that a file was handed over in this very state in an earlier run and need not be again; nil is
	// never. It is asked of files that have settled.
	Known func(path string, size int64, modified time.Time) bool

	// Problem is told of trouble with folders: missing, unreadable, no events, events lost. Trouble that lasts is told
	// once, and again when it changes or comes back. Nil drops it.
	Problem func(err error)

	// open gives the source of events; nil is the system's. A nil watcher without an error means scanning only.
	open opener
}

// File is a regular file that has stopped changing, as it was when last looked at.
type File struct {
	Path     string    // Dir joined with the way to the file: absolute only when Dir is
	Dir      string    // the watched folder, as it was given
	Sub      string    // first folder below Dir on the way to the file, "" when it lies in Dir itself
	Size     int64     // bytes
	Modified time.Time // modification time
	Overdue  bool      // not complete, handed over because Patience has run out
}

// Run hands over the files of the folder as they settle, those that were there before it started included, until ctx
// ends or handle returns an error; it returns ctx.Err() or that error. Trouble with the folder ends nothing: it goes to
// Problem, and a missing folder is picked up when it appears.
//
// handle is called one file at a time, the oldest change first, then by path; changes of one scan count as one moment.
// A file may be gone before handle opens it, and one that changes during or after its turn gets another turn.
func (f Folder) Run(ctx context.Context, handle func(ctx context.Context, file File) error) error {
	if f.Dir == "" {
		return errors.New("watch folder: no folder given")
	}
	if handle == nil {
		return errors.New("watch folder " + f.Dir + ": nothing to hand files to")
	}
	l := newLookout(f.withDefaults())
	defer l.close()
	for {
		if err := l.attend(ctx); err != nil {
			return err
		}
		c := l.settling.due(time.Now())
		if c == nil {
			if err := l.wait(ctx); err != nil {
				return err
			}
			continue
		}
		file, settled := l.inspect(c, time.Now())
		if !settled {
			continue
		}
		// handle runs here, on purpose: what happens meanwhile is gathered by another goroutine (see hints), and
		// the file's own later changes are compared with what was just seen.
		if err := handle(ctx, file); err != nil {
			if ctx.Err() != nil && errors.Is(err, ctx.Err()) {
				return ctx.Err()
			}
			return err
		}
	}
}

// withDefaults fills in what was left at zero.
func (f Folder) withDefaults() Folder {
	if f.Settle <= 0 {
		f.Settle = defaultSettle
	}
	if f.Rescan <= 0 {
		f.Rescan = defaultRescan
	}
	if f.Patience <= 0 {
		f.Patience = defaultPatience
	}
	if f.Problem == nil {
		f.Problem = func(error) {}
	}
	if f.open == nil {
		f.open = openEvents
	}
	return f
}

// subOf names the first folder below dir on the way to path, which lies below dir.
func subOf(dir, path string) string {
	rel, err := filepath.Rel(dir, path)
	if err != nil {
		return ""
	}
	for i := range len(rel) {
		if rel[i] == filepath.Separator {
			return rel[:i]
		}
	}
	return ""
}
