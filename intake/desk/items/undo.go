package items

import (
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"haulbook/intake"
	"haulbook/intake/desk"
)

// undo answers POST /undo: the flash's button and the history's. "back" is a
// path of this desk.
func (a *area) undo(w http.ResponseWriter, r *http.Request) error {
	seq, err := parseSeq(r.PostFormValue("seq"))
	if err != nil {
		return err
	}
	change, err := a.History.Undo(r.Context(), desk.By(r), seq)
	switch {
	case errors.Is(err, intake.ErrConflict):
		a.frame.SetFlash(w, desk.Flash{Text: "Not taken back: " + reason(err) + "."})
	case err != nil:
		return err
	case change.Seq == 0: // all it touched has been forgotten
		a.frame.SetFlash(w, desk.Flash{Text: "There is nothing left of this to take back."})
	default:
		a.frame.SetFlash(w, desk.Flash{Text: sentence(change.Summary), Undo: change.Seq})
	}
	http.Redirect(w, r, localPath(r.PostFormValue("back")), http.StatusSeeOther)
	return nil
}

// reason is what the ledger says of a conflict, in its own words: which later
// change stands in the way. The steps of the work around them stay in the log.
func reason(err error) string {
	for at := err; at != nil; at = errors.Unwrap(at) {
		if errors.Unwrap(at) == intake.ErrConflict {
			if said := strings.TrimSuffix(at.Error(), ": "+intake.ErrConflict.Error()); said != "" {
				return said
			}
		}
	}
	return "something it touched has changed since, take the later change back first"
}

// changed is the flash after a form was sent: it offers to take back the change
// that was made under the form's own operation id, and no other. A form that
// was sent without changing a word made none.
func (a *area) changed(r *http.Request, kind, id, number, text string) desk.Flash {
	changes, err := a.History.Of(r.Context(), kind, id)
	op := desk.By(r).Op
	for _, c := range changes {
		switch {
		case op == "" || c.By.Op != op:
			continue
		case c.UndoneBy != 0:
			return desk.Flash{Tag: number, Text: "This was done before, and has been taken back since."}
		}
		return desk.Flash{Tag: number, Text: text, Undo: c.Seq}
	}
	if err == nil && op != "" {
		text = "Nothing was different, so nothing was changed."
	}
	return desk.Flash{Tag: number, Text: text}
}

// repeated reports whether the form's operation was done before.
func (a *area) repeated(r *http.Request, kind, id string) (bool, error) {
	op := desk.By(r).Op
	if op == "" {
		return false, nil
	}
	changes, err := a.History.Of(r.Context(), kind, id)
	return slices.ContainsFunc(changes, func(c intake.Change) bool { return c.By.Op == op }), err
}

// act is one line of a history as the page shows it.
type act struct {
	intake.Change
	Button string // what pressing its button does, "" for no button
}

// acts gives every change the button that works: what is on paper or forgotten
// has none, and a change that was taken back is done again by the line that
// took it back.
func acts(changes []intake.Change) []act {
	lines := make([]act, len(changes))
	for i, c := range changes {
		lines[i].Change = c
		lines[i].Summary = strings.TrimSuffix(sentence(c.Summary), ".")
		switch {
		case !c.Undoable || c.UndoneBy != 0:
		case c.Act == "undone":
			lines[i].Button = "Do it again"
		default:
			lines[i].Button = "Take back"
		}
	}
	return lines
}

// parseSeq reads the change's place in the history. Only a page of ours sends
// one, so a bad one means an old or a broken page.
func parseSeq(s string) (int64, error) {
	seq, err := strconv.ParseInt(s, 10, 64)
	if err != nil || seq < 1 {
		return 0, &intake.FieldError{Field: "change", Problem: "to take back is not named: open the page again"}
	}
	return seq, nil
}

// sentence begins with a capital and ends with a full stop.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	first, size := utf8.DecodeRuneInString(s)
	if size == 0 {
		return ""
	}
	return strings.TrimSuffix(string(unicode.ToUpper(first))+s[size:], ".") + "."
}
