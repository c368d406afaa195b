package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"haulbook/intake"
	"haulbook/intake/sqlite"
)

type initCommand struct {
	Dir        string  `arg:"" name:"book" help:"The folder of the new book, or of one whose address changes."`
	Address    string  `placeholder:"URL" help:"What tags will carry, e.g. http://192.168.1.20:8417."`
	ReturnLine *string `name:"return" placeholder:"TEXT" help:"How a finder reaches the owner; printed small on tags and shown on the card."`
}

// Help shows what a first session looks like.
func (initCommand) Help() string {
	return "The address is printed on every tag and must stay reachable for years: give this machine a fixed\n" +
		"address in the router first. Running init again on a book changes its address and keeps the old one\n" +
		"answering.\n\n  haulbook init ~/book --address http://192.168.1.20:8417"
}

// Run makes the folder, the settings and an empty database.
func (c *initCommand) Run(s *streams) error {
	address := ""
	if c.Address != "" {
		var err error
		if address, err = cleanAddress(c.Address); err != nil {
			return &usageError{problem: err.Error()}
		}
	}
	return initBook(s, c.Dir, address, c.ReturnLine)
}

func initBook(s *streams, dir, address string, returnLine *string) error {
	for _, sub := range []string{"", "inbox", "originals", "previews"} {
		if err := os.MkdirAll(filepath.Join(dir, sub), 0o755); err != nil {
			return err
		}
	}
	chosen, fresh, err := settingsToChange(dir)
	if err != nil {
		return err
	}
	before := chosen.Address
	if address != "" {
		chosen.moveTo(address)
	}
	if returnLine != nil {
		if chosen.ReturnLine, err = intake.CleanLine("return", *returnLine); err != nil {
			return &usageError{problem: err.Error()}
		}
	}
	if err := chosen.write(dir); err != nil {
		return err
	}
	b, err := openBook(s, dir)
	if err != nil {
		return err
	}
	defer b.close()
	if fresh {
		s.say("made the book %s", b.dir)
		s.say("photos go into %s", filepath.Join(b.dir, "inbox"))
	}
	return tellAddress(s, b, before)
}

// settingsToChange reads the settings, or proposes those of a new book.
func settingsToChange(dir string) (chosen settings, fresh bool, err error) {
	if _, err := os.Stat(filepath.Join(dir, settingsFile)); errors.Is(err, fs.ErrNotExist) {
		return settings{Book: string(intake.NewID()[:8]), Currency: "EUR", Units: "metric", Inboxes: []string{"inbox"}}, true, nil
	}
	chosen, err = readSettings(dir)
	return chosen, false, err
}

// tellAddress says what tags will carry, and how many printed ones carry
// something else: paper cannot be corrected.
func tellAddress(s *streams, b *book, before string) error {
	if b.settings.Address == "" {
		s.say("no address for tags yet; init again with --address before printing")
		return nil
	}
	s.say("tags will carry %s", b.settings.Address)
	printed, err := sqlite.Codes{DB: b.db}.Addresses(s.ctx)
	if err != nil {
		return err
	}
	stale := 0
	for address, tags := range printed {
		if address != b.settings.Address {
			stale += tags
		}
	}
	if stale > 0 && before != b.settings.Address {
		s.say("%s carry another address; they still open here while the desk answers at it, and their codes always work in the search box", plural(stale, "printed tag"))
	}
	return nil
}

// plural counts in words: "1 photo", "3 photos".
func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
