package sqlite

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"haulbook/intake"
	"haulbook/intake/timing"
)

// sighting is one photo of the clock page.
type sighting struct {
	photo   intake.PhotoID
	seen    timing.Sighting
	measure bool // its purpose is the clock; otherwise somebody said that it is none
}

// clockIn returns the time that a photo of the clock page shows.
func clockIn(codes []intake.SeenCode) (time.Time, bool) {
	for _, code := range codes {
		if code.Symbology == intake.SymbologyQR {
			if at, ok := timing.ReadClock(code.Text); ok {
				return at, true
			}
		}
	}
	return time.Time{}, false
}

// readClock makes a photo in which the clock page was just seen a photo for the
// clock, and sets its camera's clock right for that day: one change, which the
// person who took it can take back. had are the codes that the photo was known
// to show before: what was taken back is not done again.
func (c *change) readClock(photo intake.Photo, had []intake.SeenCode) {
	_, now := clockIn(photo.Codes)
	_, before := clockIn(had)
	mine := photo.Purpose == intake.ForAccession || photo.Purpose == intake.ForClock
	if !now || before || !mine || !photo.VersionOf.IsZero() || !photo.BelongsTo.IsZero() {
		return
	}
	c.nextAct = actClockRead
	c.next = func(ctx context.Context, then *change) error {
		then.about("photo", photo.ID.String(), "clock page seen, but its photo does not say which camera took it, or when")
		if photo.CameraID != "" && !photo.Taken().IsZero() {
			// No name: it is what photos say, and history must not.
			then.about("camera", string(photo.CameraID), "a camera's clock read from a photo of the clock page")
		}
		if err := then.touch(ctx, "photos", photo.ID); err != nil {
			return err
		}
		if err := then.exec(ctx, "UPDATE photos SET purpose = 'clock' WHERE id = ?", photo.ID); err != nil {
			return err
		}
		return then.measureDay(ctx, photo.CameraID, photo.ID)
	}
}

// measureAgain measures the clocks of corrections that came from the clock page,
// after a zone has changed. The condition speaks of the correction as m.
func (c *change) measureAgain(ctx context.Context, where string, args ...any) error {
	type day struct {
		camera intake.ID
		photo  intake.PhotoID
	}
	days, err := collect(ctx, c.tx, func(row scanner) (d day, err error) {
		err = row.Scan(&d.camera, photoName{&d.photo})
		return d, err
	}, `SELECT m.camera_id, m.photo_id FROM clock_corrections m JOIN photos p ON p.id = m.photo_id
		WHERE NOT m.ended AND m.how LIKE 'clock page%' AND p.forgotten_at IS NULL AND `+where+" ORDER BY m.made_at, m.rowid", args...)
	for _, d := range days {
		if err == nil {
			err = c.measureDay(ctx, d.camera, d.photo)
		}
	}
	return err
}

// measureDay works out what a camera's clock was wrong by on the day of one of
// its photos of the clock page, from all of them, and puts that in place of what
// the page said before. What people typed is left alone.
func (c *change) measureDay(ctx context.Context, camera intake.ID, photo intake.PhotoID) error {
	if camera == "" {
		return nil
	}
	day, err := c.sightingsOfDay(ctx, camera, photo)
	if err != nil {
		return err
	}
	had, err := c.measured(ctx, camera, day)
	if err != nil {
		return err
	}
	wanted := corrections(day)
	if len(wanted) == 0 && slices.ContainsFunc(day, func(s sighting) bool { return s.measure }) {
		c.summary += ", but it is so far off that its zone must be known to set it right"
	}
	widen(wanted, had)
	for _, m := range had {
		same := slices.IndexFunc(wanted, func(w intake.Correction) bool { return alike(w, m) })
		if same >= 0 {
			wanted = slices.Delete(wanted, same, same+1)
		} else if err := c.endCorrection(ctx, m.ID); err != nil {
			return err
		}
	}
	for _, m := range wanted {
		m.ID, m.Camera = intake.NewID(), camera
		if err := c.insertCorrection(ctx, m); err != nil {
			return err
		}
		c.summary += ", " + offBy(m)
	}
	return nil
}

// offBy says a correction in words.
func offBy(m intake.Correction) string {
	by := m.Shift.Abs().Round(time.Second)
	switch {
	case by == 0:
		return "it is right"
	case m.Shift > 0:
		return fmt.Sprintf("it is %s behind", by)
	}
	return fmt.Sprintf("it is %s ahead", by)
}

// sightingsOfDay returns the photos of the clock page that a camera took on the
// same true local day as one of them, in the order in which they were taken.
func (c *change) sightingsOfDay(ctx context.Context, camera intake.ID, photo intake.PhotoID) ([]sighting, error) {
	photos, err := photosWhere(ctx, c.tx, `
		p.camera_id = ? AND p.forgotten_at IS NULL AND p.version_of IS NULL AND p.belongs_to IS NULL AND p.taken_wall IS NOT NULL
		AND p.id IN (SELECT photo_id FROM seen_codes WHERE symbology = 'qr' AND upper(text) LIKE '%/CLOCK/%')`, string(camera))
	if err != nil {
		return nil, fmt.Errorf("read photos of the clock page: %w", err)
	}
	var all []sighting
	var wanted time.Time
	for _, p := range photos {
		shown, ok := clockIn(p.Codes)
		if !ok {
			continue
		}
		zone, err := c.zoneAround(ctx, p)
		if err != nil {
			return nil, err
		}
		s := sighting{photo: p.ID, measure: p.Purpose == intake.ForClock, seen: timing.Sighting{
			Shown: shown, Wall: p.Taken(), SubSec: p.Meta.Taken.RawSubSec != "", Offset: p.Meta.Taken.Offset, Zone: zone,
		}}
		all = append(all, s)
		if p.ID == photo {
			wanted = s.day()
		}
	}
	all = slices.DeleteFunc(all, func(s sighting) bool { return wanted.IsZero() || !s.day().Equal(wanted) })
	slices.SortFunc(all, func(a, b sighting) int {
		return cmp.Or(a.seen.Shown.Compare(b.seen.Shown), a.seen.Wall.Compare(b.seen.Wall), cmp.Compare(a.photo.String(), b.photo.String()))
	})
	return all, nil
}

// zoneAround is the best zone known for a photo, before any correction.
func (c *change) zoneAround(ctx context.Context, p intake.Photo) (string, error) {
	known, err := collect(ctx, c.tx, scanTimed, timedColumns+"p.id = ?", p.ID)
	if err != nil || len(known) == 0 {
		return "", err
	}
	return known[0].resolve(nil, c.db.zone).Zone, nil
}

// day is the true local day of a sighting, or that of the page in UTC where the
// camera is too far off to tell.
func (s sighting) day() time.Time {
	m, err := timing.Measure([]timing.Sighting{s.seen})
	if err != nil {
		return s.seen.Shown.Truncate(24 * time.Hour)
	}
	return s.seen.Wall.Add(m.Shift).Truncate(24 * time.Hour)
}

// corrections measures the sightings of one day, given in their order. Where two
// disagree, the clock was set in between: each stretch in which they agree gets a
// correction of its own, which holds from its first sighting on.
func corrections(day []sighting) []intake.Correction {
	var out []intake.Correction
	var stretch []timing.Sighting
	for _, s := range day {
		if !s.measure {
			continue
		}
		m, err := timing.Measure(append(slices.Clone(stretch), s.seen))
		if errors.Is(err, intake.ErrConflict) {
			stretch = nil
			m, err = timing.Measure([]timing.Sighting{s.seen})
		}
		if err != nil {
			continue // too far off without a zone: when there is one, it is measured again
		}
		whole := timing.Day(s.seen.Wall, m.Shift)
		next := intake.Correction{From: whole.From, To: whole.To, Shift: m.Shift, Doubt: m.Doubt, How: m.How, Photo: s.photo}
		if !keepable(next.From) || !keepable(next.To) {
			continue
		}
		last := len(out) - 1
		switch {
		case len(stretch) > 0:
			next.From, next.Photo = out[last].From, out[last].Photo
			if last == 0 {
				next.From = whole.From
			}
			out[last] = next
		case last >= 0:
			// In the time of the clock as it was before somebody set it.
			out[last].To = s.seen.Wall.Add(m.Shift - out[last].Shift)
			next.From = s.seen.Wall
			fallthrough
		default:
			out = append(out, next)
		}
		stretch = append(stretch, s.seen)
	}
	return out
}

// measured returns what the clock page said of a day before: the corrections that
// stand on its photos, and those whose photo was forgotten.
func (c *change) measured(ctx context.Context, camera intake.ID, day []sighting) ([]intake.Correction, error) {
	had, err := collect(ctx, c.tx, scanCorrection, correctionColumns+`
		c.camera_id = ? AND NOT c.ended AND c.how LIKE 'clock page%' ORDER BY c.made_at, c.rowid`, camera)
	return slices.DeleteFunc(had, func(m intake.Correction) bool {
		return !slices.ContainsFunc(day, func(s sighting) bool {
			inside := !s.seen.Wall.Before(m.From) && s.seen.Wall.Before(m.To)
			return m.Photo == s.photo || m.Photo.IsZero() && inside
		})
	}), err
}

// widen keeps a stretch as wide as somebody has made it.
func widen(wanted, had []intake.Correction) {
	if len(wanted) == 0 {
		return
	}
	first, last := &wanted[0], &wanted[len(wanted)-1]
	for _, m := range had {
		// The edges of a day move with the shift by a little.
		if m.From.Before(first.From.Add(-time.Hour)) {
			first.From = m.From
		}
		if m.To.IsZero() || !last.To.IsZero() && m.To.After(last.To.Add(time.Hour)) {
			last.To = m.To
		}
	}
}

// alike reports whether two corrections say the same.
func alike(a, b intake.Correction) bool {
	return a.From.Equal(b.From) && a.To.Equal(b.To) && a.Shift == b.Shift && a.Doubt == b.Doubt && a.How == b.How && a.Photo == b.Photo
}
