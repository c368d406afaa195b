package intake

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"
)

// Group is photos proposed as one item, before it has a number. It is derived
// anew from the photos and the human's cuts and joins; nothing of it is stored.
type Group struct {
	Haul      Haul
	Photos    []ShownPhoto // in shooting order
	Certainty float64      // of its less certain boundary, 0 to 1
	Before    Boundary     // the boundary before its first photo
	Code      Code         // own tag seen in it, "" none
	Item      Item         // set when the photos already belong to an entered item, or its tag to a numbered one
	Pending   Number       // the number it gets back when its item was undone, zero otherwise
	Undated   bool         // photos without a capture time, waiting in their tray
}

// Boundary is one gap between neighbouring photos of a haul.
type Boundary struct {
	Cut       bool
	Certainty float64 // that Cut is right, 0 to 1
	Human     bool    // somebody said so; never recomputed
}

// ID names the group: its first photo and a version of its members. The same
// photos have the same id whatever happens around them; any other id is stale.
func (g Group) ID() string {
	if len(g.Photos) == 0 {
		return ""
	}
	members := sha256.New()
	for _, p := range g.Photos {
		members.Write(p.ID[:])
	}
	return g.Photos[0].ID.String()[:groupPhotoDigits] + "-" + hex.EncodeToString(members.Sum(nil))[:groupVersionDigits]
}

// Enough digits that two photos of one book never meet: 48 bits; the version
// only has to notice a change.
const (
	groupPhotoDigits   = 12
	groupVersionDigits = 8
)

// ParseGroupID splits a group's id into the leading digits of its first photo's
// hash and its version.
func ParseGroupID(s string) (firstPhoto, version string, err error) {
	first, version, ok := strings.Cut(strings.ToLower(strings.TrimSpace(s)), "-")
	if !ok || len(first) != groupPhotoDigits || len(version) != groupVersionDigits || strings.Trim(first+version, "0123456789abcdef") != "" {
		return "", "", fmt.Errorf("group %.40q: want an id as the groups command prints it: %w", s, ErrInvalid)
	}
	return first, version, nil
}

// PlatePhoto returns the photo that shows the plate, or the zero id when the
// group has none.
func (g Group) PlatePhoto() PhotoID {
	for _, p := range g.Photos {
		if p.As == RolePlate {
			return p.ID
		}
	}
	return PhotoID{}
}
