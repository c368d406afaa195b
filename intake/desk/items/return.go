package items

import (
	"net/url"
	"strconv"
	"strings"
	"unicode"

	"haulbook/intake"
)

// localPath accepts only a path of this desk to return to: a form that came
// with another address must not send the keeper away.
func localPath(s string) string {
	u, err := url.Parse(s)
	if err != nil || !strings.HasPrefix(s, "/") || strings.HasPrefix(s, "//") || strings.ContainsAny(s, "\\\r\n") ||
		u.Host != "" || u.Scheme != "" {
		return "/"
	}
	return s
}

func parseSeq(s string) (int64, error) {
	seq, err := strconv.ParseInt(s, 10, 64)
	if err != nil || seq < 1 {
		return 0, &intake.FieldError{Field: "seq", Problem: "names no change"}
	}
	return seq, nil
}

// sentence begins with a capital and ends with a full stop.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" {
		return ""
	}
	runes := []rune(s)
	runes[0] = unicode.ToUpper(runes[0])
	if s = string(runes); !strings.HasSuffix(s, ".") {
		s += "."
	}
	return s
}
