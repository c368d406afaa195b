package sqlite_test

import (
	"fmt"
	"testing"

	"haulbook/intake"
	"haulbook/intake/sqlite"
)

// haulOfPhotos fills a new book with one haul of n photos, four to an item.
func haulOfPhotos(b *testing.B, n int) *sqlite.DB {
	b.Helper()
	db, err := sqlite.Open(b.Context(), b.TempDir()+"/book.db", sqlite.Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { db.Close() })
	for i := range n {
		a := shot(i/4*120 + i%4*8)
		if err := (sqlite.Photos{DB: db}).Receive(b.Context(), keeper, &a); err != nil {
			b.Fatal(err)
		}
	}
	return db
}

// BenchmarkGroups is the bench page's question on a haul of 1,000 photos.
func BenchmarkGroups(b *testing.B) {
	bench := sqlite.Bench{DB: haulOfPhotos(b, 1000)}
	for b.Loop() {
		if _, err := bench.Groups(b.Context(), ""); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkRead is one plate typed, in a haul of 1,000 photos.
func BenchmarkRead(b *testing.B) {
	db := haulOfPhotos(b, 1000)
	bench := sqlite.Bench{DB: db}
	for b.Loop() {
		groups, err := bench.Groups(b.Context(), "")
		if err != nil {
			b.Fatal(err)
		}
		it, err := bench.Read(b.Context(), keeper, groups[0].ID(), intake.Reading{Name: "thing", Serial: "S1"})
		if err != nil {
			b.Fatal(err)
		}
		last, err := (sqlite.History{DB: db}).Last(b.Context(), keeper.Device)
		if err != nil || it.Number.IsZero() {
			b.Fatal(it.Number, err)
		}
		if _, err := (sqlite.History{DB: db}).Undo(b.Context(), keeper, last.Seq); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkFind and BenchmarkItem look into a register of 250 items.
func BenchmarkFind(b *testing.B) {
	items := sqlite.Items{DB: register(b)}
	for b.Loop() {
		if found, err := items.Find(b.Context(), "port comp", 20); err != nil || len(found) == 0 {
			b.Fatal(len(found), err)
		}
	}
}

func BenchmarkItem(b *testing.B) {
	items := sqlite.Items{DB: register(b)}
	newest, err := items.List(b.Context(), intake.Number{}, 1)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := items.Item(b.Context(), newest[0].Number.String()); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkVersion(b *testing.B) {
	db := haulOfPhotos(b, 1)
	for b.Loop() {
		if _, err := db.Version(b.Context()); err != nil {
			b.Fatal(err)
		}
	}
}

func register(b *testing.B) *sqlite.DB {
	b.Helper()
	db := haulOfPhotos(b, 1000)
	bench := sqlite.Bench{DB: db}
	groups, err := bench.Groups(b.Context(), "")
	if err != nil {
		b.Fatal(err)
	}
	for i, g := range groups {
		if _, err := bench.Read(b.Context(), keeper, g.ID(), intake.Reading{Name: fmt.Sprintf("portable computer %d", i)}); err != nil {
			b.Fatal(err)
		}
	}
	return db
}
