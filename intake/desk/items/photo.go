package items

import (
	"fmt"
	"net/http"
	"os"
	"time"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// photoPage is the page struct of photo.html: what the camera said.
type photoPage struct {
	desk.Base
	Photo   intake.Photo
	Camera  string
	Taken   string
	Problem string
}

// photo answers GET /photos/{id}.
func (a *area) photo(w http.ResponseWriter, r *http.Request) error {
	p, err := a.photoPage(r)
	if err != nil {
		return err
	}
	return a.pages.Render(w, http.StatusOK, "photo", p)
}

func (a *area) photoPage(r *http.Request) (photoPage, error) {
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
	p := photoPage{Base: a.frame.Base(r, title, "items"), Photo: photo}
	p.Camera = photo.Meta.Make
	if p.Camera != "" && photo.Meta.Model != "" {
		p.Camera += " "
	}
	p.Camera += photo.Meta.Model
	if t := photo.Taken(); !t.IsZero() {
		p.Taken = t.Format("2 Jan 2006, 15:04:05")
	}
	return p, nil
}

// forget answers POST /photos/{id}/forget. Erasing is the one act that cannot
// be taken back, so it wants its box ticked.
func (a *area) forget(w http.ResponseWriter, r *http.Request) error {
	p, err := a.photoPage(r)
	if err != nil {
		return err
	}
	if r.PostFormValue("sure") == "" {
		p.Problem = "Tick the box first: a forgotten photo cannot be brought back."
		return a.pages.Render(w, http.StatusBadRequest, "photo", p)
	}
	if err := a.Forget(r.Context(), desk.By(r), p.Photo.ID); err != nil {
		return err
	}
	a.frame.SetFlash(w, desk.Flash{Text: "Forgotten. The file will not be taken in again."})
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

// picture answers GET /photos/{id}/{size}: an upright preview without
// metadata, never the original. The bytes under a hash never change, so a
// browser keeps them for good; a placeholder is asked for again.
func (a *area) picture(w http.ResponseWriter, r *http.Request) error {
	id, err := intake.ParsePhotoID(r.PathValue("id"))
	size := r.PathValue("size")
	if err != nil || size != "small" && size != "large" && size != "full" {
		return intake.ErrNotFound
	}
	file, modified, err := a.openPreview(r, id, size)
	if err != nil {
		placeholder(w)
		return nil
	}
	defer file.Close()
	w.Header().Set("Content-Type", "image/jpeg")
	w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
	w.Header().Set("ETag", fmt.Sprintf(`"%s-%s"`, id, size))
	http.ServeContent(w, r, "", modified, file)
	return nil
}

func (a *area) openPreview(r *http.Request, id intake.PhotoID, size string) (*os.File, time.Time, error) {
	path, err := a.Preview(r.Context(), id, size)
	if err != nil {
		return nil, time.Time{}, err
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, time.Time{}, err
	}
	stat, err := file.Stat()
	if err != nil {
		file.Close()
		return nil, time.Time{}, err
	}
	return file, stat.ModTime(), nil
}

// placeholder stands where a picture cannot be drawn, or not yet: the same in
// light and dark, with words.
func placeholder(w http.ResponseWriter) {
	w.Header().Set("Content-Type", "image/svg+xml")
	w.Header().Set("Cache-Control", "no-store")
	fmt.Fprint(w, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 320 240" role="img" aria-label="no picture yet">`+
		`<rect width="320" height="240" fill="#8C8676" fill-opacity=".16"/>`+
		`<rect x="110" y="78" width="100" height="70" rx="6" fill="none" stroke="#8C8676" stroke-width="3" stroke-dasharray="7 6"/>`+
		`<text x="160" y="180" text-anchor="middle" font-family="system-ui,sans-serif" font-size="17" fill="#8C8676">no picture yet</text></svg>`)
}
