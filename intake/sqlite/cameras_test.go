package sqlite_test

import (
	"path/filepath"
	"testing"
	"time"

	"haulbook/intake"
	"haulbook/intake/sqlite"
)

func TestCamerasAreListedByUse(t *testing.T) {
	b := openBook(t)
	if got := must(b.cameras.List(t.Context()))(t); len(got) != 0 {
		t.Errorf("an empty book lists %d cameras", len(got))
	}
	last := snap("Reflex", afternoon.Add(time.Hour))
	b.receive(t, shot(0), shot(5), last)
	got := must(b.cameras.List(t.Context()))(t)
	if len(got) != 2 || got[0].Name != "Reflex" || got[0].Sample != last.Photo.ID || got[1].Photos != 2 || !got[1].Last.Equal(afternoon.Add(5*time.Second)) || got[1].Serial != "0042" {
		t.Errorf("listed %+v", got)
	}
	_, err := b.cameras.Camera(t.Context(), "nonesuch")
	wantErr(t, "a camera that never was", err, intake.ErrNotFound)
}

func TestNamesAndZonesOfCameras(t *testing.T) {
	b := openBook(t)
	b.receive(t, snap("Reflex", afternoon))
	id := b.camera(t, "Reflex").ID
	named := must(b.cameras.Rename(t.Context(), keeper, id, "  bench  camera "))(t)
	if named.Name != "bench camera" {
		t.Errorf("named %q", named.Name)
	}
	again := snap("Reflex", afternoon.Add(time.Second))
	b.receive(t, again)
	if p := must(b.photos.Photo(t.Context(), again.Photo.ID))(t); p.Camera != "bench camera" || p.CameraID != id {
		t.Errorf("its next photo is by %q", p.Camera)
	}
	resolved := func() intake.Resolved { return must(b.photos.Photo(t.Context(), again.Photo.ID))(t).Resolved }
	if r := resolved(); !r.At.IsZero() || r.Zone != "" {
		t.Errorf("without a zone it is resolved as %+v", r)
	}
	// IANA tzdb: Asia/Kathmandu is five hours and three quarters ahead.
	must(b.cameras.SetZone(t.Context(), keeper, id, "Asia/Kathmandu"))(t)
	if r := resolved(); !r.At.Equal(again.Photo.Taken().Add(-345*time.Minute)) || r.ZoneFrom != "camera" {
		t.Errorf("with the camera's zone it is resolved as %+v", r)
	}
	haul := must(b.hauls.Haul(t.Context(), "2026.1"))(t)
	if got := must(b.hauls.SetZone(t.Context(), keeper, haul.ID, "+01:00"))(t); got.Zone != "+01:00" {
		t.Errorf("the haul's zone is %q", got.Zone)
	}
	if r := resolved(); !r.At.Equal(again.Photo.Taken().Add(-time.Hour)) || r.ZoneFrom != "haul" {
		t.Errorf("with the haul's zone it is resolved as %+v", r)
	}
	b.undo(t)
	if r := resolved(); r.ZoneFrom != "camera" {
		t.Errorf("after undoing, it is resolved as %+v", r)
	}
	b.undo(t)
	if r := resolved(); r.ZoneFrom != "" || !r.At.IsZero() {
		t.Errorf("after undoing twice, it is resolved as %+v", r)
	}
	_, err := b.cameras.SetZone(t.Context(), keeper, id, "Nowhere/Else")
	wantErr(t, "a zone nobody knows", err, intake.ErrInvalid)
	_, err = b.hauls.SetZone(t.Context(), keeper, haul.ID, "Local")
	wantErr(t, "a zone that means another on each machine", err, intake.ErrInvalid)
	_, err = b.cameras.Rename(t.Context(), keeper, id, " \n ")
	wantErr(t, "no name", err, intake.ErrInvalid)
	_, err = b.cameras.Rename(t.Context(), keeper, "nonesuch", "x")
	wantErr(t, "a camera that never was", err, intake.ErrNotFound)
}

func TestClocksCorrectedByHand(t *testing.T) {
	b := openBook(t)
	b.receive(t, snap("Reflex", afternoon), snap("Reflex", afternoon.Add(24*time.Hour)))
	id := b.camera(t, "Reflex").ID
	by := keeper
	by.Op = "typed once"
	want := intake.Correction{Camera: id, From: afternoon.Add(-time.Hour), To: afternoon.Add(time.Hour), Shift: -90 * time.Second, Doubt: -1}
	got := must(b.cameras.Correct(t.Context(), by, want))(t)
	if again := must(b.cameras.Correct(t.Context(), by, want))(t); again != got {
		t.Errorf("a repeat made %+v, want %+v", again, got)
	}
	if got.How != intake.CorrectionTyped || got.Doubt >= 0 || got.Shift != want.Shift || !got.From.Equal(want.From) || !got.To.Equal(want.To) {
		t.Errorf("kept as %+v", got)
	}
	local := func(day int) time.Duration {
		wall := afternoon.Add(time.Duration(day) * 24 * time.Hour)
		p := must(b.photos.Photo(t.Context(), snap("Reflex", wall).Photo.ID))(t)
		return p.Resolved.Local.Sub(wall)
	}
	if local(0) != want.Shift || local(1) != 0 {
		t.Errorf("the first day moved by %s, the second by %s", local(0), local(1))
	}
	// An open one that begins later holds from there on, and only there.
	open := must(b.cameras.Correct(t.Context(), keeper, intake.Correction{Camera: id, From: afternoon.Add(12 * time.Hour), Shift: time.Second}))(t)
	if k := b.camera(t, "Reflex"); local(0) != want.Shift || local(1) != time.Second || len(k.Corrections) != 2 || k.Clock.ID != open.ID {
		t.Errorf("the days moved by %s and %s; current %+v", local(0), local(1), k.Clock)
	}
	if err := b.cameras.End(t.Context(), keeper, got.ID); err != nil {
		t.Fatal(err)
	}
	if local(0) != 0 || len(b.camera(t, "Reflex").Corrections) != 1 {
		t.Errorf("after its end the first day moves by %s", local(0))
	}
	b.undo(t)
	if local(0) != want.Shift {
		t.Errorf("after undoing the end it moves by %s", local(0))
	}
	for what, m := range map[string]intake.Correction{
		"no beginning":     {Camera: id},
		"ends first":       {Camera: id, From: afternoon, To: afternoon},
		"too far":          {Camera: id, From: afternoon, Shift: 201 * 365 * 24 * time.Hour},
		"beyond all years": {Camera: id, From: time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC)},
	} {
		_, err := b.cameras.Correct(t.Context(), keeper, m)
		wantErr(t, what, err, intake.ErrInvalid)
	}
	_, err := b.cameras.Correct(t.Context(), keeper, intake.Correction{Camera: "nonesuch", From: afternoon})
	wantErr(t, "a camera that never was", err, intake.ErrNotFound)
	_, err = b.cameras.Correct(t.Context(), keeper, intake.Correction{Camera: id, From: afternoon, Photo: photoAt(9)})
	wantErr(t, "a photo that never came", err, intake.ErrNotFound)
	wantErr(t, "a correction that never was", b.cameras.End(t.Context(), keeper, "nonesuch"), intake.ErrNotFound)
}

// TestAClockBeyondAllYears: a time that cannot be written must not make a photo
// unreadable.
func TestAClockBeyondAllYears(t *testing.T) {
	b := openBook(t)
	end := snap("Reflex", time.Date(9999, 12, 31, 23, 0, 0, 0, time.UTC))
	end.Photo.Meta.Taken.Offset = "-05:00"
	b.receive(t, end)
	k := b.camera(t, "Reflex")
	must(b.cameras.Correct(t.Context(), keeper, intake.Correction{Camera: k.ID, From: afternoon, Shift: 48 * time.Hour}))(t)
	p := must(b.photos.Photo(t.Context(), end.Photo.ID))(t)
	if !p.Resolved.At.IsZero() || !p.Resolved.Local.Equal(end.Photo.Taken()) || p.Resolved.Correction != "" {
		t.Errorf("resolved as %+v, want what the camera wrote", p.Resolved)
	}
}

// TestTheBooksZoneChanges: the setting is a file that people edit between runs.
func TestTheBooksZoneChanges(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	b := openIn(t, path, "")
	a := snap("Reflex", afternoon)
	utc := snap("Abroad", afternoon.Add(-2*time.Hour), page(afternoon.Add(-2*time.Hour))) // its clock runs in UTC
	b.receive(t, a, utc)
	if m := b.camera(t, "Abroad").Clock; m.Shift.Abs() > m.Doubt {
		t.Errorf("without a zone its clock seems off by %s", m.Shift)
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	for _, zone := range []string{"Europe/Berlin", "Europe/Berlin", "+02:00"} {
		b = openIn(t, path, zone)
		if p := must(b.photos.Photo(t.Context(), a.Photo.ID))(t); !p.Resolved.At.Equal(afternoon.Add(-2*time.Hour)) || p.Resolved.Zone != zone {
			t.Errorf("opened in %s: %+v", zone, p.Resolved)
		}
		if m := b.camera(t, "Abroad").Clock; (m.Shift - 2*time.Hour).Abs() > m.Doubt {
			t.Errorf("opened in %s, the clock in UTC is off by %s, want two hours", zone, m.Shift)
		}
		if err := b.Close(); err != nil {
			t.Fatal(err)
		}
	}
	_, err := sqlite.Open(t.Context(), path, sqlite.Options{Zone: "Nowhere/Else"})
	wantErr(t, "a zone nobody knows", err, intake.ErrInvalid)
}
