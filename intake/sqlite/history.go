package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"haulbook/intake"
)

// History is the book's one history: append only.
type History struct{ DB *DB }

// changeColumns joins the change that took each one back. At most one can: a
// unique index sees to it, so the join never doubles a row.
const changeColumns = `
	SELECT h.seq, h.at, h.person, h.device, h.op, h.why, h.act, h.subject_kind, h.subject_id, h.summary,
		coalesce(h.undoes, 0), coalesce(u.seq, 0), NOT h.lasting
	FROM history h LEFT JOIN history u ON u.undoes = h.seq`

// scanChange leaves the row images out. Only undo needs them, and they are long.
func scanChange(row scanner) (c intake.Change, err error) {
	err = row.Scan(&c.Seq, moment{&c.At}, &c.By.Person, &c.By.Device, &c.By.Op, &c.By.Why, &c.Act,
		&c.Subject.Kind, &c.Subject.ID, &c.Summary, &c.Undoes, &c.UndoneBy, &c.Undoable)
	return c, err
}

// changeOf returns the change made under an operation id, or ErrNotFound.
func changeOf(ctx context.Context, q querier, op string) (intake.Change, error) {
	return oneChange(ctx, q, "operation "+op, changeColumns+" WHERE h.op = ?", op)
}

// changeAt returns the change with this sequence number, or ErrNotFound.
func changeAt(ctx context.Context, q querier, seq int64) (intake.Change, error) {
	return oneChange(ctx, q, fmt.Sprintf("change %d", seq), changeColumns+" WHERE h.seq = ?", seq)
}

// oneChange tells a change that is not there from a book that could not be read.
func oneChange(ctx context.Context, q querier, what, query string, args ...any) (intake.Change, error) {
	c, err := scanChange(q.QueryRowContext(ctx, query, args...))
	if errors.Is(err, sql.ErrNoRows) {
		return c, fmt.Errorf("%s: %w", what, intake.ErrNotFound)
	} else if err != nil {
		return c, fmt.Errorf("read %s: %w", what, err)
	}
	return c, nil
}

// Of returns the changes of one subject, newest first.
func (h History) Of(ctx context.Context, kind, id string) ([]intake.Change, error) {
	changes, err := collect(ctx, h.DB.reader, scanChange,
		changeColumns+" WHERE h.subject_kind = ? AND h.subject_id = ? ORDER BY h.seq DESC", kind, id)
	if err != nil {
		return nil, fmt.Errorf("read history of %s %s: %w", kind, id, err)
	}
	return changes, nil
}

// Recent returns the newest n changes, newest first.
func (h History) Recent(ctx context.Context, n int) ([]intake.Change, error) {
	changes, err := collect(ctx, h.DB.reader, scanChange, changeColumns+" ORDER BY h.seq DESC LIMIT ?", max(n, 0))
	if err != nil {
		return nil, fmt.Errorf("read history: %w", err)
	}
	return changes, nil
}

// Last returns the newest change of a device that is in force and can be taken
// back: what its undo button means. A change that was undone and done again is
// offered as its doing again. ErrNotFound: nothing is left to undo.
func (h History) Last(ctx context.Context, device string) (intake.Change, error) {
	return oneChange(ctx, h.DB.reader, "change to undo", changeColumns+`
		WHERE h.device = ? AND NOT h.lasting AND h.act <> '`+actUndone+`' AND u.seq IS NULL
		ORDER BY h.seq DESC LIMIT 1`, device)
}
