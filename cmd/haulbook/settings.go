package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"

	"haulbook/intake"
	"haulbook/intake/timing"
)

// settings is BOOK/settings.toml: what the owner decides. Unknown keys are an
// error, because a mistyped one would silently not apply.
type settings struct {
	Book       string   `toml:"book" comment:"this book's own name; never change it"`
	Address    string   `toml:"address"`
	Retired    []string `toml:"retired_addresses"`
	ReturnLine string   `toml:"return_line"`
	Currency   string   `toml:"currency"`
	Zone       string   `toml:"zone"` // where photos were taken when nothing else says, like Europe/Berlin
	Units      string   `toml:"units"`
	Inboxes    []string `toml:"inboxes"`
}

const settingsFile = "settings.toml"

func readSettings(book string) (settings, error) {
	path := filepath.Join(book, settingsFile)
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return settings{}, fmt.Errorf("%s is no book: it has no %s; haulbook init makes one", book, settingsFile)
	} else if err != nil {
		return settings{}, err
	}
	var s settings
	meta, err := toml.Decode(string(text), &s)
	if err != nil {
		return settings{}, fmt.Errorf("read %s: %w", path, err)
	}
	if unknown := meta.Undecoded(); len(unknown) > 0 {
		return settings{}, fmt.Errorf("read %s: %q is no setting", path, unknown[0].String())
	}
	if err := timing.CheckZone(s.Zone); err != nil {
		return settings{}, fmt.Errorf("read %s: %w", path, err)
	}
	if s.Address != "" {
		if s.Address, err = cleanAddress(s.Address); err != nil {
			return settings{}, fmt.Errorf("read %s: %w", path, err)
		}
	}
	return s, nil
}

// write replaces the file in one step, so that a crash leaves the old or the
// new settings whole.
func (s settings) write(book string) error {
	var text bytes.Buffer
	text.WriteString("# The settings of this book. The desk reads them when it starts.\n")
	if err := toml.NewEncoder(&text).Encode(s); err != nil {
		return err
	}
	return writeDurably(filepath.Join(book, settingsFile), text.Bytes())
}

// inboxes returns the watched folders as absolute paths; relative ones lie in
// the book.
func (s settings) inboxes(book string) []string {
	folders := make([]string, 0, len(s.Inboxes))
	for _, dir := range s.Inboxes {
		if !filepath.IsAbs(dir) {
			dir = filepath.Join(book, dir)
		}
		folders = append(folders, dir)
	}
	return folders
}

// moveTo makes address the one that tags carry from now on and keeps the old
// one, because printed tags still lead there.
func (s *settings) moveTo(address string) {
	if s.Address != "" && s.Address != address && !slices.Contains(s.Retired, s.Address) {
		s.Retired = append(s.Retired, s.Address)
	}
	s.Address = address
}

// cleanAddress checks the address that tags will carry: http or https, a host,
// perhaps a port, nothing else, because the rest of a tag is ours and short.
func cleanAddress(s string) (string, error) {
	u, err := url.Parse(strings.TrimSpace(s))
	if err != nil || (u.Scheme != "http" && u.Scheme != "https") || u.Host == "" || u.User != nil ||
		strings.Trim(u.Path, "/") != "" || u.RawQuery != "" || u.Fragment != "" {
		return "", fmt.Errorf("address %q: want one like http://192.168.1.20:8417, with nothing behind the port: %w", s, intake.ErrInvalid)
	}
	return u.Scheme + "://" + strings.ToLower(u.Host), nil
}

// writeDurably puts data at path: temporary in the same folder, fsync, rename,
// fsync of the folder.
func writeDurably(path string, data []byte) error {
	tmp, err := os.CreateTemp(filepath.Dir(path), ".writing-*")
	if err != nil {
		return err
	}
	_, err = tmp.Write(data)
	if err = errors.Join(err, tmp.Chmod(0o644), tmp.Sync(), tmp.Close()); err == nil {
		err = os.Rename(tmp.Name(), path)
	}
	if err != nil {
		os.Remove(tmp.Name())
		return err
	}
	folder, err := os.Open(filepath.Dir(path))
	if err != nil {
		return err
	}
	return errors.Join(folder.Sync(), folder.Close())
}
