// Package originals keeps photographs on disk: each file once, under the
// SHA-256 of its bytes, never edited afterwards.
//
// It knows bytes, hashes and folders; it does not know what a photo shows or
// who asks. It promises that a path it returns holds exactly the bytes of that
// hash, durable on disk, and that a crash at any moment leaves either the whole
// original or nothing but a temporary file, which Sweep removes.
package originals

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"haulbook/intake"
)

// Store is the folder BOOK/originals. It is safe for concurrent use, also by
// several processes: two that store the same bytes end with the same file.
type Store struct {
	Dir string

	// sync is replaced in tests to stand for a disk that fails.
	sync func(*os.File) error
}

// temporary marks files that are still being written. Nothing else in the
// folder begins with it.
const temporary = ".writing-"

// Put copies src into the store and returns the photo's id and size once the
// original is durable: temporary name in the same folder, hash while copying,
// fsync, rename, fsync of the folder. Storing the same bytes again writes
// nothing that stays. On any error the temporary is removed.
func (s Store) Put(ctx context.Context, src io.Reader, ext string) (intake.PhotoID, int64, error) {
	if err := os.MkdirAll(s.Dir, 0o755); err != nil {
		return intake.PhotoID{}, 0, err
	}
	tmp, err := os.CreateTemp(s.Dir, temporary+"*")
	if err != nil {
		return intake.PhotoID{}, 0, err
	}
	id, size, err := s.fill(ctx, tmp, src, ext)
	if err != nil {
		tmp.Close()
		os.Remove(tmp.Name())
		return intake.PhotoID{}, 0, err
	}
	return id, size, nil
}

// fill owns tmp: after it returns without error nothing of that name is left.
func (s Store) fill(ctx context.Context, tmp *os.File, src io.Reader, ext string) (intake.PhotoID, int64, error) {
	hash := sha256.New()
	size, err := io.Copy(io.MultiWriter(tmp, hash), readUntil(ctx, src))
	if err != nil {
		return intake.PhotoID{}, 0, err
	}
	id := intake.PhotoID(hash.Sum(nil))
	if s.holds(id, ext, size) {
		tmp.Close()
		return id, size, os.Remove(tmp.Name())
	}
	if err := errors.Join(tmp.Chmod(0o444), s.flush(tmp), tmp.Close()); err != nil {
		return intake.PhotoID{}, 0, err
	}
	return id, size, s.place(tmp.Name(), s.Path(id, ext))
}

// place renames a finished file into its folder and makes the name durable.
func (s Store) place(tmp, path string) error {
	folder := filepath.Dir(path)
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	if err := os.Rename(tmp, path); err != nil {
		return err
	}
	// A new sub-folder is itself a name in Dir, so both are synced.
	return errors.Join(s.flushFolder(folder), s.flushFolder(s.Dir))
}

// holds reports whether the original is already there, whole. A shorter file
// of that name would be damage on disk: it is written again.
func (s Store) holds(id intake.PhotoID, ext string, size int64) bool {
	stat, err := os.Stat(s.Path(id, ext))
	return err == nil && stat.Mode().IsRegular() && stat.Size() == size
}

// Path returns where the original of id is, or would be.
func (s Store) Path(id intake.PhotoID, ext string) string {
	name := id.String()
	return filepath.Join(s.Dir, name[:2], name+ext)
}

// Erase removes the original of a photo that its keeper forgot. Erasing what is
// not there changes nothing.
func (s Store) Erase(id intake.PhotoID, ext string) error {
	path := s.Path(id, ext)
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if err := s.flushFolder(filepath.Dir(path)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// Sweep removes temporaries that a killed process left. Only the holder of the
// book's exclusive lock may call it: another process's unfinished file looks
// the same.
func (s Store) Sweep() (removed int, err error) {
	entries, err := os.ReadDir(s.Dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return 0, err
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), temporary) {
			continue
		}
		if err := os.Remove(filepath.Join(s.Dir, e.Name())); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return removed, err
		}
		removed++
	}
	return removed, nil
}

// Verify reads the original again and compares it with its hash. The error
// says what is wrong in words: missing, or not the bytes it was.
func (s Store) Verify(ctx context.Context, id intake.PhotoID, ext string) error {
	f, err := os.Open(s.Path(id, ext))
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("original %s is missing", id)
	} else if err != nil {
		return err
	}
	defer f.Close()
	hash := sha256.New()
	if _, err := io.Copy(hash, readUntil(ctx, f)); err != nil {
		return err
	}
	if intake.PhotoID(hash.Sum(nil)) != id {
		return fmt.Errorf("original %s is not the bytes it was", id)
	}
	return nil
}

func (s Store) flush(f *os.File) error {
	if s.sync != nil {
		return s.sync(f)
	}
	return f.Sync()
}

func (s Store) flushFolder(path string) error {
	folder, err := os.Open(path)
	if err != nil {
		return err
	}
	defer folder.Close()
	return s.flush(folder)
}

// readUntil stops reading when ctx ends, so that a copy from a dead network
// folder can be given up between two reads.
func readUntil(ctx context.Context, r io.Reader) io.Reader {
	return readerFunc(func(p []byte) (int, error) {
		if err := ctx.Err(); err != nil {
			return 0, err
		}
		return r.Read(p)
	})
}

type readerFunc func([]byte) (int, error)

func (f readerFunc) Read(p []byte) (int, error) { return f(p) }
