package sqlite

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"haulbook/intake"
	"haulbook/metadata"
)

// photoColumns reads the camera beside the photo, because its make, model and
// serial stand once for all photos of a body.
const photoColumns = `
	SELECT p.id, p.name, p.format, p.size, p.received_at, p.haul_id, p.purpose, p.role, p.damage, p.width, p.height,
		p.orientation, p.exif_orientation, p.taken_raw, p.taken_subsec, p.taken_offset_raw, p.taken_tag, p.taken_wall,
		p.taken_offset, p.lens, p.latitude, p.longitude, p.look, p.forgotten_at IS NOT NULL, p.picture_hash, p.version_of,
		p.belongs_to, p.gps_at, p.content_id, p.taken_at, p.taken_local, p.zone, p.zone_from, p.taken_doubt, p.correction_id,
		p.taken_line, p.camera_id, k.name, k.make, k.model, k.serial
	FROM photos p LEFT JOIN cameras k ON k.id = p.camera_id WHERE `

// wallLayout keeps a camera's clock, which has no zone, with its sub-second as
// far as it was given.
const wallLayout = "2006-01-02T15:04:05.999999999"

// wallClock scans a camera's clock into time.UTC; NULL gives the zero time.
type wallClock struct{ into *time.Time }

// Scan implements sql.Scanner.
func (w wallClock) Scan(v any) error {
	switch v := v.(type) {
	case nil:
		*w.into = time.Time{}
		return nil
	case string:
		t, err := time.Parse(wallLayout, v)
		*w.into = t
		return err
	}
	return fmt.Errorf("clock is stored as %T", v)
}

// photoName scans a photo's id.
type photoName struct{ into *intake.PhotoID }

// Scan implements sql.Scanner.
func (n photoName) Scan(v any) error {
	s, ok := v.(string)
	if !ok {
		return errNoPhoto
	}
	id, err := intake.ParsePhotoID(s)
	*n.into = id
	return err
}

// optionalHash scans a hash in hex; NULL gives the zero one.
type optionalHash struct{ into *intake.PhotoID }

// Scan implements sql.Scanner.
func (h optionalHash) Scan(v any) error {
	if v == nil {
		*h.into = intake.PhotoID{}
		return nil
	}
	return photoName(h).Scan(v)
}

// unknownHash stores the zero hash as NULL.
func unknownHash(hash intake.PhotoID) sql.NullString {
	return sql.NullString{String: hash.String(), Valid: !hash.IsZero()}
}

// scanPhoto reads one row of photoColumns, without the codes seen.
func scanPhoto(row scanner) (p intake.Photo, err error) {
	// NULL means unknown for these, and 0 or nil says the same in Go.
	var width, height, exif sql.NullInt64
	var latitude, longitude sql.NullFloat64
	m, r := &p.Meta, &p.Resolved
	err = row.Scan(photoName{&p.ID}, &p.Name, &m.Format, &p.Size, moment{&p.Received}, text(&p.Haul), &p.Purpose, text(&p.Role),
		&m.Damage, &width, &height, &m.Orientation, &exif, &m.Taken.Raw, &m.Taken.RawSubSec, &m.Taken.RawOffset,
		&m.Taken.From, wallClock{&m.Taken.Wall}, &m.Taken.Offset, &m.Lens, &latitude, &longitude, &p.Look, &p.Gone,
		optionalHash{(*intake.PhotoID)(&p.Picture)}, optionalHash{&p.VersionOf},
		optionalHash{&p.BelongsTo}, moment{&m.GPSTime}, &m.ContentID, moment{&r.At}, wallClock{&r.Local}, &r.Zone, &r.ZoneFrom,
		&r.Doubt, text(&r.Correction), wallClock{&r.Line}, text(&p.CameraID),
		text(&p.Camera), text(&m.Make), text(&m.Model), text(&m.BodySerial))
	// Half a position is none.
	m.Width, m.Height, m.ExifOrientation = int(width.Int64), int(height.Int64), int(exif.Int64)
	if latitude.Valid && longitude.Valid {
		m.Position = &metadata.Position{Latitude: latitude.Float64, Longitude: longitude.Float64}
	}
	return p, err
}

// photosWhere returns photos with the codes seen in them, in two queries. The
// condition speaks of the photo as p and may end in ORDER BY.
func photosWhere(ctx context.Context, q querier, where string, args ...any) ([]intake.Photo, error) {
	photos, err := collect(ctx, q, scanPhoto, photoColumns+where, args...)
	if err != nil || len(photos) == 0 {
		return nil, err
	}
	// The codes are fetched apart: joined, they would repeat each photo's thirty
	// columns for every code in it.
	ids := make([]string, len(photos))
	at := map[intake.PhotoID]int{}
	for i, p := range photos {
		ids[i], at[p.ID] = p.ID.String(), i
	}
	type seen struct {
		photo intake.PhotoID
		code  intake.SeenCode
	}
	all, err := collect(ctx, q, func(row scanner) (s seen, err error) {
		err = row.Scan(photoName{&s.photo}, &s.code.Text, &s.code.Symbology, &s.code.Share, &s.code.X, &s.code.Y)
		return s, err
	}, `SELECT photo_id, text, symbology, share, x, y FROM seen_codes
		WHERE photo_id IN (SELECT value FROM json_each(?)) ORDER BY photo_id, ord`, listed(ids))
	if err != nil {
		return nil, err
	}
	for _, s := range all {
		p := &photos[at[s.photo]]
		p.Codes = append(p.Codes, s.code)
	}
	return photos, nil
}

// insertPhoto keeps the raw strings of the time beside what was made of them, so
// that a better rule can one day read them again without the original. When it
// was really taken is for retime to say.
func insertPhoto(ctx context.Context, tx *sql.Tx, p intake.Photo) error {
	m := p.Meta
	var latitude, longitude sql.NullFloat64
	if m.Position != nil {
		latitude = sql.NullFloat64{Float64: m.Position.Latitude, Valid: true}
		longitude = sql.NullFloat64{Float64: m.Position.Longitude, Valid: true}
	}
	_, err := tx.ExecContext(ctx, `
		INSERT INTO photos (id, name, format, size, received_at, haul_id, camera_id, purpose, role, damage, width, height,
			orientation, exif_orientation, taken_raw, taken_subsec, taken_offset_raw, taken_tag, taken_wall, taken_offset,
			gps_at, content_id, lens, latitude, longitude, picture_hash, version_of)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		p.ID.String(), p.Name, string(m.Format), p.Size, stamp(p.Received), string(p.Haul), nullText(p.CameraID), string(p.Purpose),
		nullText(p.Role), m.Damage, unknownIfZero(m.Width), unknownIfZero(m.Height), max(m.Orientation, 1),
		unknownIfZero(m.ExifOrientation), m.Taken.Raw, m.Taken.RawSubSec, m.Taken.RawOffset, m.Taken.From, wallText(m.Taken.Wall),
		m.Taken.Offset, optionalStamp(m.GPSTime), m.ContentID, m.Lens, latitude, longitude,
		unknownHash(p.Picture), unknownHash(p.VersionOf))
	return err
}

// unknownIfZero stores 0 as NULL: a picture without a width is not 0 wide.
func unknownIfZero(n int) sql.NullInt64 { return sql.NullInt64{Int64: int64(n), Valid: n != 0} }

// cameraOf finds or enters the camera body that took a photo, with its name; ""
// when the photo does not say. Bodies of one model get names that tell them apart.
func cameraOf(ctx context.Context, tx *sql.Tx, m metadata.Info) (id intake.ID, name string, err error) {
	if m.Make+m.Model+m.BodySerial == "" {
		return "", "", nil
	}
	err = tx.QueryRowContext(ctx, "SELECT id, name FROM cameras WHERE make = ? AND model = ? AND serial = ?",
		m.Make, m.Model, m.BodySerial).Scan(&id, &name)
	if !errors.Is(err, sql.ErrNoRows) {
		return id, name, err
	}
	// People know their cameras by model. The maker is mostly a part of it already.
	name = cmp.Or(m.Model, m.Make, "camera "+m.BodySerial)
	var same int
	if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM cameras WHERE make = ? AND model = ?", m.Make, m.Model).Scan(&same); err != nil {
		return "", "", err
	}
	if same > 0 {
		name = fmt.Sprintf("%s, body %d", name, same+1)
	}
	id = intake.NewID()
	_, err = tx.ExecContext(ctx, "INSERT INTO cameras (id, make, model, serial, name) VALUES (?, ?, ?, ?, ?)",
		string(id), m.Make, m.Model, m.BodySerial, name)
	return id, name, err
}
