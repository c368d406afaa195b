package sqlite_test

import (
	"errors"
	"slices"
	"sync"
	"testing"

	"haulbook/intake"
	"haulbook/intake/sqlite"
)

// TestASecondSessionInAnotherHaul: a thing of the first haul is photographed
// again weeks later, among the things of another.
func TestASecondSessionInAnotherHaul(t *testing.T) {
	b := openBook(t)
	code := must(b.codes.Blank(t.Context(), keeper, 1))(t)[0]
	first := shot(0, tag(code, 0.1))
	first.Haul = "fair"
	b.receive(t, first)
	it := b.read(t, "thing")
	for i, second := range []int{5000, 5005, 9000} {
		a := shot(second)
		if i == 0 {
			a = shot(second, tag(code, 0.1))
		}
		a.Haul = "attic"
		b.receive(t, a)
	}
	groups := b.groups(t)
	if got, want := described(groups), "5000 5005 =2026.1.1 accessioned | 9000"; got != want {
		t.Fatalf("groups = %q, want %q", got, want)
	}
	got := must(b.bench.Attach(t.Context(), keeper, groups[0].ID(), it.ID))(t)
	if got.Haul.Name != "fair" || len(got.Photos) != 3 {
		t.Errorf("the thing counts to %q with %d photos", got.Haul.Name, len(got.Photos))
	}
	attic := must(b.hauls.Haul(t.Context(), "2026.2"))(t)
	if got, want := described(must(b.bench.Ribbon(t.Context(), attic.ID))(t)), "5000 5005 =2026.1.1 accessioned | 9000"; got != want {
		t.Errorf("ribbon of the attic = %q, want %q", got, want)
	}
	if next := b.read(t, "").Number; next.String() != "2026.2.1" {
		t.Errorf("the attic's first thing got %s", next)
	}
}

// TestAnUndoneItemKeepsItsLatePhotos: the photos that joined later wait again
// with the others, and come back with the number.
func TestAnUndoneItemKeepsItsLatePhotos(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0)
	it := b.read(t, "thing")
	read := must(b.history.Last(t.Context(), keeper.Device))(t)
	b.shoot(t, 5000)
	must(b.bench.Attach(t.Context(), keeper, b.groups(t)[0].ID(), it.ID))(t)
	must(b.history.Undo(t.Context(), keeper, read.Seq))(t)
	if got, want := described(b.groups(t)), "0 ~2026.1.1 | 5000"; got != want {
		t.Fatalf("groups = %q, want %q", got, want)
	}
	if err := b.bench.Join(t.Context(), keeper, photoAt(5000)); err != nil {
		t.Fatal(err)
	}
	again := b.read(t, "thing")
	if again.ID != it.ID || len(again.Photos) != 2 {
		t.Errorf("read again as %s with %d photos, want the same item with both", again.Number, len(again.Photos))
	}
}

// TestReadersSeeWholeChanges: while plates are read, nobody ever sees an item
// without its number or a number without its photos.
func TestReadersSeeWholeChanges(t *testing.T) {
	b := openBook(t)
	for i := range 25 {
		b.shoot(t, i*100, i*100+5)
	}
	done := make(chan struct{})
	var wg sync.WaitGroup
	for range 2 {
		wg.Go(func() {
			for {
				items, err := b.items.List(t.Context(), intake.Number{}, 0)
				if err != nil {
					t.Error(err)
					return
				}
				for _, it := range items {
					if it.Number.IsZero() || it.Name != "thing" || len(it.Photos) != 1 || it.Serial != "S1" {
						t.Errorf("saw half an item: %s %q with %d photos, serial %q", it.Number, it.Name, len(it.Photos), it.Serial)
					}
				}
				select {
				case <-done:
					return
				default:
				}
			}
		})
	}
	for _, g := range b.groups(t) {
		if _, err := b.bench.Read(t.Context(), keeper, g.ID(), intake.Reading{Name: "thing", Serial: "S1"}); err != nil {
			t.Error(err)
		}
	}
	close(done)
	wg.Wait()
}

// TestTwoPeopleUndoOneChange: it is taken back once.
func TestTwoPeopleUndoOneChange(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0)
	b.read(t, "thing")
	seq := must(b.history.Last(t.Context(), keeper.Device))(t).Seq
	others := []sqlite.History{b.history, reopen(t, b.path).history}
	var wg sync.WaitGroup
	var mu sync.Mutex
	var results []error
	for i := range 6 {
		wg.Go(func() {
			_, err := others[i%2].Undo(t.Context(), keeper, seq)
			mu.Lock()
			defer mu.Unlock()
			results = append(results, err)
		})
	}
	wg.Wait()
	done := slices.DeleteFunc(slices.Clone(results), func(err error) bool { return err != nil })
	for _, err := range results {
		if err != nil && !errors.Is(err, intake.ErrConflict) {
			t.Error(err)
		}
	}
	if len(done) != 1 {
		t.Errorf("%d undid the change, want 1", len(done))
	}
	if it := must(b.items.Item(t.Context(), "2026.1.1"))(t); it.State != intake.StateWithdrawn {
		t.Errorf("the item is %s, want withdrawn", it.State)
	}
}

// TestEveryChangeNamesItsActor: the one history says who, with what, and why.
func TestEveryChangeNamesItsActor(t *testing.T) {
	b := openBook(t)
	by := intake.By{Person: "Bo Reed", Device: "phone", Op: "op-1", Why: "for the move"}
	b.shoot(t, 0)
	it := must(b.bench.Read(t.Context(), by, b.groups(t)[0].ID(), intake.Reading{Name: "thing"}))(t)
	changes := must(b.history.Of(t.Context(), "item", string(it.ID)))(t)
	if len(changes) != 1 || changes[0].By != by || changes[0].At.IsZero() || changes[0].Summary != "plate read: 2026.1.1 thing" {
		t.Errorf("history says %+v", changes)
	}
	if err := b.items.Void(t.Context(), keeper, it.ID, "a dummy"); err != nil {
		t.Fatal(err)
	}
	newest := must(b.history.Of(t.Context(), "item", string(it.ID)))(t)[0]
	if newest.Act != "voided" || newest.By.Why != "a dummy" || newest.By.Op == "" {
		t.Errorf("history says %+v, want the reason and an operation of its own", newest)
	}
	b.undo(t)
	if got := must(b.history.Of(t.Context(), "item", string(it.ID)))(t); got[1].UndoneBy != got[0].Seq || got[0].Undoes != got[1].Seq {
		t.Errorf("undo and undone do not name each other: %+v", got[:2])
	}
}

// TestAnEnteredItemGoesBackToABlankTag and its photos to the bench.
func TestAnEnteredItemGoesBackToABlankTag(t *testing.T) {
	b := openBook(t)
	code := must(b.codes.Blank(t.Context(), keeper, 1))(t)[0]
	first := must(b.codes.Enter(t.Context(), keeper, code))(t)
	b.undo(t)
	if target := must(b.codes.Resolve(t.Context(), code))(t); !target.Blank {
		t.Errorf("the tag leads to %+v, want nothing yet", target)
	}
	if n := len(must(b.items.Entered(t.Context()))(t)); n != 0 {
		t.Errorf("%d entered items, want none", n)
	}
	b.receive(t, shot(0, tag(code, 0.1)))
	it := b.read(t, "thing")
	if it.ID == first.ID || it.Code() != code || it.Number.String() != "2026.1.1" {
		t.Errorf("read as %s with tag %s", it.Number, it.Code())
	}
}
