package items

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"os"
	"time"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// picture answers GET /photos/{id}/{size}: an upright preview without
// metadata, never the original. The bytes under a hash never change, so a
// browser keeps them for good; a placeholder is asked for again.
func (a *area) picture(w http.ResponseWriter, r *http.Request) error {
	id, err := intake.ParsePhotoID(r.PathValue("id"))
	size := r.PathValue("size")
	if err != nil || !desk.Keeper(r) || size != "small" && size != "large" && size != "full" {
		return intake.ErrNotFound
	}
	file, modified, err := a.openPreview(r.Context(), id, size)
	if err != nil {
		words, err := a.whyNot(r.Context(), id)
		if err != nil {
			return err
		}
		placeholder(w, words)
		return nil
	}
	defer file.Close()
	w.Header().Set("Content-Type", "image/jpeg")
	w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
	w.Header().Set("ETag", fmt.Sprintf(`"%s-%s"`, id, size))
	http.ServeContent(w, r, "", modified, file)
	return nil
}

// openPreview opens the file before anything is sent: a preview that was swept
// away between its drawing and this moment still gets its placeholder.
func (a *area) openPreview(ctx context.Context, id intake.PhotoID, size string) (*os.File, time.Time, error) {
	path, err := a.Preview(ctx, id, size)
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

// whyNot says in a few words why there is no picture. A photo that the book
// never had is an error, like any other address that leads nowhere.
func (a *area) whyNot(ctx context.Context, id intake.PhotoID) (string, error) {
	photo, err := a.Photo(ctx, id)
	switch {
	case errors.Is(err, intake.ErrNotFound):
		return "", err
	case err == nil && photo.Gone:
		return "forgotten", nil
	case err == nil && photo.Look == intake.LookFailed:
		return "cannot be drawn", nil
	}
	return "no picture yet", nil
}

// placeholder stands where a picture cannot be drawn, or not yet: the same in
// light and dark, with words.
func placeholder(w http.ResponseWriter, words string) {
	w.Header().Set("Content-Type", "image/svg+xml")
	w.Header().Set("Cache-Control", "no-store")
	fmt.Fprintf(w, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 320 240" role="img" aria-label="%[1]s">`+
		`<rect width="320" height="240" fill="#8C8676" fill-opacity=".16"/>`+
		`<rect x="110" y="78" width="100" height="70" rx="6" fill="none" stroke="#8C8676" stroke-width="3" stroke-dasharray="7 6"/>`+
		`<text x="160" y="180" text-anchor="middle" font-family="system-ui,sans-serif" font-size="17" fill="#8C8676">%[1]s</text></svg>`, words)
}
