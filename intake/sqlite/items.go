package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"haulbook/intake"
)

// Items keeps the records of things.
type Items struct{ DB *DB }

// Item returns the item that ref names: an id, a number (also a part's), a tag
// code or a tag's address, in any case, padding or punctuation. Withdrawn and
// void items answer too; State says so. ErrNotFound: nothing has that name.
func (i Items) Item(ctx context.Context, ref string) (it intake.Item, err error) {
	err = i.DB.read(ctx, func(tx *sql.Tx) error {
		id, err := idOf(ctx, tx, ref)
		if err != nil {
			return err
		}
		it, err = itemByID(ctx, tx, id)
		return err
	})
	return it, err
}

// idOf finds which item a name means. A number is tried before a code: no text
// can be both.
func idOf(ctx context.Context, q querier, ref string) (intake.ID, error) {
	ref = strings.TrimSpace(ref)
	// An id has sixteen characters and a code eight; a number has dots. Nothing can
	// be taken for another, whatever the order of trying.
	query, args := "", []any(nil)
	if lower := strings.ToLower(ref); intake.IsID(lower) {
		query, args = "SELECT id FROM items WHERE id = ?", []any{lower}
	} else if n, err := intake.ParseNumber(ref); err == nil {
		query = "SELECT item_id FROM numbers WHERE year = ? AND haul = ? AND item = ? AND part = ?"
		args = []any{n.Year, n.Haul, n.Item, n.Part}
	} else if code, ok := intake.FindCode(ref); ok {
		query, args = "SELECT item_id FROM codes WHERE code = ? AND item_id IS NOT NULL", []any{string(code)}
	} else {
		return "", fmt.Errorf("%.60q is no number and no tag code: %w", ref, intake.ErrNotFound)
	}
	id, err := one[intake.ID](q.QueryRowContext(ctx, query, args...))
	if errors.Is(err, sql.ErrNoRows) {
		return "", fmt.Errorf("%.60q: %w", ref, intake.ErrNotFound)
	} else if err != nil {
		return "", fmt.Errorf("look up %.60q: %w", ref, err)
	}
	return id, nil
}

// List returns numbered items that are no parts, newest number first, beginning
// below after (the zero Number: from the newest). Void items keep their place in
// the register; withdrawn ones do not show. Each row carries one photo and its
// parts. A limit of 0 or less means 100.
func (i Items) List(ctx context.Context, after intake.Number, limit int) (items []intake.Item, err error) {
	if limit <= 0 {
		limit = 100
	}
	// The register is read from its key, so that a page of it costs the same
	// however many items the book holds; only that page is then sorted again.
	below := "1"
	var args []any
	if !after.IsZero() {
		below = "(year, haul, item) < (?, ?, ?)"
		args = append(args, after.Year, after.Haul, after.Item)
	}
	err = i.DB.read(ctx, func(tx *sql.Tx) error {
		items, err = itemsWhere(ctx, tx, `
			i.id IN (SELECT item_id FROM numbers WHERE part = 0 AND state IN ('given', 'void') AND `+below+`
				ORDER BY year DESC, haul DESC, item DESC LIMIT ?)
			ORDER BY n.year DESC, n.haul DESC, n.item DESC`, append(args, limit)...)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("list items: %w", err)
	}
	return firstPhotosOnly(items), nil
}

// Entered returns the items that wait for a number, oldest first.
func (i Items) Entered(ctx context.Context) (items []intake.Item, err error) {
	err = i.DB.read(ctx, func(tx *sql.Tx) error {
		items, err = itemsWhere(ctx, tx, "i.state = 'entered' ORDER BY i.entered_at, i.id")
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("list entered items: %w", err)
	}
	return items, nil
}

// Void takes an item and its parts out of use, for good reason given. Numbers
// and tags stay and lead to the void record.
func (i Items) Void(ctx context.Context, by intake.By, id intake.ID, why string) error {
	why, err := intake.CleanLine("why", why)
	if err != nil {
		return err
	}
	if why == "" {
		return &intake.FieldError{Field: "why", Problem: "is empty, a void number needs its reason"}
	}
	by.Why = why
	_, err = i.DB.write(ctx, by, actVoided, func(c *change) error {
		it, err := c.amendable(ctx, id)
		if err != nil {
			return err
		}
		c.about("item", string(id), "%s voided: %s", called(it), why)
		// A whole that is void cannot lend its number to parts in use.
		for _, each := range append([]intake.Item{it}, it.Parts...) {
			if each.State == intake.StateVoid {
				continue
			}
			if err := c.setState(ctx, each, intake.StateVoid, "void"); err != nil {
				return err
			}
			if err := c.exec(ctx, "UPDATE items SET successor_why = ? WHERE id = ?", why, each.ID); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("void item %s: %w", id, err)
	}
	return nil
}

// setState moves an item and its number, where it has one, to a new state.
func (c *change) setState(ctx context.Context, it intake.Item, state intake.State, number string) error {
	if err := c.touch(ctx, "items", it.ID); err != nil {
		return err
	}
	if err := c.exec(ctx, "UPDATE items SET state = ? WHERE id = ?", string(state), it.ID); err != nil {
		return err
	}
	// An entered item has none to move.
	n := it.Number
	if n.IsZero() {
		return nil
	}
	if err := c.touch(ctx, "numbers", n.Year, n.Haul, n.Item, n.Part); err != nil {
		return err
	}
	return c.exec(ctx, "UPDATE numbers SET state = ? WHERE item_id = ?", number, it.ID)
}

// amendable returns an item that is in use.
func (c *change) amendable(ctx context.Context, id intake.ID) (intake.Item, error) {
	it, err := itemByID(ctx, c.tx, id)
	if err != nil {
		return it, err
	}
	switch it.State {
	case intake.StateWithdrawn:
		return it, fmt.Errorf("%s was undone: %w", called(it), intake.ErrConflict)
	case intake.StateVoid:
		return it, fmt.Errorf("%s is void: %w", called(it), intake.ErrConflict)
	}
	return it, nil
}

// called is how a sentence names an item.
func called(it intake.Item) string {
	if it.Number.IsZero() {
		return "item without a number"
	}
	if title := it.Title(); title != "unnamed" {
		return it.Number.String() + " " + title
	}
	return it.Number.String()
}
