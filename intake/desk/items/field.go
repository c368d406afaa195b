package items

import (
	"haulbook/intake"
)

// field is one line of a form as the template draws it.
type field struct{ Name, Label, Value, Why string }

// withProblem is a page that may have one field to complain about.
type withProblem interface{ problemAt() intake.FieldError }

func (p itemPage) problemAt() intake.FieldError { return p.Problem }
func (p haulPage) problemAt() intake.FieldError { return p.Problem }

// fieldOf puts the page's complaint, if it is about this field, beside it.
func fieldOf(p withProblem, name, label, value string) field {
	f := field{Name: name, Label: label, Value: value}
	if wrong := p.problemAt(); wrong.Field == name {
		f.Why = wrong.Problem
	}
	return f
}
