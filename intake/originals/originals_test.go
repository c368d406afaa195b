package originals

import (
	"bytes"
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"testing/iotest"

	"haulbook/intake"
)

// abcHash is the SHA-256 of "abc": FIPS 180-2, appendix B.1.
const abcHash = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"

func TestPutStoresUnderTheHash(t *testing.T) {
	s := Store{Dir: filepath.Join(t.TempDir(), "originals")}
	for range 2 { // the same bytes twice are one original
		id, size, err := s.Put(t.Context(), strings.NewReader("abc"), ".jpg")
		if err != nil || id.String() != abcHash || size != 3 {
			t.Fatalf("Put = %v, %d, %v; want %s, 3", id, size, err, abcHash)
		}
	}
	want := filepath.Join(s.Dir, "ba", abcHash+".jpg")
	if got := files(t, s.Dir); len(got) != 1 || got[0] != want {
		t.Errorf("folder holds %v, want only %s", got, want)
	}
	stat, err := os.Stat(want)
	if err != nil || stat.Mode().Perm() != 0o444 {
		t.Errorf("original has mode %v, %v; want read only", stat.Mode(), err)
	}
	if err := s.Verify(t.Context(), mustID(t, abcHash), ".jpg"); err != nil {
		t.Error(err)
	}
}

func TestFailuresLeaveNothing(t *testing.T) {
	cancelled, cancel := context.WithCancel(t.Context())
	cancel()
	tests := []struct {
		name string
		ctx  context.Context
		src  io.Reader
		sync func(*os.File) error
		want error
	}{
		{"source fails half way", t.Context(), io.MultiReader(strings.NewReader("half"), iotest.ErrReader(io.ErrUnexpectedEOF)), nil, io.ErrUnexpectedEOF},
		{"disk full at fsync", t.Context(), strings.NewReader("abc"), func(*os.File) error { return syscall.ENOSPC }, syscall.ENOSPC},
		{"given up", cancelled, strings.NewReader("abc"), nil, context.Canceled},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := Store{Dir: t.TempDir(), sync: tt.sync}
			if _, _, err := s.Put(tt.ctx, tt.src, ".jpg"); !errors.Is(err, tt.want) {
				t.Errorf("Put error = %v, want %v", err, tt.want)
			}
			if got := files(t, s.Dir); len(got) != 0 {
				t.Errorf("left behind: %v", got)
			}
		})
	}
}

// TestShortOriginalIsMended: a file of the right name and the wrong length is
// damage on disk, and the bytes are at hand.
func TestShortOriginalIsMended(t *testing.T) {
	s := Store{Dir: t.TempDir()}
	id := mustID(t, abcHash)
	path := s.Path(id, ".jpg")
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte("ab"), 0o444); err != nil {
		t.Fatal(err)
	}
	if err := s.Verify(t.Context(), id, ".jpg"); err == nil {
		t.Error("Verify passed a short original")
	}
	if _, _, err := s.Put(t.Context(), strings.NewReader("abc"), ".jpg"); err != nil {
		t.Fatal(err)
	}
	if err := s.Verify(t.Context(), id, ".jpg"); err != nil {
		t.Error(err)
	}
}

func TestSweepTakesOnlyTemporaries(t *testing.T) {
	s := Store{Dir: t.TempDir()}
	if _, _, err := s.Put(t.Context(), strings.NewReader("abc"), ".jpg"); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(s.Dir, temporary+"123"), []byte("half"), 0o600); err != nil {
		t.Fatal(err)
	}
	if n, err := s.Sweep(); n != 1 || err != nil {
		t.Errorf("Sweep = %d, %v; want 1", n, err)
	}
	if got := files(t, s.Dir); len(got) != 1 {
		t.Errorf("left: %v", got)
	}
	if n, err := (Store{Dir: filepath.Join(s.Dir, "none")}).Sweep(); n != 0 || err != nil {
		t.Errorf("Sweep of no folder = %d, %v", n, err)
	}
}

func TestEraseTwice(t *testing.T) {
	s := Store{Dir: t.TempDir()}
	id, _, err := s.Put(t.Context(), strings.NewReader("abc"), ".jpg")
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if err := s.Erase(id, ".jpg"); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Verify(t.Context(), id, ".jpg"); err == nil || !strings.Contains(err.Error(), "missing") {
		t.Errorf("Verify after Erase = %v", err)
	}
}

func TestManyWritersOfTheSameBytes(t *testing.T) {
	s := Store{Dir: t.TempDir()}
	var wg sync.WaitGroup
	for range 16 {
		wg.Go(func() {
			if _, _, err := s.Put(t.Context(), bytes.NewReader(make([]byte, 100_000)), ".png"); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if got := files(t, s.Dir); len(got) != 1 {
		t.Errorf("folder holds %v, want one file", got)
	}
}

func files(t *testing.T, dir string) []string {
	t.Helper()
	var paths []string
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			paths = append(paths, path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return paths
}

func mustID(t *testing.T, s string) intake.PhotoID {
	t.Helper()
	id, err := intake.ParsePhotoID(s)
	if err != nil {
		t.Fatal(err)
	}
	return id
}
