package watch

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/fsnotify/fsnotify"
)

// lookout is one run over one folder. All its methods belong to the goroutine of Run.
type lookout struct {
	Folder
	root     string // Dir, cleaned: what paths begin with
	settling *settling
	troubles troubles
	hints    *hints
	watches  watches
	scanAt   time.Time // when the whole folder is scanned next
	gathered sync.WaitGroup
}

func newLookout(f Folder) *lookout {
	l := &lookout{
		Folder:   f,
		root:     filepath.Clean(f.Dir),
		settling: newSettling(f.Settle),
		troubles: troubles{tell: f.Problem},
		hints:    newHints(),
		scanAt:   time.Now(),
	}
	watcher, err := f.open()
	if err != nil {
		f.Problem(l.eventless(err))
	}
	if err == nil && watcher != nil {
		l.watches = watches{watcher: watcher, seen: map[string]fs.FileInfo{}}
		l.gathered.Go(func() { l.hints.gather(watcher.Events, watcher.Errors) })
	}
	return l
}

// close ends the events and waits until the goroutine that gathers them is gone.
func (l *lookout) close() {
	l.watches.close()
	l.gathered.Wait()
}

// eventless words the one sentence about events that will not come.
func (l *lookout) eventless(err error) error {
	return fmt.Errorf("watch folder %s: not told of changes, looking every %v instead: %w", l.Dir, l.Rescan, bare(err))
}

// attend does what has come up since the last call: scans when it is time or events were lost, else follows the hints.
// Its error is that of ctx.
func (l *lookout) attend(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	hinted, lost := l.hints.take()
	for _, err := range lost {
		l.Problem(fmt.Errorf("watch folder %s: events were lost, looking through all of it: %w", l.Dir, err))
	}
	if len(lost) > 0 {
		l.watches.endAll() // the end of a watch may be among what was lost
		l.scanAt = time.Time{}
	}
	// Hints are worked off before a scan too, for the times they carry.
	if err := l.follow(ctx, hinted); err != nil {
		return err
	}
	if time.Now().Before(l.scanAt) {
		return nil
	}
	return l.scan(ctx)
}

// follow looks at the paths that events named.
func (l *lookout) follow(ctx context.Context, hinted []hint) error {
	type sight struct {
		hint
		info fs.FileInfo
	}
	var there []sight
	// Old watches end before new ones begin: a renamed folder is one watch for the system, under an old and a new name,
	// and a folder deleted and made again at once has lost the watch that its name still seems to have.
	for _, h := range hinted {
		if h.path == l.root {
			l.scanAt = time.Time{}
			continue
		}
		if h.op == fsnotify.Write && l.watches.has(h.path) {
			continue // Windows says so of a folder whenever something in it changes, which is told as well
		}
		l.watches.forget(h.path)
		if info, err := os.Lstat(h.path); err == nil {
			there = append(there, sight{h, info})
		}
	}
	for _, s := range there {
		name := filepath.Base(s.path)
		switch {
		case s.info.IsDir() && !ignoredFolder(name):
			if err := traverse(ctx, s.path, s.info, l.pass(s.at)); err != nil {
				return err
			}
		case s.info.Mode().IsRegular() && !Ignored(name):
			l.settling.observe(s.path, stampOf(s.info), s.at, time.Now())
		}
	}
	return nil
}

// scan looks through the whole folder. The next scan is due Rescan after the end of this one, so that a share which
// takes longer than Rescan to list is not listed all the time.
func (l *lookout) scan(ctx context.Context) error {
	l.troubles.begin()
	l.watches.prune(l.root)
	info, err := statFolder(l.Dir)
	if err == nil {
		if err := traverse(ctx, l.root, info, l.pass(time.Now())); err != nil {
			return err
		}
	} else {
		l.trouble(l.Dir, err)
	}
	l.troubles.end()
	l.scanAt = time.Now().Add(l.Rescan)
	return nil
}

// pass notes every file of a traversal as changed at the same moment, if it has changed at all, and watches every
// folder before it is listed: what is created in between is then both listed and told.
func (l *lookout) pass(changed time.Time) pass {
	return pass{
		folder: func(path string, info fs.FileInfo) {
			err := l.watches.add(path, info)
			if err != nil && !errors.Is(err, fs.ErrNotExist) && !errors.Is(err, fs.ErrPermission) {
				l.troubles.report("events", l.eventless(err))
			}
		},
		file: func(path string, info fs.FileInfo) error {
			l.settling.observe(path, stampOf(info), changed, time.Now())
			return nil
		},
		trouble: l.trouble,
	}
}

func (l *lookout) trouble(path string, err error) {
	l.troubles.report(path, fmt.Errorf("watch folder %s: %w", path, err))
}

// inspect looks at a candidate that is due, and reports whether it is to be handed over.
func (l *lookout) inspect(c *candidate, now time.Time) (File, bool) {
	info, err := os.Lstat(c.path)
	if err != nil || !info.Mode().IsRegular() {
		l.settling.drop(c)
		return File{}, false
	}
	if seen := stampOf(info); seen != c.stamp {
		l.settling.observe(c.path, seen, now, now)
		return File{}, false
	}
	if l.Known != nil && l.Known(c.path, info.Size(), info.ModTime()) {
		l.settling.take(c)
		return File{}, false
	}
	complete := l.Complete == nil || l.Complete(c.path, info.Size())
	if end := c.since.Add(l.Patience); !complete && now.Before(end) {
		again := now.Add(l.Settle)
		if end.Before(again) {
			again = end
		}
		l.settling.schedule(c, again)
		return File{}, false
	}
	l.settling.take(c)
	return File{
		Path: c.path, Dir: l.Dir, Sub: subOf(l.root, c.path),
		Size: info.Size(), Modified: info.ModTime(), Overdue: !complete,
	}, true
}

// wait returns when there is something to attend to or a candidate is due, with an error only when ctx ends.
func (l *lookout) wait(ctx context.Context) error {
	until := l.scanAt
	if wake := l.settling.wake; !wake.IsZero() && wake.Before(until) {
		until = wake
	}
	timer := time.NewTimer(time.Until(until))
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-l.hints.arrived:
	case <-timer.C:
	}
	return nil
}
