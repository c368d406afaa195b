package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"haulbook/intake"
	"haulbook/intake/timing"
)

// Cameras keeps the bodies that took the book's photos, and what is known of
// their clocks. Everything it changes is undone through History.
type Cameras struct{ DB *DB }

const cameraColumns = `
	SELECT k.id, k.name, k.make, k.model, k.serial, k.zone,
		(SELECT count(*) FROM photos p WHERE p.camera_id = k.id AND p.forgotten_at IS NULL), l.taken_wall, l.id
	FROM cameras k LEFT JOIN photos l ON l.id = (
		SELECT p.id FROM photos p WHERE p.camera_id = k.id AND p.forgotten_at IS NULL
		ORDER BY p.taken_wall DESC, p.id LIMIT 1)
	WHERE `

// scanCamera reads one row of cameraColumns.
func scanCamera(row scanner) (k intake.Camera, err error) {
	err = row.Scan(&k.ID, &k.Name, &k.Make, &k.Model, &k.Serial, &k.Zone, &k.Photos, wallClock{&k.Last}, optionalHash{&k.Sample})
	return k, err
}

const correctionColumns = `
	SELECT c.id, c.camera_id, c.from_wall, c.to_wall, c.shift_ms, coalesce(c.doubt_ms, -1), c.how, c.photo_id, c.made_at
	FROM clock_corrections c WHERE `

// scanCorrection reads one row of correctionColumns.
func scanCorrection(row scanner) (m intake.Correction, err error) {
	var shift, doubt int64
	err = row.Scan(&m.ID, &m.Camera, wallClock{&m.From}, wallClock{&m.To}, &shift, &doubt, &m.How, optionalHash{&m.Photo}, moment{&m.Made})
	m.Shift, m.Doubt = time.Duration(shift)*time.Millisecond, time.Duration(doubt)*time.Millisecond
	return m, err
}

// List returns all cameras, the one that was used last first, each with the
// correction that its last photo has.
func (k Cameras) List(ctx context.Context) (cameras []intake.Camera, err error) {
	err = k.DB.read(ctx, func(tx *sql.Tx) error {
		cameras, err = camerasWhere(ctx, tx, "1 ORDER BY l.taken_wall DESC, k.name, k.id")
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("list cameras: %w", err)
	}
	for i := range cameras {
		cameras[i].Corrections = nil
	}
	return cameras, nil
}

// Camera returns one camera with all corrections of it that stand, or
// ErrNotFound.
func (k Cameras) Camera(ctx context.Context, id intake.ID) (camera intake.Camera, err error) {
	err = k.DB.read(ctx, func(tx *sql.Tx) error {
		camera, err = cameraAt(ctx, tx, id)
		return err
	})
	return camera, err
}

// cameraAt is Camera inside a transaction that has begun.
func cameraAt(ctx context.Context, q querier, id intake.ID) (intake.Camera, error) {
	cameras, err := camerasWhere(ctx, q, "k.id = ?", id)
	if err != nil {
		return intake.Camera{}, fmt.Errorf("read camera %.40q: %w", id, err)
	}
	if len(cameras) == 0 {
		return intake.Camera{}, fmt.Errorf("camera %.40q: %w", id, intake.ErrNotFound)
	}
	return cameras[0], nil
}

// camerasWhere fills in the corrections of cameras. A workshop has a handful of
// bodies, so one question for each is cheap.
func camerasWhere(ctx context.Context, q querier, where string, args ...any) ([]intake.Camera, error) {
	cameras, err := collect(ctx, q, scanCamera, cameraColumns+where, args...)
	if err != nil {
		return nil, err
	}
	for i := range cameras {
		k := &cameras[i]
		k.Corrections, err = collect(ctx, q, scanCorrection, correctionColumns+"c.camera_id = ? AND NOT c.ended ORDER BY c.made_at, c.rowid", k.ID)
		if err != nil {
			return nil, err
		}
		spans, err := standing(ctx, q, k.ID)
		if err != nil {
			return nil, err
		}
		_, current := timing.At(spans, k.Last)
		for _, m := range k.Corrections {
			if m.ID == current {
				k.Clock = m
			}
		}
	}
	return cameras, nil
}

// Rename says what people call the camera.
func (k Cameras) Rename(ctx context.Context, by intake.By, id intake.ID, name string) (intake.Camera, error) {
	name, err := intake.CleanLine("name", name)
	if err != nil {
		return intake.Camera{}, err
	}
	if name == "" {
		return intake.Camera{}, &intake.FieldError{Field: "name", Problem: "is empty, a camera needs a name"}
	}
	return k.amend(ctx, by, id, "named "+name, func(c *change) error {
		return c.exec(ctx, "UPDATE cameras SET name = ? WHERE id = ?", name, id)
	})
}

// SetZone says in which zone the camera's clock runs, where its photos do not
// say; "" leaves it to the book. Its photos are resolved anew, and its photos of
// the clock page are measured anew.
func (k Cameras) SetZone(ctx context.Context, by intake.By, id intake.ID, zone string) (intake.Camera, error) {
	if err := timing.CheckZone(zone); err != nil {
		return intake.Camera{}, err
	}
	said := "runs in zone " + zone
	if zone == "" {
		said = "has no zone of its own"
	}
	return k.amend(ctx, by, id, said, func(c *change) error {
		if err := c.exec(ctx, "UPDATE cameras SET zone = ? WHERE id = ?", zone, id); err != nil {
			return err
		}
		return c.measureAgain(ctx, "m.camera_id = ?", id)
	})
}

// amend writes what people decide of a camera.
func (k Cameras) amend(ctx context.Context, by intake.By, id intake.ID, said string, write func(*change) error) (intake.Camera, error) {
	_, err := k.DB.write(ctx, by, actCamera, func(c *change) error {
		if _, err := cameraAt(ctx, c.tx, id); err != nil {
			return err
		}
		c.about("camera", string(id), "camera %s", said)
		if err := c.touch(ctx, "cameras", id); err != nil {
			return err
		}
		return write(c)
	})
	if err != nil {
		return intake.Camera{}, fmt.Errorf("amend camera: %w", err)
	}
	return k.Camera(ctx, id)
}

// longestShift is more than any clock is wrong by: one that lost its battery
// begins again in 1980 or 1970.
const longestShift = 200 * 365 * 24 * time.Hour

// Correct sets a camera's clock right in a stretch of its time: m.Camera, From,
// To, Shift, Doubt, How and Photo count, and an empty How is CorrectionTyped.
// Earlier corrections stand; of those that hold at one time, the one that begins
// last counts, and of equals the one that was made last.
func (k Cameras) Correct(ctx context.Context, by intake.By, m intake.Correction) (intake.Correction, error) {
	if m.How == "" {
		m.How = intake.CorrectionTyped
	}
	switch {
	case m.From.IsZero():
		return m, &intake.FieldError{Field: "from", Problem: "is missing: from when on is the clock wrong?"}
	case !m.To.IsZero() && !m.To.After(m.From):
		return m, &intake.FieldError{Field: "to", Problem: "is not after the beginning"}
	case !keepable(m.From) || !keepable(m.To):
		return m, &intake.FieldError{Field: "from", Problem: "is not in a year of four digits"}
	case m.Shift.Abs() > longestShift:
		return m, &intake.FieldError{Field: "shift", Problem: "is more than 200 years"}
	}
	m.ID, m.Shift = intake.NewID(), m.Shift.Round(time.Millisecond)
	if m.Doubt >= 0 {
		m.Doubt = m.Doubt.Round(time.Millisecond)
	}
	done, err := k.DB.write(ctx, by, actClock, func(c *change) error {
		camera, err := cameraAt(ctx, c.tx, m.Camera)
		if err != nil {
			return err
		}
		if !m.Photo.IsZero() {
			if _, err := livePhoto(ctx, c.tx, m.Photo); err != nil {
				return err
			}
		}
		c.about("camera", string(camera.ID), "a camera's clock corrected, %s", offBy(m))
		return c.insertCorrection(ctx, m)
	})
	if err != nil {
		return m, fmt.Errorf("correct clock: %w", err)
	}
	return k.made(ctx, m.Camera, m.ID, done)
}

// made returns the correction that a change made. For a repeat that is not the
// one that was just drawn up, but the newest of the camera that is like it.
func (k Cameras) made(ctx context.Context, camera, id intake.ID, done intake.Change) (m intake.Correction, err error) {
	err = k.DB.read(ctx, func(tx *sql.Tx) error {
		m, err = scanCorrection(tx.QueryRowContext(ctx, correctionColumns+`
			c.camera_id = ?1 AND (c.id = ?2 OR c.id IN (
				SELECT r.value -> 'key' ->> 'id' FROM history h JOIN json_each(h.rows) r WHERE h.seq = ?3 AND r.value ->> 'table' = 'clock_corrections'))
			ORDER BY c.id = ?2 DESC LIMIT 1`, string(camera), string(id), done.Seq))
		return err
	})
	if err != nil {
		return m, fmt.Errorf("read correction: %w", err)
	}
	return m, nil
}

// End takes a correction back, whoever made it and however long ago.
func (k Cameras) End(ctx context.Context, by intake.By, correction intake.ID) error {
	_, err := k.DB.write(ctx, by, actClockEnd, func(c *change) error {
		found, err := collect(ctx, c.tx, scanCorrection, correctionColumns+"c.id = ?", correction)
		if err != nil {
			return err
		}
		if len(found) == 0 {
			return fmt.Errorf("correction %.40q: %w", correction, intake.ErrNotFound)
		}
		c.about("camera", string(found[0].Camera), "correction of a camera's clock taken back")
		return c.endCorrection(ctx, correction)
	})
	if err != nil {
		return fmt.Errorf("take correction back: %w", err)
	}
	return nil
}

// insertCorrection writes a correction that history can end.
func (c *change) insertCorrection(ctx context.Context, m intake.Correction) error {
	if err := c.touch(ctx, "clock_corrections", m.ID); err != nil {
		return err
	}
	return c.exec(ctx, `
		INSERT INTO clock_corrections (id, camera_id, from_wall, to_wall, shift_ms, doubt_ms, how, photo_id, made_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		m.ID, m.Camera, wallText(m.From), wallText(m.To), m.Shift.Milliseconds(),
		sql.NullInt64{Int64: m.Doubt.Milliseconds(), Valid: m.Doubt >= 0}, m.How, unknownHash(m.Photo), stamp(c.at))
}

// endCorrection takes a correction out of force.
func (c *change) endCorrection(ctx context.Context, id intake.ID) error {
	if err := c.touch(ctx, "clock_corrections", id); err != nil {
		return err
	}
	return c.exec(ctx, "UPDATE clock_corrections SET ended = 1 WHERE id = ?", id)
}
