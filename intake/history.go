package intake

import "time"

// By says who makes a change and why. Every method that writes takes one.
// Op is a unique id made by the client; the same Op again is the same change,
// done once. An empty Op never repeats.
type By struct {
	Person string // a keeper or helper by name
	Device string // a paired browser, or "command line"
	Op     string
	Why    string
}

// Change is one row of the book's history: append only, and what undo works
// from. Summary is a sentence for people; it holds no metadata of photos.
type Change struct {
	Seq      int64
	At       time.Time
	By       By
	Act      string // a verb phrase: "plate read", "cut", "moved", "undone"
	Subject  Subject
	Summary  string
	Undoes   int64 // the change this one took back, 0 none
	UndoneBy int64 // the change that took this one back, 0 none
	Undoable bool  // that it can be taken back at all; paper, for one, stays printed
}

// Subject is what a change was about.
type Subject struct {
	Kind string // "item", "photo", "haul", "code", "device", "place"
	ID   string
}
