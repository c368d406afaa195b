package watch

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/fsnotify/fsnotify"
)

// The tests of this file use the system's events. They scan once an hour, so what is found was told, and they wait on
// channels: the deadline is for tests that have failed.

// live is a run whose turns and troubles the test receives.
type live struct {
	t        *testing.T
	ctx      context.Context
	dir      string
	files    chan string // paths below dir, with slashes
	troubles chan string
}

// begin starts a run over f.Dir, or a new folder, and returns when its first scan is through.
func begin(t *testing.T, f Folder) *live {
	t.Helper()
	if f.open == nil {
		must(t, system(t).Close()) // only to know that Run will get one
	}
	if f.Dir == "" {
		f.Dir = filepath.Join(t.TempDir(), "inbox")
	}
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	l := &live{t: t, ctx: ctx, dir: f.Dir, files: make(chan string, 10_000), troubles: make(chan string, 100)}
	put(t, filepath.Join(f.Dir, "first.jpg"), "first")
	f.Problem = func(err error) { l.troubles <- err.Error() }
	if f.Settle == 0 {
		f.Settle = 20 * time.Millisecond
	}
	if f.Rescan == 0 {
		f.Rescan = time.Hour
	}
	ended := make(chan error, 1)
	go func() {
		ended <- f.Run(ctx, func(_ context.Context, file File) error {
			if file.Size == 0 {
				return nil // the test was held up between creating and writing it
			}
			rel, err := filepath.Rel(f.Dir, file.Path)
			l.files <- filepath.ToSlash(rel)
			return err
		})
	}()
	t.Cleanup(func() {
		cancel()
		if err := <-ended; !errors.Is(err, context.Canceled) {
			t.Errorf("Run = %v, want %v", err, context.Canceled)
		}
	})
	l.want("first.jpg")
	return l
}

// want receives the given paths, in any order, and fails on any other.
func (l *live) want(paths ...string) {
	l.t.Helper()
	missing := map[string]bool{}
	for _, path := range paths {
		missing[path] = true
	}
	for len(missing) > 0 {
		select {
		case path := <-l.files:
			if !missing[path] {
				l.t.Fatalf("handed over %q, want one of %d others", path, len(missing))
			}
			delete(missing, path)
		case <-l.ctx.Done():
			l.t.Fatalf("%d files were not handed over", len(missing))
		}
	}
}

func (l *live) wantTrouble(part string) {
	l.t.Helper()
	select {
	case got := <-l.troubles:
		if !strings.Contains(got, part) {
			l.t.Fatalf("told %q, want something with %q", got, part)
		}
	case <-l.ctx.Done():
		l.t.Fatalf("not told of %q", part)
	}
}

func (l *live) put(name, content string) {
	l.t.Helper()
	put(l.t, l.path(name), content)
}

func (l *live) path(name string) string { return filepath.Join(l.dir, name) }

func TestEventsOfFiles(t *testing.T) {
	l := begin(t, Folder{})
	l.put("a.jpg", "a")
	l.want("a.jpg")
	l.put(".b.jpg.a8Xk2Q", "b")
	must(t, os.Rename(l.path(".b.jpg.a8Xk2Q"), l.path("b.jpg")))
	l.want("b.jpg")
	outside := filepath.Join(t.TempDir(), "c.jpg")
	put(t, outside, "c")
	must(t, os.Rename(outside, l.path("c.jpg")))
	l.want("c.jpg")
	l.put("a.jpg", "another a")
	l.want("a.jpg")
	must(t, os.Chtimes(l.path("b.jpg"), midnight, midnight))
	l.want("b.jpg")
	must(t, os.Remove(l.path("c.jpg")))
	l.put("Thumbs.db", "x")
	l.put(".trash/x.jpg", "x")
	l.put("@eaDir/a.jpg/small.jpg", "x")
	l.put("d.jpg", "d") // told after all those, and handed over without them
	l.want("d.jpg")
}

func TestEventsInRelativeFolder(t *testing.T) {
	t.Chdir(t.TempDir())
	l := begin(t, Folder{Dir: "."})
	l.put("haul/a.jpg", "a")
	l.want("haul/a.jpg")
	l.put("haul/b.jpg", "b")
	l.want("haul/b.jpg")
}

func TestEventsOfNewFolders(t *testing.T) {
	l := begin(t, Folder{})
	// Folder and file at once: when the folder is told, the file has no watch to be told by.
	l.put("a/1.jpg", "1")
	l.put("b/c/d/2.jpg", "2")
	l.put("b/3.jpg", "3")
	l.want("a/1.jpg", "b/c/d/2.jpg", "b/3.jpg")
	l.put("b/c/4.jpg", "4")
	l.put("b/c/d/5.jpg", "5")
	l.want("b/c/4.jpg", "b/c/d/5.jpg")

	outside := filepath.Join(t.TempDir(), "haul")
	put(t, filepath.Join(outside, "deep", "6.jpg"), "6")
	must(t, os.Rename(outside, l.path("haul")))
	l.want("haul/deep/6.jpg")
	l.put("haul/deep/7.jpg", "7")
	l.want("haul/deep/7.jpg")
}

// fsnotify goes on telling of the folders below a renamed one under their old names, unless their watches are ended.
func TestEventsAfterRenamingFolder(t *testing.T) {
	l := begin(t, Folder{})
	l.put("old/deep/1.jpg", "1")
	l.want("old/deep/1.jpg")
	var late []string
	for i, name := range []string{"new", "newer", "new by far"} {
		must(t, os.Rename(l.path("old"), l.path(name)))
		want := []string{name + "/deep/1.jpg"}
		for _, file := range late {
			want = append(want, name+file)
		}
		l.want(want...)
		late = append(late, fmt.Sprintf("/deep/late %d.jpg", i))
		l.put(name+late[i], "late")
		l.want(name + late[i])
		must(t, os.Rename(l.path(name), l.path("old")))
		l.want("old" + late[i]) // the others were handed over under this name before
	}
}

func TestEventsOfFolderMadeAgain(t *testing.T) {
	l := begin(t, Folder{})
	for i := range 20 {
		name := fmt.Sprintf("haul/%d.jpg", i)
		l.put(name, "x")
		l.want(name)
		must(t, os.RemoveAll(l.path("haul")))
		if i%2 == 0 {
			must(t, os.MkdirAll(l.path("haul"), 0o755))
		}
	}
}

func TestEventsOfWatchedFolderMadeAgain(t *testing.T) {
	l := begin(t, Folder{Rescan: 50 * time.Millisecond})
	for i := range 3 {
		must(t, os.RemoveAll(l.dir))
		l.wantTrouble("no such file or directory")
		name := fmt.Sprintf("%d.jpg", i)
		l.put(name, "x")
		l.want(name)
	}
}

func TestEventOfWatchedFolderGone(t *testing.T) {
	l := begin(t, Folder{})
	must(t, os.RemoveAll(l.dir))
	l.wantTrouble("no such file or directory")
}

// After the folder has become another one, the scan that notices must also see to it that events come again: here only
// a pretended loss of events makes it scan.
func TestEventsComeAgain(t *testing.T) {
	tests := []struct {
		name   string
		change func(t *testing.T, dir string)
	}{
		{"made again", func(t *testing.T, dir string) {
			must(t, os.Remove(dir)) // a link until now
			put(t, filepath.Join(dir, "haul", "there.jpg"), "there")
		}},
		// Nothing is told of a link that is turned elsewhere, as of another disk mounted over the folder.
		{"link turned elsewhere", func(t *testing.T, dir string) {
			other := t.TempDir()
			put(t, filepath.Join(other, "haul", "there.jpg"), "there")
			must(t, os.Symlink(other, dir+" new"))
			must(t, os.Rename(dir+" new", dir))
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			watcher, gate := gated(t)
			close(gate)
			dir := filepath.Join(t.TempDir(), "inbox")
			link(t, t.TempDir(), dir)
			put(t, filepath.Join(dir, "haul", "before.jpg"), "before")
			l := begin(t, Folder{Dir: dir, open: func() (*fsnotify.Watcher, error) { return watcher, nil }})
			l.want("haul/before.jpg")
			tt.change(t, dir)
			watcher.Errors <- fsnotify.ErrEventOverflow
			l.wantTrouble("events were lost")
			l.want("haul/there.jpg")
			l.put("told.jpg", "told")
			l.put("haul/told.jpg", "told")
			l.want("told.jpg", "haul/told.jpg")
		})
	}
}

func TestPrune(t *testing.T) {
	tests := []struct {
		name   string
		change func(t *testing.T, w *watches, dir string)
		want   bool // still watched
	}{
		{"as it was", func(*testing.T, *watches, string) {}, true},
		{"gone", func(t *testing.T, _ *watches, dir string) { must(t, os.Remove(dir)) }, false},
		// As of a disk mounted over the folder, nothing is told of this.
		{"another folder", func(t *testing.T, _ *watches, dir string) {
			must(t, os.Remove(dir))
			must(t, os.Symlink(t.TempDir(), dir))
		}, false},
		// As when the disk is unmounted.
		{"ended by the system", func(t *testing.T, w *watches, dir string) { must(t, w.watcher.Remove(dir)) }, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			w := watches{watcher: system(t), seen: map[string]fs.FileInfo{}}
			defer w.close()
			root := filepath.Join(t.TempDir(), "inbox")
			link(t, t.TempDir(), root)
			info, err := statFolder(root)
			must(t, err)
			must(t, w.add(root, info))
			tt.change(t, &w, root)
			w.prune(root)
			if got := w.has(root); got != tt.want {
				t.Errorf("watched = %v, want %v", got, tt.want)
			}
		})
	}
}

func TestBurst(t *testing.T) {
	l := begin(t, Folder{})
	var names []string
	for i := range 3000 {
		name := fmt.Sprintf("haul %d/IMG_%04d.jpg", i/1000, i)
		names = append(names, name)
		l.put(name, name)
	}
	l.want(names...)
}

// The system drops events after 16,384 (fs.inotify.max_queued_events) that nobody fetched. Here nobody fetches until
// there were more, and the file that only the dropped ones told of must be found all the same.
func TestOverflow(t *testing.T) {
	watcher, gate := gated(t)
	dir := filepath.Join(t.TempDir(), "inbox")
	put(t, filepath.Join(dir, "remade", "a.jpg"), "a")
	l := begin(t, Folder{Dir: dir, open: func() (*fsnotify.Watcher, error) { return watcher, nil }})
	l.want("remade/a.jpg")
	limit := 16384
	if text, err := os.ReadFile("/proc/sys/fs/inotify/max_queued_events"); err == nil {
		_, err := fmt.Sscan(string(text), &limit)
		must(t, err)
	}
	if limit > 100_000 {
		t.Skipf("this system queues %d events, more than a test should make", limit)
	}
	// Equal events in a row count once, so two files take turns. What fsnotify has already read comes on top of the
	// queue; it holds 64 KiB.
	var noise [2]*os.File
	for i := range noise {
		f, err := os.Create(l.path(fmt.Sprintf(".noise%d", i)))
		must(t, err)
		defer f.Close()
		noise[i] = f
	}
	for i := range limit + 10_000 {
		_, err := noise[i%2].WriteString("x")
		must(t, err)
	}
	l.put("haul/lost.jpg", "lost")
	must(t, os.RemoveAll(l.path("remade"))) // with its watch, which nobody learns
	must(t, os.Mkdir(l.path("remade"), 0o755))
	close(gate)
	l.wantTrouble("events were lost")
	l.want("haul/lost.jpg")
	l.put("haul/told.jpg", "told")
	l.put("remade/told.jpg", "told")
	l.want("haul/told.jpg", "remade/told.jpg")
}

// system gives the system's source of events.
func system(t *testing.T) *fsnotify.Watcher {
	t.Helper()
	watcher, err := openEvents()
	must(t, err)
	if watcher == nil {
		t.Skip("no events are used on this system, only scanning: scanning_test.go covers it")
	}
	return watcher
}

// gated is the system's source of events, but they and its errors reach us only after the gate is closed, or when the
// test ends.
func gated(t *testing.T) (*fsnotify.Watcher, chan struct{}) {
	t.Helper()
	watcher := system(t)
	events, errs := watcher.Events, watcher.Errors
	watcher.Events, watcher.Errors = make(chan fsnotify.Event), make(chan error)
	gate := make(chan struct{})
	wait := func() {
		select {
		case <-gate:
		case <-t.Context().Done():
		}
	}
	go func() {
		wait()
		for event := range events {
			watcher.Events <- event
		}
		close(watcher.Events)
	}()
	go func() {
		wait()
		for err := range errs {
			watcher.Errors <- err
		}
		close(watcher.Errors)
	}()
	return watcher, gate
}

// Events must be fetched while a file is having its turn, however many come.
func TestEventsAreFetchedDuringTurn(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "a.jpg"), "a")
	put(t, filepath.Join(dir, "b.jpg"), "b")
	watcher, gate := gated(t)
	close(gate)
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	var got []string
	f := Folder{Dir: dir, Settle: time.Millisecond, open: func() (*fsnotify.Watcher, error) { return watcher, nil }}
	enough := errors.New("enough")
	err := f.Run(ctx, func(ctx context.Context, file File) error {
		got = append(got, filepath.Base(file.Path))
		if len(got) > 1 {
			return enough
		}
		for i := range 20_000 {
			select {
			case watcher.Events <- fsnotify.Event{Name: filepath.Join(dir, fmt.Sprint(i%7, ".jpg")), Op: fsnotify.Write}:
			case <-ctx.Done():
				return fmt.Errorf("event %d was not fetched: %w", i, ctx.Err())
			}
		}
		return nil
	})
	if err != enough || strings.Join(got, " ") != "a.jpg b.jpg" {
		t.Errorf("got %v and %v, want a.jpg, b.jpg and %v", got, err, enough)
	}
}

func TestNoEventsToBeHad(t *testing.T) {
	closed, err := fsnotify.NewWatcher()
	must(t, err)
	must(t, closed.Close())
	tests := []struct {
		name string
		open opener
		want string
	}{
		{"no watcher", func() (*fsnotify.Watcher, error) { return nil, errors.New("too many open files") }, "too many open files"},
		{"no watches", func() (*fsnotify.Watcher, error) { return closed, nil }, fsnotify.ErrClosed.Error()},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			l := begin(t, Folder{Rescan: 30 * time.Millisecond, open: tt.open})
			l.wantTrouble("not told of changes, looking every 30ms instead: " + tt.want)
			l.put("haul/a.jpg", "a")
			l.want("haul/a.jpg")
			l.put("haul/b.jpg", "b")
			l.want("haul/b.jpg")
			select {
			case again := <-l.troubles:
				t.Errorf("told again: %q", again)
			default:
			}
		})
	}
}

func TestHints(t *testing.T) {
	h := newHints()
	events, errs := make(chan fsnotify.Event), make(chan error)
	go func() {
		defer close(errs)
		defer close(events)
		events <- fsnotify.Event{Name: "inbox/b.jpg", Op: fsnotify.Create}
		events <- fsnotify.Event{} // names nothing, and not the working directory either
		events <- fsnotify.Event{Name: "./inbox/a.jpg", Op: fsnotify.Create}
		events <- fsnotify.Event{Name: "inbox/b.jpg", Op: fsnotify.Write}
		errs <- fsnotify.ErrEventOverflow
		errs <- fsnotify.ErrEventOverflow
	}()
	h.gather(events, errs)
	<-h.arrived
	hinted, lost := h.take()
	var got []string
	for _, hint := range hinted {
		got = append(got, fmt.Sprint(filepath.ToSlash(hint.path), " ", hint.op))
	}
	if want := "inbox/a.jpg CREATE, inbox/b.jpg CREATE|WRITE"; strings.Join(got, ", ") != want {
		t.Errorf("hints = %q, want %q", got, want)
	}
	if len(lost) != 1 || lost[0] != fsnotify.ErrEventOverflow {
		t.Errorf("lost = %v, want the overflow once", lost)
	}
	if hinted, lost := h.take(); len(hinted)+len(lost) > 0 {
		t.Errorf("taken again: %v %v", hinted, lost)
	}
}
