package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"time"

	lib "modernc.org/sqlite/lib"
)

// querier is what a pool and a transaction have in common.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// scanner is what one row and the current row of many have in common.
type scanner interface{ Scan(into ...any) error }

// read runs do on one consistent state of the book.
func (db *DB) read(ctx context.Context, do func(tx *sql.Tx) error) error {
	tx, err := db.reader.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return fmt.Errorf("begin reading: %w", err)
	}
	defer tx.Rollback()
	return do(tx)
}

// collect runs a query and scans every row of its answer.
func collect[T any](ctx context.Context, q querier, scan func(scanner) (T, error), query string, args ...any) ([]T, error) {
	for i := range args {
		args[i] = plain(args[i])
	}
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []T
	for rows.Next() {
		v, err := scan(rows)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, rows.Err()
}

// one scans the single value of T in each row.
func one[T any](row scanner) (v T, err error) {
	err = row.Scan(&v)
	return v, err
}

// texts returns the first column of each row.
func texts(ctx context.Context, q querier, query string, args ...any) ([]string, error) {
	return collect(ctx, q, one[string], query, args...)
}

// listed turns names into one argument for "IN (SELECT value FROM json_each(?))":
// one query whatever their number.
func listed[T ~string](names []T) string {
	if names == nil {
		names = []T{}
	}
	text, err := json.Marshal(names)
	if err != nil {
		return "[]" // strings always marshal
	}
	return string(text)
}

// stamp writes a moment as the book keeps it: RFC 3339 in UTC, always as long,
// because SQL compares it as text.
func stamp(t time.Time) string { return t.UTC().Format("2006-01-02T15:04:05.000000Z") }

// optionalStamp is stamp, and NULL for no moment.
func optionalStamp(t time.Time) sql.NullString {
	return sql.NullString{String: stamp(t), Valid: !t.IsZero()}
}

// moment scans a stamp; NULL gives the zero time, anything malformed an error.
type moment struct{ into *time.Time }

// Scan implements sql.Scanner.
func (m moment) Scan(v any) error {
	switch v := v.(type) {
	case nil:
		*m.into = time.Time{}
		return nil
	case string:
		t, err := time.Parse(time.RFC3339Nano, v)
		*m.into = t.UTC()
		return err
	}
	return fmt.Errorf("time is stored as %T", v)
}

// orEmpty scans text into any kind of string; NULL gives "".
type orEmpty[T ~string] struct{ into *T }

// Scan implements sql.Scanner.
func (o orEmpty[T]) Scan(v any) error {
	switch v := v.(type) {
	case nil:
		*o.into = ""
		return nil
	case string:
		*o.into = T(v)
		return nil
	}
	return fmt.Errorf("text is stored as %T", v)
}

// text scans NULL as "".
func text[T ~string](into *T) orEmpty[T] { return orEmpty[T]{into} }

// nullText stores "" as NULL.
func nullText[T ~string](s T) sql.NullString {
	return sql.NullString{String: string(s), Valid: s != ""}
}

// taken reports whether err says that a key or a unique value exists already.
func taken(err error) bool { return resultCode(err) == lib.SQLITE_CONSTRAINT }
