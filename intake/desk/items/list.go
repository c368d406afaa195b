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
	Items []intake.Item
	Dense bool
	Older string // address of the next page, "" at the end
	First bool
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
	p := listPage{
		Base: a.frame.Base(r, "Items", "items"), First: after.IsZero(),
		Dense: r.URL.Query().Get("as") == "list",
	}
	found, err := a.Items.List(r.Context(), after, onePage+1)
	if err != nil {
		return err
	}
	if len(found) > onePage {
		found = found[:onePage]
		next := url.Values{"after": {found[onePage-1].Number.String()}}
		if p.Dense {
			next.Set("as", "list")
		}
		p.Older = "/items?" + next.Encode()
	}
	p.Items = found
	return a.pages.Render(w, http.StatusOK, "list", p)
}
