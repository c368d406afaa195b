package tags

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// sheetPage is the page struct of sheet.html: what to print, on what.
type sheetPage struct {
	desk.Base
	Items     []line
	More      string // numbers typed for printing again, as typed
	Stocks    []choice
	DPI       int
	Start     int // 1 is the first label of the sheet
	Blank     int
	Loopback  bool // tags would lead phones back to themselves
	Earlier   []earlier
	Addresses []string // what a phone in this house could reach
	Error     string
}

// line is an item that may be printed.
type line struct {
	Item    intake.Item
	Picture string // address of its first photo, "" for none
	Chosen  bool
}

// choice is one stock with the picture of its sheet.
type choice struct {
	Stock
	Chosen  bool
	Picture picture
}

// earlier is an address that printed tags carry and new ones would not.
type earlier struct {
	Address string
	Tags    int
}

// maxBlank and maxLabels bound one job: proving takes time, and a slip of the
// key should not cost a ream.
const (
	maxBlank  = 500
	maxLabels = 2000
)

// sheet shows the page before anything is printed. "?item=2026.7.14" brings an
// item along that may have been printed before.
func (p *Pages) sheet(w http.ResponseWriter, r *http.Request) error {
	page, err := p.form(r)
	if err != nil {
		return err
	}
	return p.pages.Render(w, http.StatusOK, "sheet", page)
}

// form fills the page with the book's state, everything chosen.
func (p *Pages) form(r *http.Request) (sheetPage, error) {
	ctx := r.Context()
	page := sheetPage{Base: p.Frame.Base(r, "Tags", "tags"), DPI: 300, Start: 1}
	page.More = bound(strings.Join(r.URL.Query()["item"], " "), 2000)
	items, err := p.Codes.Untagged(ctx)
	if err != nil {
		return sheetPage{}, fmt.Errorf("list items without a printed tag: %w", err)
	}
	for _, it := range items {
		l := line{Item: it, Chosen: page.More == ""}
		if len(it.Photos) > 0 {
			l.Picture = p.Photo(it.Photos[0].ID, 400)
		}
		page.Items = append(page.Items, l)
	}
	for i, s := range p.Stocks {
		page.Stocks = append(page.Stocks, choice{Stock: s, Chosen: i == 0, Picture: draw(s)})
	}
	printed, err := p.Codes.Addresses(ctx)
	if err != nil {
		return sheetPage{}, fmt.Errorf("count printed addresses: %w", err)
	}
	for _, address := range slices.Sorted(maps.Keys(printed)) {
		if address != page.Address && printed[address] > 0 {
			page.Earlier = append(page.Earlier, earlier{address, printed[address]})
		}
	}
	if page.Loopback = desk.Loopback(page.Address); page.Loopback || page.Address == "" {
		for _, ip := range desk.NetworkAddresses() {
			page.Addresses = append(page.Addresses, "http://"+ip.String()+":8417")
		}
	}
	return page, nil
}

// print answers with the PDF, or with the form and a sentence.
func (p *Pages) print(w http.ResponseWriter, r *http.Request) error {
	job, err := p.job(r)
	var pdf bytes.Buffer
	if err == nil {
		err = p.Print(r.Context(), desk.By(r), job, &pdf)
	}
	if err != nil {
		if !errors.Is(err, intake.ErrInvalid) && !errors.Is(err, intake.ErrNotFound) {
			return fmt.Errorf("print tags: %w", err)
		}
		return p.again(w, r, err)
	}
	n := len(job.Items) + job.Blank
	p.Frame.SetFlash(w, desk.Flash{Text: count(n, "tag") + " in the PDF. Print it at 100 %, not “fit to page”, and measure one label."})
	h := w.Header()
	h.Set("Content-Type", "application/pdf")
	// Browsers draw a PDF with a viewer of their own, which the policy for
	// pages would stop; a PDF of ours has nothing to run.
	h.Set("Content-Security-Policy", "frame-ancestors 'none'")
	h.Set("Content-Disposition", `inline; filename="tags-`+p.Now().Format("2006-01-02")+`.pdf"`)
	h.Set("Content-Length", strconv.Itoa(pdf.Len()))
	h.Set("Cache-Control", "no-store")
	w.WriteHeader(http.StatusOK)
	w.Write(pdf.Bytes()) // a browser that went away can print again
	return nil
}

// again shows the form as it was sent, with what is wrong about it.
func (p *Pages) again(w http.ResponseWriter, r *http.Request, cause error) error {
	page, err := p.form(r)
	if err != nil {
		return err
	}
	page.Error = sentence(cause)
	page.More = bound(r.PostForm.Get("more"), 2000)
	for i := range page.Items {
		page.Items[i].Chosen = slices.Contains(r.PostForm["item"], string(page.Items[i].Item.ID))
	}
	if stock := r.PostForm.Get("stock"); slices.ContainsFunc(p.Stocks, func(s Stock) bool { return s.Name == stock }) {
		for i := range page.Stocks {
			page.Stocks[i].Chosen = page.Stocks[i].Name == stock
		}
	}
	for name, field := range map[string]*int{"dpi": &page.DPI, "start": &page.Start, "blank": &page.Blank} {
		if n, err := strconv.Atoi(r.PostForm.Get(name)); err == nil {
			*field = n
		}
	}
	return p.pages.Render(w, http.StatusBadRequest, "sheet", page)
}

// job reads the form.
func (p *Pages) job(r *http.Request) (PrintJob, error) {
	job := PrintJob{Stock: r.PostForm.Get("stock")}
	i := slices.IndexFunc(p.Stocks, func(s Stock) bool { return s.Name == job.Stock })
	if i < 0 {
		return PrintJob{}, &intake.FieldError{Field: "stock", Problem: "is none of the label papers here"}
	}
	cells := p.Stocks[i].Cols * p.Stocks[i].Rows
	var err error
	if job.DPI, err = number(r, "dpi", 203, 600, 300); err != nil {
		return PrintJob{}, err
	}
	start, err := number(r, "start", 1, cells, 1)
	if err != nil {
		return PrintJob{}, err
	}
	job.Skip = start - 1
	if job.Blank, err = number(r, "blank", 0, maxBlank, 0); err != nil {
		return PrintJob{}, err
	}
	if job.Items, err = p.chosen(r.Context(), r); err != nil {
		return PrintJob{}, err
	}
	switch n := len(job.Items) + job.Blank; {
	case n == 0:
		return PrintJob{}, &intake.FieldError{Field: "sheet", Problem: "is empty: choose an item, or ask for blank tags"}
	case n > maxLabels:
		return PrintJob{}, &intake.FieldError{Field: "sheet", Problem: fmt.Sprintf("would have %d tags, %d go at a time", n, maxLabels)}
	}
	return job, nil
}

// chosen collects the ticked items and the typed numbers, each once, ticked
// ones first. Ticked items are taken from one list, not asked for one by one.
func (p *Pages) chosen(ctx context.Context, r *http.Request) ([]intake.Item, error) {
	untagged, err := p.Codes.Untagged(ctx)
	if err != nil {
		return nil, fmt.Errorf("list items without a printed tag: %w", err)
	}
	byID := make(map[string]intake.Item, len(untagged))
	for _, it := range untagged {
		byID[string(it.ID)] = it
	}
	var items []intake.Item
	seen := make(map[intake.ID]bool)
	refs := append(slices.Clone(r.PostForm["item"]), strings.FieldsFunc(bound(r.PostForm.Get("more"), 20_000), between)...)
	if len(refs) > maxLabels {
		return nil, &intake.FieldError{Field: "sheet", Problem: fmt.Sprintf("would have %d tags, %d go at a time", len(refs), maxLabels)}
	}
	for _, ref := range refs {
		it, ok := byID[ref]
		if !ok {
			if it, err = p.Item(ctx, ref); errors.Is(err, intake.ErrNotFound) || errors.Is(err, intake.ErrInvalid) {
				return nil, &intake.FieldError{Field: "number", Problem: fmt.Sprintf("%.40q is not in this book", ref)}
			} else if err != nil {
				return nil, fmt.Errorf("find %.40q: %w", ref, err)
			}
		}
		if !seen[it.ID] {
			seen[it.ID] = true
			items = append(items, it)
		}
	}
	return items, nil
}

// between tells what stands between two typed numbers.
func between(c rune) bool { return unicode.IsSpace(c) || c == ',' || c == ';' }

// number reads a whole number within bounds; an empty field is usual.
func number(r *http.Request, field string, least, most, usual int) (int, error) {
	typed := strings.TrimSpace(r.PostForm.Get(field))
	if typed == "" {
		return usual, nil
	}
	n, err := strconv.Atoi(typed)
	if err != nil || n < least || n > most {
		return 0, &intake.FieldError{Field: field, Problem: fmt.Sprintf("must be a whole number from %d to %d", least, most)}
	}
	return n, nil
}

// sentence words an error for the top of the form.
func sentence(err error) string {
	text := err.Error()
	var field *intake.FieldError
	if errors.As(err, &field) {
		text = "the " + field.Field + " " + field.Problem
	}
	text = strings.TrimSuffix(bound(text, 300), ": "+intake.ErrInvalid.Error())
	return strings.ToUpper(text[:1]) + text[1:] + "."
}

func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.Itoa(n) + " " + noun + "s"
}

// bound cuts s to at most n bytes at the start of a character.
func bound(s string, n int) string {
	if len(s) <= n {
		return s
	}
	return strings.ToValidUTF8(s[:n], "")
}
