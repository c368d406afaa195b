package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"slices"

	"haulbook/intake"
)

// itemColumns hides the number of an item that is only entered: after an undo the
// row waits for it, but the item has no number to show.
const itemColumns = `
	SELECT i.id, coalesce(n.year, 0), coalesce(n.haul, 0), coalesce(n.item, 0), coalesce(n.part, 0), i.state, i.haul_id,
		i.parent_id, i.name, i.maker, i.model, i.quantity, i.public, i.notes, i.entered_at, i.accessioned_at, i.version,
		coalesce(s.year, 0), coalesce(s.haul, 0), coalesce(s.item, 0), coalesce(s.part, 0)
	FROM items i
	LEFT JOIN numbers n ON n.item_id = i.id AND i.state <> 'entered'
	LEFT JOIN numbers s ON s.item_id = i.successor_id
	WHERE `

// scanItem reads one row of itemColumns, without what hangs on the item.
func scanItem(row scanner) (it intake.Item, err error) {
	n, s := &it.Number, &it.Successor
	err = row.Scan(&it.ID, &n.Year, &n.Haul, &n.Item, &n.Part, &it.State, text(&it.Haul.ID), text(&it.Parent), &it.Name,
		&it.Maker, &it.Model, &it.Quantity, &it.Public, &it.Notes, moment{&it.Entered}, moment{&it.Accessioned},
		&it.Version, &s.Year, &s.Haul, &s.Item, &s.Part)
	return it, err
}

// itemsWhere returns items filled with all that hangs on them, in one query a
// kind whatever their number. The condition speaks of the item as i and of its
// number as n, and may end in ORDER BY.
func itemsWhere(ctx context.Context, q querier, where string, args ...any) ([]intake.Item, error) {
	items, err := collect(ctx, q, scanItem, itemColumns+where, args...)
	if err != nil || len(items) == 0 {
		return nil, err
	}
	parts, err := collect(ctx, q, scanItem, itemColumns+`
		i.parent_id IN (SELECT value FROM json_each(?)) AND i.state <> 'withdrawn' ORDER BY n.part, i.id`, idsOf(items))
	if err != nil {
		return nil, err
	}
	// Parts are filled in the same questions as their wholes.
	both := append(slices.Clone(items), parts...)
	for _, fill := range []func(context.Context, querier, []intake.Item) error{
		fillHauls, fillIdentifiers, fillCodes, fillPhotos, fillPlaces,
	} {
		if err := fill(ctx, q, both); err != nil {
			return nil, fmt.Errorf("fill items: %w", err)
		}
	}
	copy(items, both)
	at := places(items)
	for _, part := range both[len(items):] {
		whole := &items[at[part.Parent]]
		whole.Parts = append(whole.Parts, part)
	}
	return items, nil
}

// idsOf lists the items' ids as one argument.
func idsOf(items []intake.Item) string {
	ids := make([]intake.ID, len(items))
	for i, it := range items {
		ids[i] = it.ID
	}
	return listed(ids)
}

// places tells where each item stands in the slice, to fill it from a joined query.
func places(items []intake.Item) map[intake.ID]int {
	at := map[intake.ID]int{}
	for i, it := range items {
		at[it.ID] = i
	}
	return at
}

// firstPhotosOnly makes rows light enough for lists: one photo each, a view
// where there is one.
func firstPhotosOnly(items []intake.Item) []intake.Item {
	for i := range items {
		photos := items[i].Photos
		view := slices.IndexFunc(photos, func(p intake.ShownPhoto) bool { return p.As == intake.RoleView })
		if len(photos) > 1 {
			view = max(view, 0)
			items[i].Photos = photos[view : view+1 : view+1]
		}
	}
	return items
}

// itemByID returns one item whatever its state, or ErrNotFound.
func itemByID(ctx context.Context, q querier, id intake.ID) (intake.Item, error) {
	items, err := itemsWhere(ctx, q, "i.id = ?", string(id))
	if err != nil {
		return intake.Item{}, fmt.Errorf("read item %s: %w", id, err)
	}
	if len(items) == 0 {
		return intake.Item{}, fmt.Errorf("item %.40q: %w", id, intake.ErrNotFound)
	}
	return items[0], nil
}

// item reads an item back after a change, in a transaction of its own: what the
// caller is told is what every other reader sees.
func (db *DB) item(ctx context.Context, id intake.ID) (it intake.Item, err error) {
	err = db.read(ctx, func(tx *sql.Tx) error {
		it, err = itemByID(ctx, tx, id)
		return err
	})
	return it, err
}
