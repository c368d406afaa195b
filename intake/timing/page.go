package timing

import (
	"net/url"
	"strings"
	"time"
)

const (
	clockPath   = "/CLOCK/"
	clockLayout = "20060102T150405Z" // ISO 8601, basic format, UTC
)

// ClockText is what the QR of the desk's clock page says at one moment:
// "http://HOST:PORT/CLOCK/20261125T091500Z", cut down to the second. address is
// the one that tags carry, and the case is theirs: the scheme in lower case
// because some phones read an upper-case one as plain text, the rest in upper
// case so that the QR stays in its alphanumeric mode, small and quick to see.
func ClockText(address string, at time.Time) string {
	scheme, rest, found := strings.Cut(strings.TrimRight(address, "/"), "://")
	if !found {
		scheme, rest = "http", scheme
	}
	return strings.ToLower(scheme) + "://" + strings.ToUpper(rest) + clockPath + at.UTC().Format(clockLayout)
}

// ReadClock reads what ClockText wrote, whatever the host and the case; the time
// is in UTC. Nothing else passes, as what passes sets a camera's clock: no other
// path, no fraction of a second, no day that a calendar lacks.
func ReadClock(text string) (time.Time, bool) {
	u, err := url.Parse(strings.TrimSpace(text))
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" || u.RawQuery != "" || u.Fragment != "" {
		return time.Time{}, false
	}
	path := strings.ToUpper(u.EscapedPath())
	i := len(path) - len(clockLayout)
	if i < 0 || !strings.HasSuffix(path[:i], clockPath) {
		return time.Time{}, false
	}
	at, err := time.Parse(clockLayout, path[i:])
	// The zero time means unknown everywhere, so it can be nobody's clock.
	return at, err == nil && at.After(time.Time{})
}
