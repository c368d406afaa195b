package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"haulbook/intake"
)

// Devices keeps the browsers that may change the book.
type Devices struct{ DB *DB }

// deviceColumns leaves the secret out: nothing outside this file needs it.
const deviceColumns = `SELECT id, name, person, kind, paired_at, seen_at, expires_at, revoked_at FROM devices WHERE `

// scanDevice reads one row of deviceColumns.
func scanDevice(row scanner) (d Device, err error) {
	err = row.Scan(&d.ID, &d.Name, &d.Person, &d.Kind, moment{&d.Paired}, moment{&d.Seen}, moment{&d.Expires}, moment{&d.Revoked})
	return d, err
}

// deviceSeenEvery bounds how often a device's last use is written: every write
// tells open pages to look again, and their looking is use.
const deviceSeenEvery = 10 * time.Minute

// Add pairs a device. secretHash is the SHA-256 of its cookie in hex, never the
// cookie; it enters no history. The zero expires means never. A secret that is
// in use already is ErrConflict.
func (d Devices) Add(ctx context.Context, by intake.By, name, person, kind, secretHash string, expires time.Time) (Device, error) {
	name, err := intake.CleanLine("name", name)
	if err != nil {
		return Device{}, err
	}
	if person, err = intake.CleanLine("person", person); err != nil {
		return Device{}, err
	}
	switch {
	case kind != intake.KindKeeper && kind != intake.KindHelper:
		return Device{}, &intake.FieldError{Field: "kind", Problem: fmt.Sprintf("%.40q is neither keeper nor helper", kind)}
	case len(secretHash) < 32:
		return Device{}, &intake.FieldError{Field: "secret", Problem: "is no hash"}
	}
	done, err := d.DB.write(ctx, by, actPaired, func(c *change) error {
		id := intake.NewID()
		c.lasting = true
		c.about("device", string(id), "device paired: %s (%s)", name, kind)
		err := c.exec(ctx, "INSERT INTO devices (id, name, person, kind, secret, paired_at, expires_at) VALUES (?, ?, ?, ?, ?, ?, ?)",
			id, name, person, kind, secretHash, stamp(c.at), optionalStamp(expires))
		if taken(err) {
			return fmt.Errorf("its secret is in use already: %w", intake.ErrConflict)
		}
		return err
	})
	if err != nil {
		return Device{}, fmt.Errorf("pair device: %w", err)
	}
	return d.where(ctx, "id = ?", done.Subject.ID)
}

// BySecret returns the device whose cookie has this hash, as long as it is
// neither revoked nor expired; ErrNotFound otherwise.
func (d Devices) BySecret(ctx context.Context, hash string) (Device, error) {
	return d.where(ctx, "secret = ? AND revoked_at IS NULL AND (expires_at IS NULL OR expires_at > ?)", hash, stamp(d.DB.Now()))
}

// where returns the one device that fits, or ErrNotFound. It says nothing of why
// a device does not fit: a stranger should not learn that a secret once worked.
func (d Devices) where(ctx context.Context, where string, args ...any) (Device, error) {
	device, err := scanDevice(d.DB.reader.QueryRowContext(ctx, deviceColumns+where, args...))
	if errors.Is(err, sql.ErrNoRows) {
		return Device{}, fmt.Errorf("device: %w", intake.ErrNotFound)
	} else if err != nil {
		return Device{}, fmt.Errorf("read device: %w", err)
	}
	return device, nil
}

// Seen notes that a device was used, to the nearest ten minutes. It is no
// change: history does not hear of it.
func (d Devices) Seen(ctx context.Context, id intake.ID) error {
	device, err := d.where(ctx, "id = ?", string(id))
	if err != nil {
		return err
	}
	now := d.DB.Now()
	if now.Sub(device.Seen) < deviceSeenEvery {
		return nil
	}
	if _, err := d.DB.writer.ExecContext(ctx, "UPDATE devices SET seen_at = ? WHERE id = ?", stamp(now), string(id)); err != nil {
		return fmt.Errorf("note device %s: %w", id, err)
	}
	return nil
}

// List returns all devices, also revoked and expired ones, newest pairing first.
func (d Devices) List(ctx context.Context) ([]Device, error) {
	devices, err := collect(ctx, d.DB.reader, scanDevice, deviceColumns+"1 ORDER BY paired_at DESC, id")
	if err != nil {
		return nil, fmt.Errorf("list devices: %w", err)
	}
	return devices, nil
}

// Revoke ends a device's permission for good; pairing again makes a new one.
func (d Devices) Revoke(ctx context.Context, by intake.By, id intake.ID) error {
	_, err := d.DB.write(ctx, by, actRevoked, func(c *change) error {
		device, err := scanDevice(c.tx.QueryRowContext(ctx, deviceColumns+"id = ?", string(id)))
		if errors.Is(err, sql.ErrNoRows) {
			return intake.ErrNotFound
		} else if err != nil || !device.Revoked.IsZero() {
			return err
		}
		c.lasting = true
		c.about("device", string(id), "device revoked: %s", device.Name)
		return c.exec(ctx, "UPDATE devices SET revoked_at = ? WHERE id = ?", stamp(c.at), id)
	})
	if err != nil {
		return fmt.Errorf("revoke device %s: %w", id, err)
	}
	return nil
}
