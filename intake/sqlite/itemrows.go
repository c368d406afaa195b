package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"slices"

	"haulbook/intake"
)

const itemColumns = `
	SELECT i.id, coalesce(n.year, 0), coalesce(n.haul, 0), coalesce(n.item, 0), coalesce(n.part, 0), i.state, i.haul_id,
		i.parent_id, i.name, i.maker, i.model, i.quantity, i.public, i.notes, i.entered_at, i.accessioned_at, i.version,
		coalesce(s.year, 0), coalesce(s.haul, 0), coalesce(s.item, 0), coalesce(s.part, 0)
	FROM items i
	LEFT JOIN numbers n ON n.item_id = i.id AND i.state <> 'entered'
	LEFT JOIN numbers s ON s.item_id = i.successor_id
	WHERE `

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

func idsOf(items []intake.Item) string {
	ids := make([]intake.ID, len(items))
	for i, it := range items {
		ids[i] = it.ID
	}
	return listed(ids)
}

func places(items []intake.Item) map[intake.ID]int {
	at := map[intake.ID]int{}
	for i, it := range items {
		at[it.ID] = i
	}
	return at
}

func fillHauls(ctx context.Context, q querier, items []intake.Item) error {
	var ids []intake.ID
	for _, it := range items {
		ids = append(ids, it.Haul.ID)
	}
	hauls, err := collect(ctx, q, scanHaul, uncountedHaul+"h.id IN (SELECT value FROM json_each(?))", listed(ids))
	for _, h := range hauls {
		for i := range items {
			if items[i].Haul.ID == h.ID {
				items[i].Haul = h
			}
		}
	}
	return err
}

// owned is a row that hangs on an item.
type owned[T any] struct {
	item intake.ID
	row  T
}

func fillIdentifiers(ctx context.Context, q querier, items []intake.Item) error {
	at := places(items)
	rows, err := collect(ctx, q, func(row scanner) (o owned[intake.Identifier], err error) {
		var photo string
		n := &o.row
		if err := row.Scan(&o.item, &n.ID, &n.Kind, &n.Text, &n.Where, text(&photo), &n.Doubt); err != nil || photo == "" {
			return o, err
		}
		n.Photo, err = intake.ParsePhotoID(photo)
		return o, err
	}, `SELECT item_id, id, kind, text, place_on, photo_id, doubt FROM identifiers
		WHERE item_id IN (SELECT value FROM json_each(?)) ORDER BY rowid`, idsOf(items))
	for _, o := range rows {
		it := &items[at[o.item]]
		it.Identifiers = append(it.Identifiers, o.row)
		if o.row.Kind == intake.KindSerial && it.Serial == "" {
			it.Serial = o.row.Text
		}
	}
	return err
}

func fillCodes(ctx context.Context, q querier, items []intake.Item) error {
	at := places(items)
	rows, err := collect(ctx, q, func(row scanner) (o owned[intake.TagCode], err error) {
		err = row.Scan(&o.item, &o.row.Code, text(&o.row.Successor), &o.row.Reason, moment{&o.row.Printed})
		return o, err
	}, `SELECT c.item_id, c.code, c.successor, c.reason, (SELECT max(p.printed_at) FROM prints p WHERE p.code = c.code)
		FROM codes c WHERE c.item_id IN (SELECT value FROM json_each(?)) ORDER BY c.made_at, c.code`, idsOf(items))
	for _, o := range rows {
		it := &items[at[o.item]]
		it.Codes = append(it.Codes, o.row)
	}
	return err
}

// fillPhotos puts each item's photos in shooting order and says what they show.
func fillPhotos(ctx context.Context, q querier, items []intake.Item) error {
	links, err := collect(ctx, q, func(row scanner) (o owned[link], err error) {
		err = row.Scan(&o.item, photoName{&o.row.photo}, text(&o.row.role))
		return o, err
	}, "SELECT item_id, photo_id, role FROM item_photos WHERE item_id IN (SELECT value FROM json_each(?))", idsOf(items))
	if err != nil {
		return err
	}
	byItem := map[intake.ID][]link{}
	var ids []string
	for _, o := range links {
		byItem[o.item] = append(byItem[o.item], o.row)
		ids = append(ids, o.row.photo.String())
	}
	photos, err := photosWhere(ctx, q, "p.id IN (SELECT value FROM json_each(?))", listed(ids))
	if err != nil {
		return err
	}
	at := map[intake.PhotoID]intake.Photo{}
	for _, p := range photos {
		at[p.ID] = p
	}
	for i := range items {
		items[i].Photos = showLinked(byItem[items[i].ID], at)
	}
	return nil
}

// link is one photo of an item, with the role it was given for that item.
type link struct {
	photo intake.PhotoID
	role  intake.Role
}

func showLinked(links []link, photos map[intake.PhotoID]intake.Photo) []intake.ShownPhoto {
	own := make([]intake.Photo, 0, len(links))
	for _, l := range links {
		p := photos[l.photo]
		if p.Role == "" {
			p.Role = l.role
		}
		own = append(own, p)
	}
	slices.SortFunc(own, intake.ComparePhotos)
	shown := intake.GuessRoles(own)
	for i := range shown {
		shown[i].Role = photos[shown[i].ID].Role
	}
	return shown
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

// fillPlaces writes out where each item stands: the path from the building down
// to where its last movement put it, or put the place that it is in.
func fillPlaces(ctx context.Context, q querier, items []intake.Item) error {
	at := places(items)
	rows, err := collect(ctx, q, func(row scanner) (o owned[string], err error) {
		err = row.Scan(&o.item, &o.row)
		return o, err
	}, `WITH RECURSIVE path (item_id, place_id, text, depth) AS (
			SELECT m.item_id, p.parent_id, p.name, 1 FROM movements m JOIN places p ON p.id = m.to_id
			WHERE m.item_id IN (SELECT value FROM json_each(?)) AND m.id = (
				SELECT l.id FROM movements l WHERE l.item_id = m.item_id AND NOT l.taken_back ORDER BY l.moved_at DESC, l.id DESC LIMIT 1)
			UNION ALL
			SELECT path.item_id, p.parent_id, p.name || ' / ' || path.text, path.depth + 1
			FROM path JOIN places p ON p.id = path.place_id WHERE path.depth < 50)
		SELECT item_id, text FROM path WHERE place_id IS NULL`, idsOf(items))
	for _, o := range rows {
		items[at[o.item]].Place = o.row
	}
	return err
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

func (db *DB) item(ctx context.Context, id intake.ID) (it intake.Item, err error) {
	err = db.read(ctx, func(tx *sql.Tx) error {
		it, err = itemByID(ctx, tx, id)
		return err
	})
	return it, err
}
