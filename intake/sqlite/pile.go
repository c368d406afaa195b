package sqlite

import (
	"context"
	"database/sql"
	"fmt"

	"haulbook/intake"
	"haulbook/intake/grouping"
)

// pile is everything of one haul that its groups are computed from.
type pile struct {
	haul   intake.Haul
	photos []intake.Photo // for accession, and dividers
	owner  map[intake.PhotoID]intake.ID
	said   map[intake.PhotoID]grouping.Cut
	codes  map[intake.Code]codeRow // codes seen in the photos, and their successors
	undone []undone                // in number order
	items  map[intake.ID]intake.Item
}

// codeRow is what the book knows of one code.
type codeRow struct {
	code      intake.Code
	item      intake.ID
	itemState intake.State
	place     string
	divider   bool
	successor intake.Code
	reason    string
}

// undone is a number that was taken back and waits for its photos.
type undone struct {
	number intake.Number
	item   intake.ID
	photos map[intake.PhotoID]bool
}

// loadPile reads a whole haul in a handful of queries, however many photos it
// has: groups cannot be computed from less, because the best split of a haul
// depends on all of its gaps.
func loadPile(ctx context.Context, tx *sql.Tx, haul intake.Haul) (*pile, error) {
	p := &pile{haul: haul, owner: map[intake.PhotoID]intake.ID{}, said: map[intake.PhotoID]grouping.Cut{}, codes: map[intake.Code]codeRow{}}
	var err error
	p.photos, err = photosWhere(ctx, tx, `
		p.haul_id = ? AND p.forgotten_at IS NULL AND p.purpose IN ('accession', 'divider')`, string(haul.ID))
	if err != nil {
		return nil, fmt.Errorf("read photos of haul %s: %w", haul.Number, err)
	}
	for _, load := range []func(context.Context, *sql.Tx) error{p.loadOwners, p.loadCuts, p.loadCodes, p.loadUndone, p.loadItems} {
		if err := load(ctx, tx); err != nil {
			return nil, fmt.Errorf("read groups of haul %s: %w", haul.Number, err)
		}
	}
	return p, nil
}

// loadOwners finds the item of each photo. Where a photo shows several, the
// whole comes before its parts, then the older item: groups need one answer.
func (p *pile) loadOwners(ctx context.Context, tx *sql.Tx) error {
	links, err := collect(ctx, tx, func(row scanner) (o owned[intake.PhotoID], err error) {
		err = row.Scan(&o.item, photoName{&o.row})
		return o, err
	}, `SELECT l.item_id, l.photo_id FROM photos p JOIN item_photos l ON l.photo_id = p.id JOIN items i ON i.id = l.item_id
		WHERE p.haul_id = ? AND i.state <> 'withdrawn'
		ORDER BY i.parent_id IS NOT NULL, i.entered_at, i.id`, p.haul.ID)
	for _, o := range links {
		// Only the first counts; the photo shows on the pages of the others all the same.
		if _, has := p.owner[o.row]; !has {
			p.owner[o.row] = o.item
		}
	}
	return err
}

// loadCuts reads what humans said about boundaries.
func (p *pile) loadCuts(ctx context.Context, tx *sql.Tx) error {
	_, err := collect(ctx, tx, func(row scanner) (bool, error) {
		var photo intake.PhotoID
		var cut bool
		err := row.Scan(photoName{&photo}, &cut)
		p.said[photo] = grouping.JoinHere
		if cut {
			p.said[photo] = grouping.CutHere
		}
		return cut, err
	}, "SELECT c.photo_id, c.cut FROM photos p JOIN cuts c ON c.photo_id = p.id WHERE p.haul_id = ?", p.haul.ID)
	return err
}

// codeColumns brings the state of the item along: a code that leads to a void item
// is tied all the same.
const codeColumns = `
	SELECT c.code, c.item_id, i.state, c.place_id, c.divider, c.successor, c.reason
	FROM codes c LEFT JOIN items i ON i.id = c.item_id WHERE `

// scanCode reads one row of codeColumns.
func scanCode(row scanner) (c codeRow, err error) {
	err = row.Scan(&c.code, text(&c.item), text(&c.itemState), text(&c.place), &c.divider, text(&c.successor), &c.reason)
	return c, err
}

// loadCodes follows successors in the same query, so that a photo of a lost tag is
// evidence of the thing that carries the new one.
func (p *pile) loadCodes(ctx context.Context, tx *sql.Tx) error {
	rows, err := collect(ctx, tx, scanCode, codeColumns+`c.code IN (
		WITH RECURSIVE led (code) AS (
			SELECT s.code FROM photos p JOIN seen_codes s ON s.photo_id = p.id WHERE p.haul_id = ? AND s.code IS NOT NULL
			UNION SELECT c.successor FROM led JOIN codes c ON c.code = led.code WHERE c.successor IS NOT NULL)
		SELECT code FROM led)`, p.haul.ID)
	for _, c := range rows {
		p.codes[c.code] = c
	}
	return err
}

// loadUndone finds withdrawn numbers by the photos they were read from, or that
// joined their items later.
func (p *pile) loadUndone(ctx context.Context, tx *sql.Tx) error {
	var at = map[intake.ID]int{}
	_, err := collect(ctx, tx, func(row scanner) (bool, error) {
		var u undone
		var photo intake.PhotoID
		if err := row.Scan(&u.item, &u.number.Year, &u.number.Haul, &u.number.Item, photoName{&photo}); err != nil {
			return false, err
		}
		if _, known := at[u.item]; !known {
			at[u.item], u.photos = len(p.undone), map[intake.PhotoID]bool{}
			p.undone = append(p.undone, u)
		}
		p.undone[at[u.item]].photos[photo] = true
		return true, nil
	}, `SELECT n.item_id, n.year, n.haul, n.item, p.id FROM photos p JOIN read_from r ON r.photo_id = p.id
			JOIN numbers n ON n.item_id = r.item_id WHERE p.haul_id = ?1 AND n.state = 'withdrawn' AND n.part = 0
		UNION SELECT n.item_id, n.year, n.haul, n.item, p.id FROM photos p JOIN item_photos l ON l.photo_id = p.id
			JOIN numbers n ON n.item_id = l.item_id WHERE p.haul_id = ?1 AND n.state = 'withdrawn' AND n.part = 0
		ORDER BY 2, 3, 4`, p.haul.ID)
	return err
}

// loadItems reads the items that groups may speak of, all at once.
func (p *pile) loadItems(ctx context.Context, tx *sql.Tx) error {
	// Groups show a name and a tag, not a record: the light row will do.
	wanted := map[intake.ID]bool{}
	for _, id := range p.owner {
		wanted[id] = true
	}
	for _, c := range p.codes {
		if c.item != "" {
			wanted[c.item] = true
		}
	}
	ids := make([]intake.ID, 0, len(wanted))
	for id := range wanted {
		ids = append(ids, id)
	}
	items, err := collect(ctx, tx, scanItem, itemColumns+"i.id IN (SELECT value FROM json_each(?))", listed(ids))
	if err != nil {
		return err
	}
	if err := fillCodes(ctx, tx, items); err != nil {
		return err
	}
	p.items = map[intake.ID]intake.Item{}
	for _, it := range items {
		p.items[it.ID] = it
	}
	return nil
}

// follow returns the row at the end of a code's successors, and false for a code
// that the book has never made. A chain cannot be longer than the codes known.
func (p *pile) follow(code intake.Code) (codeRow, bool) {
	row, known := p.codes[code]
	for range p.codes {
		next, ok := p.codes[row.successor]
		if !ok {
			break
		}
		row = next
	}
	return row, known
}

// tagIn returns the own tag that says most about what a photo shows: the
// largest that is neither a place's nor a divider's.
func (p *pile) tagIn(photo intake.Photo) (best intake.Code, share float64) {
	for _, seen := range photo.Codes {
		code, own := seen.Tag()
		if !own {
			continue
		}
		// A shelf's tag in the background is about the shelf.
		if row, _ := p.follow(code); row.place != "" || row.divider {
			continue
		}
		if best == "" || seen.Share > share {
			best, share = code, seen.Share
		}
	}
	return best, share
}

// divides reports whether the photo is a divider card's.
func (p *pile) divides(photo intake.Photo) bool {
	if photo.Purpose == intake.Divider {
		return true
	}
	for _, seen := range photo.Codes {
		if code, own := seen.Tag(); own && p.codes[code].divider {
			return true
		}
	}
	return false
}

// evidence is what grouping compares of a tag: two tags of one item, because
// the first was lost, are the same evidence.
func (p *pile) evidence(photo intake.Photo) string {
	code, _ := p.tagIn(photo)
	row, known := p.follow(code)
	switch {
	case !known:
		return string(code)
	case row.item != "":
		return string(row.item)
	}
	return string(row.code)
}
