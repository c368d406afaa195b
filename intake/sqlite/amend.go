package sqlite

import (
	"context"
	"fmt"

	"haulbook/intake"
)

// Amend changes the named fields of an item's record. seen is the version that
// the keeper saw; a stale one is ErrConflict, so that no note is lost.
func (i Items) Amend(ctx context.Context, by intake.By, id intake.ID, seen int, a intake.Amendment) (intake.Item, error) {
	a, err := a.Clean()
	if err != nil {
		return intake.Item{}, err
	}
	_, err = i.DB.write(ctx, by, actAmended, func(c *change) error {
		it, err := c.amendable(ctx, id)
		if err != nil {
			return err
		}
		if it.Version != seen {
			return fmt.Errorf("%s was changed since you opened it: %w", called(it), intake.ErrConflict)
		}
		c.about("item", string(id), "%s amended", called(it))
		if err := c.amend(ctx, id, a); err != nil || a.Serial == nil {
			return err
		}
		return c.setSerial(ctx, it, *a.Serial, intake.PhotoID{})
	})
	if err != nil {
		return intake.Item{}, fmt.Errorf("amend item %s: %w", id, err)
	}
	return i.DB.item(ctx, id)
}

// amend writes the named fields one by one, so that a field nobody named is not
// even touched: a form that shows half the record must not empty the other half.
func (c *change) amend(ctx context.Context, id intake.ID, a intake.Amendment) error {
	if err := c.touch(ctx, "items", id); err != nil {
		return err
	}
	for _, f := range []struct {
		column string
		text   *string
	}{{"name", a.Name}, {"maker", a.Maker}, {"model", a.Model}, {"notes", a.Notes}} {
		if f.text == nil {
			continue
		}
		if err := c.exec(ctx, "UPDATE items SET "+f.column+" = ? WHERE id = ?", *f.text, id); err != nil {
			return err
		}
	}
	if a.Quantity != nil {
		if err := c.exec(ctx, "UPDATE items SET quantity = ? WHERE id = ?", *a.Quantity, id); err != nil {
			return err
		}
	}
	if a.Public == nil {
		return nil
	}
	return c.exec(ctx, "UPDATE items SET public = ? WHERE id = ?", *a.Public, id)
}

// setSerial keeps one identifier of kind serial in step with the form's field:
// made, changed, or removed when it is empty.
func (c *change) setSerial(ctx context.Context, it intake.Item, serial string, plate intake.PhotoID) error {
	// A thing may carry several serials; the form shows the first and leaves the
	// others alone.
	var had *intake.Identifier
	for n := range it.Identifiers {
		if it.Identifiers[n].Kind == intake.KindSerial {
			had = &it.Identifiers[n]
			break
		}
	}
	switch {
	case had == nil && serial == "":
		return nil
	case had == nil:
		return c.addSerial(ctx, it.ID, serial, plate)
	}
	if err := c.touch(ctx, "identifiers", had.ID); err != nil {
		return err
	}
	if serial == "" {
		return c.exec(ctx, "DELETE FROM identifiers WHERE id = ?", had.ID)
	}
	// Where it stands and which photo shows it stay: only the reading was wrong.
	return c.exec(ctx, "UPDATE identifiers SET text = ?, folded = ? WHERE id = ?", serial, intake.FoldSerial(serial), had.ID)
}

// addSerial keeps the text exactly as read and a folded key beside it. Search
// goes through the key, so the record itself never has to be "corrected".
func (c *change) addSerial(ctx context.Context, item intake.ID, serial string, plate intake.PhotoID) error {
	id := intake.NewID()
	if err := c.touch(ctx, "identifiers", id); err != nil {
		return err
	}
	photo := ""
	if !plate.IsZero() {
		photo = plate.String()
	}
	return c.exec(ctx, "INSERT INTO identifiers (id, item_id, kind, text, folded, photo_id) VALUES (?, ?, ?, ?, ?, ?)",
		id, item, intake.KindSerial, serial, intake.FoldSerial(serial), nullText(photo))
}

// AddPart gives the next letter of a whole to a part of it. Letters are never
// used again, whatever became of their parts.
func (i Items) AddPart(ctx context.Context, by intake.By, whole intake.ID, name string) (intake.Item, error) {
	name, err := intake.CleanLine("name", name)
	if err != nil {
		return intake.Item{}, err
	}
	part := intake.NewID()
	done, err := i.DB.write(ctx, by, actPart, func(c *change) error {
		it, err := c.amendable(ctx, whole)
		switch {
		case err != nil:
			return err
		case it.Number.IsZero():
			return fmt.Errorf("a part's letter needs its item's number, which is not given yet: %w", intake.ErrConflict)
		case it.Parent != "":
			return fmt.Errorf("%s is itself a part, and parts have no parts: %w", called(it), intake.ErrConflict)
		}
		return c.addPart(ctx, it, part, name)
	})
	if err != nil {
		return intake.Item{}, fmt.Errorf("add part to %s: %w", whole, err)
	}
	return i.DB.item(ctx, intake.ID(done.Subject.ID))
}

// addPart takes the letter after the highest ever given, void and undone parts
// included: a letter on a tie-on tag must never lead to another lead or lid.
func (c *change) addPart(ctx context.Context, whole intake.Item, part intake.ID, name string) error {
	n := whole.Number
	if err := c.tx.QueryRowContext(ctx, "SELECT max(part) + 1 FROM numbers WHERE year = ? AND haul = ? AND item = ?",
		n.Year, n.Haul, n.Item).Scan(&n.Part); err != nil {
		return err
	}
	// A void or withdrawn part counts as much as one in use.
	// The letters run out at zzz: what prints must parse again.
	if _, err := intake.ParseNumber(n.String()); err != nil {
		return fmt.Errorf("%s has no letters left: %w", called(whole), intake.ErrConflict)
	}
	// The part is the subject, not its whole: undoing it from its own page is what
	// one looks for after a slip.
	c.about("item", string(part), "%s added: %s", n, name)
	if err := c.touch(ctx, "items", part); err != nil {
		return err
	}
	// A part is accessioned with its letter. Its haul is its whole's, kept in its own
	// row because a part may one day come from elsewhere.
	err := c.exec(ctx, `
		INSERT INTO items (id, haul_id, parent_id, state, name, entered_at, accessioned_at) VALUES (?, ?, ?, 'accessioned', ?, ?, ?)`,
		part, nullText(whole.Haul.ID), whole.ID, name, stamp(c.at), stamp(c.at))
	if err != nil {
		return err
	}
	return c.give(ctx, n, part)
}

// give enters a number for an item. The primary key refuses a second one.
func (c *change) give(ctx context.Context, n intake.Number, item intake.ID) error {
	if err := c.touch(ctx, "numbers", n.Year, n.Haul, n.Item, n.Part); err != nil {
		return err
	}
	return c.exec(ctx, "INSERT INTO numbers (year, haul, item, part, item_id, state) VALUES (?, ?, ?, ?, ?, 'given')",
		n.Year, n.Haul, n.Item, n.Part, item)
}
