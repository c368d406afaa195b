package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// A table says how its rows are recorded in history and taken back. Columns
// that are not listed are never recorded: fixed ones, versions, and everything
// that a photo says about itself.
type table struct {
	name    string
	key     []string
	columns []string
	// unmade is what taking an insert back writes, for rows that are never
	// deleted; nil deletes the row.
	unmade image
	// versioned rows count their changes for the stale-edit check.
	versioned bool
}

// image is a row's recorded columns; nil means that there is no row. Values are
// string, int64 or nil.
type image map[string]any

// tables is the whole of what undo can take back. A table that is missing here is
// either append only in its own right (prints, movements, history), derived
// (item_words, worded), or not to be taken back (devices, arrivals, read_from).
var tables = []table{
	{
		name: "hauls", key: []string{"id"}, versioned: true,
		columns: []string{"name", "source", "occasion", "acquired", "price_minor", "price_currency", "zone", "notes", "state"},
		unmade:  image{"state": "void"},
	},
	{name: "photos", key: []string{"id"}, columns: []string{"haul_id", "purpose", "role"}, unmade: image{}},
	{name: "cameras", key: []string{"id"}, columns: []string{"name", "zone"}, unmade: image{}},
	// What a correction says rests on photos, so history holds only whether it stands.
	{name: "clock_corrections", key: []string{"id"}, columns: []string{"ended"}, unmade: image{"ended": int64(1)}},
	{name: "cuts", key: []string{"photo_id"}, columns: []string{"cut"}},
	{
		name: "items", key: []string{"id"}, versioned: true,
		columns: []string{
			"haul_id", "parent_id", "state", "name", "maker", "model", "quantity", "mass_g", "width_mm", "depth_mm",
			"height_mm", "owner", "source", "acquired", "price_minor", "price_currency", "normal_place_id", "public",
			"notes", "successor_id", "successor_why", "accessioned_at",
		},
		unmade: image{"state": "withdrawn"},
	},
	{
		name: "numbers", key: []string{"year", "haul", "item", "part"},
		columns: []string{"item_id", "state"}, unmade: image{"state": "withdrawn"},
	},
	{name: "item_photos", key: []string{"item_id", "photo_id"}, columns: []string{"role"}},
	{
		name: "identifiers", key: []string{"id"},
		columns: []string{"item_id", "kind", "text", "folded", "place_on", "photo_id", "doubt"},
	},
	{
		name: "codes", key: []string{"code"},
		columns: []string{"item_id", "place_id", "divider", "successor", "reason"},
		unmade:  image{"item_id": nil, "place_id": nil, "divider": int64(0), "successor": nil, "reason": ""},
	},
}

// tableNamed fails for a table that a newer program recorded and this one does not
// know: undoing half a change would be worse than none.
func tableNamed(name string) (table, error) {
	i := slices.IndexFunc(tables, func(t table) bool { return t.name == name })
	if i < 0 {
		return table{}, fmt.Errorf("no table %q is recorded in history", name)
	}
	return tables[i], nil
}

// read returns the row's image now.
func (t table) read(ctx context.Context, tx *sql.Tx, key image) (image, error) {
	values := make([]any, len(t.columns))
	into := make([]any, len(values))
	for i := range values {
		into[i] = &values[i]
	}
	where, args := t.where(key)
	err := tx.QueryRowContext(ctx, "SELECT "+strings.Join(t.columns, ", ")+" FROM "+t.name+where, args...).Scan(into...)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	} else if err != nil {
		return nil, fmt.Errorf("read %s: %w", t.name, err)
	}
	row := image{}
	for i, column := range t.columns {
		row[column] = values[i]
	}
	return row, nil
}

// restore makes the row what it was in want, starting from now. Columns that
// want does not name stay, so that images outlive a schema that grew. Only
// columns that differ are written: numbers refuse any write to their own parts.
func (t table) restore(ctx context.Context, tx *sql.Tx, key, now, want image) error {
	if want == nil && t.unmade == nil {
		where, args := t.where(key)
		_, err := tx.ExecContext(ctx, "DELETE FROM "+t.name+where, args...)
		return err
	}
	if want == nil {
		want = t.unmade
	}
	if now == nil {
		return t.insert(ctx, tx, key, want)
	}
	var sets []string
	var args []any
	for _, column := range slices.Sorted(maps.Keys(want)) {
		// Both sides came through the same driver types, so plain comparison is exact.
		if now[column] != want[column] {
			sets, args = append(sets, column+" = ?"), append(args, want[column])
		}
	}
	if len(sets) == 0 {
		return nil
	}
	where, keys := t.where(key)
	_, err := tx.ExecContext(ctx, "UPDATE "+t.name+" SET "+strings.Join(sets, ", ")+where, append(args, keys...)...)
	return err
}

// insert writes a row back that undo had deleted. Columns that the image does not
// name get their defaults, as they would have when it was first written.
func (t table) insert(ctx context.Context, tx *sql.Tx, key, row image) error {
	var columns, marks []string
	var args []any
	for _, from := range []image{key, row} {
		for _, column := range slices.Sorted(maps.Keys(from)) {
			columns, marks, args = append(columns, column), append(marks, "?"), append(args, from[column])
		}
	}
	_, err := tx.ExecContext(ctx, "INSERT INTO "+t.name+" ("+strings.Join(columns, ", ")+") VALUES ("+strings.Join(marks, ", ")+")", args...)
	return err
}

// where addresses one row by its key.
func (t table) where(key image) (string, []any) {
	var args []any
	for _, column := range t.key {
		args = append(args, key[column])
	}
	return " WHERE " + strings.Join(t.key, " = ? AND ") + " = ?", args
}

// rowChange is one row of a change, as history keeps it.
type rowChange struct {
	Table  string `json:"table"`
	Key    image  `json:"key"`
	Before image  `json:"before"`
	After  image  `json:"after"`
}

// UnmarshalJSON keeps whole numbers whole: encoding/json alone would make them
// floats, which never equal what the database returns.
func (row *image) UnmarshalJSON(text []byte) error {
	var raw map[string]any
	decoder := json.NewDecoder(bytes.NewReader(text))
	decoder.UseNumber()
	if err := decoder.Decode(&raw); err != nil {
		return err
	}
	for column, value := range raw {
		number, ok := value.(json.Number)
		if !ok {
			continue
		}
		n, err := number.Int64()
		if err != nil {
			return fmt.Errorf("column %s: %w", column, err)
		}
		raw[column] = n
	}
	*row = raw
	return nil
}

// same compares the columns that both images know.
func (row image) same(other image) bool {
	if (row == nil) != (other == nil) {
		return false
	}
	for column, value := range row {
		if there, known := other[column]; known && there != value {
			return false
		}
	}
	return true
}
