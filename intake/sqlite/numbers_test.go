package sqlite_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"

	"haulbook/intake"
	"haulbook/intake/sqlite"
)

// TestSixteenWriters: every read is stored, no number twice, none left out. Two
// handles stand for two processes; each has its own connections.
func TestSixteenWriters(t *testing.T) {
	b := openBook(t)
	const writers, reads = 16, 20
	for i := range writers * reads {
		b.shoot(t, i*100)
	}
	var ids []string
	for _, g := range b.groups(t) {
		ids = append(ids, g.ID())
	}
	if len(ids) != writers*reads {
		t.Fatalf("%d groups, want %d", len(ids), writers*reads)
	}
	benches := []sqlite.Bench{b.bench, reopen(t, b.path).bench}
	given := make([]intake.Number, len(ids))
	var wg sync.WaitGroup
	for w := range writers {
		wg.Go(func() {
			for i := w; i < len(ids); i += writers {
				it, err := benches[w%len(benches)].Read(t.Context(), keeper, ids[i], intake.Reading{})
				if err != nil {
					t.Errorf("read %d: %v", i, err)
					return
				}
				given[i] = it.Number
			}
		})
	}
	wg.Wait()
	slices.SortFunc(given, intake.Number.Compare)
	for i, n := range given {
		if want := (intake.Number{Year: 2026, Haul: 1, Item: i + 1}); n != want {
			t.Fatalf("number %d in order is %s, want %s", i, n, want)
		}
	}
	if n := must(b.photos.Stats(t.Context()))(t).Items; n != writers*reads {
		t.Errorf("%d items stored, want %d", n, writers*reads)
	}
}

// TestOneGroupManyReaders: the same plate typed on two devices becomes one item.
func TestOneGroupManyReaders(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0)
	id := b.groups(t)[0].ID()
	var wg sync.WaitGroup
	var mu sync.Mutex
	var read, refused int
	for range 8 {
		wg.Go(func() {
			_, err := b.bench.Read(t.Context(), keeper, id, intake.Reading{})
			mu.Lock()
			defer mu.Unlock()
			switch {
			case err == nil:
				read++
			case errors.Is(err, intake.ErrConflict):
				refused++
			default:
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if read != 1 || refused != 7 {
		t.Errorf("%d read and %d refused, want 1 and 7", read, refused)
	}
}

func TestTheSameOperationIsOneChange(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0, 100)
	by := keeper
	by.Op = "phone-1"
	id := b.groups(t)[0].ID()
	one := must(b.bench.Read(t.Context(), by, id, intake.Reading{Name: "first"}))(t)
	two := must(b.bench.Read(t.Context(), by, id, intake.Reading{Name: "first"}))(t)
	if one.ID != two.ID || two.Number.String() != "2026.1.1" || two.Version != one.Version {
		t.Errorf("repeat gave %s version %d, first %s version %d", two.Number, two.Version, one.Number, one.Version)
	}
	wantErr(t, "the operation for another act", b.bench.Cut(t.Context(), by, photoAt(100)), intake.ErrConflict)

	by.Op = "phone-2"
	codes, again := must(b.codes.Blank(t.Context(), by, 3))(t), must(b.codes.Blank(t.Context(), by, 3))(t)
	if !slices.Equal(codes, again) || len(codes) != 3 {
		t.Errorf("blank tags %v, repeated %v", codes, again)
	}
	by.Op = "phone-3"
	part, same := must(b.items.AddPart(t.Context(), by, one.ID, "lead"))(t), must(b.items.AddPart(t.Context(), by, one.ID, "lead"))(t)
	if part.ID != same.ID {
		t.Errorf("repeat added %s after %s", same.Number, part.Number)
	}
	by.Op = "phone-4"
	if one, two := must(b.codes.For(t.Context(), by, one.ID))(t), must(b.codes.For(t.Context(), by, one.ID))(t); one != two || one == "" {
		t.Errorf("tag %q, repeated %q", one, two)
	}
	by.Op = "phone-5"
	seq := must(b.history.Last(t.Context(), keeper.Device))(t).Seq
	undone, repeated := must(b.history.Undo(t.Context(), by, seq))(t), must(b.history.Undo(t.Context(), by, seq))(t)
	if undone.Seq != repeated.Seq {
		t.Errorf("undo made change %d, repeated %d", undone.Seq, repeated.Seq)
	}
}

func TestPartLetters(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0)
	whole := b.read(t, "terminal")
	var last intake.Item
	for i := range 28 {
		last = must(b.items.AddPart(t.Context(), keeper, whole.ID, fmt.Sprintf("part %d", i)))(t)
	}
	if got := last.Number.String(); got != "2026.1.1ab" {
		t.Errorf("part 28 is %s, want 2026.1.1ab", got)
	}
	b.undo(t)
	if err := b.items.Void(t.Context(), keeper, must(b.items.Item(t.Context(), "2026.1.1aa"))(t).ID, "counted twice"); err != nil {
		t.Fatal(err)
	}
	if got := must(b.items.AddPart(t.Context(), keeper, whole.ID, "cover"))(t).Number.String(); got != "2026.1.1ac" {
		t.Errorf("after an undone and a void part comes %s, want 2026.1.1ac", got)
	}
	_, err := b.items.AddPart(t.Context(), keeper, must(b.items.Item(t.Context(), "2026.1.1A"))(t).ID, "part of a part")
	wantErr(t, "a part of a part", err, intake.ErrConflict)
	if parts := must(b.items.Item(t.Context(), string(whole.ID)))(t).Parts; len(parts) != 28 || parts[0].Number.Part != 1 || parts[0].Parent != whole.ID {
		t.Errorf("%d parts, want 28 beginning with a", len(parts))
	}
}

func TestVoidNumbersAreNeverUsedAgain(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0, 100, 200)
	one := b.read(t, "one")
	must(b.items.AddPart(t.Context(), keeper, one.ID, "lid"))(t)
	wantErr(t, "void without a reason", b.items.Void(t.Context(), keeper, one.ID, " "), intake.ErrInvalid)
	if err := b.items.Void(t.Context(), keeper, one.ID, "typed twice"); err != nil {
		t.Fatal(err)
	}
	if two := b.read(t, "two"); two.Number.String() != "2026.1.2" {
		t.Errorf("after a void number comes %s, want 2026.1.2", two.Number)
	}
	void := must(b.items.Item(t.Context(), "2026.1.1"))(t)
	if void.State != intake.StateVoid || len(void.Parts) != 1 || void.Parts[0].State != intake.StateVoid || len(void.Photos) != 1 {
		t.Errorf("void item: %s with %d parts, %d photos", void.State, len(void.Parts), len(void.Photos))
	}
	_, err := b.items.Amend(t.Context(), keeper, void.ID, void.Version, intake.Amendment{})
	wantErr(t, "amending a void item", err, intake.ErrConflict)
	wantErr(t, "voiding twice", b.items.Void(t.Context(), keeper, void.ID, "again"), intake.ErrConflict)
}

func TestNextIsWhatReadGives(t *testing.T) {
	b := openBook(t)
	_, err := b.bench.Next(t.Context(), "")
	wantErr(t, "next in an empty book", err, intake.ErrNotFound)
	b.shoot(t, 0, 100)
	for range 2 {
		want := must(b.bench.Next(t.Context(), ""))(t)
		if got := b.read(t, "").Number; got != want {
			t.Errorf("read gave %s, next had said %s", got, want)
		}
	}
}

func TestACancelledReadChangesNothing(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := b.bench.Read(ctx, keeper, b.groups(t)[0].ID(), intake.Reading{}); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want a cancelled context", err)
	}
	if got, want := described(b.groups(t)), "0"; got != want {
		t.Errorf("groups = %q, want %q", got, want)
	}
}
