package watch

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/fsnotify/fsnotify"
	"github.com/google/go-cmp/cmp"
)

// The tests of this file run with the events off, as on a network share, and on the clock of a synctest bubble, so that
// the seconds below are exact and cost nothing. The files are real.

// noEvents is an opener for scanning only.
func noEvents() (*fsnotify.Watcher, error) { return nil, nil }

// step is something that happens in the watched folder.
type step struct {
	at time.Duration
	do func(t *testing.T, dir string)
}

// write is a file written with a modification time of its own, in seconds, because real writes follow each other faster
// than some file systems can tell.
func write(name, content string, modified int) func(*testing.T, string) {
	return func(t *testing.T, dir string) {
		t.Helper()
		path := filepath.Join(dir, name)
		put(t, path, content)
		must(t, os.Chtimes(path, after(modified), after(modified)))
	}
}

func rename(from, to string) func(*testing.T, string) {
	return func(t *testing.T, dir string) {
		t.Helper()
		must(t, os.Rename(filepath.Join(dir, from), filepath.Join(dir, to)))
	}
}

func remove(name string) func(*testing.T, string) {
	return func(t *testing.T, dir string) {
		t.Helper()
		must(t, os.RemoveAll(filepath.Join(dir, name)))
	}
}

// complete is the structure of the invented files: they end in a full stop.
func complete(path string, _ int64) bool {
	content, err := os.ReadFile(path)
	return err == nil && strings.HasSuffix(string(content), ".")
}

// record is what a run did, each line with the seconds since it began.
type record struct {
	mu    sync.Mutex
	begun time.Time
	lines []string
}

func (r *record) add(format string, args ...any) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.lines = append(r.lines, fmt.Sprintf("%v ", time.Since(r.begun))+fmt.Sprintf(format, args...))
}

// watched runs f over a new folder in a bubble while the steps happen, until the given time, and gives the record.
func watched(t *testing.T, f Folder, until time.Duration, steps []step) []string {
	t.Helper()
	f.Dir = filepath.Join(t.TempDir(), "inbox")
	must(t, os.Mkdir(f.Dir, 0o755))
	r := &record{}
	synctest.Test(t, func(t *testing.T) {
		r.begun = time.Now()
		f.open = noEvents
		f.Problem = func(err error) { r.add("%s", strings.ReplaceAll(err.Error(), f.Dir, "DIR")) }
		ctx, cancel := context.WithTimeout(t.Context(), until)
		defer cancel()
		for len(steps) > 0 && steps[0].at == 0 {
			steps[0].do(t, f.Dir)
			steps = steps[1:]
		}
		ended := make(chan error)
		go func() {
			ended <- f.Run(ctx, func(_ context.Context, file File) error {
				rel, err := filepath.Rel(f.Dir, file.Path)
				r.add("%s%s", filepath.ToSlash(rel), map[bool]string{true: " overdue"}[file.Overdue])
				return err
			})
		}()
		for _, s := range steps {
			<-time.After(time.Until(r.begun.Add(s.at)))
			synctest.Wait()
			s.do(t, f.Dir)
		}
		if err := <-ended; err != context.DeadlineExceeded {
			t.Errorf("Run = %v, want %v", err, context.DeadlineExceeded)
		}
	})
	return r.lines
}

const second = time.Second

func TestScanning(t *testing.T) {
	tests := []struct {
		name   string
		folder Folder
		steps  []step
		until  time.Duration
		want   []string
	}{
		{"there before the start", Folder{}, []step{{0, write("a.jpg", "a", 1)}}, 60 * second, []string{"2s a.jpg"}},
		{"found by a scan", Folder{}, []step{{1 * second, write("haul/a.jpg", "a", 1)}}, 60 * second, []string{"12s haul/a.jpg"}},
		{"own settings", Folder{Settle: 5 * second, Rescan: 3 * second}, []step{{1 * second, write("a.jpg", "a", 1)}}, 60 * second, []string{"8s a.jpg"}},
		{"grows while it settles", Folder{}, []step{
			{0, write("a.jpg", "a", 1)}, {1 * second, write("a.jpg", "ab", 2)}, {3 * second, write("a.jpg", "abc", 3)},
		}, 60 * second, []string{"6s a.jpg"}},
		{"same size, other time", Folder{}, []step{
			{0, write("a.jpg", "a", 9)}, {1 * second, write("a.jpg", "b", 8)},
		}, 60 * second, []string{"4s a.jpg"}},
		{"incomplete, then complete", Folder{Complete: complete}, []step{
			{0, write("a.jpg", "a", 1)}, {0, write("b.jpg", "b.", 1)}, {5 * second, write("a.jpg", "a.", 2)},
		}, 200 * second, []string{"2s b.jpg", "8s a.jpg"}},
		// Some shares show the full size and time before the bytes are there: paulmillr/chokidar#471.
		{"complete without a visible change", Folder{Complete: complete}, []step{
			{0, write("a.jpg", "a ", 1)}, {5 * second, write("a.jpg", "a.", 1)},
		}, 200 * second, []string{"6s a.jpg"}},
		{"patience runs out", Folder{Complete: complete}, []step{{0, write("a.jpg", "a", 1)}}, 200 * second, []string{"1m0s a.jpg overdue"}},
		{"patience starts anew with a change", Folder{Complete: complete}, []step{
			{0, write("a.jpg", "a", 1)}, {29 * second, write("a.jpg", "aa", 1)},
		}, 200 * second, []string{"1m30s a.jpg overdue"}},
		{"patience is no multiple of settle", Folder{Complete: complete, Patience: 5 * second}, []step{{0, write("a.jpg", "a", 1)}}, 60 * second, []string{"5s a.jpg overdue"}},
		{"patience shorter than settle", Folder{Complete: complete, Patience: 1 * second}, []step{{0, write("a.jpg", "a", 1)}}, 60 * second, []string{"2s a.jpg overdue"}},
		{"overdue, then finished after all", Folder{Complete: complete}, []step{
			{0, write("a.jpg", "a", 1)}, {71 * second, write("a.jpg", "a.", 2)},
		}, 200 * second, []string{"1m0s a.jpg overdue", "1m22s a.jpg"}},
		{"temporaries", Folder{}, []step{
			{0, write(".syncthing.a.jpg.tmp", "a", 1)}, {0, write(".b.jpg.a8Xk2Q", "b", 1)}, {0, write("c.jpg.part", "c", 1)},
			{0, write("@eaDir/d.jpg", "d", 1)}, {0, write(".trash/e.jpg", "e", 1)}, {0, write("Thumbs.db", "f", 1)},
		}, 60 * second, nil},
		{"temporary renamed when finished", Folder{}, []step{
			{0, write(".a.jpg.a8Xk2Q", "a", 1)}, {3 * second, rename(".a.jpg.a8Xk2Q", "a.jpg")},
		}, 60 * second, []string{"12s a.jpg"}},
		{"handed over once", Folder{}, []step{{0, write("a.jpg", "a", 1)}}, 3600 * second, []string{"2s a.jpg"}},
		{"changed again", Folder{}, []step{
			{0, write("a.jpg", "a", 1)}, {5 * second, write("a.jpg", "aa", 1)}, {35 * second, write("a.jpg", "bb", 0)},
		}, 90 * second, []string{"2s a.jpg", "12s a.jpg", "42s a.jpg"}},
		{"gone before it settled", Folder{}, []step{{0, write("a.jpg", "a", 1)}, {1 * second, remove("a.jpg")}}, 60 * second, nil},
		{"became a folder", Folder{}, []step{
			{0, write("a.jpg", "a", 1)}, {1 * second, remove("a.jpg")}, {1 * second, write("a.jpg/b.jpg", "b", 1)},
		}, 60 * second, []string{"12s a.jpg/b.jpg"}},
		{"away for a while and back as it was", Folder{}, []step{
			{0, write("h/a.jpg", "a", 1)}, {5 * second, rename("h", "../away")}, {25 * second, rename("../away", "h")},
		}, 60 * second, []string{"2s h/a.jpg"}},
		{"order", Folder{}, []step{
			{0, write("b.jpg", "b", 3)}, {0, write("c/a.jpg", "c", 1)}, {0, write("a.jpg", "a", 2)}, {1 * second, write("a.jpg", "aa", 2)},
		}, 60 * second, []string{"2s b.jpg", "2s c/a.jpg", "4s a.jpg"}},
		{"oldest change first", Folder{Complete: complete}, []step{
			{0, write("z.jpg", "?", 1)}, {8 * second, write("a.jpg", "a.", 1)}, {11 * second, write("z.jpg", ".", 1)},
		}, 60 * second, []string{"12s z.jpg", "12s a.jpg"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(tt.want, watched(t, tt.folder, tt.until, tt.steps)); diff != "" {
				t.Errorf("record (-want +got):\n%s", diff)
			}
		})
	}
}

func TestScanningTrouble(t *testing.T) {
	gone := "watch folder DIR: no such file or directory"
	tests := []struct {
		name  string
		steps []step
		until time.Duration
		want  []string
	}{
		{"deleted and made again", []step{
			{0, write("a.jpg", "a", 1)}, {11 * second, remove("")}, {45 * second, write("a.jpg", "a", 2)}, {61 * second, remove("")},
		}, 90 * second, []string{"2s a.jpg", "20s " + gone, "52s a.jpg", "1m10s " + gone}},
		{"missing at the start", []step{{0, remove("")}, {5 * second, write("a.jpg", "a", 1)}}, 60 * second, []string{"0s " + gone, "12s a.jpg"}},
		{"replaced by a file", []step{
			{0, remove("")}, {0, write("../inbox", "x", 1)}, {25 * second, remove("")}, {35 * second, write("a.jpg", "a", 1)},
		}, 60 * second, []string{"0s watch folder DIR: not a folder", "30s " + gone, "42s a.jpg"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(tt.want, watched(t, Folder{}, tt.until, tt.steps)); diff != "" {
				t.Errorf("record (-want +got):\n%s", diff)
			}
		})
	}
}

func TestScanningUnreadableFolder(t *testing.T) {
	lock(t, t.TempDir()) // skips where it cannot be tried, before there is a bubble
	shut := func(mode os.FileMode) func(*testing.T, string) {
		return func(t *testing.T, dir string) { must(t, os.Chmod(filepath.Join(dir, "shut"), mode)) }
	}
	got := watched(t, Folder{}, 150*second, []step{
		{0, write("a.jpg", "a", 1)}, {0, write("shut/b.jpg", "b", 1)}, {0, write("z/c.jpg", "c", 1)},
		{0, shut(0)}, {55 * second, shut(0o755)}, {75 * second, shut(0)}, {115 * second, shut(0o755)},
	})
	denied := "watch folder DIR/shut: permission denied"
	want := []string{"0s " + denied, "2s a.jpg", "2s z/c.jpg", "1m2s shut/b.jpg", "1m20s " + denied}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("record (-want +got):\n%s", diff)
	}
}

func TestScanningLeavesLinksAlone(t *testing.T) {
	outside := t.TempDir()
	put(t, filepath.Join(outside, "private.jpg"), "x")
	linked := func(to, at string) func(*testing.T, string) {
		return func(t *testing.T, dir string) {
			t.Helper()
			must(t, os.Symlink(to, filepath.Join(dir, at)))
		}
	}
	link(t, outside, filepath.Join(t.TempDir(), "probe")) // skips where there are no links
	got := watched(t, Folder{}, 60*second, []step{
		{0, write("haul/a.jpg", "a", 1)}, {0, linked("..", "haul/loop")}, {0, linked(".", "self")},
		{0, linked(outside, "elsewhere")}, {0, linked(filepath.Join(outside, "private.jpg"), "private.jpg")},
		{15 * second, remove("haul")}, {15 * second, linked(outside, "haul")},
	})
	if diff := cmp.Diff([]string{"2s haul/a.jpg"}, got); diff != "" {
		t.Errorf("record (-want +got):\n%s", diff)
	}
}

func TestScanningKnown(t *testing.T) {
	earlier := map[string]time.Time{"old.jpg": after(1), "edited.jpg": after(1)}
	f := Folder{Known: func(path string, size int64, modified time.Time) bool {
		at, ok := earlier[filepath.Base(path)]
		return ok && size == 1 && modified.Equal(at)
	}}
	got := watched(t, f, 60*second, []step{
		{0, write("old.jpg", "o", 1)}, {0, write("edited.jpg", "e", 2)}, {0, write("new.jpg", "n", 1)},
		{5 * second, write("old.jpg", "oo", 1)}, // in this run it changes
		{25 * second, write("old.jpg", "o", 1)}, // and is given back as it was
	})
	want := []string{"2s edited.jpg", "2s new.jpg", "12s old.jpg"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("record (-want +got):\n%s", diff)
	}
}

func TestScanningFile(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "inbox")
	write("swap meet/morning/a.jpg", "12345", 7)(t, dir)
	given := dir + string(filepath.Separator)
	enough := errors.New("enough")
	synctest.Test(t, func(t *testing.T) {
		err := Folder{Dir: given, open: noEvents}.Run(t.Context(), func(_ context.Context, got File) error {
			if !got.Modified.Equal(after(7)) {
				t.Errorf("modified %v, want %v", got.Modified, after(7))
			}
			got.Modified = time.Time{}
			want := File{Path: filepath.Join(dir, "swap meet", "morning", "a.jpg"), Dir: given, Sub: "swap meet", Size: 5}
			if got != want {
				t.Errorf("got %+v, want %+v", got, want)
			}
			return enough
		})
		if err != enough {
			t.Errorf("Run = %v, want the error of handle", err)
		}
	})
}

// What arrives during a long turn is found right after it, and settles in its own time.
func TestScanningDuringLongTurn(t *testing.T) {
	dir := t.TempDir()
	write("a.jpg", "a", 1)(t, dir)
	var r record
	synctest.Test(t, func(t *testing.T) {
		r.begun = time.Now()
		ctx, cancel := context.WithTimeout(t.Context(), 100*second)
		defer cancel()
		err := Folder{Dir: dir, open: noEvents}.Run(ctx, func(_ context.Context, file File) error {
			name := filepath.Base(file.Path)
			r.add("%s", name)
			if name == "a.jpg" {
				write("b.jpg", "b", 1)(t, dir)
				<-time.After(30 * second)
				write("c.jpg", "c", 1)(t, dir)
			}
			return nil
		})
		if err != context.DeadlineExceeded {
			t.Errorf("Run = %v, want %v", err, context.DeadlineExceeded)
		}
	})
	if diff := cmp.Diff([]string{"2s a.jpg", "34s b.jpg", "34s c.jpg"}, r.lines); diff != "" {
		t.Errorf("record (-want +got):\n%s", diff)
	}
}

func TestRunEnds(t *testing.T) {
	dir := t.TempDir()
	write("a.jpg", "a", 1)(t, dir)
	disk := errors.New("disk full")
	handed := func(context.Context, File) error { return nil }
	tests := []struct {
		name   string
		dir    string
		handle func(context.CancelFunc) func(context.Context, File) error
		want   string
	}{
		{"no folder", "", func(context.CancelFunc) func(context.Context, File) error { return handed }, "watch folder: no folder given"},
		{"no handle", "x", func(context.CancelFunc) func(context.Context, File) error { return nil }, "watch folder x: nothing to hand files to"},
		{"cancelled before", dir, func(cancel context.CancelFunc) func(context.Context, File) error {
			cancel()
			return handed
		}, "context canceled"},
		{"cancelled in handle", dir, func(cancel context.CancelFunc) func(context.Context, File) error {
			return func(ctx context.Context, _ File) error {
				cancel()
				return fmt.Errorf("receive a.jpg: %w", ctx.Err())
			}
		}, "context canceled"},
		{"handle fails while ctx ends", dir, func(cancel context.CancelFunc) func(context.Context, File) error {
			return func(context.Context, File) error {
				cancel()
				return disk
			}
		}, "disk full"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				ctx, cancel := context.WithCancel(t.Context())
				defer cancel()
				err := Folder{Dir: tt.dir, open: noEvents}.Run(ctx, tt.handle(cancel))
				if got := errorText(err); got != tt.want {
					t.Errorf("Run = %q, want %q", got, tt.want)
				}
			})
		})
	}
}
