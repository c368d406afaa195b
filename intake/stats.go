package intake

// Stats is what the book counts of itself.
type Stats struct {
	Photos     int // kept, forgotten ones not counted
	Items      int // accessioned, parts not counted
	Hauls      int
	Waiting    int // groups that wait for a plate reading
	Undated    int // photos without a capture time that still wait for a number
	Unreadable int // files that arrived and were no photos
	Pending    int // photos whose pixels nobody has looked at yet
	Untagged   int // accessioned items whose tag was never printed
}
