package desk

import (
	"fmt"
	"html"
	"html/template"
	"regexp"
	"strings"
	"time"

	"haulbook/intake"
)

// funcs are bound once: a template is shared by all visitors, so whatever
// belongs to one of them travels in the page struct.
func (f *Frame) funcs() template.FuncMap {
	return template.FuncMap{
		"tag":   tag,
		"op":    func() string { return string(intake.NewID()) },
		"ago":   func(t time.Time) string { return Ago(t, f.config.Now()) },
		"date":  Date,
		"asset": f.assetURL,
		"code":  groupCode,
	}
}

// tag draws a number as the tie-on tag that stands wherever a number is shown:
// {{tag .Number}}, {{tag .Number "big"}}, {{tag .Pending "pending"}}. Classes
// are "big", "quiet", "pending". number is a string or has a String method;
// without one the tag says so and is dashed.
func tag(number any, classes ...string) template.HTML {
	text := strings.TrimSpace(fmt.Sprint(number))
	class := "tag"
	for _, c := range classes {
		if className.MatchString(c) {
			class += " " + c
		}
	}
	if text == "" {
		text, class = "no number yet", class+" pending"
	}
	return template.HTML(`<span class="` + class + `"><bdi>` + html.EscapeString(text) + `</bdi></span>`)
}

var className = regexp.MustCompile(`^[a-z][a-z-]*$`)

// groupCode prints a tag code as people read it aloud: two fours.
func groupCode(c intake.Code) string {
	if len(c) != 8 {
		return string(c)
	}
	return string(c[:4]) + " " + string(c[4:])
}

// Date prints a day as "9 May 2026", and "" for the zero time. The time is
// shown in the zone it carries; the book's own times are UTC.
func Date(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("2 Jan 2006")
}

// Ago prints how long before now something happened, as coarsely as people
// say it: "just now", "5 minutes ago", "3 weeks ago". The zero time is "never".
func Ago(t, now time.Time) string {
	if t.IsZero() {
		return "never"
	}
	const day = 24 * time.Hour
	since := now.Sub(t)
	steps := []struct {
		from, unit time.Duration
		name       string
	}{
		{2 * 365 * day, 365 * day, "year"}, {60 * day, 365 * day / 12, "month"}, {14 * day, 7 * day, "week"},
		{day, day, "day"}, {time.Hour, time.Hour, "hour"}, {time.Minute, time.Minute, "minute"},
	}
	for _, s := range steps {
		if since < s.from {
			continue
		}
		if n := int(since / s.unit); n != 1 {
			return fmt.Sprintf("%d %ss ago", n, s.name)
		}
		return "1 " + s.name + " ago"
	}
	return "just now"
}
