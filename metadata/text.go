package metadata

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// tidy makes a camera's text fit to be shown, stored and compared: valid UTF-8,
// no control characters, no space at the ends. Nothing else is touched, the
// spaces and zeros inside stay as they are.
func tidy(s string) string {
	if !utf8.ValidString(s) {
		s = fromLatin1(s)
	}
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || turnsText(r) {
			return -1
		}
		return r
	}, s)
	return strings.TrimSpace(s)
}

// turnsText reports whether a character changes the direction of the text around
// it (Unicode Standard Annex 9). In a camera's name it can only mislead.
func turnsText(r rune) bool {
	return r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069
}

// fromLatin1 reads each byte as a character of ISO/IEC 8859-1: Exif says ASCII,
// and those who broke that before UTF-8 was common mostly wrote this.
func fromLatin1(s string) string {
	var b strings.Builder
	for _, c := range []byte(s) {
		b.WriteRune(rune(c))
	}
	return b.String()
}
