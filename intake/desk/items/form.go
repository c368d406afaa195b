package items

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"haulbook/intake"
)

// field is one line of a form: what stands in it, what stood there when the
// page was made, and what the record says now if somebody else changed it.
type field struct {
	Name, Label string
	Kind        string // "line", "mono", "amount", "text" for several lines, "check" for yes or no
	Value       string // a check is "1" or ""
	Seen        string // as the page showed it when it was opened
	Now         string // as the record says it now; shown when Differs
	Differs     bool
	Why         string // what is wrong with it, "" nothing
	sent        bool   // the form that came in had it
}

// form is the edit form of a record. Version is the one that the keeper saw.
type form struct {
	Fields  []field
	Version int
}

// filled returns the form as the record has it.
func (f form) filled(values map[string]string) form {
	for i := range f.Fields {
		f.Fields[i].Value = values[f.Fields[i].Name]
		f.Fields[i].Seen = f.Fields[i].Value
	}
	return f
}

// typed returns the form as it came in. A field that was not sent stays as it
// is; a check that is off sends only what it was.
func (f form) typed(sent url.Values) form {
	text := func(name string) string { return strings.ReplaceAll(sent.Get(name), "\r\n", "\n") }
	for i := range f.Fields {
		at := &f.Fields[i]
		at.sent = sent.Has(at.Name) || at.Kind == "check" && sent.Has("seen-"+at.Name)
		at.Value, at.Seen = text(at.Name), text("seen-"+at.Name)
		if at.Kind == "check" && at.Value != "" {
			at.Value = "1"
		}
		if !sent.Has("seen-" + at.Name) {
			at.Seen = "\x00" // nothing that was typed is equal to it
		}
	}
	return f
}

// meet puts what was typed beside what the record says now: a field that the
// keeper did not touch follows the record, any other that is not the same shows
// both. Saving the form again then overwrites nothing unseen.
func (f form) meet(now form) form {
	f.Version = now.Version
	f.Fields = slices.Clone(f.Fields)
	for i, record := range now.Fields {
		at := &f.Fields[i]
		if !at.sent || at.Value == at.Seen {
			at.Value = record.Value
		}
		at.Differs = !at.says(record.Value)
		at.Now, at.Seen = record.Value, record.Value
	}
	return f
}

// refused puts the complaint beside its field and keeps what was typed. What
// was not sent is shown as the record has it.
func (f form) refused(wrong intake.FieldError, now form) form {
	for i, record := range now.Fields {
		at := &f.Fields[i]
		if !at.sent {
			at.Value = record.Value
		}
		if at.Seen == "\x00" {
			at.Seen = record.Value
		}
		if at.Name == wrong.Field {
			at.Why = wrong.Problem
		}
	}
	return f
}

// says reports whether the field means what the record has: space around it
// does not count, and 20 is 20.00.
func (f field) says(record string) bool {
	typed := strings.TrimSpace(f.Value)
	if f.Kind != "amount" {
		return typed == record
	}
	a, errA := strconv.ParseFloat(strings.NewReplacer(",", ".", " ", "").Replace(typed), 64)
	b, errB := strconv.ParseFloat(record, 64)
	return strings.EqualFold(typed, record) || errA == nil && errB == nil && a == b
}

// Complaint is what is wrong with the field, as a sentence.
func (f field) Complaint() string {
	noun := f.Name
	switch f.Name {
	case "notes":
		noun = "text"
	case "acquired":
		noun = "date"
	}
	return "The " + noun + " " + f.Why + "."
}

// get returns where a field's text stands, nil when it was not sent.
func (f form) get(name string) *string {
	for i := range f.Fields {
		if f.Fields[i].Name == name && f.Fields[i].sent {
			return &f.Fields[i].Value
		}
	}
	return nil
}

// Collides reports whether anything typed stands against the record.
func (f form) Collides() bool {
	for _, at := range f.Fields {
		if at.Differs {
			return true
		}
	}
	return false
}

// yes is how a check stands in a form.
func yes(on bool) string {
	if on {
		return "1"
	}
	return ""
}
