package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"

	"haulbook/intake"
	"haulbook/intake/timing"
)

// Hauls keeps what was acquired together.
type Hauls struct{ DB *DB }

const (
	haulFields = `
		SELECT h.id, h.year, h.seq, h.name, h.source, h.occasion, h.acquired, coalesce(h.price_minor, 0), h.price_currency,
			h.zone, h.notes, h.state = 'closed', h.opened_at, h.version, `
	haulColumns = haulFields + `
			(SELECT count(*) FROM photos p WHERE p.haul_id = h.id AND p.forgotten_at IS NULL),
			(SELECT count(*) FROM items i WHERE i.haul_id = h.id AND i.state = 'accessioned' AND i.parent_id IS NULL)
		FROM hauls h WHERE h.state <> 'void' AND `
	// uncountedHaul is for hauls that only stand beside something else: counting
	// a thousand photos for one item's page takes longer than all the rest of it.
	uncountedHaul = haulFields + "0, 0 FROM hauls h WHERE h.state <> 'void' AND "
)

// scanHaul reads one row of haulColumns or uncountedHaul.
func scanHaul(row scanner) (h intake.Haul, err error) {
	err = row.Scan(&h.ID, &h.Number.Year, &h.Number.Haul, &h.Name, &h.Source, &h.Occasion, &h.Acquired,
		&h.Price.Minor, text(&h.Price.Currency), &h.Zone, &h.Notes, &h.Closed, moment{&h.Opened}, &h.Version, &h.Photos, &h.Items)
	return h, err
}

// newestHaulFirst compares numbers as numbers: 2026.10 is newer than 2026.9.
const newestHaulFirst = " ORDER BY h.year DESC, h.seq DESC"

// Named returns the open haul of this name, whatever its case, spacing or
// accents' encoding, or a new one. Without a name it is the newest open haul, or
// a new one named after today.
func (h Hauls) Named(ctx context.Context, by intake.By, name string) (haul intake.Haul, err error) {
	var id intake.ID
	done, err := h.DB.write(ctx, by, actHaul, func(c *change) error {
		id, err = c.haulNamed(ctx, name)
		return err
	})
	if err != nil {
		return intake.Haul{}, fmt.Errorf("find haul %q: %w", name, err)
	}
	if id == "" {
		id = intake.ID(done.Subject.ID) // a repeat
	}
	return h.Haul(ctx, string(id))
}

// haulNamed is Named inside a change. A new haul lasts: its number is given.
func (c *change) haulNamed(ctx context.Context, name string) (intake.ID, error) {
	// A folder may be called anything; what cannot be kept is bent, not refused,
	// because its photos must come in.
	name, err := intake.CleanLine("haul", cut(strings.ToValidUTF8(name, "\uFFFD")))
	if err != nil {
		return "", err
	}
	open, err := collect(ctx, c.tx, scanHaul, uncountedHaul+"h.state = 'open'"+newestHaulFirst)
	if err != nil {
		return "", err
	}
	// The newest first, so two hauls of one name mean the later.
	for _, h := range open {
		if name == "" || foldName(h.Name) == foldName(name) {
			return h.ID, nil
		}
	}
	if name == "" {
		name = c.at.Format("2006-01-02")
	}
	// Void hauls count: their numbers were printed perhaps.
	var seq int
	if err := c.tx.QueryRowContext(ctx, "SELECT coalesce(max(seq), 0) + 1 FROM hauls WHERE year = ?", c.at.Year()).Scan(&seq); err != nil {
		return "", err
	}
	id := intake.NewID()
	if err := c.touch(ctx, "hauls", id); err != nil {
		return "", err
	}
	c.lasting = true
	c.about("haul", string(id), "haul %s opened: %s", intake.HaulNumber{Year: c.at.Year(), Haul: seq}, name)
	return id, c.exec(ctx, "INSERT INTO hauls (id, year, seq, name, opened_at) VALUES (?, ?, ?, ?, ?)",
		id, c.at.Year(), seq, name, stamp(c.at))
}

// foldName is the key under which names of hauls and words are the same.
func foldName(s string) string {
	return strings.Join(strings.Fields(cases.Fold().String(norm.NFKC.String(s))), " ")
}

// Haul returns the haul with this id or number, or ErrNotFound.
func (h Hauls) Haul(ctx context.Context, ref string) (haul intake.Haul, err error) {
	err = h.DB.read(ctx, func(tx *sql.Tx) error {
		if haul, err = haulOf(ctx, tx, ref); err != nil {
			return err
		}
		groups, err := Bench{DB: h.DB}.waiting(ctx, tx, haul.ID)
		haul.Waiting = len(groups)
		return err
	})
	return haul, err
}

// haulOf tells an id from a number by the number's dot, which no id has.
func haulOf(ctx context.Context, q querier, ref string) (intake.Haul, error) {
	ref = strings.TrimSpace(ref)
	where, args := "h.id = ?", []any{strings.ToLower(ref)}
	if n, err := intake.ParseHaulNumber(ref); err == nil {
		where, args = "h.year = ? AND h.seq = ?", []any{n.Year, n.Haul}
	}
	haul, err := scanHaul(q.QueryRowContext(ctx, haulColumns+where, args...))
	if errors.Is(err, sql.ErrNoRows) {
		return haul, fmt.Errorf("haul %.40q: %w", ref, intake.ErrNotFound)
	} else if err != nil {
		return haul, fmt.Errorf("read haul %.40q: %w", ref, err)
	}
	return haul, nil
}

// List returns all hauls, newest number first, with what the book counts in them.
func (h Hauls) List(ctx context.Context) (hauls []intake.Haul, err error) {
	err = h.DB.read(ctx, func(tx *sql.Tx) error {
		if hauls, err = collect(ctx, tx, scanHaul, haulColumns+"1"+newestHaulFirst); err != nil {
			return err
		}
		groups, err := Bench{DB: h.DB}.waiting(ctx, tx, "")
		waiting := map[intake.ID]int{}
		for _, g := range groups {
			waiting[g.Haul.ID]++
		}
		for i := range hauls {
			hauls[i].Waiting = waiting[hauls[i].ID]
		}
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("list hauls: %w", err)
	}
	return hauls, nil
}

// Amend replaces what a keeper may say of a haul: name, source, occasion,
// acquired, price, notes and closed. seen is the version the keeper saw; a stale
// one is ErrConflict.
func (h Hauls) Amend(ctx context.Context, by intake.By, id intake.ID, seen int, a intake.Haul) (intake.Haul, error) {
	a, err := cleanHaul(a)
	if err != nil {
		return intake.Haul{}, err
	}
	_, err = h.DB.write(ctx, by, actHaulEdit, func(c *change) error {
		haul, err := haulOf(ctx, c.tx, string(id))
		if err != nil {
			return err
		}
		// The whole form is written back, so a stale one would undo another's words.
		if haul.Version != seen {
			return fmt.Errorf("the haul was changed since you opened it: %w", intake.ErrConflict)
		}
		if err := c.touch(ctx, "hauls", id); err != nil {
			return err
		}
		c.about("haul", string(id), "haul %s amended: %s", haul.Number, a.Name)
		state := "open"
		if a.Closed {
			state = "closed"
		}
		return c.exec(ctx, `
			UPDATE hauls SET name = ?, source = ?, occasion = ?, acquired = ?, price_minor = ?, price_currency = ?,
				notes = ?, state = ? WHERE id = ?`,
			a.Name, a.Source, a.Occasion, a.Acquired, sql.NullInt64{Int64: a.Price.Minor, Valid: a.Price.Known()},
			nullText(a.Price.Currency), a.Notes, state, id)
	})
	if err != nil {
		return intake.Haul{}, fmt.Errorf("amend haul %s: %w", id, err)
	}
	return h.Haul(ctx, string(id))
}

// SetZone says where the haul's photos were taken, for those that do not say it
// themselves; "" leaves it to their cameras and the book. They are resolved anew.
func (h Hauls) SetZone(ctx context.Context, by intake.By, id intake.ID, zone string) (intake.Haul, error) {
	if err := timing.CheckZone(zone); err != nil {
		return intake.Haul{}, err
	}
	_, err := h.DB.write(ctx, by, actHaulEdit, func(c *change) error {
		haul, err := haulOf(ctx, c.tx, string(id))
		if err != nil {
			return err
		}
		if err := c.touch(ctx, "hauls", id); err != nil {
			return err
		}
		c.about("haul", string(id), "haul %s amended: zone %q", haul.Number, zone)
		if err := c.exec(ctx, "UPDATE hauls SET zone = ? WHERE id = ?", zone, id); err != nil {
			return err
		}
		return c.measureAgain(ctx, "m.photo_id IN (SELECT id FROM photos WHERE haul_id = ?)", id)
	})
	if err != nil {
		return intake.Haul{}, fmt.Errorf("set zone of haul %s: %w", id, err)
	}
	return h.Haul(ctx, string(id))
}

// cleanHaul refuses before anything is written, field by field, so that a form can
// show the problem where it was typed.
func cleanHaul(a intake.Haul) (intake.Haul, error) {
	var err error
	for _, f := range []struct {
		name string
		text *string
	}{{"name", &a.Name}, {"source", &a.Source}, {"occasion", &a.Occasion}, {"acquired", &a.Acquired}} {
		if *f.text, err = intake.CleanLine(f.name, *f.text); err != nil {
			return intake.Haul{}, err
		}
	}
	if a.Notes, err = intake.CleanText("notes", a.Notes); err != nil {
		return intake.Haul{}, err
	}
	if a.Name == "" {
		return intake.Haul{}, &intake.FieldError{Field: "name", Problem: "is empty, a haul needs a name"}
	}
	c := a.Price.Currency
	if c != "" && (len(c) != 3 || strings.Trim(c, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") != "") {
		return intake.Haul{}, &intake.FieldError{Field: "price", Problem: fmt.Sprintf("%.10q is no currency code of three letters, like EUR", c)}
	}
	return a, nil
}

// Items returns the haul's items in number order, entered ones without a number
// last, withdrawn ones not at all. Their photos are the first of each only.
func (h Hauls) Items(ctx context.Context, id intake.ID) (items []intake.Item, err error) {
	err = h.DB.read(ctx, func(tx *sql.Tx) error {
		items, err = itemsWhere(ctx, tx, "i.haul_id = ? AND i.parent_id IS NULL AND i.state <> 'withdrawn' ORDER BY n.year IS NULL, n.year, n.haul, n.item, i.id", string(id))
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read items of haul %s: %w", id, err)
	}
	return firstPhotosOnly(items), nil
}

// Photos returns the haul's photos in shooting order by the cameras' corrected clocks,
// whatever they were taken for, undated ones last.
func (h Hauls) Photos(ctx context.Context, id intake.ID) (photos []intake.Photo, err error) {
	err = h.DB.read(ctx, func(tx *sql.Tx) error {
		photos, err = photosWhere(ctx, tx, "p.haul_id = ? AND p.forgotten_at IS NULL", string(id))
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read photos of haul %s: %w", id, err)
	}
	slices.SortFunc(photos, intake.ComparePhotos)
	return photos, nil
}
