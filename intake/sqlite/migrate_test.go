package sqlite

import (
	"database/sql"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
)

func script(text string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(text)} }

func steps(t *testing.T, files fstest.MapFS) []migration {
	t.Helper()
	all, err := readMigrations(files)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func openRaw(t *testing.T, path string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", dsn(path, "journal_mode(wal)"))
	if err != nil {
		t.Fatal(err)
	}
	db.SetMaxOpenConns(1)
	t.Cleanup(func() { db.Close() })
	return db
}

func TestMigrationsCopyTheBookFirst(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	db := openRaw(t, path)
	files := fstest.MapFS{"0001_first.sql": script("CREATE TABLE a (x TEXT); INSERT INTO a VALUES ('old');")}
	if err := migrate(t.Context(), db, path, steps(t, files)); err != nil {
		t.Fatal(err)
	}
	if copies, _ := filepath.Glob(path + ".before*"); len(copies) != 0 {
		t.Errorf("an empty book was copied: %v", copies)
	}
	files["0002_second.sql"] = script("UPDATE a SET x = 'new'; CREATE TABLE b (y TEXT);")
	files["0003_third.sql"] = script("CREATE TABLE c (z TEXT);")
	// A copy cut short by a crash must not stand in the way.
	if err := os.WriteFile(path+".before-0002.part", []byte("half"), 0o644); err != nil {
		t.Fatal(err)
	}
	for range 2 { // the second finds nothing to do
		if err := migrate(t.Context(), db, path, steps(t, files)); err != nil {
			t.Fatal(err)
		}
	}
	if schema, err := schemaVersion(t.Context(), db); err != nil || schema != 3 {
		t.Errorf("schema %d, %v; want 3", schema, err)
	}
	before := openRaw(t, path+".before-0002")
	var x string
	var schema, application int
	if err := before.QueryRowContext(t.Context(), `
		SELECT (SELECT x FROM a), (SELECT user_version FROM pragma_user_version), (SELECT application_id FROM pragma_application_id)`,
	).Scan(&x, &schema, &application); err != nil || x != "old" || schema != 1 || application != applicationID {
		t.Errorf("the copy says %q, schema %d, application %x, %v; want the book as it was", x, schema, application, err)
	}
	if _, err := os.Stat(path + ".before-0003"); err != nil {
		t.Errorf("no copy before the third: %v", err)
	}
	if left, _ := filepath.Glob(path + "*.part"); len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestAFailedMigrationChangesNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	db := openRaw(t, path)
	files := fstest.MapFS{"0001_first.sql": script("CREATE TABLE a (x TEXT)")}
	if err := migrate(t.Context(), db, path, steps(t, files)); err != nil {
		t.Fatal(err)
	}
	files["0002_second.sql"] = script("CREATE TABLE b (y TEXT); INSERT INTO nowhere VALUES (1);")
	if err := migrate(t.Context(), db, path, steps(t, files)); err == nil || !strings.Contains(err.Error(), "migration 2") {
		t.Fatalf("got %v, want the second migration named", err)
	}
	var tables int
	if err := db.QueryRowContext(t.Context(), "SELECT count(*) FROM sqlite_schema WHERE name = 'b'").Scan(&tables); err != nil || tables != 0 {
		t.Errorf("half a migration stayed: %d tables, %v", tables, err)
	}
	if schema, err := schemaVersion(t.Context(), db); err != nil || schema != 1 {
		t.Errorf("schema %d, %v; want 1", schema, err)
	}
}

func TestMigrationsAreNumberedWithoutGaps(t *testing.T) {
	for name, files := range map[string]fstest.MapFS{
		"none":    {},
		"gap":     {"0001_a.sql": script(""), "0003_b.sql": script("")},
		"no name": {"first.sql": script("")},
	} {
		if _, err := readMigrations(files); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}

func TestRecordedColumnsExist(t *testing.T) {
	db, err := Open(t.Context(), filepath.Join(t.TempDir(), "book.db"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	tx, err := db.reader.BeginTx(t.Context(), &sql.TxOptions{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback()
	for _, table := range tables {
		key := image{}
		for _, column := range table.key {
			key[column] = "none"
		}
		if row, err := table.read(t.Context(), tx, key); err != nil || row != nil {
			t.Errorf("%s: %v, %v; want no row and no error", table.name, row, err)
		}
	}
	if _, err := tableNamed("devices"); err == nil {
		t.Error("devices are recorded, and with them their secrets")
	}
}
