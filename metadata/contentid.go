package metadata

import (
	"bytes"
	"strings"

	"haulbook/metadata/container"
)

// maxContentID is far above the 36 characters that phones write.
const maxContentID = 128

// contentID takes the identifier from the entries of a maker note. The decoder
// never sees maker notes, so the text is read here: ASCII up to the first NUL.
func contentID(maker []container.Entry) string {
	for _, e := range maker {
		if e.Tag == idContent && e.Type == typeASCII {
			text, _, _ := bytes.Cut(e.Value, []byte{0})
			return identifier(string(text))
		}
	}
	return ""
}

// identifier makes a still's identifier and a film's comparable: the letters of
// the hexadecimal digits come in either case.
func identifier(s string) string {
	if s = tidy(s); len(s) > maxContentID {
		return ""
	}
	return strings.ToUpper(s)
}
