package sqlite_test

import (
	"bytes"
	"database/sql"
	"encoding/binary"
	"errors"
	"math"
	"os"
	"strings"
	"testing"

	"haulbook/intake"
	"haulbook/metadata"
)

// TestForgettingReachesTheDisk looks for what a photo said in the files
// themselves, where a row that was merely updated would leave it behind.
func TestForgettingReachesTheDisk(t *testing.T) {
	b := openBook(t)
	secret := shot(5)
	secret.Path, secret.Photo.Name, secret.Haul = "/inbox/private/Kitchen_secret.jpg", "Kitchen_secret.jpg", "fair"
	secret.Photo.Meta.Position = &metadata.Position{Latitude: 51.23456789, Longitude: -7.98765432}
	secret.Photo.Meta.Make, secret.Photo.Meta.Lens = "Telltale", "Peephole 9"
	secret.Photo.Codes = []intake.SeenCode{{Text: "private note", Symbology: intake.SymbologyQR}}
	b.receive(t, secret, shot(6), shot(7))
	it := b.read(t, "")
	if err := b.photos.SetRole(t.Context(), keeper, secret.Photo.ID, intake.RolePlate); err != nil {
		t.Fatal(err)
	}

	latitude := binary.BigEndian.AppendUint64(nil, math.Float64bits(51.23456789)) // as SQLite's file format stores it
	marks := map[string][]byte{
		"name": []byte("Kitchen_secret"), "camera": []byte("Telltale"), "lens": []byte("Peephole"), "code": []byte("private note"),
		"path": []byte("/inbox/private"), "latitude": latitude,
	}
	for what, mark := range marks {
		if !onDisk(t, b.path, mark) {
			t.Errorf("the %s was not on disk to begin with, so this test tests nothing", what)
		}
	}
	if err := b.photos.Forget(t.Context(), keeper, secret.Photo.ID); err != nil {
		t.Fatal(err)
	}
	for what, mark := range marks {
		if onDisk(t, b.path, mark) {
			t.Errorf("the %s is still on disk", what)
		}
	}

	p := must(b.photos.Photo(t.Context(), secret.Photo.ID))(t)
	if !p.Gone || p.Name != "" || p.Meta.Position != nil || p.Meta.Taken != (metadata.Taken{}) || p.Meta.Make != "" || len(p.Codes) != 0 {
		t.Errorf("the forgotten photo still says %+v", p)
	}
	if p.Meta.Format != metadata.FormatJPEG {
		t.Error("the format is gone, without which the original cannot be found and erased")
	}
	if got := must(b.items.Item(t.Context(), string(it.ID)))(t); len(got.Photos) != 2 {
		t.Errorf("the item shows %d photos, want 2", len(got.Photos))
	}
	if stats := must(b.photos.Stats(t.Context()))(t); stats.Photos != 2 {
		t.Errorf("%d photos counted, want 2", stats.Photos)
	}
}

func onDisk(t *testing.T, path string, mark []byte) bool {
	t.Helper()
	for _, name := range []string{path, path + "-wal"} {
		content, err := os.ReadFile(name)
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			t.Fatal(err)
		}
		if bytes.Contains(content, mark) {
			return true
		}
	}
	return false
}

func TestAForgottenPhotoStaysOut(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0, 5)
	if err := b.photos.Forget(t.Context(), keeper, photoAt(5)); err != nil {
		t.Fatal(err)
	}
	if gone := must(b.photos.Forgotten(t.Context()))(t); len(gone) != 1 || gone[0].ID != photoAt(5) || gone[0].Meta.Format == "" || gone[0].Name != "" {
		t.Errorf("Forgotten = %v; want the one photo with its format, so that its bytes can be found, and no name", gone)
	}
	changes := len(must(b.history.Recent(t.Context(), 100))(t))
	if err := b.photos.Forget(t.Context(), keeper, photoAt(5)); err != nil {
		t.Errorf("forgetting again: %v", err)
	}
	if n := len(must(b.history.Recent(t.Context(), 100))(t)); n != changes {
		t.Errorf("forgetting again made %d more changes", n-changes)
	}
	a := shot(5)
	if err := b.photos.Receive(t.Context(), keeper, &a); err != nil || a.Outcome != intake.Ignored || a.Reason == "" {
		t.Errorf("the same bytes again: %s (%s), %v; want ignored with a reason", a.Outcome, a.Reason, err)
	}
	known, ok, err := b.photos.Known(t.Context(), a.Path, a.Size, a.Modified)
	if err != nil || !ok || known.Outcome != intake.Ignored || known.Path != a.Path {
		t.Errorf("its file is known as %s, %v, %v; want ignored, so that it is not hashed at each scan", known.Outcome, ok, err)
	}
	raw := must(sql.Open("sqlite", b.path))(t)
	defer raw.Close()
	var paths string
	if err := raw.QueryRowContext(t.Context(), "SELECT group_concat(path) FROM arrivals").Scan(&paths); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(paths, "IMG_0005") {
		t.Errorf("its name came back into the book through its file: %s", paths)
	}
	if got, want := described(b.groups(t)), "0"; got != want {
		t.Errorf("groups = %q, want %q", got, want)
	}
	for what, err := range map[string]error{
		"a look that came late": b.photos.Looked(t.Context(), photoAt(5), intake.LookDone, []intake.SeenCode{{Text: "x", Symbology: "qr"}}),
	} {
		if err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
	if p := must(b.photos.Photo(t.Context(), photoAt(5)))(t); len(p.Codes) != 0 {
		t.Error("a late look wrote codes to a forgotten photo")
	}
	wantErr(t, "a role of a forgotten photo", b.photos.SetRole(t.Context(), keeper, photoAt(5), intake.RoleView), intake.ErrNotFound)
	wantErr(t, "a cut before it", b.bench.Cut(t.Context(), keeper, photoAt(5)), intake.ErrNotFound)
	wantErr(t, "forgetting what never came", b.photos.Forget(t.Context(), keeper, photoAt(77)), intake.ErrNotFound)
}

// TestUndoGoesAroundForgottenPhotos: what was done with a photo before it was
// forgotten can still be undone, without it.
func TestUndoGoesAroundForgottenPhotos(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0, 5, 10)
	g := b.groups(t)[0]
	it := must(b.bench.Read(t.Context(), keeper, g.ID(), intake.Reading{Serial: "S1", Plate: photoAt(10)}))(t)
	if err := b.photos.Forget(t.Context(), keeper, photoAt(10)); err != nil {
		t.Fatal(err)
	}
	undone := b.undo(t)
	if got, want := described(b.groups(t)), "0 5 ~2026.1.1"; got != want {
		t.Errorf("groups = %q, want %q", got, want)
	}
	must(b.history.Undo(t.Context(), keeper, undone.Seq))(t)
	back := must(b.items.Item(t.Context(), string(it.ID)))(t)
	if len(back.Photos) != 2 || back.Serial != "S1" || !back.Identifiers[0].Photo.IsZero() {
		t.Errorf("done again: %d photos, serial %q read from %s; want the forgotten photo nowhere", len(back.Photos), back.Serial, back.Identifiers[0].Photo)
	}
}

func TestAStaleGroupOfAForgottenPhoto(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0, 5)
	id := b.groups(t)[0].ID()
	if err := b.photos.Forget(t.Context(), keeper, photoAt(0)); err != nil {
		t.Fatal(err)
	}
	_, err := b.bench.Group(t.Context(), id)
	wantErr(t, "a group whose first photo was forgotten", err, intake.ErrConflict)
}
