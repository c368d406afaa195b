package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// A migration is one numbered SQL file. They are append only: a released one is
// never edited, and there is no way back but the copy.
type migration struct {
	number int
	sql    string
}

// migrate runs the migrations that the book has not seen, each in one
// transaction, each after a copy of the whole book as it was.
func migrate(ctx context.Context, writer *sql.DB, path string, steps []migration) error {
	schema, err := schemaVersion(ctx, writer)
	if err != nil {
		return err
	}
	if err := knownSchema(schema, steps[len(steps)-1].number); err != nil {
		return err
	}
	for _, step := range steps {
		if step.number <= schema {
			continue
		}
		// A book without a schema holds nothing worth a copy.
		if schema > 0 {
			if err := copyBook(ctx, writer, fmt.Sprintf("%s.before-%04d", path, step.number)); err != nil {
				return err
			}
		}
		if err := runMigration(ctx, writer, step); err != nil {
			return fmt.Errorf("migration %d: %w", step.number, err)
		}
	}
	return nil
}

// knownSchema refuses what a newer program wrote. Guessing at unknown columns
// would lose what they mean at the first write.
func knownSchema(schema, newest int) error {
	if schema > newest {
		return fmt.Errorf("a newer haulbook wrote it (schema %d, this program knows %d): use that one", schema, newest)
	}
	return nil
}

// bookMigrations returns the program's own migrations, at least one.
func bookMigrations() ([]migration, error) {
	files, err := fs.Sub(migrationFiles, "migrations")
	if err != nil {
		return nil, err
	}
	return readMigrations(files)
}

// readMigrations insists on numbers without gaps, because the schema's version is
// the number of the last one: a gap would be a migration that some books missed.
func readMigrations(files fs.FS) ([]migration, error) {
	names, err := fs.Glob(files, "*.sql")
	if err != nil {
		return nil, err
	}
	slices.Sort(names)
	steps := make([]migration, 0, len(names))
	for i, name := range names {
		digits, _, _ := strings.Cut(name, "_")
		number, err := strconv.Atoi(digits)
		if err != nil || number != i+1 {
			return nil, fmt.Errorf("migration %s: want number %04d", name, i+1)
		}
		text, err := fs.ReadFile(files, name)
		if err != nil {
			return nil, err
		}
		steps = append(steps, migration{number, string(text)})
	}
	if len(steps) == 0 {
		return nil, errors.New("no migrations")
	}
	return steps, nil
}

// schemaVersion is 0 for a file that no migration has touched.
func schemaVersion(ctx context.Context, q querier) (version int, err error) {
	if err := q.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return 0, fmt.Errorf("read schema version: %w", err)
	}
	return version, nil
}

// runMigration looks at the version again inside its transaction: another
// process may have opened the same book at the same moment.
func runMigration(ctx context.Context, writer *sql.DB, step migration) error {
	tx, err := writer.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	schema, err := schemaVersion(ctx, tx)
	if err != nil || schema >= step.number {
		return err
	}
	// Both pragmas live in the file's header and are part of the transaction: a book
	// never says that it has a schema which it has not.
	for _, statement := range []string{
		step.sql,
		fmt.Sprintf("PRAGMA user_version = %d", step.number),
		fmt.Sprintf("PRAGMA application_id = %d", applicationID),
	} {
		if _, err := tx.ExecContext(ctx, statement); err != nil {
			return err
		}
	}
	return tx.Commit()
}

// copyBook writes the whole book to target by VACUUM INTO, which sees a
// consistent state while others read. It appears under its name only when it is
// whole and on disk.
func copyBook(ctx context.Context, writer *sql.DB, target string) (err error) {
	partial := target + ".part"
	if err := os.Remove(partial); err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("copy the book before changing it: %w", err)
	}
	defer func() {
		if err != nil {
			os.Remove(partial)
			err = fmt.Errorf("copy the book before changing it: %w", err)
		}
	}()
	// Never by copying the file: its newest pages may still be in the log.
	if _, err := writer.ExecContext(ctx, "VACUUM INTO ?", partial); err != nil {
		return err
	}
	if err := syncPath(partial); err != nil {
		return err
	}
	if err := os.Rename(partial, target); err != nil {
		return err
	}
	return syncPath(filepath.Dir(target))
}

// syncPath makes a file, or a folder's entry for it, survive a power cut.
func syncPath(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
