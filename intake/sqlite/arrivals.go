package sqlite

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"haulbook/intake"
)

// Receive enters a.Photo once and notes where it came from. The photo itself is
// the operation: by.Op is not used, because one command receives many photos.
// See intake.Ledger for what it sets in a.
func (p Photos) Receive(ctx context.Context, by intake.By, a *intake.Arrival) error {
	if a.Photo.ID.IsZero() {
		return fmt.Errorf("receive %s: %w: %w", a.Photo.Name, errNoPhoto, intake.ErrInvalid)
	}
	// One command receives many photos under one op; taken for a repeat, the second
	// would be lost.
	// An operation of its own for each photo; a photo is received only once.
	by.Op = ""
	got := *a
	_, err := p.DB.write(ctx, by, actReceived, func(c *change) error {
		known, err := photoRow(ctx, c.tx, a.Photo.ID)
		switch {
		case errors.Is(err, intake.ErrNotFound):
			err = c.receive(ctx, &got)
		case err != nil:
			return err
		case known.Gone:
			got.Outcome, got.Reason = intake.Ignored, "was forgotten on purpose, so it stays out"
		default:
			err = c.receiveAgain(ctx, &got, known)
		}
		if err != nil {
			return err
		}
		return noteArrival(ctx, c, got)
	})
	if err != nil {
		return fmt.Errorf("enter photo %s: %w", a.Photo.ID, err)
	}
	if got.Outcome != intake.Ignored {
		// As it is now: the clock page in it may have changed more than its row.
		if got.Photo, err = p.Photo(ctx, got.Photo.ID); err != nil {
			return fmt.Errorf("enter photo %s: %w", a.Photo.ID, err)
		}
	}
	*a = got
	return nil
}

// receive enters a photo that the book has not met. Its haul, its camera and
// what was seen in it come in the same transaction, so that no reader ever finds
// a photo without a haul to wait in.
func (c *change) receive(ctx context.Context, a *intake.Arrival) error {
	haul, err := c.haulNamed(ctx, a.Haul)
	if err != nil {
		return err
	}
	photo := &a.Photo
	photo.Haul, photo.Name = haul, cut(strings.ToValidUTF8(photo.Name, "\uFFFD"))
	if photo.Purpose == "" {
		photo.Purpose = intake.ForAccession
	}
	if photo.Look == "" {
		photo.Look = intake.LookPending
	}
	if photo.Received.IsZero() {
		photo.Received = c.at
	}
	// Before the photo, which points at it.
	if photo.CameraID, photo.Camera, err = cameraOf(ctx, c.tx, photo.Meta); err != nil {
		return err
	}
	a.Outcome = intake.Added
	if photo.VersionOf, err = firstVersion(ctx, c.tx, photo.Picture); err != nil {
		return err
	}
	if !photo.VersionOf.IsZero() {
		// It shows nothing that the first one does not, so it waits for nobody.
		photo.Purpose = intake.LeftOut
		a.Outcome, a.Reason = intake.Version, "shows the same shot as a photo in the book, with other words around it"
	}
	if err := insertPhoto(ctx, c.tx, *photo); err != nil {
		return err
	}
	if err := storeLook(ctx, c.tx, photo.ID, photo.Look, photo.Codes); err != nil {
		return err
	}
	c.lasting = true
	c.about("photo", photo.ID.String(), "photo received")
	if err := c.retime(ctx, "p.id = ?", photo.ID); err != nil {
		return err
	}
	if *photo, err = photoRow(ctx, c.tx, photo.ID); err != nil {
		return err
	}
	c.readClock(*photo, nil)
	return nil
}

// firstVersion finds the photo that brought this picture into the book; zero when
// none did, or when nothing is known of the picture.
func firstVersion(ctx context.Context, tx *sql.Tx, picture [sha256.Size]byte) (intake.PhotoID, error) {
	var first intake.PhotoID
	if picture == [sha256.Size]byte{} {
		return first, nil
	}
	err := tx.QueryRowContext(ctx, "SELECT id FROM photos WHERE picture_hash = ? AND version_of IS NULL AND forgotten_at IS NULL ORDER BY received_at, id LIMIT 1",
		hex.EncodeToString(picture[:])).Scan(photoName{&first})
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return first, fmt.Errorf("look for other versions: %w", err)
	}
	return first, nil
}

// receiveAgain answers with the row that was there. A look that was still owed
// to it, because the program was killed in between, is taken over.
func (c *change) receiveAgain(ctx context.Context, a *intake.Arrival, known intake.Photo) error {
	seen := a.Photo
	a.Outcome, a.Photo = intake.Duplicate, known
	// A look that failed once may succeed with a newer program; one that is done is
	// never thrown away for one that failed.
	if known.Look == intake.LookDone || seen.Look == intake.LookPending || seen.Look == "" {
		return nil
	}
	a.Photo.Look, a.Photo.Codes = seen.Look, seen.Codes
	c.readClock(a.Photo, known.Codes)
	return storeLook(ctx, c.tx, known.ID, seen.Look, seen.Codes)
}

// Refuse notes a file that is no photo, so that it is told once.
func (p Photos) Refuse(ctx context.Context, a intake.Arrival) error {
	_, err := p.DB.write(ctx, intake.By{}, actReceived, func(c *change) error {
		a.Outcome = intake.Unreadable
		return noteArrival(ctx, c, a)
	})
	if err != nil {
		return fmt.Errorf("note %s: %w", a.Path, err)
	}
	return nil
}

// noteArrival remembers a file by its path. The row is replaced when the file
// changes: only the last meeting can save a hash, and no decision rests on it.
func noteArrival(ctx context.Context, c *change, a intake.Arrival) error {
	path, photo, haul := a.Path, nullText(""), a.Haul
	if !a.Photo.ID.IsZero() && a.Outcome != intake.Unreadable {
		photo = nullText(a.Photo.ID.String())
	}
	if a.Outcome == intake.Ignored {
		// The name of a forgotten photo must not come back through its file.
		path, haul = hiddenPath(a.Path), ""
	}
	return c.exec(ctx, `
		INSERT INTO arrivals (path, size, modified_ns, photo_id, outcome, reason, haul_name, seen_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (path) DO UPDATE SET size = excluded.size, modified_ns = excluded.modified_ns, photo_id = excluded.photo_id,
			outcome = excluded.outcome, reason = excluded.reason, haul_name = excluded.haul_name, seen_at = excluded.seen_at`,
		path, a.Size, fileTime(a.Modified), photo, string(a.Outcome), a.Reason, cut(strings.ToValidUTF8(haul, "\uFFFD")), stamp(c.at))
}

// hiddenPath is the path under which the file of a forgotten photo is known. It
// still saves hashing that file at each scan, but no longer says what it is called.
func hiddenPath(path string) string {
	sum := sha256.Sum256([]byte(path))
	return "forgotten:" + hex.EncodeToString(sum[:])
}

// fileTime is a file's time as arrivals compare it; the zero time has no
// UnixNano of its own.
func fileTime(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixNano()
}

// cut bounds a name that came from a file system.
func cut(s string) string {
	if utf8.RuneCountInString(s) <= intake.MaxField {
		return s
	}
	return string([]rune(s)[:intake.MaxField])
}

// arrivalColumns and scanArrival belong together: what one names the other reads.
const arrivalColumns = `SELECT path, size, modified_ns, photo_id, outcome, reason, haul_name FROM arrivals WHERE `

// scanArrival leaves the photo itself to the caller, who may not need it.
func scanArrival(row scanner) (a intake.Arrival, err error) {
	var modified int64
	var photo string
	if err := row.Scan(&a.Path, &a.Size, &modified, text(&photo), &a.Outcome, &a.Reason, &a.Haul); err != nil {
		return a, err
	}
	if modified != 0 {
		a.Modified = time.Unix(0, modified)
	}
	if photo != "" {
		a.Photo.ID, err = intake.ParsePhotoID(photo)
	}
	return a, err
}

// Known returns what became of this very file when it was met before, with its
// photo. Not ok: never met, or its size or time differ. It saves hashing a file
// again and decides nothing else.
func (p Photos) Known(ctx context.Context, path string, size int64, modified time.Time) (a intake.Arrival, ok bool, err error) {
	err = p.DB.read(ctx, func(tx *sql.Tx) error {
		found, err := collect(ctx, tx, scanArrival, arrivalColumns+"path IN (?, ?) AND size = ? AND modified_ns = ?",
			path, hiddenPath(path), size, fileTime(modified))
		if err != nil || len(found) == 0 {
			return err
		}
		a, ok = found[0], true
		a.Path = path
		if !a.Photo.ID.IsZero() {
			a.Photo, err = photoRow(ctx, tx, a.Photo.ID)
		}
		return err
	})
	if err != nil {
		return intake.Arrival{}, false, fmt.Errorf("look up %s: %w", path, err)
	}
	return a, ok, nil
}

// Refused returns the files that were no photos, newest first.
func (p Photos) Refused(ctx context.Context) ([]intake.Arrival, error) {
	refused, err := collect(ctx, p.DB.reader, scanArrival, arrivalColumns+"outcome = 'unreadable' ORDER BY seen_at DESC, path")
	if err != nil {
		return nil, fmt.Errorf("read refused files: %w", err)
	}
	for i := range refused {
		refused[i].Photo.Name = refused[i].Path[strings.LastIndexAny(refused[i].Path, `/\`)+1:]
	}
	return refused, nil
}
