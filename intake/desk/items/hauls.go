package items

import (
	"net/http"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// haulsPage is the page struct of hauls.html.
type haulsPage struct {
	desk.Base
	Hauls []haulRow
}

// haulRow is a haul with what can be seen of it.
type haulRow struct {
	intake.Haul
	Faces []intake.PhotoID
	First string // id of the group to read first, "" when none waits
}

// facesShown is how many pictures stand for a haul: one row at desk width.
const facesShown = 6

// hauls answers GET /hauls, newest first, each with pictures of its newest
// items and, where there are few yet, of groups that wait.
func (a *area) hauls(w http.ResponseWriter, r *http.Request) error {
	p := haulsPage{Base: a.frame.Base(r, "Hauls", "hauls")}
	hauls, err := a.Hauls.List(r.Context())
	if err != nil {
		return err
	}
	groups, err := a.Waiting(r.Context(), "")
	if err != nil {
		return err
	}
	waiting := map[intake.ID][]intake.Group{}
	for _, g := range groups {
		waiting[g.Haul.ID] = append(waiting[g.Haul.ID], g)
	}
	for _, h := range hauls {
		row := haulRow{Haul: h}
		if h.Items > 0 {
			if row.Faces, err = a.faces(r, h); err != nil {
				return err
			}
		}
		for i, g := range waiting[h.ID] {
			if i == 0 {
				row.First = g.ID()
			}
			if len(row.Faces) < facesShown && len(g.Photos) > 0 {
				row.Faces = append(row.Faces, g.Photos[0].ID)
			}
		}
		p.Hauls = append(p.Hauls, row)
	}
	return a.pages.Render(w, http.StatusOK, "hauls", p)
}

// faces returns pictures of the newest numbers given in a haul. The register is
// asked from the end of the haul down, because all items of a haul may be five
// hundred.
func (a *area) faces(r *http.Request, h intake.Haul) ([]intake.PhotoID, error) {
	end := intake.Number{Year: h.Number.Year, Haul: h.Number.Haul + 1}
	items, err := a.Items.List(r.Context(), end, facesShown)
	if err != nil {
		return nil, err
	}
	var faces []intake.PhotoID
	for _, it := range items {
		if shown := face(it); shown != nil && it.Number.InHaul() == h.Number {
			faces = append(faces, shown.ID)
		}
	}
	return faces, nil
}

// haulPath is where a haul's page is.
func haulPath(h intake.Haul) string { return "/hauls/" + h.Number.String() }
