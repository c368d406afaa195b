package intake

import "time"

// State is where an item stands in its life in the book.
type State string

// The states. An entered item has no number yet; a withdrawn one was undone and
// keeps its number for the day it is done again; a void one keeps its row for
// good.
const (
	StateEntered     State = "entered"
	StateAccessioned State = "accessioned"
	StateWithdrawn   State = "withdrawn"
	StateVoid        State = "void"
)

// Item is a thing in the book, from the moment it is first tagged, placed or
// read. Maker, model and serial may all be missing: photo plus number is a
// complete record.
type Item struct {
	ID          ID
	Number      Number // zero while only entered
	State       State
	Haul        Haul // the haul it counts to; zero ID for none
	Parent      ID   // the item it is a part of, "" for a whole
	Name        string
	Maker       string
	Model       string
	Serial      string // the identifier of kind serial, exactly as read
	Identifiers []Identifier
	Photos      []ShownPhoto
	Parts       []Item
	Codes       []TagCode
	Place       string // path of places, "" unknown
	Successor   Number // where a void item's record went on, zero for nowhere
	Public      bool
	Notes       string
	Quantity    int // of equal things under one number, 1 as a rule
	Entered     time.Time
	Accessioned time.Time
	Version     int
}

// Title is what a list calls the item: its name, else maker and model, else
// "unnamed".
func (it Item) Title() string {
	switch {
	case it.Name != "":
		return it.Name
	case it.Maker != "" && it.Model != "":
		return it.Maker + " " + it.Model
	case it.Maker+it.Model != "":
		return it.Maker + it.Model
	}
	return "unnamed"
}

// Code returns the tag code now in use, or "" when the item has none.
func (it Item) Code() Code {
	for _, c := range it.Codes {
		if c.Successor == "" {
			return c.Code
		}
	}
	return ""
}

// TagCode is a code tied to a thing. A lost tag's code has a successor and
// still resolves.
type TagCode struct {
	Code      Code
	Successor Code
	Reason    string
	Printed   time.Time // zero: never
}

// ShownPhoto is a photo together with its role for one item.
type ShownPhoto struct {
	Photo
	As Role
}

// Identifier is anything a plate or sticker says, exactly as read. Doubt says
// in words why it may not be this item's ("plate from another machine").
type Identifier struct {
	ID    ID
	Kind  string // "serial", "part number", "inventory number", …
	Text  string
	Where string
	Photo PhotoID
	Doubt string
}

// KindSerial is the kind of identifier that the plate form's serial field makes.
const KindSerial = "serial"

// Reading is what the user typed from a plate. All fields may be empty.
type Reading struct {
	Name, Maker, Model, Serial string
	Plate                      PhotoID // the photo that shows the plate, zero when none
}

// MaxField is the longest text, in characters, that one field of a record
// keeps. It bounds pages and labels, not people.
const MaxField = 500
