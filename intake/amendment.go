package intake

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// Amendment is what a keeper changes in an item's record. A nil field stays as
// it is; a field that points at "" is emptied.
type Amendment struct {
	Name, Maker, Model, Serial *string
	Notes                      *string // several lines
	Quantity                   *int    // 1 or more
	Public                     *bool
}

// MaxNotes is the longest text, in characters, that an item's notes keep.
const MaxNotes = 20_000

// Clean returns the amendment as it will be kept, by the rules of CleanLine,
// Reading.Clean and CleanText.
func (a Amendment) Clean() (Amendment, error) {
	for _, f := range []struct {
		name string
		text **string
	}{{"name", &a.Name}, {"maker", &a.Maker}, {"model", &a.Model}} {
		if *f.text == nil {
			continue
		}
		clean, err := CleanLine(f.name, **f.text)
		if err != nil {
			return Amendment{}, err
		}
		*f.text = &clean
	}
	if a.Serial != nil {
		r, err := Reading{Serial: *a.Serial}.Clean()
		if err != nil {
			return Amendment{}, err
		}
		a.Serial = &r.Serial
	}
	if a.Notes != nil {
		notes, err := CleanText("notes", *a.Notes)
		if err != nil {
			return Amendment{}, err
		}
		a.Notes = &notes
	}
	if a.Quantity != nil && (*a.Quantity < 1 || *a.Quantity > 1_000_000) {
		return Amendment{}, &FieldError{Field: "quantity", Problem: "is not a number of things between 1 and 1000000"}
	}
	return a, nil
}

// CleanText makes several lines of typed text fit to keep: NFC, line ends as
// one kind, no other control characters but tabs, none at the ends. It refuses
// text that is not UTF-8 or longer than MaxNotes characters.
func CleanText(field, s string) (string, error) {
	if !utf8.ValidString(s) {
		return "", &FieldError{Field: field, Problem: "has bytes that are not text"}
	}
	s = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(norm.NFC.String(s))
	s = strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) && r != '\n' && r != '\t' {
			return -1
		}
		return r
	}, s))
	if n := utf8.RuneCountInString(s); n > MaxNotes {
		return "", &FieldError{Field: field, Problem: fmt.Sprintf("is %d characters long, %d fit", n, MaxNotes)}
	}
	return s, nil
}
