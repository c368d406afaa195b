package sqlite

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"haulbook/intake"
)

// Undo takes a change back, whoever made it; undoing the undo does it again.
// Every row must still be as the change left it, otherwise ErrConflict says what
// came in between. A change that was done again may be named by its first seq.
// Numbers and codes stay in the book: they are withdrawn or untied, and wait for
// the same thing.
func (h History) Undo(ctx context.Context, by intake.By, seq int64) (intake.Change, error) {
	done, err := h.DB.write(ctx, by, actUndone, func(c *change) error {
		target, err := inForce(ctx, c, seq)
		if err != nil {
			return err
		}
		if target.Act == actUndone {
			c.act = actRedone
		}
		// The chain of undo and redo is a list, each naming the one before, and a unique
		// index keeps two people from taking the same change back at once.
		c.undoes = target.Seq
		verb := "undone: "
		if c.act == actRedone {
			verb = "done again: "
		}
		// "undone: plate read …", never "undone: done again: undone: …".
		said := strings.TrimPrefix(strings.TrimPrefix(target.Summary, "undone: "), "done again: ")
		c.about(target.Subject.Kind, target.Subject.ID, "%s%s", verb, said)
		return c.takeBack(ctx, target)
	})
	if err != nil {
		return intake.Change{}, fmt.Errorf("undo change %d: %w", seq, err)
	}
	return done, nil
}

// inForce follows a change that was undone and done again to its last doing.
func inForce(ctx context.Context, c *change, seq int64) (intake.Change, error) {
	target, err := changeAt(ctx, c.tx, seq)
	for err == nil && target.UndoneBy != 0 {
		target, err = changeAt(ctx, c.tx, target.UndoneBy)
		if err == nil && target.Act == actUndone && target.UndoneBy == 0 {
			return target, fmt.Errorf("it was undone already by %s: %w", target.By.Person, intake.ErrConflict)
		}
	}
	if err == nil && !target.Undoable {
		return target, fmt.Errorf("%s cannot be taken back: %w", target.Act, intake.ErrConflict)
	}
	return target, err
}

// takeBack restores the rows of a change, newest first. It is itself a change with
// images of its own, which is why undoing it needs no code of its own.
func (c *change) takeBack(ctx context.Context, target intake.Change) error {
	var stored string
	if err := c.tx.QueryRowContext(ctx, "SELECT rows FROM history WHERE seq = ?", target.Seq).Scan(&stored); err != nil {
		return fmt.Errorf("read its rows: %w", err)
	}
	var rows []rowChange
	if err := json.Unmarshal([]byte(stored), &rows); err != nil {
		return fmt.Errorf("read its rows: %w", err)
	}
	// Rows come back in the order that suits the images, not the foreign keys.
	if err := c.exec(ctx, "PRAGMA defer_foreign_keys = ON"); err != nil {
		return err
	}
	gone, err := c.forgotten(ctx, rows)
	if err != nil {
		return err
	}
	for _, row := range slices.Backward(rows) {
		// Their links were erased for good; the rest of the change is still worth
		// taking back.
		if row.without(gone) {
			continue
		}
		if err := c.restoreRow(ctx, row, target); err != nil {
			return err
		}
	}
	return c.checkItems(ctx, rows)
}

// restoreRow refuses a row that is not as the change left it. Restoring over a
// later change would lose it without a word.
func (c *change) restoreRow(ctx context.Context, row rowChange, target intake.Change) error {
	t, err := tableNamed(row.Table)
	if err != nil {
		return err
	}
	key := make([]any, len(t.key))
	for i, column := range t.key {
		key[i] = row.Key[column]
	}
	if err := c.touch(ctx, row.Table, key...); err != nil {
		return err
	}
	// Not the touched image: an earlier row of this undo may have changed it.
	now, err := t.read(ctx, c.tx, row.Key)
	if err != nil {
		return err
	}
	if !row.After.same(now) {
		return c.overtaken(ctx, row, target)
	}
	if err := t.restore(ctx, c.tx, row.Key, now, row.Before); err != nil {
		return fmt.Errorf("restore %s: %w", row.Table, err)
	}
	return nil
}

// overtaken says who changed the row since.
func (c *change) overtaken(ctx context.Context, row rowChange, target intake.Change) error {
	key, err := json.Marshal(row.Key)
	if err != nil {
		return fmt.Errorf("read its rows: %w", err)
	}
	// Only a change still in force is in the way; one that was undone is not.
	later, err := oneChange(ctx, c.tx, "later change", changeColumns+`
		WHERE h.seq > ? AND u.seq IS NULL AND EXISTS (
			SELECT 1 FROM json_each(h.rows) r WHERE r.value ->> 'table' = ? AND json(r.value -> 'key') = json(?))
		ORDER BY h.seq DESC LIMIT 1`, target.Seq, row.Table, string(key))
	if err != nil {
		return fmt.Errorf("its %s changed since: %w", row.Table, intake.ErrConflict)
	}
	return fmt.Errorf("%s changed it since (%s), take that back first: %w", later.By.Person, later.Summary, intake.ErrConflict)
}

// forgotten returns the photos of these rows that have been forgotten: nothing
// about them is ever restored.
func (c *change) forgotten(ctx context.Context, rows []rowChange) (map[any]bool, error) {
	var photos []string
	for _, row := range rows {
		for _, v := range row.photos() {
			if id, ok := v.(string); ok {
				photos = append(photos, id)
			}
		}
	}
	ids, err := texts(ctx, c.tx, `
		SELECT id FROM photos WHERE forgotten_at IS NOT NULL AND id IN (SELECT value FROM json_each(?))`, listed(photos))
	gone := map[any]bool{}
	for _, id := range ids {
		gone[id] = true
	}
	return gone, err
}

// photos returns every photo that the row is about or speaks of, nils included.
func (row *rowChange) photos() []any {
	if row.Table == "photos" {
		return []any{row.Key["id"]}
	}
	return []any{row.Key["photo_id"], row.Before["photo_id"], row.After["photo_id"]}
}

// without drops forgotten photos from the row's images, and reports whether
// nothing is left because the row itself was about one.
func (row *rowChange) without(gone map[any]bool) bool {
	if row.Table == "photos" && gone[row.Key["id"]] || gone[row.Key["photo_id"]] {
		return true
	}
	for _, from := range []image{row.Before, row.After} {
		if gone[from["photo_id"]] {
			from["photo_id"] = nil
		}
	}
	return false
}

// checkItems refuses an undo that would leave parts without their whole, or a
// photo read twice.
func (c *change) checkItems(ctx context.Context, rows []rowChange) error {
	for _, row := range rows {
		if row.Table != "items" {
			continue
		}
		// Foreign keys hold rows together, not meanings: a part of a withdrawn whole, or
		// one photo numbered twice, is possible for SQLite and wrong for a register.
		var parts, shared int
		err := c.tx.QueryRowContext(ctx, `
			SELECT
				(SELECT count(*) FROM items whole JOIN items part ON part.parent_id = whole.id
					WHERE whole.id = ?1 AND whole.state = 'withdrawn' AND part.state <> 'withdrawn'),
				(SELECT count(*) FROM items own JOIN item_photos a ON a.item_id = own.id
					JOIN item_photos b ON b.photo_id = a.photo_id AND b.item_id <> own.id
					JOIN items other ON other.id = b.item_id
					WHERE own.id = ?1 AND own.state <> 'withdrawn' AND other.state <> 'withdrawn'
						AND other.parent_id IS NOT own.id AND own.parent_id IS NOT other.id)`,
			row.Key["id"]).Scan(&parts, &shared)
		switch {
		case err != nil:
			return fmt.Errorf("look at the parts: %w", err)
		case parts > 0:
			return fmt.Errorf("it has parts by now, take those back first: %w", intake.ErrConflict)
		case shared > 0 && row.After["state"] == "withdrawn":
			return fmt.Errorf("its photos belong to another item by now: %w", intake.ErrConflict)
		}
	}
	return nil
}
