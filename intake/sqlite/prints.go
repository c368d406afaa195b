package sqlite

import (
	"context"
	"database/sql"
	"fmt"

	"haulbook/intake"
)

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
			// A foreign key would refuse it too, but not say which.
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

// Unused returns the blank codes that no photo shows yet, oldest first: tags
// still on their sheet.
func (d Codes) Unused(ctx context.Context) ([]intake.Code, error) {
	codes, err := collect(ctx, d.DB.reader, one[intake.Code], `
		SELECT code FROM codes c WHERE item_id IS NULL AND place_id IS NULL AND NOT divider AND successor IS NULL
			AND NOT EXISTS (SELECT 1 FROM seen_codes s WHERE s.code = c.code) ORDER BY made_at, code`)
	if err != nil {
		return nil, fmt.Errorf("list blank tags: %w", err)
	}
	return codes, nil
}
