package sqlite_test

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"haulbook/intake"
)

// actor does random acts on a book, as several people would in an afternoon.
type actor struct {
	b    *book
	draw *rapid.T
}

func pick[T any](a *actor, from []T) (T, bool) {
	if len(from) == 0 {
		var none T
		return none, false
	}
	return from[rapid.IntRange(0, len(from)-1).Draw(a.draw, "which")], true
}

func (a *actor) photo() intake.PhotoID {
	seconds := []int{0, 5, 10, 100, 105, 200, 205, 300, 400}
	second, _ := pick(a, seconds)
	return photoAt(second)
}

// step does one act. Its error may only be one that a user can cause.
func (a *actor) step(ctx context.Context) error {
	b := a.b
	groups, err := b.bench.Groups(ctx, "")
	if err != nil {
		return err
	}
	items, err := b.items.List(ctx, intake.Number{}, 0)
	if err != nil {
		return err
	}
	entered, err := b.items.Entered(ctx)
	if err != nil {
		return err
	}
	items = append(items, entered...)
	group, waiting := pick(a, groups)
	item, there := pick(a, items)
	kind := rapid.IntRange(0, 11).Draw(a.draw, "act")
	switch {
	case kind <= 2 && waiting:
		_, err = b.bench.Read(ctx, keeper, group.ID(), a.reading())
	case kind == 3:
		err = b.bench.Cut(ctx, keeper, a.photo())
	case kind == 4:
		err = b.bench.Join(ctx, keeper, a.photo())
	case kind == 5 && waiting && there:
		_, err = b.bench.Attach(ctx, keeper, group.ID(), item.ID)
	case kind == 6 && there:
		r := a.reading()
		_, err = b.items.Amend(ctx, keeper, item.ID, item.Version, intake.Amendment{Name: &r.Name, Serial: &r.Serial})
	case kind == 7 && there:
		_, err = b.items.AddPart(ctx, keeper, item.ID, "a part")
	case kind == 8 && there:
		err = b.items.Void(ctx, keeper, item.ID, "why")
	case kind == 9 && there && item.Code() != "":
		_, err = b.codes.Replace(ctx, keeper, item.Code(), "lost")
	case kind == 9 && there:
		_, err = b.codes.For(ctx, keeper, item.ID)
	case kind == 10:
		err = a.purposeOrRole(ctx)
	case kind == 11:
		err = a.enter(ctx)
	}
	return err
}

func (a *actor) reading() intake.Reading {
	words := []string{"", "a", "b", "a b"}
	name, _ := pick(a, words)
	serial, _ := pick(a, words)
	return intake.Reading{Name: name, Serial: serial}
}

func (a *actor) purposeOrRole(ctx context.Context) error {
	if rapid.Bool().Draw(a.draw, "purpose") {
		purpose, _ := pick(a, []intake.Purpose{intake.ForAccession, intake.Divider, intake.LeftOut})
		return a.b.photos.SetPurpose(ctx, keeper, a.photo(), purpose)
	}
	role, _ := pick(a, []intake.Role{"", intake.RoleView, intake.RolePlate})
	return a.b.photos.SetRole(ctx, keeper, a.photo(), role)
}

func (a *actor) enter(ctx context.Context) error {
	codes, err := a.b.codes.Unused(ctx)
	if code, ok := pick(a, codes); ok && err == nil {
		_, err = a.b.codes.Enter(ctx, keeper, code)
	}
	return err
}

// TestUndoingEverythingIsTheBeginning: random acts, all undone in reverse, give
// the book as it was; all done again give it as it became.
func TestUndoingEverythingIsTheBeginning(t *testing.T) {
	folder := t.TempDir()
	books := 0
	rapid.Check(t, func(draw *rapid.T) {
		books++
		b := reopen(t, filepath.Join(folder, fmt.Sprintf("book-%d.db", books)))
		b.shoot(t, 0, 5, 10, 100, 105, 200, 205, 300, 400)
		b.receive(t, shot(500, tag(must(b.codes.Blank(t.Context(), keeper, 3))(t)[0], 0.1)))
		before := b.state(t)
		a := &actor{b: b, draw: draw}
		for range rapid.IntRange(1, 12).Draw(draw, "acts") {
			if err := a.step(t.Context()); err != nil && !errors.Is(err, intake.ErrConflict) && !errors.Is(err, intake.ErrInvalid) && !errors.Is(err, intake.ErrNotFound) {
				draw.Fatal(err)
			}
		}
		checkRegister(draw, t, b)
		checkSettled(draw, t, b)
		after := b.state(t)

		var undone []int64
		for {
			last, err := b.history.Last(t.Context(), keeper.Device)
			if errors.Is(err, intake.ErrNotFound) {
				break
			}
			if err != nil {
				draw.Fatal(err)
			}
			change, err := b.history.Undo(t.Context(), keeper, last.Seq)
			if err != nil {
				draw.Fatalf("undo of the newest change (%s): %v", last.Summary, err)
			}
			undone = append(undone, change.Seq)
		}
		if got := b.state(t); got != before {
			draw.Fatalf("all undone gives\n%s\nwant\n%s", got, before)
		}
		checkSettled(draw, t, b)
		for _, seq := range slices.Backward(undone) {
			if _, err := b.history.Undo(t.Context(), keeper, seq); err != nil {
				draw.Fatalf("do change %d again: %v", seq, err)
			}
		}
		if got := b.state(t); got != after {
			draw.Fatalf("all done again gives\n%s\nwant\n%s", got, after)
		}
		if err := b.Close(); err != nil { // now, not when a hundred books are open
			draw.Fatal(err)
		}
	})
}

// checkSettled: what the triggers remember of photos is what a count would say.
func checkSettled(draw *rapid.T, t *testing.T, b *book) {
	raw := must(sql.Open("sqlite", b.path))(t)
	defer raw.Close()
	var wrong int
	err := raw.QueryRowContext(t.Context(), `
		SELECT count(*) FROM photos p WHERE settled <> EXISTS (
			SELECT 1 FROM item_photos l JOIN items i ON i.id = l.item_id
			WHERE l.photo_id = p.id AND i.state IN ('accessioned', 'void'))`).Scan(&wrong)
	if err != nil || wrong != 0 {
		draw.Fatalf("%d photos are remembered wrongly, %v", wrong, err)
	}
}

// checkRegister: numbers begin at 1, leave no gap and belong to one item each.
func checkRegister(draw *rapid.T, t *testing.T, b *book) {
	seen := map[intake.ID]bool{}
	for n := 1; ; n++ {
		it, err := b.items.Item(t.Context(), fmt.Sprintf("2026.1.%d", n))
		if errors.Is(err, intake.ErrNotFound) {
			next, err := b.bench.Next(t.Context(), "")
			if err != nil || next.Item != n {
				draw.Fatalf("the next number is %s, %v; the first one free is %d", next, err, n)
			}
			return
		}
		if err != nil {
			draw.Fatal(err)
		}
		if seen[it.ID] {
			draw.Fatalf("item %s has two numbers", it.ID)
		}
		seen[it.ID] = true
	}
}
