package sqlite_test

import (
	"context"
	"database/sql"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"haulbook/intake"
	"haulbook/intake/sqlite"
)

func TestOpenRefusesWithASentence(t *testing.T) {
	tests := []struct {
		name    string
		prepare func(t *testing.T, path string)
		want    string
	}{
		{"text", func(t *testing.T, path string) { write(t, path, strings.Repeat("shopping list\n", 100)) }, "not a haulbook book"},
		{"a short file", func(t *testing.T, path string) { write(t, path, "x") }, "not a haulbook book"},
		{"a folder", func(t *testing.T, path string) {
			if err := os.Mkdir(path, 0o755); err != nil {
				t.Fatal(err)
			}
		}, "not a haulbook book"},
		{"another program's database", func(t *testing.T, path string) {
			run(t, path, "CREATE TABLE recipes (name TEXT)", "PRAGMA user_version = 3")
		}, "not a haulbook book"},
		{"another program's mark", func(t *testing.T, path string) {
			run(t, path, "CREATE TABLE x (y)", "PRAGMA application_id = 7")
		}, "not a haulbook book"},
		{"a newer schema", func(t *testing.T, path string) {
			closeBook(t, path)
			run(t, path, "PRAGMA user_version = 4000")
		}, "a newer haulbook wrote it (schema 4000"},
		{"no write-ahead log possible for a book", func(t *testing.T, path string) {
			closeBook(t, path)
			if err := os.Mkdir(path+"-shm", 0o755); err != nil {
				t.Fatal(err)
			}
		}, "write-ahead logging does not work there"},
		{"no write-ahead log possible", func(t *testing.T, path string) {
			// Where the log's index cannot be made, as on some network folders.
			if err := os.Mkdir(path+"-shm", 0o755); err != nil {
				t.Fatal(err)
			}
		}, "write-ahead logging does not work there"},
		{"no folder", func(t *testing.T, path string) {
			if err := os.Remove(filepath.Dir(path)); err != nil {
				t.Fatal(err)
			}
		}, "open book"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "inner", "book.db")
			if err := os.Mkdir(filepath.Dir(path), 0o755); err != nil {
				t.Fatal(err)
			}
			tt.prepare(t, path)
			before, _ := os.ReadFile(path)
			db, err := sqlite.Open(t.Context(), path, sqlite.Options{})
			if err == nil {
				db.Close()
				t.Fatal("opened")
			}
			if !strings.Contains(err.Error(), tt.want) || !strings.Contains(err.Error(), path) {
				t.Errorf("said %q, want %q and the file", err, tt.want)
			}
			if after, _ := os.ReadFile(path); len(before) > 0 && string(after) != string(before) {
				t.Error("the file was changed all the same")
			}
		})
	}
}

func write(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// run executes statements behind the ledger's back.
func run(t *testing.T, path string, statements ...string) {
	t.Helper()
	raw := must(sql.Open("sqlite", path))(t)
	defer raw.Close()
	for _, s := range statements {
		if _, err := raw.ExecContext(t.Context(), s); err != nil {
			t.Fatalf("%s: %v", s, err)
		}
	}
}

func closeBook(t *testing.T, path string) {
	t.Helper()
	db := must(sqlite.Open(t.Context(), path, sqlite.Options{}))(t)
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

func TestPathsNeedNoCare(t *testing.T) {
	for _, name := range []string{"50% off?.db", "a#b.db", "ä ö.db", "x&_pragma=foreign_keys(0).db", "quote'\".db"} {
		path := filepath.Join(t.TempDir(), name)
		b := reopen(t, path)
		b.shoot(t, 0)
		if _, err := os.Stat(path); err != nil {
			t.Errorf("the book is not where it was asked for: %v", err)
		}
	}
}

func TestEveryConnectionHasItsPragmas(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0)
	// A foreign key that leads nowhere is refused through the ledger's own pool.
	wantErr(t, "a part of no whole", func() error {
		_, err := b.items.AddPart(t.Context(), keeper, "nosuchitem", "x")
		return err
	}(), intake.ErrNotFound)
	var mode string
	var application, schema int
	raw := must(sql.Open("sqlite", b.path))(t)
	defer raw.Close()
	err := raw.QueryRowContext(t.Context(), `
		SELECT (SELECT journal_mode FROM pragma_journal_mode), (SELECT application_id FROM pragma_application_id),
			(SELECT user_version FROM pragma_user_version)`).Scan(&mode, &application, &schema)
	if err != nil || mode != "wal" || application != 0x6861756c || schema != 2 {
		t.Errorf("journal %s, application %x, schema %d, %v", mode, application, schema, err)
	}
}

func TestManyOpenANewBookAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	var wg sync.WaitGroup
	for range 6 {
		wg.Go(func() {
			db, err := sqlite.Open(context.Background(), path, sqlite.Options{})
			if err != nil {
				t.Error(err)
				return
			}
			if err := db.Close(); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	reopen(t, path).shoot(t, 0)
}

func TestWhatWasWrittenIsThereAgain(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	b := reopen(t, path)
	b.shoot(t, 0, 5, 100)
	it := b.read(t, "kept")
	want := b.state(t)
	again := reopen(t, path)
	wantSame(t, "opened again", again.state(t), want)
	if got := must(again.items.Item(t.Context(), it.Number.String()))(t); got.Name != "kept" {
		t.Errorf("found %q, want the item kept", got.Name)
	}
}

func TestVersionMovesWithTheBook(t *testing.T) {
	b := openBook(t)
	other := reopen(t, b.path)
	version := func() int64 { return must(b.Version(t.Context()))(t) }
	start := version()
	if again := version(); again != start {
		t.Errorf("version went from %d to %d though nothing happened", start, again)
	}
	b.groups(t)
	if again := version(); again != start {
		t.Errorf("reading moved the version from %d to %d", start, again)
	}
	b.shoot(t, 0)
	own := version()
	other.shoot(t, 5)
	foreign := version()
	if own <= start || foreign <= own {
		t.Errorf("version %d, after an own change %d, after another process's %d; want it to grow", start, own, foreign)
	}
	if foreign >= 1<<53 {
		t.Errorf("version %d is more than a page's number holds", foreign)
	}
}

func TestTimesAreUTCAndBadOnesAreErrors(t *testing.T) {
	b := openBook(t)
	zone := time.FixedZone("", 2*60*60)
	a := shot(0)
	a.Photo.Received = time.Date(2026, 5, 9, 20, 0, 0, 0, zone)
	b.receive(t, a)
	got := must(b.photos.Photo(t.Context(), a.Photo.ID))(t).Received
	if !got.Equal(a.Photo.Received) || got.Location() != time.UTC {
		t.Errorf("received %v, want the same moment in UTC", got)
	}
	run(t, b.path, "UPDATE photos SET received_at = 'yesterday'")
	if _, err := b.photos.Photo(t.Context(), a.Photo.ID); err == nil {
		t.Error("a malformed time was read as some other time")
	}
}
