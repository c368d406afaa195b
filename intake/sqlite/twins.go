package sqlite

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"haulbook/intake"
)

// Twins returns the items that a reading may be a second time: those whose
// serial is the same through look-alikes, equal maker and model first. Without a
// serial nothing is a twin, because collectors own several of a kind.
func (b Bench) Twins(ctx context.Context, maker, model, serial string) (twins []intake.Item, err error) {
	folded := intake.FoldSerial(serial)
	if strings.Trim(folded, "?") == "" {
		return nil, nil
	}
	err = b.DB.read(ctx, func(tx *sql.Tx) error {
		twins, err = itemsWhere(ctx, tx, `i.state <> 'withdrawn' AND i.id IN (SELECT item_id FROM identifiers WHERE folded = ?)
			ORDER BY n.year, n.haul, n.item, n.part`, folded)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("look for twins: %w", err)
	}
	// A folded serial alone is a weak sign: makers reuse low numbers.
	differs := func(it intake.Item) int {
		if foldName(it.Maker) == foldName(maker) && foldName(it.Model) == foldName(model) {
			return 0
		}
		return 1
	}
	slices.SortStableFunc(twins, func(a, b intake.Item) int { return cmp.Compare(differs(a), differs(b)) })
	return firstPhotosOnly(twins), nil
}

// Words returns what was typed in a field before ("name", "maker" or "model"),
// most used first, as far as it begins with prefix, without regard to case or
// accents. A limit of 0 or less means 20.
func (b Bench) Words(ctx context.Context, field, prefix string, limit int) ([]string, error) {
	if limit <= 0 {
		limit = 20
	}
	column := strings.TrimSuffix(field, "s")
	if !slices.Contains([]string{"name", "maker", "model"}, column) {
		return nil, &intake.FieldError{Field: "field", Problem: fmt.Sprintf("%.40q is none of name, maker, model", field)}
	}
	used, err := texts(ctx, b.DB.reader, "SELECT "+column+" FROM items WHERE state IN ('entered', 'accessioned') AND "+column+" <> ''"+
		" GROUP BY "+column+" ORDER BY count(*) DESC, max(entered_at) DESC, "+column)
	if err != nil {
		return nil, fmt.Errorf("read earlier words: %w", err)
	}
	prefix = bare(prefix)
	// In Go and not by LIKE, which knows case only for the letters of English. The
	// list of different words is short even where the list of items is long.
	used = slices.DeleteFunc(used, func(word string) bool { return !strings.HasPrefix(bare(word), prefix) })
	return used[:min(len(used), limit)], nil
}

// bare is foldName without accents.
func bare(s string) string {
	return norm.NFC.String(strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Mn, r) {
			return -1
		}
		return r
	}, norm.NFD.String(foldName(s))))
}
