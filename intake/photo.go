package intake

import (
	"cmp"
	"path"
	"strings"
	"time"

	"haulbook/metadata"
)

// Purpose says what a photo was taken for. Only photos for accession are
// grouped; the others wait elsewhere and never blur a boundary.
type Purpose string

// The purposes. Divider is a printed card photographed between things.
const (
	ForAccession Purpose = "accession"
	ForPlacing   Purpose = "placing"
	ForClock     Purpose = "clock"
	Divider      Purpose = "divider"
	LeftOut      Purpose = "left-out"
)

// Role is what a photo shows of its thing. "" means nobody has said.
type Role string

// The roles.
const (
	RoleView   Role = "view"
	RoleDetail Role = "detail"
	RolePlate  Role = "plate"
	RoleTag    Role = "tag"
)

// Valid reports whether r is one of the four roles.
func (r Role) Valid() bool {
	return r == RoleView || r == RoleDetail || r == RolePlate || r == RoleTag
}

// Look is how far we have looked at a photo's pixels: for previews and codes.
// Slow formats are entered first and looked at later.
type Look string

// The states of looking.
const (
	LookPending Look = "pending"
	LookDone    Look = "done"
	LookFailed  Look = "failed"
)

// Symbology names of codes seen in photos, as printed by the take command.
const (
	SymbologyQR         = "qr"
	SymbologyCode128    = "code128"
	SymbologyCode39     = "code39"
	SymbologyDataMatrix = "datamatrix"
)

// SeenCode is one code read in a photo. Share is the part of the upright
// picture's area inside its corners, 0 to 1: a tag shot shows a large one.
// X and Y are its centre as fractions of the upright picture.
type SeenCode struct {
	Text      string  `json:"text"`
	Symbology string  `json:"symbology"`
	Share     float64 `json:"share,omitempty"`
	X         float64 `json:"x,omitempty"`
	Y         float64 `json:"y,omitempty"`
}

// Tag returns the tag code that c carries, if it is one of our own tags: hard
// evidence of what the photo shows. Any other text is at most a hint.
func (c SeenCode) Tag() (Code, bool) {
	if c.Symbology != SymbologyQR {
		return "", false
	}
	return CodeInURL(c.Text)
}

// Photo is one original file. Name is what it was called when it first arrived;
// it identifies nothing (counters wrap at 9999).
type Photo struct {
	ID       PhotoID
	Name     string
	Size     int64
	Received time.Time
	Haul     ID
	Camera   string // the body's name, "" unknown
	Meta     metadata.Info
	Purpose  Purpose
	Role     Role // set by a human, else ""
	Codes    []SeenCode
	Look     Look
	Gone     bool // forgotten: only the hash is kept
	// Picture is a hash of the image data alone, zero unknown: photos that share
	// one are versions of the same shot, whatever was written around it since.
	Picture   [32]byte
	VersionOf PhotoID // the version that came first, zero for none
	// BelongsTo is the photo that the camera wrote of the same shot and that stands
	// for both, zero for none: a raw file belongs to the JPEG beside it.
	BelongsTo PhotoID
	CameraID  ID // "" unknown
	Resolved  Resolved
}

// Resolved is when a photo was really taken, as well as the book knows: from the
// camera's clock, the correction of that clock, and the best zone known.
type Resolved struct {
	At       time.Time // UTC; zero unknown
	Local    time.Time // the camera's time, corrected, carried in time.UTC; zero unknown
	Zone     string    // what At was worked out with: "+02:00" or an IANA name
	ZoneFrom string    // "offset", "position", "haul", "camera", "book" or ""
	Doubt    string    // a sentence to stand beside the time, "" for none
	// Correction is the one that moved Local, "" for none.
	Correction ID
	// Line is what orders the photo among those of its haul, carried in time.UTC. It
	// is Local as a rule. The clock of a corrected camera may run in another zone
	// than the others; Line then is At by the zone of the haul, or of the book.
	Line time.Time
}

// Taken is the camera's wall clock at the shot; zero when unknown. Photos
// without it stay in the undated tray: a file's own time never groups.
func (p Photo) Taken() time.Time { return p.Meta.Taken.Wall }

// Order is what sorts and groups the photo: its place in the line of its haul,
// or the camera's own time when nothing else is known. Zero when undated.
func (p Photo) Order() time.Time {
	if p.Resolved.Line.IsZero() {
		return p.Taken()
	}
	return p.Resolved.Line
}

// Counter is the number the camera put into the file name: the last run of
// digits before the extension, 0 without one. It breaks ties within a second
// and nothing else.
func (p Photo) Counter() int {
	stem := strings.TrimSuffix(p.Name, path.Ext(p.Name))
	end := strings.LastIndexAny(stem, "0123456789") + 1
	start := end
	for start > 0 && end-start < 9 && '0' <= stem[start-1] && stem[start-1] <= '9' {
		start--
	}
	n := 0
	for _, c := range stem[start:end] {
		n = n*10 + int(c-'0')
	}
	return n
}

// ComparePhotos orders photos as they were shot: by corrected time with its
// sub-second, then file counter, then name, then hash so that the order is total. Undated
// photos come last.
func ComparePhotos(a, b Photo) int {
	if az, bz := a.Order().IsZero(), b.Order().IsZero(); az != bz {
		if az {
			return 1
		}
		return -1
	}
	return cmp.Or(
		a.Order().Compare(b.Order()),
		cmp.Compare(a.Counter(), b.Counter()),
		cmp.Compare(a.Name, b.Name),
		cmp.Compare(a.ID.String(), b.ID.String()),
	)
}
