package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"haulbook/intake"
	"haulbook/intake/grouping"
)

// Bench is where groups of photos wait for a plate reading.
type Bench struct {
	DB *DB
	// Split computes the boundaries of one haul; nil is grouping.Split.
	Split func(shots []grouping.Shot) grouping.Result
}

// Groups returns the groups that wait for a plate reading, in shooting order,
// undated photos one by one at the end. haul "" means every open haul.
func (b Bench) Groups(ctx context.Context, haul intake.ID) (groups []intake.Group, err error) {
	err = b.DB.read(ctx, func(tx *sql.Tx) error {
		groups, err = b.over(ctx, tx, haul, false)
		return err
	})
	return groups, err
}

// Ribbon returns all groups in shooting order, with those that are numbered
// already: their Item is set. haul "" means every open haul.
func (b Bench) Ribbon(ctx context.Context, haul intake.ID) (groups []intake.Group, err error) {
	err = b.DB.read(ctx, func(tx *sql.Tx) error {
		groups, err = b.over(ctx, tx, haul, true)
		return err
	})
	return groups, err
}

// Group returns one waiting group. ErrConflict: its photos are grouped
// otherwise by now, or were read. ErrNotFound: the book has no such photo.
func (b Bench) Group(ctx context.Context, id string) (g intake.Group, err error) {
	err = b.DB.read(ctx, func(tx *sql.Tx) error {
		g, err = b.group(ctx, tx, id)
		return err
	})
	return g, err
}

// group finds a waiting group again from its id. The groups are computed anew
// and not remembered: an id is only worth something while it still names the same
// photos, and that is exactly what this checks.
func (b Bench) group(ctx context.Context, tx *sql.Tx, id string) (intake.Group, error) {
	first, version, err := intake.ParseGroupID(id)
	if err != nil {
		return intake.Group{}, err
	}
	// All ids that begin with these digits: g sorts behind every hex digit.
	photos, err := photosWhere(ctx, tx, "p.id >= ? AND p.id < ?", first, first+"g")
	if err != nil {
		return intake.Group{}, fmt.Errorf("read group %s: %w", id, err)
	}
	if len(photos) == 0 {
		return intake.Group{}, fmt.Errorf("group %s: %w", id, intake.ErrNotFound)
	}
	if photos[0].Haul == "" {
		return intake.Group{}, fmt.Errorf("group %s: its first photo was forgotten: %w", id, intake.ErrConflict)
	}
	haul, err := haulOf(ctx, tx, string(photos[0].Haul))
	if err != nil {
		return intake.Group{}, err
	}
	all, waiting, err := b.ribbon(ctx, tx, haul)
	if err != nil {
		return intake.Group{}, err
	}
	wanted := func(g intake.Group) bool { return g.ID() == first+"-"+version }
	if i := slices.IndexFunc(waiting, wanted); i >= 0 {
		return waiting[i], nil
	}
	if i := slices.IndexFunc(all, wanted); i >= 0 {
		return intake.Group{}, fmt.Errorf("group %s: its photos belong to %s by now: %w", id, called(all[i].Item), intake.ErrConflict)
	}
	return intake.Group{}, fmt.Errorf("group %s: its photos are grouped otherwise by now: %w", id, intake.ErrConflict)
}

// Cut says that a new thing begins with this photo.
func (b Bench) Cut(ctx context.Context, by intake.By, before intake.PhotoID) error {
	return b.say(ctx, by, actCut, before, true)
}

// Join says that this photo shows the same thing as the photo before it.
func (b Bench) Join(ctx context.Context, by intake.By, before intake.PhotoID) error {
	return b.say(ctx, by, actJoined, before, false)
}

// say stores what a human said about one boundary. Only this is kept of groups;
// the rest follows from it and from the photos, and so stays right when photos
// arrive late.
func (b Bench) say(ctx context.Context, by intake.By, act string, before intake.PhotoID, cut bool) error {
	_, err := b.DB.write(ctx, by, act, func(c *change) error {
		photo, err := livePhoto(ctx, c.tx, before)
		if err != nil {
			return err
		}
		if err := b.mayBound(ctx, c.tx, photo, cut); err != nil {
			return err
		}
		c.about("photo", before.String(), "%s before a photo", act)
		if err := c.touch(ctx, "cuts", before); err != nil {
			return err
		}
		return c.exec(ctx, "INSERT INTO cuts (photo_id, cut) VALUES (?, ?) ON CONFLICT (photo_id) DO UPDATE SET cut = excluded.cut", before, cut)
	})
	if err != nil {
		return fmt.Errorf("%s before photo %s: %w", act, before, err)
	}
	return nil
}

// mayBound refuses a boundary that could have no effect, because what a human
// confirmed by giving a number is never regrouped.
func (b Bench) mayBound(ctx context.Context, tx *sql.Tx, photo intake.Photo, cut bool) error {
	if photo.Taken().IsZero() {
		return fmt.Errorf("the photo has no capture time, so it has no neighbours: %w", intake.ErrInvalid)
	}
	haul, err := haulOf(ctx, tx, string(photo.Haul))
	if err != nil {
		return err
	}
	p, err := loadPile(ctx, tx, haul)
	if err != nil {
		return err
	}
	line := b.line(p)
	i := slices.IndexFunc(line, func(at place) bool { return at.photo.ID == photo.ID })
	switch {
	case i < 0:
		return fmt.Errorf("the photo is not on the bench: %w", intake.ErrInvalid)
	case line[i].owner != "":
		return fmt.Errorf("the photo belongs to %s: %w", called(p.items[line[i].owner]), intake.ErrConflict)
	case cut:
		return nil
	case i == 0:
		return fmt.Errorf("it is the first photo of its haul: %w", intake.ErrInvalid)
	case line[i].divider || line[i-1].divider:
		return fmt.Errorf("a divider stands there: %w", intake.ErrConflict)
	case line[i-1].owner != "":
		return fmt.Errorf("the photo before it belongs to %s: %w", called(p.items[line[i-1].owner]), intake.ErrConflict)
	}
	return nil
}

// Next returns the number that the next group read in a haul will get, "" being
// the newest open haul. It promises nothing: the number is given when the plate
// is read.
func (b Bench) Next(ctx context.Context, haul intake.ID) (n intake.Number, err error) {
	err = b.DB.read(ctx, func(tx *sql.Tx) error {
		var h intake.Haul
		if haul != "" {
			h, err = haulOf(ctx, tx, string(haul))
		} else {
			h, err = scanHaul(tx.QueryRowContext(ctx, haulColumns+"h.state = 'open'"+newestHaulFirst+" LIMIT 1"))
		}
		if errors.Is(err, sql.ErrNoRows) {
			return fmt.Errorf("open haul: %w", intake.ErrNotFound)
		} else if err != nil {
			return err
		}
		n, err = nextNumber(ctx, tx, h.Number)
		return err
	})
	return n, err
}

// nextNumber is one above the highest that was ever given in the haul, whatever
// became of it.
func nextNumber(ctx context.Context, q querier, haul intake.HaulNumber) (intake.Number, error) {
	n := intake.Number{Year: haul.Year, Haul: haul.Haul}
	err := q.QueryRowContext(ctx, "SELECT coalesce(max(item), 0) + 1 FROM numbers WHERE year = ? AND haul = ?", n.Year, n.Haul).Scan(&n.Item)
	if err != nil {
		return intake.Number{}, fmt.Errorf("find the next number: %w", err)
	}
	return n, nil
}
