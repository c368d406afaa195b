package sqlite

import (
	"context"
	"database/sql"
	"fmt"

	"haulbook/intake"
)

// Forget erases what the book knows of a photo: its name, everything the camera
// said, codes seen, where it came from and what it was linked to. The row keeps
// the hash, so that the same bytes stay out for good. It cannot be undone, and
// the caller erases the bytes. Copies of the book made earlier are not reached.
// Forgetting again is one change.
func (p Photos) Forget(ctx context.Context, by intake.By, id intake.PhotoID) error {
	_, err := p.DB.write(ctx, by, actForgotten, func(c *change) error {
		photo, err := photoRow(ctx, c.tx, id)
		if err != nil || photo.Gone {
			return err
		}
		c.lasting = true
		c.about("photo", id.String(), "photo forgotten")
		return c.erase(ctx, id)
	})
	if err != nil {
		return fmt.Errorf("forget photo %s: %w", id, err)
	}
	// Erased pages live on in the write-ahead log until it is folded into the
	// file and cut. Another process may hold it open; the next quiet moment or
	// the last Close does it then.
	if _, err := p.DB.writer.ExecContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)"); err != nil {
		return fmt.Errorf("forget photo %s: clear the log: %w", id, err)
	}
	return nil
}

// Forgotten returns the photos that were forgotten: id, format and nothing else.
// A process killed between Forget and the erasing of the bytes left those behind.
func (p Photos) Forgotten(ctx context.Context) (photos []intake.Photo, err error) {
	err = p.DB.read(ctx, func(tx *sql.Tx) error {
		photos, err = photosWhere(ctx, tx, "p.forgotten_at IS NOT NULL ORDER BY p.id")
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read forgotten photos: %w", err)
	}
	return photos, nil
}

// erase goes by columns and not by DELETE, because the row must stay to keep the
// same bytes out. The format stays too: it is part of the path of the original
// that the caller still has to erase, perhaps after a crash in between.
func (c *change) erase(ctx context.Context, id intake.PhotoID) error {
	var camera string
	if err := c.tx.QueryRowContext(ctx, "SELECT camera_id FROM photos WHERE id = ?", id.String()).Scan(text(&camera)); err != nil {
		return err
	}
	for _, statement := range []string{
		`UPDATE photos SET name = '', size = 0, haul_id = NULL, camera_id = NULL, purpose = 'left-out', role = NULL,
			damage = '', width = NULL, height = NULL, orientation = 1, exif_orientation = NULL, taken_raw = '',
			taken_subsec = '', taken_offset_raw = '', taken_tag = '', taken_wall = NULL, taken_offset = '', taken_at = NULL,
			zone = '', zone_from = '', lens = '', latitude = NULL, longitude = NULL, picture_hash = NULL, version_of = NULL,
			belongs_to = NULL, gps_at = NULL, content_id = '', taken_local = NULL, taken_line = NULL, taken_doubt = '',
			correction_id = NULL, look = 'done' WHERE id = ?`,
		"UPDATE photos SET version_of = NULL WHERE version_of = ?",
		"UPDATE photos SET belongs_to = NULL WHERE belongs_to = ?",
		"UPDATE identifiers SET photo_id = NULL WHERE photo_id = ?",
		"UPDATE clock_corrections SET photo_id = NULL WHERE photo_id = ?",
		"UPDATE movements SET photo_id = NULL WHERE photo_id = ?",
		"DELETE FROM seen_codes WHERE photo_id = ?",
		"DELETE FROM arrivals WHERE photo_id = ?",
		"DELETE FROM cuts WHERE photo_id = ?",
		"DELETE FROM item_photos WHERE photo_id = ?",
		"DELETE FROM haul_photos WHERE photo_id = ?",
		"DELETE FROM read_from WHERE photo_id = ?",
		"DELETE FROM stems WHERE photo_id = ?",
	} {
		if err := c.exec(ctx, statement, id); err != nil {
			return err
		}
	}
	if err := c.exec(ctx, "UPDATE photos SET forgotten_at = ? WHERE id = ?", stamp(c.at), id); err != nil {
		return err
	}
	// A body that took no other photo is known from this one alone, and so is its
	// clock.
	for _, statement := range []string{
		"DELETE FROM clock_corrections WHERE camera_id = ?1 AND NOT EXISTS (SELECT 1 FROM photos WHERE camera_id = ?1)",
		"DELETE FROM cameras WHERE id = ?1 AND NOT EXISTS (SELECT 1 FROM photos WHERE camera_id = ?1)",
	} {
		if err := c.exec(ctx, statement, camera); err != nil {
			return err
		}
	}
	return nil
}
