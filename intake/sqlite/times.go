package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"haulbook/intake"
	"haulbook/intake/timing"
)

// timed is one photo with everything that decides when it was taken, and what
// was decided last.
type timed struct {
	id     intake.PhotoID
	camera intake.ID
	known  timing.Known
	stored intake.Resolved
}

const timedColumns = `
	SELECT p.id, p.camera_id, p.taken_wall, p.taken_offset, p.gps_at, coalesce(h.zone, ''), coalesce(k.zone, ''),
		p.taken_at, p.taken_local, p.zone, p.zone_from, p.taken_doubt, p.correction_id, p.taken_line
	FROM photos p LEFT JOIN hauls h ON h.id = p.haul_id LEFT JOIN cameras k ON k.id = p.camera_id
	WHERE p.taken_wall IS NOT NULL AND p.forgotten_at IS NULL AND `

// scanTimed reads one row of timedColumns.
func scanTimed(row scanner) (t timed, err error) {
	r := &t.stored
	err = row.Scan(photoName{&t.id}, text(&t.camera), wallClock{&t.known.Wall}, &t.known.Offset, moment{&t.known.GPS}, &t.known.Haul, &t.known.Camera,
		moment{&r.At}, wallClock{&r.Local}, &r.Zone, &r.ZoneFrom, &r.Doubt, text(&r.Correction), wallClock{&r.Line})
	return t, err
}

// retime works out anew when photos were taken, after something that decides it
// has changed. The condition speaks of the photo as p. Only what comes out
// otherwise is written. It is derived, so history does not hold it: whoever
// changes a zone or a correction, undo included, ends up here by follow.
func (c *change) retime(ctx context.Context, where string, args ...any) error {
	photos, err := collect(ctx, c.tx, scanTimed, timedColumns+where, args...)
	if err != nil {
		return fmt.Errorf("read times: %w", err)
	}
	spans := map[intake.ID][]timing.Span{"": nil}
	for _, p := range photos {
		if _, read := spans[p.camera]; !read {
			if spans[p.camera], err = standing(ctx, c.tx, p.camera); err != nil {
				return err
			}
		}
		r := p.resolve(spans[p.camera], c.db.zone)
		if r == p.stored {
			continue
		}
		err := c.exec(ctx, `
			UPDATE photos SET taken_at = ?, taken_local = ?, zone = ?, zone_from = ?, taken_doubt = ?, correction_id = ?, taken_line = ?
			WHERE id = ?`,
			optionalStamp(r.At), wallText(r.Local), r.Zone, r.ZoneFrom, r.Doubt, nullText(r.Correction), wallText(r.Line), p.id)
		if err != nil {
			return fmt.Errorf("write times: %w", err)
		}
	}
	return nil
}

// standing returns the corrections of a camera as package timing asks for them:
// in the order in which they were made.
func standing(ctx context.Context, q querier, camera intake.ID) ([]timing.Span, error) {
	made, err := collect(ctx, q, scanCorrection, correctionColumns+"c.camera_id = ? AND NOT c.ended ORDER BY c.made_at, c.rowid", camera)
	spans := make([]timing.Span, len(made))
	for i, m := range made {
		spans[i] = timing.Span{From: m.From, To: m.To, Shift: m.Shift, ID: m.ID}
	}
	return spans, err
}

// resolve says when the photo was taken and where it stands in the line.
func (t timed) resolve(spans []timing.Span, book string) intake.Resolved {
	var r intake.Resolved
	known := t.known
	known.Book = book
	known.Correction, r.Correction = timing.At(spans, known.Wall)
	found := timing.Resolve(known)
	r.At, r.Local, r.Zone, r.ZoneFrom, r.Doubt = found.At, found.Local, found.Zone, found.From, found.Doubt
	r.Line = r.Local
	// A clock that nobody compared is taken at its word: a camera that says it is in
	// London shows the time of the room as a rule. One that was compared is right
	// in its own zone, which need not be that of the others.
	if r.Correction != "" {
		if there, ok := wallIn(r.At, known.Haul, book); ok && keepable(there) {
			r.Line = there
		}
	}
	if !keepable(r.Local) {
		return t.resolve(nil, book)
	}
	if !r.At.IsZero() && !keepable(r.At) {
		r.At = time.Time{}
	}
	return r
}

// keepable reports whether a time has a year of four digits, as the book writes
// it. A camera may say it is 9999, and a correction may add to that.
func keepable(t time.Time) bool { return t.Year() >= 1 && t.Year() <= 9999 }

// wallIn is what a clock on the wall of the haul, or else of the book, showed.
func wallIn(at time.Time, zones ...string) (time.Time, bool) {
	for _, zone := range zones {
		if zone == "" || at.IsZero() || timing.CheckZone(zone) != nil {
			continue
		}
		loc, err := time.LoadLocation(zone)
		if fixed, not := time.Parse("-07:00", zone); not == nil {
			_, offset := fixed.Zone()
			loc, err = time.FixedZone(zone, offset), nil
		}
		if err == nil {
			_, offset := at.In(loc).Zone()
			return at.Add(time.Duration(offset) * time.Second), true
		}
	}
	return time.Time{}, false
}

// wallText stores a time without a zone; zero is NULL.
func wallText(t time.Time) sql.NullString {
	return sql.NullString{String: t.Format(wallLayout), Valid: !t.IsZero()}
}

// followZone notes the zone that the program was opened with. Where it is another
// than last time, all that rests on it is worked out anew.
func (db *DB) followZone(ctx context.Context) error {
	if err := timing.CheckZone(db.zone); err != nil {
		return err
	}
	var last string
	if err := db.reader.QueryRowContext(ctx, "SELECT zone FROM book").Scan(&last); err != nil || last == db.zone {
		return err
	}
	_, err := db.write(ctx, intake.By{Person: "haulbook", Device: "settings"}, actZone, func(c *change) error {
		if err := c.exec(ctx, "UPDATE book SET zone = ?", db.zone); err != nil {
			return err
		}
		c.about("book", "zone", "the book's zone is %q", db.zone)
		if err := c.measureAgain(ctx, "1"); err != nil {
			return err
		}
		return c.retime(ctx, "1")
	})
	return err
}

// followTimes resolves anew the photos that a changed row has to do with.
func (c *change) followTimes(ctx context.Context, row *rowChange) error {
	switch {
	case row.Table == "hauls" && row.Before["zone"] != row.After["zone"]:
		return c.retime(ctx, "p.haul_id = ?", row.Key["id"])
	case row.Table == "cameras" && row.Before["zone"] != row.After["zone"]:
		return c.retime(ctx, "p.camera_id = ?", row.Key["id"])
	case row.Table == "photos" && row.Before["haul_id"] != row.After["haul_id"]:
		return c.retime(ctx, "p.id = ?", row.Key["id"])
	case row.Table == "clock_corrections":
		var camera string
		err := c.tx.QueryRowContext(ctx, "SELECT camera_id FROM clock_corrections WHERE id = ?", row.Key["id"]).Scan(&camera)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		} else if err != nil {
			return fmt.Errorf("read correction: %w", err)
		}
		return c.retime(ctx, "p.camera_id = ?", camera)
	}
	return nil
}
