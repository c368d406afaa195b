package watch

import (
	"cmp"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/fsnotify/fsnotify"
)

// opener gives a source of events; see Folder.open.
type opener func() (*fsnotify.Watcher, error)

// openEvents asks the system for events. It gives none where each watched file would cost an open descriptor (kqueue;
// fsnotify's own documentation, "kqueue notes").
func openEvents() (*fsnotify.Watcher, error) {
	switch runtime.GOOS {
	case "darwin", "ios", "freebsd", "openbsd", "netbsd", "dragonfly":
		return nil, nil
	}
	return fsnotify.NewWatcher()
}

// hint is a path that events named, what they said, and when the last of them came.
type hint struct {
	path string
	op   fsnotify.Op
	at   time.Time
}

// hints gathers events while Run is busy with something else, so that the system's queue (16,384 events on Linux by
// default) never waits for us. Many events about one path are one hint: what happened is found out by looking.
type hints struct {
	arrived chan struct{} // holds one value when there is something to take

	mu    sync.Mutex
	paths map[string]hint
	lost  []error
}

func newHints() *hints {
	return &hints{arrived: make(chan struct{}, 1), paths: map[string]hint{}}
}

// gather reads until both channels are closed. Any error counts as events lost, an overflow above all; equal ones
// are kept once.
func (h *hints) gather(events <-chan fsnotify.Event, errs <-chan error) {
	for events != nil || errs != nil {
		select {
		case event, open := <-events:
			if !open {
				events = nil
				continue
			}
			h.add(event)
		case err, open := <-errs:
			if !open {
				errs = nil
				continue
			}
			h.lose(err)
		}
		select {
		case h.arrived <- struct{}{}:
		default:
		}
	}
}

func (h *hints) add(event fsnotify.Event) {
	if event.Name == "" {
		return // cleaned, it would name the working directory
	}
	path := filepath.Clean(event.Name)
	h.mu.Lock()
	defer h.mu.Unlock()
	h.paths[path] = hint{path: path, op: h.paths[path].op | event.Op, at: time.Now()}
}

func (h *hints) lose(err error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if !slices.ContainsFunc(h.lost, func(e error) bool { return e.Error() == err.Error() }) {
		h.lost = append(h.lost, err)
	}
}

// take empties the hints: paths in the order of their last event, and the errors.
func (h *hints) take() ([]hint, []error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	hinted := slices.SortedFunc(maps.Values(h.paths), func(a, b hint) int {
		return cmp.Or(a.at.Compare(b.at), cmp.Compare(a.path, b.path))
	})
	clear(h.paths)
	lost := h.lost
	h.lost = nil
	return hinted, lost
}

// watches keeps the folders that send events in step with the folders that exist. fsnotify watches single folders; it
// gives up a watch when its folder is deleted or renamed, but not the watches of the folders below, and not one that
// another file system has been mounted over. The zero value watches nothing.
type watches struct {
	watcher *fsnotify.Watcher
	seen    map[string]fs.FileInfo // what each watched folder was when its watch began
}

// add watches one folder, described by info; doing so again is nothing.
func (w *watches) add(path string, info fs.FileInfo) error {
	if w.watcher == nil || w.seen[path] != nil {
		return nil
	}
	if err := w.watcher.Add(path); err != nil {
		return err
	}
	w.seen[path] = info
	return nil
}

// has reports whether path is a watched folder.
func (w *watches) has(path string) bool { return w.seen[path] != nil }

// forget ends the watch of the folder at path and those of the folders below it.
func (w *watches) forget(path string) {
	if w.seen[path] == nil {
		return
	}
	below := path + string(filepath.Separator)
	for watched := range w.seen {
		if watched == path || strings.HasPrefix(watched, below) {
			w.end(watched)
		}
	}
}

// prune ends every watch whose folder is gone or another one by now, and forgets those that fsnotify has ended, so
// that the scan which follows adds what is missing.
func (w *watches) prune(root string) {
	if w.watcher == nil {
		return
	}
	alive := map[string]bool{}
	for _, path := range w.watcher.WatchList() {
		alive[path] = true
		stat := os.Lstat
		if path == root {
			stat = os.Stat
		}
		info, err := stat(path)
		if err != nil || w.seen[path] == nil || !os.SameFile(info, w.seen[path]) {
			w.end(path)
		}
	}
	for path := range w.seen {
		if !alive[path] {
			delete(w.seen, path)
		}
	}
}

// endAll ends every watch.
func (w *watches) endAll() {
	if w.watcher == nil {
		return
	}
	for _, path := range w.watcher.WatchList() {
		w.end(path)
	}
	clear(w.seen)
}

func (w *watches) end(path string) {
	delete(w.seen, path)
	// The only errors are that there is no such watch, here or in the system, and that is what was wanted.
	_ = w.watcher.Remove(path)
}

func (w *watches) close() {
	if w.watcher != nil {
		_ = w.watcher.Close()
	}
}
