package sqlite_test

import (
	"slices"
	"testing"

	"haulbook/intake"
	"haulbook/intake/sqlite"
)

func TestNamedFindsTheOpenHaul(t *testing.T) {
	b := openBook(t)
	today := must(b.hauls.Named(t.Context(), keeper, ""))(t)
	if today.Name != "2026-05-09" || today.Number.String() != "2026.1" {
		t.Fatalf("first haul is %s %q, want 2026.1 named after the day", today.Number, today.Name)
	}
	fair := must(b.hauls.Named(t.Context(), keeper, "Café  Größe"))(t)
	tests := []struct {
		name string
		want intake.ID
	}{
		{"Café Größe", fair.ID},
		{" CAFÉ\tGRÖSSE ", fair.ID},         // full case folding: ß is ss
		{"Cafe\u0301 Gro\u0308ße", fair.ID}, // decomposed, as some file systems write
		{"", fair.ID},                       // the newest open one
		{"2026-05-09", today.ID},
	}
	for _, tt := range tests {
		if got := must(b.hauls.Named(t.Context(), keeper, tt.name))(t); got.ID != tt.want {
			t.Errorf("Named(%q) = %s %q", tt.name, got.Number, got.Name)
		}
	}
	if got := must(b.hauls.Named(t.Context(), keeper, "Cafe Grosse"))(t); got.Number.String() != "2026.3" {
		t.Errorf("another name gave %s, want the next haul", got.Number)
	}
	by := keeper
	by.Op = "open it"
	one, two := must(b.hauls.Named(t.Context(), by, "attic"))(t), must(b.hauls.Named(t.Context(), by, "attic"))(t)
	if one.ID != two.ID {
		t.Errorf("the same operation opened %s and %s", one.Number, two.Number)
	}
}

func TestHaulsCountAndList(t *testing.T) {
	b := openBook(t)
	for i, haul := range []string{"attic", "fair", "fair", "fair"} {
		a := shot(i * 100)
		a.Haul = haul
		b.receive(t, a)
	}
	groups := b.groups(t)
	must(b.bench.Read(t.Context(), keeper, groups[1].ID(), intake.Reading{}))(t)
	var got []string
	for _, h := range must(b.hauls.List(t.Context()))(t) {
		got = append(got, h.Number.String()+" "+h.Name)
		// Counts know no other split than the default one.
		waiting := len(must(sqlite.Bench{DB: b.DB}.Groups(t.Context(), h.ID))(t))
		if h.Name == "fair" && (h.Photos != 3 || h.Items != 1 || h.Waiting != waiting || waiting == 0) {
			t.Errorf("fair counts %d photos, %d items, %d waiting, want 3, 1, %d", h.Photos, h.Items, h.Waiting, waiting)
		}
	}
	if want := []string{"2026.2 fair", "2026.1 attic"}; !slices.Equal(got, want) {
		t.Errorf("hauls = %q, want %q", got, want)
	}
	fair := must(b.hauls.Haul(t.Context(), "2026.02"))(t)
	if items := must(b.hauls.Items(t.Context(), fair.ID))(t); len(items) != 1 || items[0].Number.String() != "2026.2.1" {
		t.Errorf("items of the fair: %v", items)
	}
	if photos := must(b.hauls.Photos(t.Context(), fair.ID))(t); len(photos) != 3 || photos[0].ID != photoAt(100) {
		t.Errorf("%d photos of the fair, want 3 in shooting order", len(photos))
	}
	_, err := b.hauls.Haul(t.Context(), "2026.9")
	wantErr(t, "a haul never opened", err, intake.ErrNotFound)
}

func TestAmendHaul(t *testing.T) {
	b := openBook(t)
	h := must(b.hauls.Named(t.Context(), keeper, "fair"))(t)
	a := h
	a.Name, a.Source, a.Price, a.Notes = "spring fair", "a widow in the valley", intake.Money{Minor: 4250, Currency: "EUR"}, "two\r\nlines"
	got := must(b.hauls.Amend(t.Context(), keeper, h.ID, h.Version, a))(t)
	if got.Name != a.Name || got.Source != a.Source || got.Price != a.Price || got.Notes != "two\nlines" || got.Version != h.Version+1 {
		t.Errorf("amended to %+v", got)
	}
	_, err := b.hauls.Amend(t.Context(), keeper, h.ID, h.Version, a)
	wantErr(t, "a stale edit", err, intake.ErrConflict)
	for field, bad := range map[string]intake.Haul{
		"name":  {},
		"price": {Name: "x", Price: intake.Money{Minor: 1, Currency: "euro"}},
	} {
		_, err := b.hauls.Amend(t.Context(), keeper, h.ID, got.Version, bad)
		wantErr(t, "a bad "+field, err, intake.ErrInvalid)
	}
	b.undo(t)
	if back := must(b.hauls.Haul(t.Context(), string(h.ID)))(t); back.Name != "fair" || back.Price.Known() || back.Version != h.Version+2 {
		t.Errorf("undone to %+v", back)
	}
}

func TestAClosedHaulRests(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 1)
	h := must(b.hauls.Named(t.Context(), keeper, ""))(t)
	h.Closed = true
	must(b.hauls.Amend(t.Context(), keeper, h.ID, h.Version, h))(t)
	if groups := b.groups(t); len(groups) != 0 {
		t.Errorf("%d groups of a closed haul wait on the bench", len(groups))
	}
	if groups := must(b.bench.Groups(t.Context(), h.ID))(t); len(groups) != 1 {
		t.Errorf("the closed haul itself shows %d groups, want 1", len(groups))
	}
	if next := must(b.hauls.Named(t.Context(), keeper, h.Name))(t); next.ID == h.ID {
		t.Error("a closed haul took in new things under its name")
	}
}
