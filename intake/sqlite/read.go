package sqlite

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"haulbook/intake"
)

// Read turns a group into an accessioned item: its number, photos, tag and
// serial, in one immediate transaction. An undone number goes back to the photos
// it was read from; an item entered by its blank tag gets its number; otherwise
// the haul's next number is given. ErrConflict: the group is not the one that
// was shown any more, or its tag belongs to an item that has a number.
func (b Bench) Read(ctx context.Context, by intake.By, group string, r intake.Reading) (intake.Item, error) {
	r, err := r.Clean()
	if err != nil {
		return intake.Item{}, err
	}
	done, err := b.DB.write(ctx, by, actRead, func(c *change) error {
		g, err := b.group(ctx, c.tx, group)
		if err != nil {
			return err
		}
		return c.readPlate(ctx, g, r)
	})
	if err != nil {
		return intake.Item{}, fmt.Errorf("read plate: %w", err)
	}
	return b.DB.item(ctx, intake.ID(done.Subject.ID))
}

// readPlate is the main act of the whole program. Everything in it stands or
// falls together: a number without its photos, or a tag without its number, would
// be worse than neither.
func (c *change) readPlate(ctx context.Context, g intake.Group, r intake.Reading) error {
	shows := func(p intake.ShownPhoto) bool { return p.ID == r.Plate }
	if !r.Plate.IsZero() && !slices.ContainsFunc(g.Photos, shows) {
		return &intake.FieldError{Field: "plate", Problem: "is no photo of this group"}
	}
	if g.Item.State == intake.StateAccessioned {
		return fmt.Errorf("the tag in view belongs to %s: attach the photos to it, or cut the group: %w", called(g.Item), intake.ErrConflict)
	}
	// The transaction is immediate, so between asking for the highest number and
	// giving the next nobody else can write.
	it, n, err := c.number(ctx, g)
	if err != nil {
		return err
	}
	if it.State == intake.StateEntered {
		r = completed(r, it)
	}
	if err := c.exec(ctx, `
		UPDATE items SET state = 'accessioned', name = ?, maker = ?, model = ?, haul_id = coalesce(haul_id, ?),
			accessioned_at = coalesce(accessioned_at, ?) WHERE id = ?`,
		r.Name, r.Maker, r.Model, g.Haul.ID, stamp(c.at), it.ID); err != nil {
		return err
	}
	// For the sentence in history: it names the item as it is from now on.
	it.Number, it.Name, it.Maker, it.Model = n, r.Name, r.Maker, r.Model
	c.about("item", string(it.ID), "plate read: %s", called(it))
	if err := c.link(ctx, it.ID, g, r.Plate); err != nil {
		return err
	}
	if err := c.tie(ctx, g.Code, it.ID); err != nil {
		return err
	}
	return c.setSerial(ctx, it, r.Serial, r.Plate)
}

// completed keeps what an entered item's record says already where the plate
// says nothing.
func completed(r intake.Reading, it intake.Item) intake.Reading {
	for _, f := range []struct {
		read *string
		had  string
	}{{&r.Name, it.Name}, {&r.Maker, it.Maker}, {&r.Model, it.Model}, {&r.Serial, it.Serial}} {
		if *f.read == "" {
			*f.read = f.had
		}
	}
	return r
}

// number finds or makes the item that a group becomes, with its number given.
func (c *change) number(ctx context.Context, g intake.Group) (intake.Item, intake.Number, error) {
	var it intake.Item
	var err error
	n := g.Pending
	// Its tag or an earlier hand says which item this is: no number is made up for a
	// thing that the book has.
	if g.Item.ID != "" {
		it, err = itemByID(ctx, c.tx, g.Item.ID)
	} else if !n.IsZero() {
		var id intake.ID
		if id, err = idOf(ctx, c.tx, n.String()); err == nil {
			it, err = itemByID(ctx, c.tx, id)
		}
	} else {
		it, err = c.newItem(ctx, g.Haul.ID)
	}
	if err != nil {
		return it, n, err
	}
	if err := c.touch(ctx, "items", it.ID); err != nil {
		return it, n, err
	}
	if !n.IsZero() {
		if err := c.touch(ctx, "numbers", n.Year, n.Haul, n.Item, n.Part); err != nil {
			return it, n, err
		}
		return it, n, c.exec(ctx, "UPDATE numbers SET state = 'given' WHERE item_id = ?", it.ID)
	}
	if n, err = nextNumber(ctx, c.tx, g.Haul.Number); err != nil {
		return it, n, err
	}
	// What cannot be parsed back must never be printed: a haul holds 999999.
	if _, err := intake.ParseNumber(n.String()); err != nil {
		return it, n, fmt.Errorf("haul %s has no numbers left: %w", g.Haul.Number, intake.ErrConflict)
	}
	return it, n, c.give(ctx, n, it.ID)
}

// newItem makes a row that is only entered; giving it a number comes after.
func (c *change) newItem(ctx context.Context, haul intake.ID) (intake.Item, error) {
	it := intake.Item{ID: intake.NewID()}
	if err := c.touch(ctx, "items", it.ID); err != nil {
		return it, err
	}
	return it, c.exec(ctx, "INSERT INTO items (id, haul_id, state, entered_at) VALUES (?, ?, 'entered', ?)",
		it.ID, nullText(haul), stamp(c.at))
}

// link gives a group's photos to an item, and remembers them as what its number
// was read from.
func (c *change) link(ctx context.Context, item intake.ID, g intake.Group, plate intake.PhotoID) error {
	for _, p := range g.Photos {
		if err := c.touch(ctx, "item_photos", item, p.ID); err != nil {
			return err
		}
		// Guessed roles are not stored: a code found by a later look may improve them.
		role := intake.Role("")
		if p.ID == plate {
			role = intake.RolePlate
		}
		if err := c.exec(ctx, `
			INSERT INTO item_photos (item_id, photo_id, role) VALUES (?, ?, ?)
			ON CONFLICT (item_id, photo_id) DO UPDATE SET role = coalesce(excluded.role, role)`, item, p.ID, nullText(role)); err != nil {
			return err
		}
		// Not touched, so not recorded: undo must not forget where the number came from.
		if err := c.exec(ctx, "INSERT INTO read_from (item_id, photo_id) VALUES (?, ?) ON CONFLICT DO NOTHING", item, p.ID); err != nil {
			return err
		}
	}
	return nil
}

// tie ties a tag seen in a group to the group's item: a blank one that the book
// made, or one it never heard of, which it adopts. A tag that leads elsewhere
// stays where it is.
func (c *change) tie(ctx context.Context, code intake.Code, item intake.ID) error {
	if code == "" {
		return nil
	}
	row, err := codeAt(ctx, c.tx, code)
	if err == nil && row.successor != "" {
		row, err = lastOf(ctx, c.tx, row)
	}
	if errors.Is(err, intake.ErrNotFound) {
		if err := c.touch(ctx, "codes", code); err != nil {
			return err
		}
		return c.exec(ctx, "INSERT INTO codes (code, item_id, made_at) VALUES (?, ?, ?)", code, item, stamp(c.at))
	}
	if err != nil || row.item != "" || row.place != "" || row.divider {
		return err
	}
	if err := c.touch(ctx, "codes", row.code); err != nil {
		return err
	}
	return c.exec(ctx, "UPDATE codes SET item_id = ? WHERE code = ?", item, row.code)
}

// Attach gives a group's photos to an item that is in use already: late photos,
// or a second session. Its number, if it has one, stays.
func (b Bench) Attach(ctx context.Context, by intake.By, group string, item intake.ID) (intake.Item, error) {
	_, err := b.DB.write(ctx, by, actAttached, func(c *change) error {
		g, err := b.group(ctx, c.tx, group)
		if err != nil {
			return err
		}
		it, err := c.amendable(ctx, item)
		if err != nil {
			return err
		}
		// A tag in view outranks a click: one of the two is wrong, and a human must say
		// which, by cutting the tag's photo off or replacing the tag.
		if g.Item.ID != "" && g.Item.ID != item {
			return fmt.Errorf("the group's photos or tag belong to %s: %w", called(g.Item), intake.ErrConflict)
		}
		c.about("item", string(item), "photos attached to %s: %d", called(it), len(g.Photos))
		for _, p := range g.Photos {
			if err := c.touch(ctx, "item_photos", item, p.ID); err != nil {
				return err
			}
			if err := c.exec(ctx, "INSERT INTO item_photos (item_id, photo_id) VALUES (?, ?) ON CONFLICT DO NOTHING", item, p.ID); err != nil {
				return err
			}
		}
		return c.tie(ctx, g.Code, item)
	})
	if err != nil {
		return intake.Item{}, fmt.Errorf("attach photos: %w", err)
	}
	return b.DB.item(ctx, item)
}
