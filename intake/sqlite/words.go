package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"haulbook/intake"
)

// wordItem renews an item's search words from its rows, in the transaction that
// changed them. Withdrawn items have none.
func wordItem(ctx context.Context, tx *sql.Tx, id string) error {
	var row int64
	err := tx.QueryRowContext(ctx, "SELECT row FROM worded WHERE item_id = ?", id).Scan(&row)
	if errors.Is(err, sql.ErrNoRows) {
		var result sql.Result
		if result, err = tx.ExecContext(ctx, "INSERT INTO worded (item_id) VALUES (?)", id); err == nil {
			row, err = result.LastInsertId()
		}
	}
	if err != nil {
		return fmt.Errorf("renew search words: %w", err)
	}
	// An update of an FTS5 row is a delete and an insert anyway; done here, a row
	// without words needs no case of its own.
	if _, err := tx.ExecContext(ctx, "DELETE FROM item_words WHERE rowid = ?", row); err != nil {
		return fmt.Errorf("renew search words: %w", err)
	}
	if err := insertWords(ctx, tx, id, row); err != nil {
		return fmt.Errorf("renew search words: %w", err)
	}
	return nil
}

// insertWords gives numbers, names, serials and haul a column each, so that they
// can weigh differently. The folded serial stands beside the serial as read.
func insertWords(ctx context.Context, tx *sql.Tx, id string, row int64) error {
	var n intake.Number
	var state, name, maker, model, notes, haul string
	err := tx.QueryRowContext(ctx, `
		SELECT coalesce(n.year, 0), coalesce(n.haul, 0), coalesce(n.item, 0), coalesce(n.part, 0), i.state, i.name, i.maker, i.model,
			i.notes, h.name
		FROM items i LEFT JOIN numbers n ON n.item_id = i.id AND i.state <> 'entered' LEFT JOIN hauls h ON h.id = i.haul_id WHERE i.id = ?`, id,
	).Scan(&n.Year, &n.Haul, &n.Item, &n.Part, &state, &name, &maker, &model, &notes, text(&haul))
	if err != nil || state == string(intake.StateWithdrawn) {
		return err
	}
	// All identifiers are searched as serials are: an old inventory number has the
	// same look-alikes, and is as often misread.
	identifiers, err := texts(ctx, tx, "SELECT text FROM identifiers WHERE item_id = ?", id)
	if err != nil {
		return err
	}
	// Codes of lost tags too: the tag may turn up, and be typed from sight.
	codes, err := texts(ctx, tx, "SELECT code FROM codes WHERE item_id = ?", id)
	if err != nil {
		return err
	}
	names := strings.Join([]string{name, maker, model, notes}, " ")
	// The tokeniser knows accents and case, but not that ß is ss.
	if folded := foldName(names); folded != strings.ToLower(names) {
		names += " " + folded
	}
	serials := append([]string{}, identifiers...)
	for _, text := range identifiers {
		serials = append(serials, intake.FoldSerial(text))
	}
	_, err = tx.ExecContext(ctx, "INSERT INTO item_words (rowid, numbers, names, serials, hauls) VALUES (?, ?, ?, ?, ?)", row,
		strings.Join(append([]string{n.String()}, codes...), " "), names,
		strings.Join(serials, " "), haul)
	return err
}
