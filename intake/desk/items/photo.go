package items

import (
	"fmt"
	"net/http"
	"net/url"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// photoPage is the page struct of photo.html: what the camera said.
type photoPage struct {
	desk.Base
	Photo   intake.Photo
	Haul    *intake.Haul
	Of      *intake.Item // the item whose page led here
	Camera  string
	Taken   string
	Problem string
}

// photo answers GET /photos/{id}. "of" names the item whose page led here.
func (a *area) photo(w http.ResponseWriter, r *http.Request) error {
	p, err := a.photoPage(r, r.URL.Query().Get("of"))
	if err != nil {
		return err
	}
	return a.pages.Render(w, http.StatusOK, "photo", p)
}

// photoPage reads what is known of a photo. Its haul and the item that led here
// are ways back and no more: when they cannot be found, the page has none.
func (a *area) photoPage(r *http.Request, of string) (photoPage, error) {
	id, err := intake.ParsePhotoID(r.PathValue("id"))
	if err != nil {
		return photoPage{}, fmt.Errorf("%w", intake.ErrNotFound)
	}
	photo, err := a.Photo(r.Context(), id)
	if err != nil {
		return photoPage{}, err
	}
	title := photo.Name
	if photo.Gone {
		title = "A forgotten photo"
	}
	p := photoPage{Base: a.frame.Base(r, title, "items"), Photo: photo, Camera: cameraOf(photo)}
	if t := photo.Taken(); !t.IsZero() {
		p.Taken = t.Format("2 Jan 2006, 15:04:05")
	}
	if photo.Haul != "" {
		haul, err := a.Hauls.Haul(r.Context(), string(photo.Haul))
		if err == nil {
			p.Haul = &haul
		} else if err = unlessAbsent(err); err != nil {
			return p, err
		}
	}
	if of == "" {
		return p, nil
	}
	it, err := a.Items.Item(r.Context(), of)
	if err == nil {
		p.Of = &it
	}
	return p, unlessAbsent(err)
}

// cameraOf is the maker and model as the camera wrote them. Many write the
// maker into the model as well; it is said once.
func cameraOf(p intake.Photo) string {
	maker, model := p.Meta.Make, p.Meta.Model
	if maker == "" || model == "" || len(model) > len(maker) && model[:len(maker)+1] == maker+" " {
		if model == "" {
			return maker
		}
		return model
	}
	return maker + " " + model
}

// forget answers POST /photos/{id}/forget. Erasing is the one act that cannot
// be taken back, so it wants its box ticked.
func (a *area) forget(w http.ResponseWriter, r *http.Request) error {
	p, err := a.photoPage(r, r.PostFormValue("of"))
	if err != nil {
		return err
	}
	p.Path = "/photos/" + p.Photo.ID.String()
	if r.PostFormValue("sure") == "" {
		p.Problem = "Tick the box first: a forgotten photo cannot be brought back."
		return a.pages.Render(w, http.StatusBadRequest, "photo", p)
	}
	if err := a.Forget(r.Context(), desk.By(r), p.Photo.ID); err != nil {
		return err
	}
	a.frame.SetFlash(w, desk.Flash{Text: "Forgotten. The same file is not taken in again."})
	http.Redirect(w, r, p.Back(), http.StatusSeeOther)
	return nil
}

// Back is where the keeper came from.
func (p photoPage) Back() string {
	switch {
	case p.Of != nil:
		return path(*p.Of)
	case p.Haul != nil:
		return haulPath(*p.Haul)
	}
	return "/"
}

// OfQuery keeps the way back in an address.
func (p photoPage) OfQuery() string {
	if p.Of == nil {
		return ""
	}
	return "?" + url.Values{"of": {string(p.Of.ID)}}.Encode()
}

// kib prints the size of a file as people compare them.
func kib(size int64) string {
	if size < 1<<20 {
		return fmt.Sprintf("%d KB", (size+1023)>>10)
	}
	return fmt.Sprintf("%.1f MB", float64(size)/(1<<20))
}
