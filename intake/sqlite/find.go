package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"haulbook/intake"
)

// Find returns the items that words mean, best first: an exact number, code or
// tag address leads; then those that have every word, each as a beginning, in
// any order, without regard to case or accents, serials also through their
// look-alikes. Nothing typed is an error. A limit of 0 or less means 50.
func (i Items) Find(ctx context.Context, words string, limit int) (items []intake.Item, err error) {
	if limit <= 0 {
		limit = 50
	}
	err = i.DB.read(ctx, func(tx *sql.Tx) error {
		ids, err := matching(ctx, tx, words, limit)
		if err != nil {
			return err
		}
		if id, err := idOf(ctx, tx, words); err == nil {
			ids = append([]string{string(id)}, slices.DeleteFunc(ids, func(other string) bool { return other == string(id) })...)
		} else if !errors.Is(err, intake.ErrNotFound) {
			return err
		}
		ids = ids[:min(len(ids), limit)]
		items, err = itemsWhere(ctx, tx, "i.id IN (SELECT value FROM json_each(?)) AND i.state <> 'withdrawn'", listed(ids))
		slices.SortFunc(items, func(a, b intake.Item) int {
			return slices.Index(ids, string(a.ID)) - slices.Index(ids, string(b.ID))
		})
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("find %.60q: %w", words, err)
	}
	return firstPhotosOnly(items), nil
}

// matching ranks by where the words were found: a number or a code is meant, a
// name is likely, the name of a haul is shared by everything in it.
func matching(ctx context.Context, q querier, words string, limit int) ([]string, error) {
	match := matchFor(words)
	if match == "" {
		return nil, nil
	}
	// The best are chosen before anything is joined to them: a word that half the
	// book has would otherwise look up half the book.
	return texts(ctx, q, `
		SELECT w.item_id
		FROM (SELECT rowid AS row, bm25(item_words, 4, 2, 2, 1) AS score FROM item_words WHERE item_words MATCH ? ORDER BY score LIMIT ?) f
		JOIN worded w ON w.row = f.row LEFT JOIN numbers n ON n.item_id = w.item_id
		ORDER BY f.score, n.year DESC, n.haul DESC, n.item DESC, n.part`, match, limit)
}

// Queries are for people: what is longer is a paste gone wrong, and every word
// costs a search.
const (
	maxQuery      = 1000
	maxQueryWords = 16
)

// matchFor writes the search in the language of FTS5. Everything typed ends up
// inside quotes, so its operators are only words. A number is one phrase,
// because the tokeniser splits 2026.3.14 into three words.
func matchFor(words string) string {
	words = cleanQuery(words)
	var groups []string
	for _, word := range strings.Fields(words) {
		if n, err := intake.ParseNumber(word); err == nil {
			word = n.String()
		} else if n, err := intake.ParseHaulNumber(word); err == nil {
			word = n.String()
		} else if code, ok := intake.FindCode(word); ok {
			// In a code I is 1 and O is 0, but it may be an eight-letter word all the same.
			groups = append(groups, "("+beginning(word)+" OR "+beginning(string(code))+")")
			continue
		}
		group := beginning(word)
		if folded := intake.FoldSerial(word); utf8.RuneCountInString(folded) >= minFolded {
			group = "(" + group + " OR serials : " + beginning(folded) + ")"
		}
		groups = append(groups, group)
		if len(groups) == maxQueryWords {
			break
		}
	}
	if len(groups) == 0 {
		return ""
	}
	match := "(" + strings.Join(groups, " AND ") + ")"
	// A serial typed with its spaces or without: 12 34-5 is 12345.
	if folded := intake.FoldSerial(words); len(groups) > 1 && utf8.RuneCountInString(folded) >= minFolded {
		match += " OR serials : " + beginning(folded)
	}
	return match
}

// minFolded is how much of a serial must be typed before its look-alikes count:
// less would make "is" find 15.
const minFolded = 3

// beginning quotes a word for FTS5, where a doubled quote stands for itself, and
// lets it match as a beginning: nobody types "computer" to its end.
func beginning(word string) string {
	return `"` + strings.ReplaceAll(word, `"`, `""`) + `"*`
}

// cleanQuery drops what no search word holds, and words made only of it: an
// empty phrase matches nothing and would spoil the rest.
func cleanQuery(s string) string {
	if len(s) > maxQuery {
		s = s[:maxQuery]
	}
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == utf8.RuneError {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, " "))
	kept := slices.DeleteFunc(strings.Fields(s), func(word string) bool {
		return !strings.ContainsFunc(word, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) })
	})
	return strings.Join(kept, " ")
}
