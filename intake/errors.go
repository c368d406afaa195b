package intake

import (
	"errors"
	"fmt"
)

// The three ways in which a request can be wrong. Everything else is internal:
// logged whole and shown as a plain sentence.
var (
	// ErrNotFound means that we looked and there is no such thing. A ledger that
	// could not look returns its own error instead.
	ErrNotFound = errors.New("not in this book")
	// ErrInvalid means that the words given cannot be what they should be.
	ErrInvalid = errors.New("not valid")
	// ErrConflict means that the thing changed since it was seen: somebody else
	// wrote it, or a photo arrived in between.
	ErrConflict = errors.New("changed meanwhile")
)

// FieldError says which field of a form or command is wrong, and how. It is an
// ErrInvalid; Problem is a sentence for the person who typed the field.
type FieldError struct {
	Field   string
	Problem string
}

// Error implements error.
func (e *FieldError) Error() string { return fmt.Sprintf("%s: %s", e.Field, e.Problem) }

// Is makes every FieldError an ErrInvalid.
func (e *FieldError) Is(target error) bool { return target == ErrInvalid }
