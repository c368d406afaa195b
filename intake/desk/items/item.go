package items

import (
	"net/http"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// itemPage is the page struct of item.html.
type itemPage struct {
	desk.Base
	Item    intake.Item
	Whole   *intake.Item // the item it is a part of
	Shown   *intake.ShownPhoto
	History []intake.Change
	Form    form
	Late    bool  // an edit of an older version came in: Form shows both
	Part    field // the name of a new part, when it came in and did not fit
	Editing bool
}

// item answers GET /items/{ref} for an id, a number in any padding, or a code.
// The address in the bar ends up being the number.
func (a *area) item(w http.ResponseWriter, r *http.Request) error {
	it, err := a.Items.Item(r.Context(), r.PathValue("ref"))
	if err != nil {
		return err
	}
	if toCanonical(w, r, path(it)) {
		return nil
	}
	p, err := a.itemPage(r, it)
	if err != nil {
		return err
	}
	return a.pages.Render(w, http.StatusOK, "item", p)
}

// toCanonical sends a browser that came under another name of the same thing to
// the one that people know, and keeps what it asked for there.
func toCanonical(w http.ResponseWriter, r *http.Request, canonical string) bool {
	if r.URL.Path == canonical {
		return false
	}
	if r.URL.RawQuery != "" {
		canonical += "?" + r.URL.RawQuery
	}
	http.Redirect(w, r, canonical, http.StatusSeeOther)
	return true
}

// itemPage reads everything the page shows of an item. Its title begins with the
// number: that is what people look for among open tabs.
func (a *area) itemPage(r *http.Request, it intake.Item) (itemPage, error) {
	p := itemPage{Base: a.frame.Base(r, it.Title(), "items"), Item: it, Form: formOf(it)}
	if !it.Number.IsZero() {
		p.Title = it.Number.String() + " " + p.Title
	}
	p.Shown = chosen(it.Photos, r.URL.Query().Get("photo"))
	if it.Parent != "" {
		whole, err := a.Items.Item(r.Context(), string(it.Parent))
		if err != nil {
			return p, err
		}
		p.Whole = &whole
	}
	var err error
	p.History, err = a.History.Of(r.Context(), "item", string(it.ID))
	return p, err
}

// Settled says why the record is not changed any more, and is "" while it is.
func (p itemPage) Settled() string {
	switch p.Item.State {
	case intake.StateVoid:
		return "This number is void. Its record stays as it is; nothing is added to it."
	case intake.StateWithdrawn:
		return "This was taken back. The number waits for the same thing: its photos are on the bench again, or do it again below."
	}
	return ""
}

// MayHaveParts reports whether a lettered part can be added: parts have none.
func (p itemPage) MayHaveParts() bool {
	return p.Item.Parent == "" && p.Item.State == intake.StateAccessioned
}

// Unread reports whether the serial has characters nobody could read.
func (p itemPage) Unread() bool { return hasUnread(p.Item.Serial) }

// chosen is the photo shown large: the one asked for, else the first that shows
// the thing whole, else the first.
func chosen(photos []intake.ShownPhoto, asked string) *intake.ShownPhoto {
	var first *intake.ShownPhoto
	for i := range photos {
		p := &photos[i]
		if asked != "" && p.ID.String() == asked {
			return p
		}
		if first == nil || first.As != intake.RoleView && p.As == intake.RoleView {
			first = p
		}
	}
	return first
}
