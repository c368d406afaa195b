package sqlite

import (
	"database/sql"
	"encoding/json"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"haulbook/intake"
	"haulbook/intake/grouping"
)

func TestImagesSurviveHistory(t *testing.T) {
	want := rowChange{
		Table: "items", Key: image{"id": "x", "n": int64(1) << 60},
		Before: nil, After: image{"text": "a\"b\u2028", "none": nil, "count": int64(-7), "empty": ""},
	}
	text, err := json.Marshal(want)
	if err != nil {
		t.Fatal(err)
	}
	var got rowChange
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatal(err)
	}
	if got.Before != nil || !got.After.same(want.After) || !want.After.same(got.After) || got.Key["n"] != want.Key["n"] {
		t.Errorf("%s came back as %v, want %v", text, got, want)
	}
	if err := json.Unmarshal([]byte(`{"key":{"mass":1.5}}`), &got); err == nil {
		t.Error("a fraction was taken: no recorded column holds one, and it would never compare equal")
	}
}

func TestSame(t *testing.T) {
	tests := []struct {
		name string
		a, b image
		want bool
	}{
		{"no rows", nil, nil, true},
		{"row and no row", image{}, nil, false},
		{"no row and row", nil, image{}, false},
		{"equal", image{"a": "x", "b": nil}, image{"a": "x", "b": nil}, true},
		{"another value", image{"a": "x"}, image{"a": "y"}, false},
		{"empty is not unknown", image{"a": ""}, image{"a": nil}, false},
		{"a column that came later", image{"a": "x"}, image{"a": "x", "new": "y"}, true},
		{"a column that went", image{"a": "x", "old": "y"}, image{"a": "x"}, true},
	}
	for _, tt := range tests {
		if got := tt.a.same(tt.b); got != tt.want {
			t.Errorf("%s: same = %v, want %v", tt.name, got, tt.want)
		}
	}
}

// TestStampsSortAsTime: SQL compares them as text, so none may be shorter.
func TestStampsSortAsTime(t *testing.T) {
	base := time.Date(2026, 5, 9, 14, 0, 0, 0, time.FixedZone("", 7200))
	moments := []time.Time{base, base.Add(time.Microsecond), base.Add(500 * time.Millisecond), base.Add(time.Second), base.Add(time.Hour)}
	var texts []string
	for _, m := range moments {
		texts = append(texts, stamp(m))
		var back time.Time
		if err := (moment{&back}).Scan(stamp(m)); err != nil || !back.Equal(m) || back.Location() != time.UTC {
			t.Errorf("%v came back as %v, %v", m, back, err)
		}
	}
	if !slices.IsSorted(texts) {
		t.Errorf("stamps out of order: %q", texts)
	}
}

func TestScannersRefuseWhatIsNot(t *testing.T) {
	var at time.Time
	var s string
	var id intake.PhotoID
	bad := []struct {
		name string
		into sql.Scanner
		v    any
	}{
		{"a time in words", moment{&at}, "noon"},
		{"a time as a number", moment{&at}, int64(5)},
		{"a clock with a zone", wallClock{&at}, "2026-05-09T14:00:00Z"},
		{"a clock as a number", wallClock{&at}, int64(5)},
		{"text as a number", text(&s), int64(5)},
		{"a photo without an id", photoName{&id}, nil},
		{"a photo's short id", photoName{&id}, "ab12"},
	}
	for _, tt := range bad {
		if err := tt.into.Scan(tt.v); err == nil {
			t.Errorf("%s was taken", tt.name)
		}
	}
	at, s = time.Now(), "before"
	for _, into := range []sql.Scanner{moment{&at}, text(&s)} {
		if err := into.Scan(nil); err != nil {
			t.Error(err)
		}
	}
	if !at.IsZero() || s != "" {
		t.Errorf("NULL left %v and %q", at, s)
	}
	if err := (wallClock{&at}).Scan("2026-05-09T14:00:00.25"); err != nil || at.Nanosecond() != 250_000_000 {
		t.Errorf("a clock with part of a second: %v, %v", at, err)
	}
}

// TestUndoOutlivesANewColumn plays a history row written before items had notes:
// what it does not name stays as it is now.
func TestUndoOutlivesANewColumn(t *testing.T) {
	db, err := Open(t.Context(), filepath.Join(t.TempDir(), "book.db"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	_, err = db.write(t.Context(), intake.By{Op: "old"}, actAmended, func(c *change) error {
		if err := c.exec(t.Context(), "INSERT INTO items (id, state, name, notes, entered_at) VALUES ('x', 'entered', 'new name', 'kept', ?)", stamp(c.at)); err != nil {
			return err
		}
		c.lasting = true
		c.about("item", "x", "made by hand")
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	result, err := db.writer.ExecContext(t.Context(), `
		INSERT INTO history (at, person, device, op, act, subject_kind, subject_id, summary, rows)
		VALUES ('2026-01-01T00:00:00.000000Z', '', '', 'older', 'item amended', 'item', 'x', '',
			'[{"table":"items","key":{"id":"x"},"before":{"name":"old name"},"after":{"name":"new name"}}]')`)
	if err != nil {
		t.Fatal(err)
	}
	seq, err := result.LastInsertId()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := (History{DB: db}).Undo(t.Context(), intake.By{}, seq); err != nil {
		t.Fatal(err)
	}
	it, err := Items{DB: db}.Entered(t.Context())
	if err != nil || len(it) != 1 || it[0].Name != "old name" || it[0].Notes != "kept" {
		t.Errorf("undone to %+v, %v; want the old name and the notes of now", it, err)
	}
}

func TestTheSplitIsRememberedForItsShotsOnly(t *testing.T) {
	var cache splitCache
	at := time.Date(2026, 5, 9, 14, 0, 0, 0, time.UTC)
	shots := []grouping.Shot{{Taken: at}, {Taken: at.Add(time.Second)}}
	first := cache.split("h", shots)
	if again := cache.split("h", shots); &again.Order[0] != &first.Order[0] {
		t.Error("the same shots were split twice")
	}
	for name, change := range map[string]func(s *grouping.Shot){
		"time":    func(s *grouping.Shot) { s.Taken = s.Taken.Add(1) },
		"plate":   func(s *grouping.Shot) { s.Plate = true },
		"camera":  func(s *grouping.Shot) { s.Camera = "x" },
		"counter": func(s *grouping.Shot) { s.Counter = 1 },
		"tag":     func(s *grouping.Shot) { s.Tag = "x" },
		"item":    func(s *grouping.Shot) { s.Item = "x" },
		"divider": func(s *grouping.Shot) { s.Divider = true },
		"cut":     func(s *grouping.Shot) { s.Cut = grouping.CutHere },
	} {
		kept := cache.split("h", shots)
		other := slices.Clone(shots)
		change(&other[1])
		if got := cache.split("h", other); &got.Order[0] == &kept.Order[0] {
			t.Errorf("another %s was answered from memory", name)
		}
	}
}
