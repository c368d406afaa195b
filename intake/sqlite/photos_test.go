package sqlite_test

import (
	"testing"

	"haulbook/intake"
	"haulbook/intake/sqlite"
)

var _ intake.Ledger = sqlite.Photos{}

func TestRolesSaidAndGuessed(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0, 5, 10)
	roles := func(photos []intake.ShownPhoto) (out string) {
		for _, p := range photos {
			out += string(p.As) + " "
		}
		return out
	}
	if got := roles(b.groups(t)[0].Photos); got != "view detail plate " {
		t.Errorf("guessed %s", got)
	}
	if err := b.photos.SetRole(t.Context(), keeper, photoAt(0), intake.RolePlate); err != nil {
		t.Fatal(err)
	}
	if got := roles(b.groups(t)[0].Photos); got != "plate view detail " {
		t.Errorf("with the plate named %s", got)
	}
	// What was said when the plate was read yields to what is said of the photo.
	it := must(b.bench.Read(t.Context(), keeper, b.groups(t)[0].ID(), intake.Reading{Plate: photoAt(10)}))(t)
	if got := roles(it.Photos); got != "plate view plate " || it.Photos[2].Role != "" {
		t.Errorf("read with %s, the last photo's own role %q", got, it.Photos[2].Role)
	}
	if err := b.photos.SetRole(t.Context(), keeper, photoAt(10), intake.RoleDetail); err != nil {
		t.Fatal(err)
	}
	if got := roles(must(b.items.Item(t.Context(), string(it.ID)))(t).Photos); got != "plate view detail " {
		t.Errorf("after saying otherwise %s", got)
	}
	if err := b.photos.SetRole(t.Context(), keeper, photoAt(10), ""); err != nil {
		t.Fatal(err)
	}
	if got := roles(must(b.items.Item(t.Context(), string(it.ID)))(t).Photos); got != "plate view plate " {
		t.Errorf("left to the guess again %s", got)
	}
}

func TestStatsCount(t *testing.T) {
	b := openBook(t)
	slow := shot(300)
	slow.Photo.Look = intake.LookPending
	b.receive(t, slow, undated("scan.png"))
	b.shoot(t, 0, 5000)
	it := b.read(t, "thing")
	must(b.items.AddPart(t.Context(), keeper, it.ID, "lid"))(t)
	if err := b.photos.Refuse(t.Context(), intake.Arrival{Path: "/inbox/x.txt"}); err != nil {
		t.Fatal(err)
	}
	got := must(b.photos.Stats(t.Context()))(t)
	waiting := len(must(sqlite.Bench{DB: b.DB}.Groups(t.Context(), ""))(t))
	want := sqlite.Stats{Photos: 4, Items: 1, Hauls: 1, Waiting: waiting, Undated: 1, Unreadable: 1, Pending: 1, Untagged: 2}
	if got != want {
		t.Errorf("counted %+v, want %+v", got, want)
	}
}
