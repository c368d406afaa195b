package items

import (
	"net/http"
	"net/url"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// listPage is the page struct of list.html: items from the newest number down.
type listPage struct {
	desk.Base
	Items   []intake.Item
	Entered []intake.Item // those without a number, on the first page
	Dense   bool
	First   bool
	// Addresses: the next page ("" at the end), the first one, and this one in
	// either form.
	Older, Newest, Pictures, List string
}

// onePage is how many items one page shows: rows of two to five pictures end
// whole, and a phone loads them in one go.
const onePage = 60

// list answers GET /items. "after" is the last number of the page before, so
// that the thousandth page costs what the first does.
func (a *area) list(w http.ResponseWriter, r *http.Request) error {
	var after intake.Number
	if typed := r.URL.Query().Get("after"); typed != "" {
		var err error
		if after, err = intake.ParseNumber(typed); err != nil {
			return err
		}
	}
	dense := r.URL.Query().Get("as") == "list"
	p := listPage{
		Base: a.frame.Base(r, "Items", "items"), First: after.IsZero(), Dense: dense,
		Newest: listPath(intake.Number{}, dense), Pictures: listPath(after, false), List: listPath(after, true),
	}
	found, err := a.Items.List(r.Context(), after, onePage+1)
	if err != nil {
		return err
	}
	if len(found) > onePage {
		found = found[:onePage]
		p.Older = listPath(found[onePage-1].Number, dense)
	}
	p.Items = found
	if p.First {
		if p.Entered, err = a.Items.Entered(r.Context()); err != nil {
			return err
		}
	}
	return a.pages.Render(w, http.StatusOK, "list", p)
}

// listPath is the address of one page of the list. What is usual is left out, so
// that the plain address is the one people see and keep.
func listPath(after intake.Number, dense bool) string {
	query := url.Values{}
	if !after.IsZero() {
		query.Set("after", after.String())
	}
	if dense {
		query.Set("as", "list")
	}
	if len(query) == 0 {
		return "/items"
	}
	return "/items?" + query.Encode()
}
