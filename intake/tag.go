package intake

// Target is what a tag code leads to. At most one of Item and Place is set; a
// target with neither is blank, or a divider.
type Target struct {
	Code      Code
	Item      *Item  // nil: none
	Place     string // path of places, "" none
	Divider   bool   // the printed card that separates things
	Blank     bool   // made or seen, and tied to nothing yet
	Successor Code   // the tag that replaced this one, "" while it is in use
	Reason    string // why it was replaced
}

// Print is one tag on its way to paper: which code, on what stock, and with
// which address in its QR.
type Print struct {
	Code    Code
	Stock   string
	Address string
}
