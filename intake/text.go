package intake

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// CleanLine makes one line of typed text fit to keep: NFC, control characters
// as spaces, runs of space as one, none at the ends. It refuses text that is
// not UTF-8 or longer than MaxField characters.
func CleanLine(field, s string) (string, error) {
	if !utf8.ValidString(s) {
		return "", &FieldError{Field: field, Problem: "has bytes that are not text"}
	}
	s = strings.Join(strings.FieldsFunc(norm.NFC.String(s), func(r rune) bool {
		return unicode.IsSpace(r) || unicode.IsControl(r)
	}), " ")
	if n := utf8.RuneCountInString(s); n > MaxField {
		return "", &FieldError{Field: field, Problem: fmt.Sprintf("is %d characters long, %d fit", n, MaxField)}
	}
	return s, nil
}

// Clean returns the reading as it will be kept. The serial keeps its inner
// spacing, because it is kept exactly as read.
func (r Reading) Clean() (Reading, error) {
	var err error
	for _, f := range []struct {
		name string
		text *string
	}{{"name", &r.Name}, {"maker", &r.Maker}, {"model", &r.Model}} {
		if *f.text, err = CleanLine(f.name, *f.text); err != nil {
			return Reading{}, err
		}
	}
	if _, err = CleanLine("serial", r.Serial); err != nil {
		return Reading{}, err
	}
	r.Serial = strings.TrimFunc(strings.Map(func(c rune) rune {
		if unicode.IsControl(c) {
			return ' '
		}
		return c
	}, norm.NFC.String(r.Serial)), unicode.IsSpace)
	return r, nil
}

// FoldSerial is the key under which a serial is searched: upper case, letters
// and digits only, look-alikes as one (O and 0, I, L and 1, S and 5, B and 8,
// Z and 2, G and 6). The serial itself is never changed. Common practice, no
// source; letters of other scripts stay as they are.
func FoldSerial(s string) string {
	return strings.Map(func(r rune) rune {
		r = unicode.ToUpper(r)
		if folded, ok := lookAlikes[r]; ok {
			return folded
		}
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '?' {
			return -1
		}
		return r
	}, norm.NFKC.String(s))
}

var lookAlikes = map[rune]rune{'O': '0', 'I': '1', 'L': '1', 'S': '5', 'B': '8', 'Z': '2', 'G': '6'}
