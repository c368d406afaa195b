package sqlite

import (
	"context"
	"crypto/rand"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	driver "modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"
)

// applicationID marks the file as a book in SQLite's header ("haul" in ASCII),
// so that no other program's database is ever migrated by us.
const applicationID = 0x6861756c

// Options are what a DB takes from outside. The zero value is the real world.
type Options struct {
	Now    func() time.Time // nil: time.Now
	Random io.Reader        // where tag codes are drawn from; nil: crypto/rand
}

// DB is one open book. It is safe for concurrent use.
type DB struct {
	Now    func() time.Time
	Random io.Reader

	path    string
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
	db := &DB{Now: o.Now, Random: o.Random, path: abs}
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
	db.reader.SetMaxOpenConns(5)
	db.reader.SetMaxIdleConns(5)
	if db.pulse, err = db.reader.Conn(ctx); err != nil {
		return err
	}
	db.born = time.Now().Unix()
	return nil
}

// dsn carries the pragmas, so that every connection of a pool has them. The
// path is escaped: a book may lie in a folder called "50% off?".
func dsn(path string, pragmas ...string) string {
	slashed := filepath.ToSlash(path)
	if !strings.HasPrefix(slashed, "/") {
		slashed = "/" + slashed // C:/books
	}
	query := url.Values{"_txlock": {"immediate"}, "_pragma": {"busy_timeout(10000)", "foreign_keys(1)"}}
	query["_pragma"] = append(query["_pragma"], pragmas...)
	return (&url.URL{Scheme: "file", OmitHost: true, Path: slashed, RawQuery: query.Encode()}).String()
}

// proveWAL asks for the journal mode that is really in force and writes once:
// some network folders accept the mode and fail at the first write. The write
// repeats what is there, under the lock, so that it never undoes a migration
// that another process runs at the same moment.
func proveWAL(ctx context.Context, writer *sql.DB) error {
	var mode string
	if err := writer.QueryRowContext(ctx, "PRAGMA journal_mode").Scan(&mode); err != nil {
		return noWAL(err)
	}
	if mode != "wal" {
		return noWAL(fmt.Errorf("the journal mode stays %q", mode))
	}
	tx, err := writer.BeginTx(ctx, nil)
	if err != nil {
		return noWAL(err)
	}
	defer tx.Rollback()
	version, err := schemaVersion(ctx, tx)
	if err != nil {
		return noWAL(err)
	}
	if _, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d", version)); err != nil {
		return noWAL(err)
	}
	if err := tx.Commit(); err != nil {
		return noWAL(err)
	}
	return nil
}

func noWAL(err error) error {
	return fmt.Errorf("write-ahead logging does not work there, a book belongs on a local disk that can be written: %w", err)
}

// fileMagic begins every SQLite file. We look ourselves: SQLite takes a file
// that is too short to be one for an empty book, and would write over it.
const fileMagic = "SQLite format 3\x00"

// recognise looks at an existing file without changing a byte of it.
func recognise(ctx context.Context, path string, newest int) error {
	head, err := readHead(path)
	switch {
	case errors.Is(err, os.ErrNotExist), err == nil && head == "":
		return nil
	case err != nil:
		return err
	case head != fileMagic:
		return errors.New("not a haulbook book, some other kind of file")
	}
	probe, err := sql.Open("sqlite", dsn(path, "query_only(1)")+"&mode=ro")
	if err != nil {
		return err
	}
	defer probe.Close()
	var application, tables, schema int
	err = probe.QueryRowContext(ctx, `
		SELECT (SELECT application_id FROM pragma_application_id), (SELECT count(*) FROM sqlite_schema),
			(SELECT user_version FROM pragma_user_version)`).Scan(&application, &tables, &schema)
	switch code := resultCode(err); {
	case code == lib.SQLITE_NOTADB:
		return errors.New("not a haulbook book, some other kind of file")
	case code == lib.SQLITE_CANTOPEN, code == lib.SQLITE_IOERR, code == lib.SQLITE_READONLY:
		return noWAL(err)
	case err != nil:
		return err
	case application != applicationID && (application != 0 || tables != 0):
		// Neither is a book whose very first opening was cut short.
		return errors.New("not a haulbook book, another program's database")
	}
	return knownSchema(schema, newest)
}

// readHead returns as much of a file's beginning as fileMagic is long.
func readHead(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	if stat, err := f.Stat(); err != nil {
		return "", err
	} else if !stat.Mode().IsRegular() {
		return "", errors.New("not a haulbook book, not even a file")
	}
	head, err := io.ReadAll(io.LimitReader(f, int64(len(fileMagic))))
	return string(head), err
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
func (db *DB) Close() error {
	var errs []error
	if db.pulse != nil {
		errs = append(errs, db.pulse.Close())
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
