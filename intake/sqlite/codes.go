package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

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

func seenOnly(ctx context.Context, tx *sql.Tx, code intake.Code, t *Target) error {
	seen, err := texts(ctx, tx, "SELECT code FROM seen_codes WHERE code = ? LIMIT 1", code)
	if err == nil && len(seen) == 0 {
		err = fmt.Errorf("code %.20s: %w", code, intake.ErrNotFound)
	}
	*t = Target{Code: code, Blank: true}
	return err
}

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

func placePath(ctx context.Context, q querier, place string) (string, error) {
	return one[string](q.QueryRowContext(ctx, `
		WITH RECURSIVE path (id, text, depth) AS (
			SELECT parent_id, name, 1 FROM places WHERE id = ?
			UNION ALL SELECT p.parent_id, p.name || ' / ' || path.text, path.depth + 1
			FROM path JOIN places p ON p.id = path.id WHERE path.depth < 50)
		SELECT text FROM path ORDER BY depth DESC LIMIT 1`, place))
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
// read. The code may be one that the book made, or one that a photo shows.
func (d Codes) Enter(ctx context.Context, by intake.By, code intake.Code) (intake.Item, error) {
	done, err := d.DB.write(ctx, by, actEntered, func(c *change) error {
		var t Target
		row, err := codeAt(ctx, c.tx, code)
		if errors.Is(err, intake.ErrNotFound) {
			err = seenOnly(ctx, c.tx, code, &t)
		} else if err == nil && (row.item != "" || row.place != "" || row.divider || row.successor != "") {
			err = fmt.Errorf("the tag is in use already: %w", intake.ErrConflict)
		}
		if err != nil {
			return err
		}
		it, err := c.newItem(ctx, "")
		if err != nil {
			return err
		}
		c.about("item", string(it.ID), "item entered by its tag %s", code)
		return c.tie(ctx, code, it.ID)
	})
	if err != nil {
		return intake.Item{}, fmt.Errorf("enter tag %s: %w", code, err)
	}
	return d.DB.item(ctx, intake.ID(done.Subject.ID))
}

// untaggedItems are accessioned items whose tag now in use was never printed
// and is in no photo either: a tag that was photographed hangs on its thing.
const untaggedItems = `
	SELECT i.id FROM items i WHERE i.state = 'accessioned' AND NOT EXISTS (
		SELECT 1 FROM codes c WHERE c.item_id = i.id AND c.successor IS NULL AND (
			EXISTS (SELECT 1 FROM prints p WHERE p.code = c.code) OR EXISTS (SELECT 1 FROM seen_codes s WHERE s.code = c.code)))`

// Untagged returns the accessioned items, parts too, that have no printed tag,
// in number order.
func (d Codes) Untagged(ctx context.Context) (items []intake.Item, err error) {
	err = d.DB.read(ctx, func(tx *sql.Tx) error {
		items, err = itemsWhere(ctx, tx, "i.id IN ("+untaggedItems+") ORDER BY n.year, n.haul, n.item, n.part")
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("list items without a tag: %w", err)
	}
	return firstPhotosOnly(items), nil
}

// Printed notes that tags went to paper: which, on what stock, with which
// address. A reprint is noted again and keeps its code.
func (d Codes) Printed(ctx context.Context, by intake.By, prints []Print) error {
	if len(prints) == 0 {
		return nil
	}
	_, err := d.DB.write(ctx, by, actPrinted, func(c *change) error {
		c.lasting = true
		c.about("code", string(prints[0].Code), "tags printed on %s: %d", prints[0].Stock, len(prints))
		for _, p := range prints {
			if _, err := codeAt(ctx, c.tx, p.Code); err != nil {
				return err
			}
			if err := c.exec(ctx, "INSERT INTO prints (code, stock, address, printed_at, person) VALUES (?, ?, ?, ?, ?)",
				p.Code, p.Stock, p.Address, stamp(c.at), by.Person); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("note printed tags: %w", err)
	}
	return nil
}

// Addresses returns with which addresses the tags now in use were last printed,
// and how many tags carry each: what a change of address leaves behind.
func (d Codes) Addresses(ctx context.Context) (map[string]int, error) {
	counts := map[string]int{}
	_, err := collect(ctx, d.DB.reader, func(row scanner) (bool, error) {
		var address string
		var n int
		err := row.Scan(&address, &n)
		counts[address] = n
		return true, err
	}, `SELECT p.address, count(*) FROM prints p JOIN codes c ON c.code = p.code
		WHERE c.successor IS NULL AND p.id = (SELECT max(l.id) FROM prints l WHERE l.code = p.code) GROUP BY p.address`)
	if err != nil {
		return nil, fmt.Errorf("read printed addresses: %w", err)
	}
	return counts, nil
}

// deviceSeenEvery bounds how often a device's last use is written: every write
// tells open pages to look again, and their looking is use.
const deviceSeenEvery = 10 * time.Minute
