package sqlite_test

import (
	"testing"

	"haulbook/intake"
)

// Places, movements and divider codes have no methods of their own yet; what
// reads them is held here.

func TestPlacesAreWrittenOut(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0)
	it := b.read(t, "thing")
	code := must(b.codes.Blank(t.Context(), keeper, 1))(t)[0]
	run(t, b.path,
		`INSERT INTO places (id, parent_id, kind, name) VALUES ('house', NULL, 'building', 'house'), ('attic', 'house', 'room', 'attic'),
			('shelf', 'attic', 'shelf', 'shelf 3')`,
		`INSERT INTO movements (item_id, to_id, moved_at, person, taken_back) VALUES
			('`+string(it.ID)+`', 'house', '2026-05-01T00:00:00.000000Z', 'Ada Quill', 0),
			('`+string(it.ID)+`', 'shelf', '2026-05-02T00:00:00.000000Z', 'Ada Quill', 0),
			('`+string(it.ID)+`', 'attic', '2026-05-03T00:00:00.000000Z', 'Ada Quill', 1)`,
		"UPDATE codes SET place_id = 'attic' WHERE code = '"+string(code)+"'")
	if got := must(b.items.Item(t.Context(), string(it.ID)))(t).Place; got != "house / attic / shelf 3" {
		t.Errorf("the item stands in %q", got)
	}
	if target := must(b.codes.Resolve(t.Context(), code))(t); target.Place != "house / attic" || target.Blank || target.Item != nil {
		t.Errorf("the place's code resolves to %+v", target)
	}
	_, err := b.items.Item(t.Context(), string(code))
	wantErr(t, "an item by a place's code", err, intake.ErrNotFound)
	_, err = b.codes.Enter(t.Context(), keeper, code)
	wantErr(t, "entering a place's code", err, intake.ErrConflict)

	// A shelf's tag in the background says nothing about the thing in front.
	own := must(b.codes.Blank(t.Context(), keeper, 1))(t)[0]
	b.receive(t, shot(1000, tag(code, 0.2), tag(own, 0.05)))
	if g := b.groups(t)[0]; g.Code != own {
		t.Errorf("the group's tag is %q, want %q and not the shelf's", g.Code, own)
	}
}

func TestDividerCodesDivide(t *testing.T) {
	b := openBook(t)
	code := must(b.codes.Blank(t.Context(), keeper, 1))(t)[0]
	run(t, b.path, "UPDATE codes SET divider = 1 WHERE code = '"+string(code)+"'")
	b.receive(t, shot(0), shot(5, tag(code, 0.3)), shot(10))
	if got, want := described(b.groups(t)), "0 | 10"; got != want {
		t.Errorf("groups = %q, want %q", got, want)
	}
	if target := must(b.codes.Resolve(t.Context(), code))(t); !target.Divider || target.Blank {
		t.Errorf("a divider's code resolves to %+v", target)
	}
}
