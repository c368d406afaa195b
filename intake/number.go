package intake

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"
)

// HaulNumber names a haul: the year it was entered and its place in that year.
// The zero value means none.
type HaulNumber struct{ Year, Haul int }

// String returns "2026.7", or "" for the zero value.
func (n HaulNumber) String() string {
	if n == (HaulNumber{}) {
		return ""
	}
	return fmt.Sprintf("%d.%d", n.Year, n.Haul)
}

// ParseHaulNumber reads "2026.7"; padding is display only, so "2026.007" is the
// same haul.
func ParseHaulNumber(s string) (HaulNumber, error) {
	fields := strings.Split(strings.TrimSpace(s), ".")
	if len(fields) != 2 {
		return HaulNumber{}, invalidNumber(s, "want year.haul, like 2026.7")
	}
	year, haul, ok := yearAndHaul(fields)
	if !ok {
		return HaulNumber{}, invalidNumber(s, "want year.haul, like 2026.7")
	}
	return HaulNumber{year, haul}, nil
}

// Number is an accession number: year, haul, item and, for a part, its letter
// (1 is a, 26 is z, 27 is aa). The zero value means none.
//
// The trinomial form and lettered parts follow Buck and Gilmore, New Museum
// Registration Methods (AAM 1998). A number is never given twice, and is
// compared numerically, component by component; padding is display only.
type Number struct{ Year, Haul, Item, Part int }

// The largest components that parse. They keep a mistyped serial from passing
// for a number and every sum far from overflow.
const (
	maxComponent = 999_999
	maxPart      = 18_278 // zzz
)

// ParseNumber is the inverse of String. It accepts padding, surrounding space
// and letters of either case: " 2026.007.0014B " is 2026.7.14b.
func ParseNumber(s string) (Number, error) {
	trimmed := strings.TrimSpace(s)
	digits := strings.TrimRight(trimmed, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ")
	fields := strings.Split(digits, ".")
	if len(fields) != 3 {
		return Number{}, invalidNumber(s, "want year.haul.item, like 2026.7.14 or 2026.7.14b")
	}
	year, haul, ok := yearAndHaul(fields)
	item, itemOK := component(fields[2])
	part, partOK := parsePart(trimmed[len(digits):])
	if !ok || !itemOK || !partOK {
		return Number{}, invalidNumber(s, "want year.haul.item, like 2026.7.14 or 2026.7.14b")
	}
	return Number{year, haul, item, part}, nil
}

// String returns "2026.7.14" or "2026.7.14b", and "" for the zero value.
func (n Number) String() string {
	if n.IsZero() {
		return ""
	}
	return fmt.Sprintf("%d.%d.%d%s", n.Year, n.Haul, n.Item, partLetters(n.Part))
}

// IsZero reports whether n is no number.
func (n Number) IsZero() bool { return n == Number{} }

// Whole returns the number of the item that n is a part of, or n itself.
func (n Number) Whole() Number {
	n.Part = 0
	return n
}

// InHaul returns the haul in which the number was given. The item may have
// moved to another haul since; its number stays.
func (n Number) InHaul() HaulNumber { return HaulNumber{n.Year, n.Haul} }

// Compare orders numbers as a register does: by year, haul, item, then part,
// each as a number, so that 2026.2.9 comes before 2026.2.10.
func (n Number) Compare(m Number) int {
	return cmp.Or(
		cmp.Compare(n.Year, m.Year),
		cmp.Compare(n.Haul, m.Haul),
		cmp.Compare(n.Item, m.Item),
		cmp.Compare(n.Part, m.Part),
	)
}

// MarshalText implements encoding.TextMarshaler.
func (n Number) MarshalText() ([]byte, error) { return []byte(n.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler; empty text is the zero value.
func (n *Number) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		*n = Number{}
		return nil
	}
	parsed, err := ParseNumber(string(text))
	*n = parsed
	return err
}

func invalidNumber(s, want string) error {
	return fmt.Errorf("number %.40q: %s: %w", s, want, ErrInvalid)
}

func yearAndHaul(fields []string) (year, haul int, ok bool) {
	year, ok = component(fields[0])
	if !ok || year < 1900 || year > 9999 {
		return 0, 0, false
	}
	haul, ok = component(fields[1])
	return year, haul, ok
}

// component reads a positive decimal without sign. Atoi alone would let "+7"
// and "-7" through.
func component(s string) (int, bool) {
	if s == "" || len(s) > 12 || strings.Trim(s, "0123456789") != "" {
		return 0, false
	}
	n, err := strconv.Atoi(s)
	return n, err == nil && 1 <= n && n <= maxComponent
}

// parsePart reads part letters as bijective base 26: a=1 … z=26, aa=27.
func parsePart(s string) (int, bool) {
	if len(s) > 3 {
		return 0, false
	}
	n := 0
	for _, c := range strings.ToLower(s) {
		n = n*26 + int(c-'a') + 1
	}
	return n, n <= maxPart
}

func partLetters(n int) string {
	var letters []byte
	for ; n > 0; n = (n - 1) / 26 {
		letters = append([]byte{byte('a' + (n-1)%26)}, letters...)
	}
	return string(letters)
}
