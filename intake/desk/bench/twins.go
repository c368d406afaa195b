package bench

import (
	"net/http"
	"slices"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// twins are items that may be the very thing on the bench, and a photo of that
// to hold beside them.
type twins struct {
	Here  string
	Items []intake.Item
	More  int // found beyond those
}

// twinsShown is how many of them one look can compare.
const twinsShown = 3

// unseenTwins returns look-alikes the keeper has not been shown for this serial.
func (a *area) unseenTwins(r *http.Request, g intake.Group, reading intake.Reading) (twins, error) {
	// The form brings back the serial it asked about, so a serial typed anew is
	// asked about again.
	if reading.Serial == r.PostFormValue("sure") {
		return twins{}, nil
	}
	return a.look(r, reading, g.Photos[0].ID.String(), string(g.Item.ID))
}

// look finds twins; own is the item that the group is already, no twin of
// itself. What cannot be kept has none: reading it will complain.
func (a *area) look(r *http.Request, reading intake.Reading, here, own string) (twins, error) {
	clean, err := reading.Clean()
	if err != nil || clean.Serial == "" {
		return twins{}, nil
	}
	found, err := a.Plates.Twins(r.Context(), clean.Maker, clean.Model, clean.Serial)
	found = slices.DeleteFunc(found, func(it intake.Item) bool { return string(it.ID) == own })
	shown := found[:min(len(found), twinsShown)]
	return twins{Here: here, Items: shown, More: len(found) - len(shown)}, err
}

// twinsPage is the page struct of twins.html; the script takes the warning out
// of it.
type twinsPage struct {
	desk.Base
	Likely twins
}

// twins answers GET /bench/twins while a serial is typed.
func (a *area) twins(w http.ResponseWriter, r *http.Request) error {
	here := ""
	if id, err := intake.ParsePhotoID(r.FormValue("here")); err == nil {
		here = id.String()
	}
	found, err := a.look(r, typedIn(r), here, r.FormValue("own"))
	if err != nil {
		return err
	}
	return a.pages.Render(w, http.StatusOK, "twins", twinsPage{Likely: found})
}
