package sqlite

import (
	"cmp"
	"context"
	"errors"
	"fmt"

	"haulbook/intake"
)

// Codes keeps tag codes: what they lead to, and what was printed.
type Codes struct{ DB *DB }

// MaxBlank is how many blank tags can be made at once: more than a box of label
// paper holds.
const MaxBlank = 1000

// Blank makes n codes that lead to nothing yet, for tags printed in advance.
func (d Codes) Blank(ctx context.Context, by intake.By, n int) ([]intake.Code, error) {
	if n < 1 || n > MaxBlank {
		return nil, &intake.FieldError{Field: "blank", Problem: fmt.Sprintf("%d is not a number of tags between 1 and %d", n, MaxBlank)}
	}
	done, err := d.DB.write(ctx, by, actBlank, func(c *change) error {
		// They are about to be printed. Taking the codes back would leave paper that
		// leads nowhere.
		c.lasting = true
		for range n {
			code, err := c.newCode(ctx, "", "")
			if err != nil {
				return err
			}
			c.about("code", string(code), "blank tags made: %d", n)
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("make blank tags: %w", err)
	}
	// From history and not from memory: a repeat must return the same codes.
	codes, err := collect(ctx, d.DB.reader, one[intake.Code], `
		SELECT r.value -> 'key' ->> 'code' FROM history h, json_each(h.rows) r
		WHERE h.seq = ? AND r.value ->> 'table' = 'codes' ORDER BY r.key`, done.Seq)
	if err != nil {
		return nil, fmt.Errorf("read blank tags: %w", err)
	}
	return codes, nil
}

// newCode draws a code that the book has never made nor seen, tied to an item,
// a place, or nothing.
func (c *change) newCode(ctx context.Context, item intake.ID, place string) (intake.Code, error) {
	// Each draw meets an existing code with a chance of one in millions; if a
	// hundred do, the source of randomness is broken.
	for range 100 {
		code, err := intake.NewCode(c.db.Random)
		if err != nil {
			return "", err
		}
		var met bool
		if err := c.tx.QueryRowContext(ctx, `
			SELECT EXISTS (SELECT 1 FROM codes WHERE code = ?1) OR EXISTS (SELECT 1 FROM seen_codes WHERE code = ?1)`,
			string(code)).Scan(&met); err != nil {
			return "", err
		}
		if met {
			continue
		}
		if err := c.touch(ctx, "codes", code); err != nil {
			return "", err
		}
		return code, c.exec(ctx, "INSERT INTO codes (code, item_id, place_id, made_at) VALUES (?, ?, ?, ?)",
			code, nullText(item), nullText(place), stamp(c.at))
	}
	return "", errors.New("no code left to draw")
}

// For returns the code now in use for an item, and makes one when it has none.
func (d Codes) For(ctx context.Context, by intake.By, item intake.ID) (code intake.Code, err error) {
	_, err = d.DB.write(ctx, by, actTag, func(c *change) error {
		it, err := c.amendable(ctx, item)
		if err != nil {
			return err
		}
		if code = it.Code(); code != "" {
			return nil
		}
		c.lasting = true // it goes to paper next
		c.about("item", string(item), "tag made for %s", called(it))
		code, err = c.newCode(ctx, item, "")
		return err
	})
	// The change itself was not made again, so the item must tell.
	if err == nil && code == "" { // a repeat
		var it intake.Item
		it, err = d.DB.item(ctx, item)
		code = it.Code()
	}
	if err != nil {
		return "", fmt.Errorf("tag for item %s: %w", item, err)
	}
	return code, nil
}

// Replace makes a new tag for what an old one leads to, because the old one is
// lost or spoilt. The old code still resolves and says so.
func (d Codes) Replace(ctx context.Context, by intake.By, old intake.Code, why string) (intake.Code, error) {
	why, err := intake.CleanLine("why", why)
	if err != nil {
		return "", err
	}
	by.Why = why
	_, err = d.DB.write(ctx, by, actReplaced, func(c *change) error {
		row, err := codeAt(ctx, c.tx, old)
		if err != nil {
			return err
		}
		if row.successor != "" {
			return fmt.Errorf("it was replaced already: %w", intake.ErrConflict)
		}
		c.about("code", string(old), "tag replaced")
		if row.item != "" {
			// Lost tags are looked for on the page of the thing that lost them.
			c.about("item", string(row.item), "tag replaced: %s", old)
		}
		code, err := c.newCode(ctx, row.item, row.place)
		if err != nil {
			return err
		}
		if err := c.touch(ctx, "codes", old); err != nil {
			return err
		}
		return c.exec(ctx, "UPDATE codes SET successor = ?, reason = ? WHERE code = ?", code, why, old)
	})
	if err != nil {
		return "", fmt.Errorf("replace tag %s: %w", old, err)
	}
	row, err := codeAt(ctx, d.DB.reader, old)
	return row.successor, err
}

// Enter makes an item of a blank tag at its first use, before any plate is
// read. The code may be one that the book made, or one that a photo shows. A tag
// that has its item already answers with that item.
func (d Codes) Enter(ctx context.Context, by intake.By, code intake.Code) (intake.Item, error) {
	var id intake.ID
	done, err := d.DB.write(ctx, by, actEntered, func(c *change) error {
		row, err := codeAt(ctx, c.tx, code)
		switch {
		case errors.Is(err, intake.ErrNotFound):
			err = seenOnly(ctx, c.tx, code, &Target{})
		// Two phones that scan the same fresh tag mean the same thing.
		case err == nil && row.item != "":
			id = row.item
			return nil
		case err == nil && (row.place != "" || row.divider || row.successor != ""):
			err = fmt.Errorf("it is no blank tag: %w", intake.ErrConflict)
		}
		if err != nil {
			return err
		}
		// It counts to no haul yet: a tag says nothing of where a thing came from. Its
		// photos will.
		it, err := c.newItem(ctx, "")
		if err != nil {
			return err
		}
		id = it.ID
		c.about("item", string(it.ID), "item entered by its tag %s", code)
		return c.tie(ctx, code, it.ID)
	})
	if err != nil {
		return intake.Item{}, fmt.Errorf("enter tag %s: %w", code, err)
	}
	return d.DB.item(ctx, cmp.Or(id, intake.ID(done.Subject.ID)))
}
