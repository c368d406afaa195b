package watch

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Walk calls each for every file below dir that Run would hand over, as it is now, without waiting for it to settle:
// for a folder that nobody is writing to. The order is lexical within a folder, and a folder's content comes where
// its name stands.
//
// An error of each, or the end of ctx, ends the pass and is returned as it is. Folders that cannot be read are passed
// over and returned together, joined, when the pass is through: everything else has been visited then. Symbolic links
// and special files are left out; dir itself may be a link.
func Walk(ctx context.Context, dir string, each func(File) error) error {
	info, err := statFolder(dir)
	if err != nil {
		return fmt.Errorf("walk folder %s: %w", dir, err)
	}
	var unread []error
	err = traverse(ctx, filepath.Clean(dir), info, pass{
		folder: func(string, fs.FileInfo) {},
		file: func(path string, info fs.FileInfo) error {
			return each(File{Path: path, Dir: dir, Sub: subOf(dir, path), Size: info.Size(), Modified: info.ModTime()})
		},
		trouble: func(path string, err error) {
			unread = append(unread, fmt.Errorf("walk folder %s: %w", path, err))
		},
	})
	if err != nil {
		return err
	}
	return errors.Join(unread...)
}

// pass is what a traversal calls; path always begins with the folder the traversal started from.
type pass struct {
	folder  func(path string, info fs.FileInfo)       // before the folder is listed
	file    func(path string, info fs.FileInfo) error // a regular file with a name that is not ignored
	trouble func(path string, err error)              // a folder that could not be read, at most once for each
}

// traverse visits the folder at path, which info describes, and everything below it. It never goes through a symbolic
// link, so it ends. It returns the first error of p.file, or that of ctx.
func traverse(ctx context.Context, path string, info fs.FileInfo, p pass) error {
	p.folder(path, info)
	// ReadDir gives what it could read together with the error, and that much is used.
	entries, trouble := os.ReadDir(path)
	for _, entry := range entries {
		if err := ctx.Err(); err != nil {
			return err
		}
		skip := Ignored
		if entry.IsDir() {
			skip = ignoredFolder
		}
		if skip(entry.Name()) {
			continue
		}
		info, err := entry.Info()
		if err != nil {
			trouble = firstTrouble(trouble, err)
			continue
		}
		below := filepath.Join(path, entry.Name())
		switch { // links and special files are neither
		case info.IsDir():
			err = traverse(ctx, below, info, p)
		case info.Mode().IsRegular():
			err = p.file(below, info)
		}
		if err != nil {
			return err
		}
	}
	if trouble = firstTrouble(nil, trouble); trouble != nil {
		p.trouble(path, trouble)
	}
	return ctx.Err()
}

// firstTrouble keeps the first error worth telling: what vanished since it was listed is nobody's trouble.
func firstTrouble(kept, err error) error {
	if kept != nil || err == nil || errors.Is(err, fs.ErrNotExist) {
		return kept
	}
	return bare(err)
}

// statFolder describes the folder a traversal starts from, through a symbolic link if need be.
func statFolder(dir string) (fs.FileInfo, error) {
	info, err := os.Stat(dir)
	if err != nil {
		return nil, bare(err)
	}
	if !info.IsDir() {
		return nil, errors.New("not a folder")
	}
	return info, nil
}

// bare takes operation and path off an error, for messages that name the path themselves.
func bare(err error) error {
	var at *fs.PathError
	if errors.As(err, &at) {
		return at.Err
	}
	return err
}
