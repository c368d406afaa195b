package bench

import (
	"net/http"
	"net/url"
	"unicode/utf8"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// field is one line of the plate form.
type field struct {
	Name, Label, Value string
	Why                string   // the complaint about it, "" for none
	Words              []string // earlier ones, most used first
	Exact              bool     // typed as read: nothing may spell or capitalise it anew
	Mono               bool
	Focus              bool
}

// Fields are the lines of the form in the order in which plates are read.
func (p groupPage) Fields() []field {
	fields := []field{
		{Name: "name", Label: "Name", Value: p.Form.Name},
		{Name: "maker", Label: "Maker", Value: p.Form.Maker},
		{Name: "model", Label: "Model", Value: p.Form.Model, Exact: true},
		{Name: "serial", Label: "Serial, as read (? for what you cannot read)", Value: p.Form.Serial, Exact: true, Mono: true},
	}
	focus := p.focus(fields)
	for i := range fields {
		f := &fields[i]
		f.Words, f.Why, f.Focus = p.words[f.Name], p.Why(f.Name), f.Name == focus
	}
	return fields
}

// focus is where typing goes on: where something is wrong or in doubt, else the
// first field that is empty.
func (p groupPage) focus(fields []field) string {
	if p.Problem.Field != "" {
		return p.Problem.Field
	}
	if p.Sure != "" {
		return "serial"
	}
	for _, f := range fields {
		if f.Value == "" {
			return f.Name
		}
	}
	return "name"
}

// Why is the complaint about one field, "" for none.
func (p groupPage) Why(field string) string {
	if p.Problem.Field == field {
		return p.Problem.Problem
	}
	return ""
}

// typedIn is what a request carries of the form: typed in a POST, or brought
// along from before a split in a GET.
func typedIn(r *http.Request) intake.Reading {
	return intake.Reading{
		Name: r.FormValue("name"), Maker: r.FormValue("maker"), Model: r.FormValue("model"), Serial: r.FormValue("serial"),
	}
}

// mostCarried bounds the address that typed words travel in. Servers and
// browsers take 8,000 bytes everywhere (RFC 9110, section 4.1).
const mostCarried = 6000

// carried writes what was typed so far into a query, so that it outlives the
// redirect after an act beside the form. photo is the one to show, "" for the
// plate.
func carried(r *http.Request, photo string) string {
	q := url.Values{}
	if photo != "" {
		q.Set("photo", photo)
	}
	bare := q.Encode()
	typed := typedIn(r)
	for name, text := range map[string]string{"name": typed.Name, "maker": typed.Maker, "model": typed.Model, "serial": typed.Serial} {
		if text != "" && utf8.ValidString(text) {
			q.Set(name, text)
		}
	}
	query := q.Encode()
	if len(query) > mostCarried {
		query = bare
	}
	if query == "" {
		return ""
	}
	return "?" + query
}

// leaving says which group the bench comes from, with its words: where Undo
// leads back to. The same photos have the same id when their number is undone.
func leaving(r *http.Request) string {
	return "?" + url.Values{"from": {r.PathValue("group") + carried(r, "")}}.Encode()
}

// base is the layout's part of a page. Undo of what was done on the group
// before leads back to that group, not to this one.
func (a *area) base(r *http.Request) desk.Base {
	b := a.frame.Base(r, "Bench", "bench")
	if from := r.URL.Query().Get("from"); from != "" {
		b.Path = "/bench/" + from
	}
	return b
}
