// Package labels turns strings and codes into printed tags: a PDF of label
// paper, or one label as a PNG for a label printer.
//
// It knows sizes of paper, printer dots, QR and Code 128 symbols and how to
// fit words into a box. It does not know what a tag is stuck to: no items, no
// database, no HTTP, and it imports nothing of this project.
//
// It promises proof before paper: every label is rasterised at the printer's
// resolution and its codes are read back; a label that does not read back as
// the text it was given is never written. Modules of a code lie on whole
// printer dots, nothing is printed outside the die-cut, a number is never
// shortened, and the same job always gives the same bytes.
package labels

import (
	"errors"
	"fmt"
	"time"
)

// ErrNoRoom is wrapped by every refusal that a larger stock, a finer printer
// or a shorter text would lift. The sentence around it says which.
var ErrNoRoom = errors.New("no room")

// ErrUnread is wrapped when a label was drawn but its code did not read back
// as the text it should carry.
var ErrUnread = errors.New("does not read back")

// A Tag is what one label says.
type Tag struct {
	URL    string // goes into the QR exactly as given
	Number string // accession number in the large type; "" for a blank tag, then Code is large
	Code   string // what to type when no camera helps; 8 characters are grouped in fours
	Name   string // what it is: one line, shortened visibly with "…"
	Return string // the owner's return line, small; "" prints none
	Linear bool   // also print Number as Code 128, refused with ErrNoRoom where it cannot fit
}

// A Job is one run of tags on one stock through one printer.
type Job struct {
	Stock Stock
	DPI   int       // dots per inch of the printer: 203, 300 or 600; 0 means 300
	Skip  int       // labels already used on the first sheet
	Date  time.Time // written into the PDF; the zero time means 1 January 2000, never "now"
}

// dpi returns the resolution, with 300 standing in for an unset one.
func (j Job) dpi() int {
	if j.DPI == 0 {
		return 300
	}
	return j.DPI
}

// check reports the first thing that makes the whole job impossible. Other
// resolutions are refused rather than rounded to: a page of dots that the
// printer does not have would blur every edge.
func (j Job) check() error {
	if err := j.Stock.check(); err != nil {
		return err
	}
	switch j.dpi() {
	case 203, 300, 600:
	default:
		return fmt.Errorf("printer of %d dpi: tags are drawn for 203, 300 or 600 dpi", j.DPI)
	}
	if n := j.Stock.PerPage(); j.Skip < 0 || j.Skip >= n {
		return fmt.Errorf("skip %d labels: a page of %s has %d, so 0 to %d can be skipped", j.Skip, j.Stock.Name, n, n-1)
	}
	return nil
}

// label names a tag in an error, so that a list of hundreds can be searched.
func (t Tag) label() string {
	for _, s := range []string{t.Number, t.Code, t.URL} {
		if s != "" {
			return excerpt(s)
		}
	}
	return "without number or code"
}

// headline is the text in large type, and whether it is given for good: a
// blank tag waits for its number and is drawn with a dashed outline.
func (t Tag) headline() (text string, given bool) {
	if t.Number != "" {
		return t.Number, true
	}
	return grouped(t.Code), false
}

// grouped splits a code of eight characters in the middle, as people read and
// type it; any other text stays as it is.
func grouped(code string) string {
	if len(code) != 8 {
		return code
	}
	return code[:4] + " " + code[4:]
}

// excerpt keeps error sentences short whatever was typed into a field; they are
// shown beside the field and written into the desk's log.
func excerpt(s string) string {
	const most = 40
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}
