package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"os"

	lib "modernc.org/sqlite/lib"
)

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

// noWAL says what helps before it says what SQLite said.
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
	// Read only, and without the journal mode: opening another program's database as
	// a book would convert it.
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
	// The header was readable a moment ago, so it is what SQLite needs beside the
	// file that cannot be had.
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
