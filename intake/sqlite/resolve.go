package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"haulbook/intake"
)

// Resolve returns what a code leads to; it changes nothing. ErrNotFound: the
// book never made it and no photo shows it.
func (d Codes) Resolve(ctx context.Context, code intake.Code) (t Target, err error) {
	err = d.DB.read(ctx, func(tx *sql.Tx) error {
		row, err := codeAt(ctx, tx, code)
		if errors.Is(err, intake.ErrNotFound) {
			return seenOnly(ctx, tx, code, &t)
		} else if err != nil {
			return err
		}
		t = Target{Code: code, Divider: row.divider, Successor: row.successor, Reason: row.reason}
		// A replaced blank tag is not offered again: its successor is.
		t.Blank = row.item == "" && row.place == "" && !row.divider && row.successor == ""
		if row.place != "" {
			t.Place, err = placePath(ctx, tx, row.place)
		}
		if row.item == "" || err != nil {
			return err
		}
		it, err := itemByID(ctx, tx, row.item)
		t.Item = &it
		return err
	})
	return t, err
}

// seenOnly answers for a code that the book never made but has in a photo: a tag
// printed by an earlier book, which the first reading adopts.
func seenOnly(ctx context.Context, tx *sql.Tx, code intake.Code, t *Target) error {
	seen, err := texts(ctx, tx, "SELECT code FROM seen_codes WHERE code = ? LIMIT 1", code)
	if err == nil && len(seen) == 0 {
		err = fmt.Errorf("code %.20s: %w", code, intake.ErrNotFound)
	}
	*t = Target{Code: code, Blank: true}
	return err
}

// codeAt returns what the book knows of a code that it made or adopted.
func codeAt(ctx context.Context, q querier, code intake.Code) (codeRow, error) {
	row, err := scanCode(q.QueryRowContext(ctx, codeColumns+"c.code = ?", string(code)))
	if errors.Is(err, sql.ErrNoRows) {
		return row, fmt.Errorf("code %.20s: %w", code, intake.ErrNotFound)
	} else if err != nil {
		return row, fmt.Errorf("read code %.20s: %w", code, err)
	}
	return row, nil
}

// lastOf follows a replaced code to the tag now in use.
func lastOf(ctx context.Context, q querier, row codeRow) (codeRow, error) {
	const deep = 1000 // no tag is lost so often; a ring of successors ends here
	var err error
	for range deep {
		if err != nil || row.successor == "" {
			break
		}
		row, err = codeAt(ctx, q, row.successor)
	}
	return row, err
}

// placePath writes a place out from the building down. The depth is bounded, so
// that a ring of parents in a damaged book ends too.
func placePath(ctx context.Context, q querier, place string) (string, error) {
	return one[string](q.QueryRowContext(ctx, `
		WITH RECURSIVE path (id, text, depth) AS (
			SELECT parent_id, name, 1 FROM places WHERE id = ?
			UNION ALL SELECT p.parent_id, p.name || ' / ' || path.text, path.depth + 1
			FROM path JOIN places p ON p.id = path.id WHERE path.depth < 50)
		SELECT text FROM path ORDER BY depth DESC LIMIT 1`, place))
}
