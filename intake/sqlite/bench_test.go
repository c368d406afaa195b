package sqlite_test

import (
	"crypto/sha256"
	"errors"
	"slices"
	"strings"
	"testing"

	"haulbook/intake"
	"haulbook/intake/sqlite"
	"haulbook/metadata"
)

func TestGroupsBecomeNumbers(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0, 5, 10, 100, 105, 200)
	if got, want := described(b.groups(t)), "0 5 10 | 100 105 | 200"; got != want {
		t.Fatalf("groups = %q, want %q", got, want)
	}
	g := b.groups(t)[0]
	if g.Certainty != 0.75 || g.Photos[0].As != intake.RoleView || g.Photos[2].As != intake.RolePlate || g.Haul.Waiting != 3 {
		t.Errorf("first group: certainty %v, roles %v %v, waiting %d", g.Certainty, g.Photos[0].As, g.Photos[2].As, g.Haul.Waiting)
	}
	it := must(b.bench.Read(t.Context(), keeper, g.ID(), intake.Reading{
		Name: "desk computer", Maker: "Orvex", Model: "12", Serial: "O-I 8", Plate: g.Photos[1].ID,
	}))(t)
	if it.Number.String() != "2026.1.1" || it.State != intake.StateAccessioned || it.Serial != "O-I 8" || len(it.Photos) != 3 {
		t.Errorf("read gave %+v", it)
	}
	if it.Photos[1].As != intake.RolePlate || it.Photos[2].As != intake.RoleDetail {
		t.Errorf("roles = %v %v, want the plate named and the last a detail", it.Photos[1].As, it.Photos[2].As)
	}
	if got, want := described(b.groups(t)), "100 105 | 200"; got != want {
		t.Errorf("groups = %q, want %q", got, want)
	}
	b.undo(t)
	if got, want := described(b.groups(t)), "0 5 10 ~2026.1.1 | 100 105 | 200"; got != want {
		t.Errorf("groups after undo = %q, want %q", got, want)
	}
}

func TestStaleGroups(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0, 5, 100)
	groups := b.groups(t)
	stale := groups[0].ID()
	b.shoot(t, 6) // a late photo joins the group
	if _, err := b.bench.Group(t.Context(), groups[1].ID()); err != nil {
		t.Errorf("the neighbour's id went stale: %v", err)
	}
	_, err := b.bench.Group(t.Context(), stale)
	wantErr(t, "a group that grew", err, intake.ErrConflict)
	_, err = b.bench.Read(t.Context(), keeper, stale, intake.Reading{})
	wantErr(t, "reading a group that grew", err, intake.ErrConflict)
	_, err = b.bench.Group(t.Context(), "0123456789ab-01234567")
	wantErr(t, "a group of a photo never received", err, intake.ErrNotFound)
	_, err = b.bench.Group(t.Context(), "nonsense")
	wantErr(t, "no id at all", err, intake.ErrInvalid)

	fresh := b.groups(t)[0].ID()
	it := must(b.bench.Read(t.Context(), keeper, fresh, intake.Reading{}))(t)
	_, err = b.bench.Read(t.Context(), keeper, fresh, intake.Reading{})
	wantErr(t, "reading a group that was read", err, intake.ErrConflict)
	if items := must(b.items.List(t.Context(), intake.Number{}, 0))(t); len(items) != 1 || items[0].ID != it.ID {
		t.Errorf("%d items after a refused reading, want the one", len(items))
	}
}

func TestRibbonShowsWhatIsNumbered(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0, 5, 100, 105, 200)
	b.receive(t, undated("scan.png"))
	middle := b.groups(t)[1]
	must(b.bench.Read(t.Context(), keeper, middle.ID(), intake.Reading{}))(t)
	ribbon := must(b.bench.Ribbon(t.Context(), ""))(t)
	if got, want := described(ribbon), "0 5 | 100 105 =2026.1.1 accessioned | 200 | undated"; got != want {
		t.Errorf("ribbon = %q, want %q", got, want)
	}
	if ribbon[0].Certainty != 1 || ribbon[1].Certainty != 1 || !ribbon[3].Undated {
		t.Errorf("certainties %v %v, undated %v; a numbered neighbour leaves no doubt", ribbon[0].Certainty, ribbon[1].Certainty, ribbon[3].Undated)
	}
	if got, want := described(b.groups(t)), "0 5 | 200 | undated"; got != want {
		t.Errorf("waiting = %q, want %q", got, want)
	}
	if n := must(b.photos.Stats(t.Context()))(t).Undated; n != 1 {
		t.Errorf("%d undated photos counted, want 1", n)
	}
	_, err := b.bench.Groups(t.Context(), "nosuchhaul")
	wantErr(t, "groups of no haul", err, intake.ErrNotFound)
}

func undated(name string) intake.Arrival {
	a := shot(7000)
	a.Path, a.Photo.Name, a.Photo.ID = "/inbox/"+name, name, sha256.Sum256([]byte(name))
	a.Photo.Meta.Taken = metadata.Taken{}
	return a
}

func TestUndatedPhotosWaitAtTheVeryEnd(t *testing.T) {
	b := openBook(t)
	early, later := undated("a.png"), shot(50)
	early.Haul, later.Haul = "attic", "fair"
	b.receive(t, early, later)
	if got, want := described(b.groups(t)), "50 | undated"; got != want {
		t.Errorf("groups = %q, want %q", got, want)
	}
	it := must(b.bench.Read(t.Context(), keeper, b.groups(t)[1].ID(), intake.Reading{}))(t)
	if it.Number.String() != "2026.1.1" || it.Haul.Name != "attic" {
		t.Errorf("undated photo read as %s of %q", it.Number, it.Haul.Name)
	}
	wantErr(t, "a cut before an undated photo", b.bench.Cut(t.Context(), keeper, early.Photo.ID), intake.ErrInvalid)
}

func TestCutsAndJoins(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0, 5, 10, 100, 200)
	steps := []struct {
		name   string
		do     func(*testing.T) error
		want   error
		groups string
	}{
		{"cut", func(t *testing.T) error { return b.bench.Cut(t.Context(), keeper, photoAt(5)) }, nil, "0 | 5 10 | 100 | 200"},
		{"cut again", func(t *testing.T) error { return b.bench.Cut(t.Context(), keeper, photoAt(5)) }, nil, "0 | 5 10 | 100 | 200"},
		{"join", func(t *testing.T) error { return b.bench.Join(t.Context(), keeper, photoAt(100)) }, nil, "0 | 5 10 100 | 200"},
		{"join the cut", func(t *testing.T) error { return b.bench.Join(t.Context(), keeper, photoAt(5)) }, nil, "0 5 10 100 | 200"},
		{"join the first", func(t *testing.T) error { return b.bench.Join(t.Context(), keeper, photoAt(0)) }, intake.ErrInvalid, "0 5 10 100 | 200"},
		{"cut before no photo", func(t *testing.T) error { return b.bench.Cut(t.Context(), keeper, photoAt(7)) }, intake.ErrNotFound, "0 5 10 100 | 200"},
		{"read", func(t *testing.T) error { b.read(t, ""); return nil }, nil, "200"},
		{"cut what is numbered", func(t *testing.T) error { return b.bench.Cut(t.Context(), keeper, photoAt(5)) }, intake.ErrConflict, "200"},
		{"join to what is numbered", func(t *testing.T) error { return b.bench.Join(t.Context(), keeper, photoAt(200)) }, intake.ErrConflict, "200"},
	}
	for _, step := range steps {
		err := step.do(t)
		if step.want == nil && err != nil || step.want != nil && !errors.Is(err, step.want) {
			t.Errorf("%s: got error %v, want %v", step.name, err, step.want)
		}
		if got := described(b.groups(t)); got != step.groups {
			t.Errorf("%s: groups = %q, want %q", step.name, got, step.groups)
		}
	}
}

func TestPurposeComesBeforeGrouping(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0, 5, 10, 15)
	if err := b.photos.SetPurpose(t.Context(), keeper, photoAt(10), intake.Divider); err != nil {
		t.Fatal(err)
	}
	if got, want := described(b.groups(t)), "0 5 | 15"; got != want {
		t.Errorf("with a divider groups = %q, want %q", got, want)
	}
	wantErr(t, "joining across a divider", b.bench.Join(t.Context(), keeper, photoAt(15)), intake.ErrConflict)
	if err := b.photos.SetPurpose(t.Context(), keeper, photoAt(5), intake.ForPlacing); err != nil {
		t.Fatal(err)
	}
	if got, want := described(b.groups(t)), "0 | 15"; got != want {
		t.Errorf("without the placing photo groups = %q, want %q", got, want)
	}
	wantErr(t, "no purpose", b.photos.SetPurpose(t.Context(), keeper, photoAt(5), "fun"), intake.ErrInvalid)
	wantErr(t, "no role", b.photos.SetRole(t.Context(), keeper, photoAt(5), "fun"), intake.ErrInvalid)
}

func TestReadingChecksItsWords(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0, 100)
	id := b.groups(t)[0].ID()
	for what, r := range map[string]intake.Reading{
		"bytes":                         {Name: "\xff"},
		"a plate shot of another group": {Plate: photoAt(100)},
	} {
		_, err := b.bench.Read(t.Context(), keeper, id, r)
		wantErr(t, what, err, intake.ErrInvalid)
	}
	it := must(b.bench.Read(t.Context(), keeper, id, intake.Reading{Name: "  Cafe\u0301\n machine ", Serial: " No. 0O-1 "}))(t)
	if it.Name != "Café machine" || it.Serial != "No. 0O-1" {
		t.Errorf("kept %q and %q, want one NFC line and the serial as read", it.Name, it.Serial)
	}
}

func TestWordsAndTwins(t *testing.T) {
	b := openBook(t)
	for i, r := range []intake.Reading{
		{Maker: "Orvex", Model: "12", Serial: "SB-0018"},
		{Maker: "Orvex", Model: "13", Serial: ""},
		{Maker: "Émilie", Model: "12", Serial: "?"},
		{Maker: "Emberly", Model: "9", Serial: "S80O1B"},
	} {
		b.shoot(t, i*100)
		must(b.bench.Read(t.Context(), keeper, b.groups(t)[0].ID(), r))(t)
	}
	words := []struct {
		field, prefix string
		limit         int
		want          []string
	}{
		{"maker", "", 0, []string{"Orvex", "Emberly", "Émilie"}},
		{"makers", "em", 0, []string{"Emberly", "Émilie"}},
		{"maker", "OR", 1, []string{"Orvex"}},
		{"model", "1", 1, []string{"12"}},
		{"name", "", 0, nil},
		{"maker", "%", 0, nil},
	}
	for _, tt := range words {
		if got := must(b.bench.Words(t.Context(), tt.field, tt.prefix, tt.limit))(t); !slices.Equal(got, tt.want) {
			t.Errorf("Words(%q, %q, %d) = %q, want %q", tt.field, tt.prefix, tt.limit, got, tt.want)
		}
	}
	_, err := b.bench.Words(t.Context(), "notes", "", 0)
	wantErr(t, "words of another field", err, intake.ErrInvalid)

	twins := []struct{ maker, model, serial, want string }{
		{"EMBERLY", " 9", "5b 001-8", "2026.1.4 2026.1.1"},
		{"orvex", "12", "sb0018", "2026.1.1 2026.1.4"},
		{"Orvex", "12", "", ""},
		{"Orvex", "12", " - ", ""},
		{"Émilie", "12", "?", ""}, // a question mark is what could not be read, not a serial
		{"Orvex", "12", "SB-00189", ""},
	}
	for _, tt := range twins {
		var got []string
		for _, it := range must(b.bench.Twins(t.Context(), tt.maker, tt.model, tt.serial))(t) {
			got = append(got, it.Number.String())
		}
		if strings.Join(got, " ") != tt.want {
			t.Errorf("Twins(%q, %q, %q) = %q, want %q", tt.maker, tt.model, tt.serial, got, tt.want)
		}
	}
}

// TestTheRealSplitIsUsed: without a Split of its own the bench asks grouping.
func TestTheRealSplitIsUsed(t *testing.T) {
	b := openBook(t)
	for item := range 12 {
		for photo := range 3 {
			b.shoot(t, item*120+photo*6)
		}
	}
	bench := sqlite.Bench{DB: b.DB}
	for range 2 { // computed, then remembered
		if n := len(must(bench.Groups(t.Context(), ""))(t)); n != 12 {
			t.Errorf("%d groups, want 12", n)
		}
	}
	if err := bench.Join(t.Context(), keeper, photoAt(120)); err != nil {
		t.Fatal(err)
	}
	if n := len(must(bench.Groups(t.Context(), ""))(t)); n != 11 {
		t.Errorf("%d groups after a join, want 11", n)
	}
}

// TestNumberingLeavesTheNeighboursAlone: ids stay while others are read, in any
// order, with the split that users get.
func TestNumberingLeavesTheNeighboursAlone(t *testing.T) {
	b := openBook(t)
	second := 0
	for item := range 14 {
		for range 1 + item%4 {
			b.shoot(t, second)
			second += 4 + item*3%9
		}
		second += 45 + item*17%60
	}
	bench := sqlite.Bench{DB: b.DB}
	ids := func() (out []string) {
		for _, g := range must(bench.Groups(t.Context(), ""))(t) {
			out = append(out, g.ID())
		}
		return out
	}
	left := ids()
	for step := 0; len(left) > 0; step++ {
		i := step * 5 % len(left)
		must(bench.Read(t.Context(), keeper, left[i], intake.Reading{}))(t)
		left = slices.Delete(left, i, i+1)
		if got := ids(); !slices.Equal(got, left) {
			t.Fatalf("after reading %d groups the others are\n%v, want\n%v", step+1, got, left)
		}
	}
}
