package sqlite

import (
	"context"
	"crypto/rand"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"net/url"
	"path/filepath"
	"strings"
	"sync"
	"time"

	driver "modernc.org/sqlite"
)

// applicationID marks the file as a book in SQLite's header ("haul" in ASCII),
// so that no other program's database is ever migrated by us.
const applicationID = 0x6861756c

// Options are what a DB takes from outside. The zero value is the real world.
type Options struct {
	Now    func() time.Time // nil: time.Now
	Random io.Reader        // where tag codes are drawn from; nil: crypto/rand
	Zone   string           // where photos were taken when nothing else says: an IANA name or +02:00; "" unknown
}

// DB is one open book. It is safe for concurrent use.
type DB struct {
	Now    func() time.Time
	Random io.Reader

	path    string
	zone    string
	writer  *sql.DB   // one connection: writers wait in line here, not in SQLite
	reader  *sql.DB   // a few connections that cannot write
	pulse   *sql.Conn // held open, because data_version counts per connection
	pulseMu sync.Mutex
	born    int64
	splits  splitCache
}

// Open opens the book's database file, makes it when there is none, and brings
// an older one up to date after copying it. The folder must exist. It refuses
// with a sentence what is no book, what a newer program wrote, and a place where
// write-ahead logging does not work.
func Open(ctx context.Context, path string, o Options) (*DB, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, fmt.Errorf("open book %s: %w", path, err)
	}
	steps, err := bookMigrations()
	if err != nil {
		return nil, fmt.Errorf("open book %s: %w", path, err)
	}
	if err := recognise(ctx, abs, steps[len(steps)-1].number); err != nil {
		return nil, fmt.Errorf("open book %s: %w", path, err)
	}
	db := &DB{Now: o.Now, Random: o.Random, zone: o.Zone, path: abs}
	if db.Now == nil {
		db.Now = time.Now
	}
	if db.Random == nil {
		db.Random = rand.Reader
	}
	if err := db.connect(ctx, steps); err != nil {
		return nil, errors.Join(fmt.Errorf("open book %s: %w", path, err), db.Close())
	}
	return db, nil
}

// connect begins with the writer: readers may only open what is there and whole.
func (db *DB) connect(ctx context.Context, steps []migration) (err error) {
	if db.writer, err = sql.Open("sqlite", dsn(db.path, "journal_mode(wal)", "synchronous(full)", "secure_delete(1)")); err != nil {
		return err
	}
	db.writer.SetMaxOpenConns(1)
	if err := proveWAL(ctx, db.writer); err != nil {
		return err
	}
	if err := migrate(ctx, db.writer, db.path, steps); err != nil {
		return err
	}
	if db.reader, err = sql.Open("sqlite", dsn(db.path, "query_only(1)")); err != nil {
		return err
	}
	// Four pages at once and the pulse. More would only queue for the same two cores.
	db.reader.SetMaxOpenConns(5)
	db.reader.SetMaxIdleConns(5)
	if db.pulse, err = db.reader.Conn(ctx); err != nil {
		return err
	}
	db.born = time.Now().Unix()
	return db.followZone(ctx)
}

// busyTimeout is how long a writer waits for another process, in milliseconds.
// SQLite does not queue them, so one may be overtaken many times before its turn:
// with four busy processes on a loaded machine ten seconds were seen to be too few.
const busyTimeout = "busy_timeout(60000)"

// dsn carries the pragmas, so that every connection of a pool has them. The
// path is escaped: a book may lie in a folder called "50% off?".
func dsn(path string, pragmas ...string) string {
	slashed := filepath.ToSlash(path)
	if !strings.HasPrefix(slashed, "/") {
		slashed = "/" + slashed // C:/books
	}
	query := url.Values{"_txlock": {"immediate"}, "_pragma": {busyTimeout, "foreign_keys(1)"}}
	query["_pragma"] = append(query["_pragma"], pragmas...)
	return (&url.URL{Scheme: "file", OmitHost: true, Path: slashed, RawQuery: query.Encode()}).String()
}

// resultCode is SQLite's primary result code of err, or 0.
func resultCode(err error) int {
	var e *driver.Error
	if errors.As(err, &e) {
		return e.Code() & 0xff
	}
	return 0
}

// Close ends the use of the book. Transactions still running are rolled back.
// Closing again does nothing.
func (db *DB) Close() error {
	var errs []error
	if db.pulse != nil {
		if err := db.pulse.Close(); !errors.Is(err, sql.ErrConnDone) {
			errs = append(errs, err)
		}
	}
	if db.reader != nil {
		errs = append(errs, db.reader.Close())
	}
	if db.writer != nil {
		errs = append(errs, db.writer.Close())
	}
	return errors.Join(errs...)
}

// Version returns a number that changes whenever any process has changed the
// book since this DB was opened. It grows, costs microseconds, and stays below
// 2^53, so that a page may keep it.
func (db *DB) Version(ctx context.Context) (int64, error) {
	db.pulseMu.Lock()
	defer db.pulseMu.Unlock()
	var seen int64
	if err := db.pulse.QueryRowContext(ctx, "PRAGMA data_version").Scan(&seen); err != nil {
		return 0, fmt.Errorf("look for changes: %w", err)
	}
	// The counter begins anew with each opening; the second it was opened keeps
	// a page from mistaking the new count for its old one.
	return db.born*1_000_000 + seen, nil
}
