package sqlite_test

import (
	"testing"

	"haulbook/intake"
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
