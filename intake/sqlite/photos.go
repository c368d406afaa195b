package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"haulbook/intake"
)

// Photos keeps what is known of photos and of the files they came from. It is
// an intake.Ledger.
type Photos struct{ DB *DB }

// Photo returns one photo, also a forgotten one (Gone is then set), or
// ErrNotFound.
func (p Photos) Photo(ctx context.Context, id intake.PhotoID) (photo intake.Photo, err error) {
	err = p.DB.read(ctx, func(tx *sql.Tx) error {
		photo, err = photoRow(ctx, tx, id)
		return err
	})
	return photo, err
}

// Pending returns the photos whose pixels nobody has looked at yet, oldest
// arrival first.
func (p Photos) Pending(ctx context.Context) (photos []intake.Photo, err error) {
	err = p.DB.read(ctx, func(tx *sql.Tx) error {
		photos, err = photosWhere(ctx, tx, "p.look = 'pending' AND p.forgotten_at IS NULL ORDER BY p.received_at, p.id")
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read photos to look at: %w", err)
	}
	return photos, nil
}

// Looked stores what a look at the pixels found, in place of what an earlier
// look found. A photo forgotten meanwhile stays forgotten. Where the plate was
// read before a slow format could be looked at, a tag found now still pairs
// itself with the item, if the item has none.
func (p Photos) Looked(ctx context.Context, id intake.PhotoID, look intake.Look, codes []intake.SeenCode) error {
	_, err := p.DB.write(ctx, intake.By{}, actTagSeen, func(c *change) error {
		photo, err := photoRow(ctx, c.tx, id)
		if err != nil || photo.Gone || photo.Look == look && slices.Equal(photo.Codes, codes) {
			return err // unchanged: nothing is written, so no page is told to look again
		}
		if err := storeLook(ctx, c.tx, id, look, codes); err != nil {
			return err
		}
		had := photo.Codes
		photo.Codes = codes
		c.readClock(photo, had)
		return c.pairLate(ctx, id)
	})
	if err != nil {
		return fmt.Errorf("look at photo %s: %w", id, err)
	}
	return nil
}

// pairLate ties the own tag of a photo to the item that the photo belongs to.
// An item that has a tag keeps it: two tags are for a human to sort out.
func (c *change) pairLate(ctx context.Context, id intake.PhotoID) error {
	owners, err := itemsWhere(ctx, c.tx, `
		i.state IN ('entered', 'accessioned') AND i.parent_id IS NULL AND i.id IN (SELECT item_id FROM item_photos WHERE photo_id = ?)
		AND NOT EXISTS (SELECT 1 FROM codes WHERE item_id = i.id)`, id.String())
	if err != nil || len(owners) != 1 {
		return err
	}
	own, err := texts(ctx, c.tx, "SELECT DISTINCT code FROM seen_codes WHERE photo_id = ? AND code IS NOT NULL", id)
	if err != nil || len(own) != 1 {
		return err
	}
	c.about("item", string(owners[0].ID), "tag %s seen in a photo of %s", own[0], called(owners[0]))
	return c.tie(ctx, intake.Code(own[0]), owners[0].ID)
}

// storeLook replaces all codes of the photo: two looks of different strength must
// not add up to a code seen twice. Own tags get a column of their own, because
// every page of the bench asks for them.
func storeLook(ctx context.Context, tx *sql.Tx, id intake.PhotoID, look intake.Look, codes []intake.SeenCode) error {
	if _, err := tx.ExecContext(ctx, "UPDATE photos SET look = ? WHERE id = ?", string(look), id.String()); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, "DELETE FROM seen_codes WHERE photo_id = ?", id.String()); err != nil {
		return err
	}
	for i, c := range codes {
		own, _ := c.Tag()
		if _, err := tx.ExecContext(ctx, `
			INSERT INTO seen_codes (photo_id, ord, text, symbology, code, share, x, y) VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
			id.String(), i, c.Text, c.Symbology, nullText(own), c.Share, c.X, c.Y); err != nil {
			return err
		}
	}
	return nil
}

// SetRole says what a photo shows, for every item it belongs to; "" leaves it to
// the guess again.
func (p Photos) SetRole(ctx context.Context, by intake.By, id intake.PhotoID, role intake.Role) error {
	if role != "" && !role.Valid() {
		return &intake.FieldError{Field: "role", Problem: fmt.Sprintf("%.40q is none of view, detail, plate, tag", role)}
	}
	said := fmt.Sprintf("photo shows %s", role)
	if role == "" {
		said = "photo's role left to the guess"
	}
	return p.set(ctx, by, actRole, id, said, "role", nullText(role))
}

// SetPurpose says what a photo was taken for.
func (p Photos) SetPurpose(ctx context.Context, by intake.By, id intake.PhotoID, purpose intake.Purpose) error {
	known := []intake.Purpose{intake.ForAccession, intake.ForPlacing, intake.ForClock, intake.Divider, intake.LeftOut}
	if !slices.Contains(known, purpose) {
		return &intake.FieldError{Field: "purpose", Problem: fmt.Sprintf("%.40q is none of accession, placing, clock, divider, left-out", purpose)}
	}
	return p.set(ctx, by, actPurpose, id, fmt.Sprintf("photo is for %s", purpose), "purpose", string(purpose))
}

// set writes one of the few columns of a photo that a human decides and that undo
// gives back.
func (p Photos) set(ctx context.Context, by intake.By, act string, id intake.PhotoID, said, column string, value any) error {
	_, err := p.DB.write(ctx, by, act, func(c *change) error {
		photo, err := livePhoto(ctx, c.tx, id)
		if err != nil {
			return err
		}
		c.about("photo", id.String(), "%s", said)
		if err := c.touch(ctx, "photos", id); err != nil {
			return err
		}
		if err := c.exec(ctx, "UPDATE photos SET "+column+" = ? WHERE id = ?", value, id); err != nil {
			return err
		}
		// Whether a photo counts for the clock is part of what was measured.
		if column != "purpose" || photo.Purpose != intake.ForClock && value != string(intake.ForClock) {
			return nil
		}
		return c.measureDay(ctx, photo.CameraID, id)
	})
	return err
}

// Stats counts what the book holds. Waiting is counted with the default split.
func (p Photos) Stats(ctx context.Context) (s Stats, err error) {
	err = p.DB.read(ctx, func(tx *sql.Tx) error {
		err := tx.QueryRowContext(ctx, `
			SELECT
				(SELECT count(*) FROM photos WHERE forgotten_at IS NULL),
				(SELECT count(*) FROM items WHERE state = 'accessioned' AND parent_id IS NULL),
				(SELECT count(*) FROM hauls WHERE state <> 'void'),
				(SELECT count(*) FROM photos WHERE taken_wall IS NULL AND NOT settled AND forgotten_at IS NULL AND purpose = 'accession'),
				(SELECT count(*) FROM arrivals WHERE outcome = 'unreadable'),
				(SELECT count(*) FROM photos WHERE look = 'pending' AND forgotten_at IS NULL),
				(SELECT count(*) FROM (`+untaggedItems+`))`,
		).Scan(&s.Photos, &s.Items, &s.Hauls, &s.Undated, &s.Unreadable, &s.Pending, &s.Untagged)
		if err != nil {
			return err
		}
		groups, err := Bench{DB: p.DB}.waiting(ctx, tx, "")
		s.Waiting = len(groups)
		return err
	})
	if err != nil {
		return Stats{}, fmt.Errorf("count the book: %w", err)
	}
	return s, nil
}

// livePhoto returns a photo that has not been forgotten.
func livePhoto(ctx context.Context, q querier, id intake.PhotoID) (intake.Photo, error) {
	photo, err := photoRow(ctx, q, id)
	if err == nil && photo.Gone {
		return photo, fmt.Errorf("photo %s was forgotten: %w", id, intake.ErrNotFound)
	}
	return photo, err
}

// photoRow returns a photo whether or not it was forgotten.
func photoRow(ctx context.Context, q querier, id intake.PhotoID) (intake.Photo, error) {
	photos, err := photosWhere(ctx, q, "p.id = ?", id.String())
	if err != nil {
		return intake.Photo{}, fmt.Errorf("read photo %s: %w", id, err)
	}
	if len(photos) == 0 {
		return intake.Photo{}, fmt.Errorf("photo %s: %w", id, intake.ErrNotFound)
	}
	return photos[0], nil
}

// errNoPhoto is a caller's mistake or a damaged row, never a user's.
var errNoPhoto = errors.New("no photo id")
