package sqlite_test

import (
	"database/sql"
	"testing"
	"time"

	"haulbook/intake/sqlite"
)

// TestMomentOfAShot: the ledger keeps the moment beside what the camera wrote,
// and says how it came to it. Offsets of the zones: IANA time zone database.
func TestMomentOfAShot(t *testing.T) {
	wall := time.Date(2026, 5, 9, 14, 2, 0, 0, time.UTC)
	tests := []struct {
		name, offset string
		gps          time.Time
		book         string
		at, from     string
	}{
		{"its own offset", "+02:00", time.Time{}, "Asia/Kathmandu", "2026-05-09T12:02:00.000000Z", "offset"},
		{"the satellites tell the zone", "", time.Date(2026, 5, 9, 8, 17, 3, 0, time.UTC), "", "2026-05-09T08:17:00.000000Z", "position"},
		{"the book's zone, summer time included", "", time.Time{}, "Europe/Berlin", "2026-05-09T12:02:00.000000Z", "book"},
		{"nothing tells", "", time.Time{}, "", "", ""},
	}
	for i, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			path := t.TempDir() + "/book.db"
			db := must(sqlite.Open(t.Context(), path, sqlite.Options{Zone: tt.book}))(t)
			a := shot(i)
			a.Photo.Meta.Taken.Wall, a.Photo.Meta.Taken.Offset, a.Photo.Meta.GPSTime = wall, tt.offset, tt.gps
			if err := (sqlite.Photos{DB: db}).Receive(t.Context(), keeper, &a); err != nil {
				t.Fatal(err)
			}
			if err := db.Close(); err != nil {
				t.Fatal(err)
			}
			raw := must(sql.Open("sqlite", path))(t)
			defer raw.Close()
			var at sql.NullString
			var from string
			if err := raw.QueryRowContext(t.Context(), "SELECT taken_at, zone_from FROM photos").Scan(&at, &from); err != nil {
				t.Fatal(err)
			}
			if at.String != tt.at || from != tt.from {
				t.Errorf("taken at %q by %q, want %q by %q", at.String, from, tt.at, tt.from)
			}
		})
	}
}
