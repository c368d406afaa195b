package sqlite

import (
	"context"
	"slices"

	"haulbook/intake"
)

// fillHauls leaves the haul's counts at zero: nobody reads them beside an item.
func fillHauls(ctx context.Context, q querier, items []intake.Item) error {
	var ids []intake.ID
	for _, it := range items {
		ids = append(ids, it.Haul.ID)
	}
	hauls, err := collect(ctx, q, scanHaul, uncountedHaul+"h.id IN (SELECT value FROM json_each(?))", listed(ids))
	for _, h := range hauls {
		// A page of items comes from few hauls, so the inner loop is short.
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

// fillIdentifiers keeps the order in which they were read from the thing. The first
// of kind serial is the one that the plate form shows and changes.
func fillIdentifiers(ctx context.Context, q querier, items []intake.Item) error {
	at := places(items)
	rows, err := collect(ctx, q, func(row scanner) (o owned[intake.Identifier], err error) {
		// Most identifiers were typed without pointing at a photo.
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
		// Every row belongs to an item of the list: the query asked for no others.
		it := &items[at[o.item]]
		it.Identifiers = append(it.Identifiers, o.row)
		if o.row.Kind == intake.KindSerial && it.Serial == "" {
			it.Serial = o.row.Text
		}
	}
	return err
}

// fillCodes returns replaced codes too: a record says which tags were lost.
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
// One query finds the links and one the photos, so that an item page and a list
// of a hundred cost the same number of questions.
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

// showLinked lets what was said about the photo itself win over what was said when
// it was linked, and both over the guess. The photo keeps only what a human said
// about it, so that the guess is not mistaken for that later.
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
