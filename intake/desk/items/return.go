package items

import (
	"net/url"
	"strings"
)

// maxBack is longer than any address of the desk: what is longer was not made
// by one of its pages.
const maxBack = 2000

// localPath accepts only a path of this desk to return to: a form that came
// with another address must not send the keeper away. A second slash would name
// a host, a backslash does in browsers, and url.Parse refuses the tabs and line
// ends that browsers drop before they look.
func localPath(s string) string {
	u, err := url.Parse(s)
	if err != nil || len(s) > maxBack || !strings.HasPrefix(s, "/") || strings.HasPrefix(s, "//") ||
		strings.Contains(s, `\`) || u.Host != "" || u.Scheme != "" {
		return "/"
	}
	return s
}
