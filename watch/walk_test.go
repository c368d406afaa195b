package watch

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// put writes a file, with the folders it needs.
func put(t testing.TB, path, content string) {
	t.Helper()
	must(t, os.MkdirAll(filepath.Dir(path), 0o755))
	must(t, os.WriteFile(path, []byte(content), 0o644))
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// walked gives the paths of a Walk below dir, with slashes, and its error.
func walked(ctx context.Context, dir string) ([]string, error) {
	var got []string
	err := Walk(ctx, dir, func(f File) error {
		rel, err := filepath.Rel(dir, f.Path)
		got = append(got, filepath.ToSlash(rel))
		return err
	})
	return got, err
}

func TestWalkOrderAndRules(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{
		"b.jpg", "a.jpg", "haul/2.jpg", "haul/10.jpg", "haul/deep/er/x.jpg", "mainframe.part/whole.jpg",
		".DS_Store", "a.jpg.part", ".trash/old.jpg", "haul/@eaDir/a.jpg/small.jpg", "haul/Thumbs.db",
	} {
		put(t, filepath.Join(dir, name), name)
	}
	must(t, os.Mkdir(filepath.Join(dir, "empty"), 0o755))
	got, err := walked(t.Context(), dir)
	must(t, err)
	want := []string{"a.jpg", "b.jpg", "haul/10.jpg", "haul/2.jpg", "haul/deep/er/x.jpg", "mainframe.part/whole.jpg"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("visited (-want +got):\n%s", diff)
	}
}

func TestWalkFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "swap meet", "morning", "a.jpg")
	put(t, path, "12345")
	info, err := os.Stat(path)
	must(t, err)
	dir += string(filepath.Separator) // Dir comes back as it was given, Path is clean all the same
	var got []File
	must(t, Walk(t.Context(), dir, func(f File) error {
		got = append(got, f)
		return nil
	}))
	want := []File{{Path: path, Dir: dir, Sub: "swap meet", Size: 5, Modified: info.ModTime()}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("files (-want +got):\n%s", diff)
	}
}

func TestWalkRelativeFolder(t *testing.T) {
	t.Chdir(t.TempDir())
	put(t, "haul/a.jpg", "a")
	for _, dir := range []string{".", "haul", "../" + filepath.Base(mustGetwd(t))} {
		var got []string
		must(t, Walk(t.Context(), dir, func(f File) error {
			got = append(got, f.Path+" in "+f.Sub)
			return nil
		}))
		sub := "haul"
		if dir == "haul" {
			sub = ""
		}
		file := "haul/a.jpg"
		if strings.HasPrefix(dir, "..") {
			file = dir + "/haul/a.jpg"
		}
		want := []string{filepath.FromSlash(file) + " in " + sub}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", dir, diff)
		}
	}
}

func mustGetwd(t *testing.T) string {
	t.Helper()
	dir, err := os.Getwd()
	must(t, err)
	return dir
}

func TestWalkStaysOutOfLinks(t *testing.T) {
	outside, dir := t.TempDir(), filepath.Join(t.TempDir(), "inbox")
	put(t, filepath.Join(outside, "private.jpg"), "x")
	put(t, filepath.Join(dir, "haul", "a.jpg"), "a")
	link(t, outside, filepath.Join(dir, "elsewhere"))
	link(t, filepath.Join(outside, "private.jpg"), filepath.Join(dir, "private.jpg"))
	link(t, dir, filepath.Join(dir, "haul", "loop"))
	link(t, ".", filepath.Join(dir, "self"))
	link(t, "nowhere", filepath.Join(dir, "dangling.jpg"))
	got, err := walked(t.Context(), dir)
	must(t, err)
	if diff := cmp.Diff([]string{"haul/a.jpg"}, got); diff != "" {
		t.Errorf("visited (-want +got):\n%s", diff)
	}

	// The folder itself was named by the user, so a link there is followed.
	front := filepath.Join(t.TempDir(), "front")
	link(t, dir, front)
	got, err = walked(t.Context(), front)
	must(t, err)
	if diff := cmp.Diff([]string{"haul/a.jpg"}, got); diff != "" {
		t.Errorf("visited through the link (-want +got):\n%s", diff)
	}
}

func link(t testing.TB, to, at string) {
	t.Helper()
	if err := os.Symlink(to, at); err != nil {
		t.Skipf("this system makes no symbolic links for us: %v", err)
	}
}

func TestWalkEnds(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"a.jpg", "b.jpg", "c/d.jpg"} {
		put(t, filepath.Join(dir, name), name)
	}
	enough := errors.New("enough")
	calls := 0
	err := Walk(t.Context(), dir, func(File) error {
		calls++
		return enough
	})
	if err != enough || calls != 1 {
		t.Errorf("got %v after %d calls, want %v after 1", err, calls, enough)
	}

	ctx, cancel := context.WithCancel(t.Context())
	calls = 0
	err = Walk(ctx, dir, func(File) error {
		calls++
		cancel()
		return nil
	})
	if err != context.Canceled || calls != 1 {
		t.Errorf("got %v after %d calls, want %v after 1", err, calls, context.Canceled)
	}
}

func TestWalkOfNoFolder(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "a.jpg")
	put(t, file, "a")
	_, err := walked(t.Context(), file)
	if got, want := errorText(err), "walk folder "+file+": not a folder"; got != want {
		t.Errorf("of a file: got %q, want %q", got, want)
	}
	missing := filepath.Join(dir, "missing")
	_, err = walked(t.Context(), missing)
	if !errors.Is(err, fs.ErrNotExist) || strings.Count(errorText(err), missing) != 1 {
		t.Errorf("of a missing folder: got %q, want the path once and fs.ErrNotExist", errorText(err))
	}
}

func errorText(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}

// lock takes all rights off a folder until the test ends.
func lock(t testing.TB, dir string) {
	t.Helper()
	must(t, os.Chmod(dir, 0))
	t.Cleanup(func() { must(t, os.Chmod(dir, 0o755)) })
	if _, err := os.ReadDir(dir); err == nil {
		t.Skip("this user may read every folder (root does), so an unreadable one cannot be made: run the test as another user")
	}
}

func TestWalkPassesOverUnreadableFolders(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"a/1.jpg", "b/2.jpg", "c/3.jpg", "d/4.jpg", "d/5.jpg"} {
		put(t, filepath.Join(dir, name), name)
	}
	lock(t, filepath.Join(dir, "b"))
	// Listed, but nothing in it can be looked at: one sentence for the folder, not one for each file.
	must(t, os.Chmod(filepath.Join(dir, "d"), 0o444))
	t.Cleanup(func() { must(t, os.Chmod(filepath.Join(dir, "d"), 0o755)) })
	got, err := walked(t.Context(), dir)
	if diff := cmp.Diff([]string{"a/1.jpg", "c/3.jpg"}, got); diff != "" {
		t.Errorf("visited (-want +got):\n%s", diff)
	}
	want := "walk folder " + filepath.Join(dir, "b") + ": permission denied\n" +
		"walk folder " + filepath.Join(dir, "d") + ": permission denied"
	if errorText(err) != want || !errors.Is(err, fs.ErrPermission) {
		t.Errorf("got error %q, want %q", errorText(err), want)
	}
}
