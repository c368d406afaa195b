package intake

import (
	"crypto/rand"
	"encoding/hex"
	"fmt"
)

// ID is the opaque name of a row: sixteen characters of Crockford base 32 in
// lower case, 80 random bits. Numbers and codes are names for people; an ID is
// what rows point at, so that a number can move without a rewrite. It can
// never be mistaken for a Number (no dots) or a Code (eight characters).
type ID string

const idLength = 16

// NewID returns a fresh random ID.
func NewID() ID {
	var raw [10]byte
	rand.Read(raw[:]) // never fails: crypto/rand ends the program instead
	out := make([]byte, 0, idLength)
	// Ten bytes are exactly sixteen groups of five bits.
	var acc, bits uint
	for _, b := range raw {
		acc, bits = acc<<8|uint(b), bits+8
		for bits >= 5 {
			bits -= 5
			out = append(out, lowerCrockford[acc>>bits&31])
		}
	}
	return ID(out)
}

const lowerCrockford = "0123456789abcdefghjkmnpqrstvwxyz"

// IsID reports whether s has the shape of an ID. It says nothing about whether
// such a row exists.
func IsID(s string) bool {
	if len(s) != idLength {
		return false
	}
	for i := range len(s) {
		c := s[i]
		if !('0' <= c && c <= '9' || 'a' <= c && c <= 'z') {
			return false
		}
	}
	return true
}

// PhotoID identifies one original file: the SHA-256 of its bytes. The same
// bytes are the same photo, whatever the file was called.
type PhotoID [32]byte

// ParsePhotoID reads the 64 hexadecimal digits that String prints.
func ParsePhotoID(s string) (PhotoID, error) {
	var id PhotoID
	if len(s) != 2*len(id) {
		return PhotoID{}, fmt.Errorf("photo %.70q: want 64 hexadecimal digits: %w", s, ErrInvalid)
	}
	if _, err := hex.Decode(id[:], []byte(s)); err != nil {
		return PhotoID{}, fmt.Errorf("photo %q: want 64 hexadecimal digits: %w", s, ErrInvalid)
	}
	return id, nil
}

// String returns 64 lower-case hexadecimal digits, the name under which the
// original is stored.
func (id PhotoID) String() string { return hex.EncodeToString(id[:]) }

// IsZero reports whether id names no photo.
func (id PhotoID) IsZero() bool { return id == PhotoID{} }

// MarshalText implements encoding.TextMarshaler.
func (id PhotoID) MarshalText() ([]byte, error) { return []byte(id.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (id *PhotoID) UnmarshalText(text []byte) error {
	parsed, err := ParsePhotoID(string(text))
	*id = parsed
	return err
}
