package sqlite

import "context"

// follow brings along what hangs on the changed rows: versions of records that
// somebody may have open in a form, and search words of items.
func (c *change) follow(ctx context.Context, changed []*rowChange) error {
	counted, worded := map[string]bool{}, map[string]bool{}
	for _, row := range changed {
		if err := c.followTimes(ctx, row); err != nil {
			return err
		}
		for _, id := range row.items() {
			worded[id] = true
			// A tag printed or a photo arriving while somebody types is no reason to refuse
			// what was typed: the form shows neither.
			counted[id] = counted[id] || row.Table != "codes" && row.Table != "item_photos"
		}
		// A haul is part of the words of everything in it, but a new name for it must
		// not make every open form of an item stale.
		if row.Table == "hauls" {
			if row.Before != nil {
				if err := c.exec(ctx, "UPDATE hauls SET version = version + 1 WHERE id = ?", row.Key["id"]); err != nil {
					return err
				}
			}
			ids, err := texts(ctx, c.tx, "SELECT id FROM items WHERE haul_id = ?", row.Key["id"])
			if err != nil {
				return err
			}
			for _, id := range ids {
				worded[id] = true
			}
		}
	}
	for id := range worded {
		// A new item begins at 1, whatever else its making wrote.
		if counted[id] && !c.made(id) {
			if err := c.exec(ctx, "UPDATE items SET version = version + 1 WHERE id = ?", id); err != nil {
				return err
			}
		}
		if err := wordItem(ctx, c.tx, id); err != nil {
			return err
		}
	}
	return nil
}

// made reports whether this very change inserted the item.
func (c *change) made(id string) bool {
	for _, row := range c.rows {
		if row.Table == "items" && row.Key["id"] == id {
			return row.Before == nil
		}
	}
	return false
}

// items returns the ids of the items that the row belongs to, before and after.
func (row *rowChange) items() []string {
	var ids []string
	// A row that moves from one item to another is a change of both.
	candidates := []any{row.Before["item_id"], row.After["item_id"], row.Key["item_id"]}
	if row.Table == "items" {
		candidates = []any{row.Key["id"]}
	}
	for _, v := range candidates {
		if id, ok := v.(string); ok {
			ids = append(ids, id)
		}
	}
	return ids
}
