package intake

import "time"

// The kinds of device. A keeper sees and changes everything; a helper may
// photograph, read plates, move and count until its device expires.
const (
	KindKeeper = "keeper"
	KindHelper = "helper"
)

// Device is a paired browser. The book keeps only a hash of its secret, and
// never shows it again: a lost phone is revoked, not recovered.
type Device struct {
	ID      ID
	Name    string
	Person  string // who uses it
	Kind    string // KindKeeper or KindHelper
	Paired  time.Time
	Seen    time.Time // zero: never since it was paired
	Expires time.Time // zero: never
	Revoked time.Time // zero: still allowed
}
