package sqlite_test

import (
	"crypto/sha256"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"haulbook/intake"
	"haulbook/intake/timing"
)

// snap is one invented photo of another body, whose clock may be wrong.
func snap(body string, wall time.Time, codes ...intake.SeenCode) intake.Arrival {
	a := shot(0, codes...)
	name := fmt.Sprintf("%s_%s.JPG", body, wall.Format("02150405"))
	a.Path, a.Photo.Name, a.Photo.ID = "/inbox/"+name, name, sha256.Sum256([]byte(name))
	m := &a.Photo.Meta
	m.Make, m.Model, m.BodySerial = "Orvex", body, ""
	m.Taken.Raw, m.Taken.Wall, m.Taken.Offset, m.Taken.RawOffset = wall.Format("2006:01:02 15:04:05"), wall, "", ""
	return a
}

// page is the desk's clock page as a photo of it shows it.
func page(at time.Time) intake.SeenCode {
	return intake.SeenCode{Text: timing.ClockText("http://192.168.1.20:8417", at), Symbology: intake.SymbologyQR, Share: 0.3}
}

// camera returns the only camera of this name, with its corrections.
func (b *book) camera(t *testing.T, name string) intake.Camera {
	t.Helper()
	for _, k := range must(b.cameras.List(t.Context()))(t) {
		if k.Name == name {
			return must(b.cameras.Camera(t.Context(), k.ID))(t)
		}
	}
	t.Fatalf("no camera %q", name)
	return intake.Camera{}
}

// TestTheClockPageSetsACameraRight: a reflex that runs 100 seconds behind takes
// the plates of what the phone takes the views of.
func TestTheClockPageSetsACameraRight(t *testing.T) {
	b := openIn(t, filepath.Join(t.TempDir(), "book.db"), "Europe/Berlin")
	b.shoot(t, 0, 200) // the phone, with its offset: right
	late := -100 * time.Second
	b.receive(t, snap("Reflex", afternoon.Add(5*time.Second+late)), snap("Reflex", afternoon.Add(205*time.Second+late)))
	before := described(b.groups(t))
	// 14:10 in Berlin is 12:10 UTC in May (IANA tzdb).
	seen := snap("Reflex", afternoon.Add(10*time.Minute+late), page(afternoon.Add(-2*time.Hour+10*time.Minute)))
	b.receive(t, seen)

	p := must(b.photos.Photo(t.Context(), seen.Photo.ID))(t)
	k := b.camera(t, "Reflex")
	if p.Purpose != intake.ForClock || len(k.Corrections) != 1 || k.Clock.ID != k.Corrections[0].ID {
		t.Fatalf("the photo is for %s, corrections %+v, current %q", p.Purpose, k.Corrections, k.Clock.ID)
	}
	if m := k.Clock; (m.Shift-100*time.Second).Abs() > m.Doubt || m.Doubt > time.Second || m.How != timing.ByPage || m.Photo != p.ID {
		t.Errorf("measured %s, give or take %s, by %q; want 100s", m.Shift, m.Doubt, m.How)
	}
	if got, want := described(b.groups(t)), "0 -95 | 200 105"; got != want {
		t.Errorf("groups = %q, want %q: each thing with both its photos", got, want)
	}
	plate := b.groups(t)[0].Photos[1]
	if r := plate.Resolved; !r.Line.Equal(afternoon.Add(5*time.Second)) || !r.At.Equal(r.Local.Add(-2*time.Hour)) || r.ZoneFrom != "book" || r.Correction != k.Clock.ID {
		t.Errorf("the plate's photo is resolved as %+v", r)
	}
	if !plate.Taken().Equal(afternoon.Add(5*time.Second + late)) {
		t.Error("what the camera wrote was changed")
	}

	undone := b.undo(t)
	if p := must(b.photos.Photo(t.Context(), seen.Photo.ID))(t); p.Purpose != intake.ForAccession || len(b.camera(t, "Reflex").Corrections) != 0 {
		t.Errorf("after undoing, the photo is for %s", p.Purpose)
	}
	if got := described(b.groups(t)); got != before+" | 500" {
		t.Errorf("after undoing, groups = %q, want %q and the page's photo", got, before)
	}
	// The same file again does not read the clock again: somebody said no.
	again := seen
	if err := b.photos.Receive(t.Context(), keeper, &again); err != nil || again.Photo.Purpose != intake.ForAccession {
		t.Errorf("received again, it is for %s, %v", again.Photo.Purpose, err)
	}
	must(b.history.Undo(t.Context(), keeper, undone.Seq))(t)
	if got, want := described(b.groups(t)), "0 -95 | 200 105"; got != want {
		t.Errorf("done again, groups = %q, want %q", got, want)
	}
	if got := must(b.history.Of(t.Context(), "camera", string(k.ID)))(t); len(got) != 3 || !strings.Contains(got[2].Summary, "it is 1m40s behind") {
		t.Errorf("history says %+v", got)
	}
}

// TestNumberedGroupsStayThroughACorrection: what a human confirmed is not
// regrouped.
func TestNumberedGroupsStayThroughACorrection(t *testing.T) {
	b := openBook(t)
	b.receive(t, snap("Reflex", afternoon), snap("Reflex", afternoon.Add(10*time.Second)))
	it := b.read(t, "desk computer")
	b.shoot(t, 300, 310)
	k := b.camera(t, "Reflex")
	must(b.cameras.Correct(t.Context(), keeper, intake.Correction{Camera: k.ID, From: afternoon, Shift: 200 * time.Second}))(t)
	if got := must(b.items.Item(t.Context(), string(it.ID)))(t); len(got.Photos) != 2 {
		t.Errorf("the item shows %d photos, want its own 2", len(got.Photos))
	}
	if got, want := described(b.groups(t)), "300 310"; got != want {
		t.Errorf("groups = %q, want %q", got, want)
	}
}

// TestSightingsOfADayAreOne: photos of the page narrow the measure, in whatever
// order they arrive; where they disagree the clock was set in between.
func TestSightingsOfADayAreOne(t *testing.T) {
	utc := afternoon.Add(-2 * time.Hour)
	at := func(minute int, behind time.Duration) intake.Arrival {
		since := time.Duration(minute) * time.Minute
		return snap("Reflex", afternoon.Add(since-behind), page(utc.Add(since)))
	}
	tests := []struct {
		name  string
		shots []intake.Arrival
		want  []time.Duration
	}{
		{"one", []intake.Arrival{at(0, 42*time.Second)}, []time.Duration{42 * time.Second}},
		{"three agree", []intake.Arrival{at(0, 42*time.Second), at(60, 42*time.Second), at(90, 42*time.Second)}, []time.Duration{42 * time.Second}},
		{"set right at noon", []intake.Arrival{at(0, 300*time.Second), at(30, 300*time.Second), at(60, 0), at(90, 0)}, []time.Duration{300 * time.Second, 0}},
		{"set wrong, then right", []intake.Arrival{at(0, 0), at(30, 300*time.Second), at(60, 0)}, []time.Duration{0, 300 * time.Second, 0}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for turn := range len(tt.shots) {
				order := slices.Concat(tt.shots[turn:], tt.shots[:turn])
				if turn%2 == 1 {
					slices.Reverse(order)
				}
				b := openIn(t, filepath.Join(t.TempDir(), "book.db"), "Europe/Berlin")
				b.receive(t, order...)
				b.checkStretches(t, tt.shots, tt.want)
			}
		})
	}
}

// checkStretches holds the corrections of the reflex against what its clock was
// behind by, and against what each page said.
func (b *book) checkStretches(t *testing.T, shots []intake.Arrival, want []time.Duration) {
	t.Helper()
	got := b.camera(t, "Reflex").Corrections
	if len(got) != len(want) {
		t.Fatalf("%d corrections, want %d: %+v", len(got), len(want), got)
	}
	slices.SortFunc(got, func(a, b intake.Correction) int { return a.From.Compare(b.From) })
	for i, behind := range want {
		if m := got[i]; (m.Shift - behind).Abs() > m.Doubt {
			t.Errorf("correction %d is %s, give or take %s; want %s", i, m.Shift, m.Doubt, behind)
		}
	}
	for _, s := range shots {
		p := must(b.photos.Photo(t.Context(), s.Photo.ID))(t)
		shown, _ := timing.ReadClock(p.Codes[0].Text)
		if off := p.Resolved.At.Sub(shown).Abs(); off > 1500*time.Millisecond {
			t.Errorf("the page of %s is resolved %s off", shown, off)
		}
	}
}

// TestAWrongZoneInTheCamera: the camera says it is in London and shows the time
// of the room. The page proves it right by its own clock, and it stands in line
// with the others all the same.
func TestAWrongZoneInTheCamera(t *testing.T) {
	b := openIn(t, filepath.Join(t.TempDir(), "book.db"), "Europe/Berlin")
	london := func(a intake.Arrival) intake.Arrival {
		a.Photo.Meta.Taken.Offset = "+00:00"
		return a
	}
	b.shoot(t, 0)
	b.receive(t, london(snap("Reflex", afternoon.Add(10*time.Second))))
	if got, want := described(b.groups(t)), "0 10"; got != want {
		t.Errorf("before the page was seen, groups = %q, want %q", got, want)
	}
	b.receive(t, london(snap("Reflex", afternoon.Add(time.Minute), page(afternoon.Add(time.Minute-2*time.Hour)))))
	if got, want := described(b.groups(t)), "0 10"; got != want {
		t.Errorf("after it was seen, groups = %q, want %q", got, want)
	}
	if m := b.camera(t, "Reflex").Clock; (m.Shift + 2*time.Hour).Abs() > m.Doubt {
		t.Errorf("measured %s, want two hours back: by its own zone it is ahead", m.Shift)
	}
}

// TestAPageThatIsSeenLate: slow formats are entered first and looked at later.
func TestAPageThatIsSeenLate(t *testing.T) {
	b := openIn(t, filepath.Join(t.TempDir(), "book.db"), "Europe/Berlin")
	late := snap("Reflex", afternoon)
	late.Photo.Look = intake.LookPending
	b.receive(t, late)
	for range 2 {
		if err := b.photos.Looked(t.Context(), late.Photo.ID, intake.LookDone, []intake.SeenCode{page(afternoon.Add(30*time.Second - 2*time.Hour))}); err != nil {
			t.Fatal(err)
		}
	}
	k := b.camera(t, "Reflex")
	if len(k.Corrections) != 1 || (k.Clock.Shift-30*time.Second).Abs() > k.Clock.Doubt {
		t.Errorf("corrections %+v, want one of 30 s", k.Corrections)
	}
	// A person says that it is no clock photo, and then that it is.
	for purpose, want := range map[intake.Purpose]int{intake.LeftOut: 0} {
		if err := b.photos.SetPurpose(t.Context(), keeper, late.Photo.ID, purpose); err != nil {
			t.Fatal(err)
		}
		if got := len(b.camera(t, "Reflex").Corrections); got != want {
			t.Errorf("%s: %d corrections, want %d", purpose, got, want)
		}
	}
	if err := b.photos.SetPurpose(t.Context(), keeper, late.Photo.ID, intake.ForClock); err != nil {
		t.Fatal(err)
	}
	if got := len(b.camera(t, "Reflex").Corrections); got != 1 {
		t.Errorf("clock again: %d corrections, want 1", got)
	}
}

// TestPagesThatTellNothing: a photo of the page is never grouped, also when it
// cannot set a clock.
func TestPagesThatTellNothing(t *testing.T) {
	nobody := snap("", afternoon, page(afternoon))
	nobody.Photo.Meta.Make = ""
	blank := snap("Blank", afternoon, page(afternoon))
	blank.Photo.Meta.Taken.Wall = time.Time{}
	dead := snap("Dead", time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC), page(afternoon)) // a clock that lost its battery
	end := snap("End", time.Date(9999, 12, 31, 23, 59, 59, 0, time.UTC), page(afternoon))
	text := snap("Text", afternoon, intake.SeenCode{Text: page(afternoon).Text, Symbology: intake.SymbologyDataMatrix})
	b := openBook(t)
	b.receive(t, nobody, blank, dead, end, text)
	if got, want := described(b.groups(t)), "0"; got != want {
		t.Errorf("groups = %q, want only the code that is no QR", got)
	}
	for _, k := range must(b.cameras.List(t.Context()))(t) {
		if k.Clock.ID != "" {
			t.Errorf("%s was corrected by %s", k.Name, k.Clock.Shift)
		}
	}
	// With a zone, decades are a matter of counting.
	must(b.cameras.SetZone(t.Context(), keeper, b.camera(t, "Dead").ID, "Europe/Berlin"))(t)
	if err := b.photos.SetPurpose(t.Context(), keeper, dead.Photo.ID, intake.LeftOut); err != nil {
		t.Fatal(err)
	}
	if err := b.photos.SetPurpose(t.Context(), keeper, dead.Photo.ID, intake.ForClock); err != nil {
		t.Fatal(err)
	}
	if m := b.camera(t, "Dead").Clock; m.Shift < 46*365*24*time.Hour {
		t.Errorf("the dead clock is corrected by %s", m.Shift)
	}
	if p := must(b.photos.Photo(t.Context(), dead.Photo.ID))(t); p.Resolved.At.Sub(afternoon).Abs() > 2*time.Second {
		t.Errorf("its photo was taken at %s, want %s", p.Resolved.At, afternoon)
	}
}

// TestForgettingTheOnlyPhotoForgetsTheClock: what is known of a body that took
// nothing else goes with its photo, and undo does not bring it back.
func TestForgettingTheOnlyPhotoForgetsTheClock(t *testing.T) {
	b := openIn(t, filepath.Join(t.TempDir(), "book.db"), "Europe/Berlin")
	b.shoot(t, 0)
	only := snap("Telltale", afternoon.Add(7*time.Second), page(afternoon.Add(-2*time.Hour)))
	only.Photo.Meta.GPSTime = time.Date(2001, 2, 3, 4, 5, 6, 0, time.UTC)
	only.Photo.Meta.ContentID = "CONTENT-1234"
	b.receive(t, only)
	marks := []string{"Telltale", "2001-02-03", "CONTENT-1234", "2026-05-09T14:00:07"}
	for _, mark := range marks {
		if !onDisk(t, b.path, []byte(mark)) {
			t.Errorf("%s was not on disk to begin with, so this test tests nothing", mark)
		}
	}
	if err := b.photos.Forget(t.Context(), keeper, only.Photo.ID); err != nil {
		t.Fatal(err)
	}
	for _, mark := range marks {
		if onDisk(t, b.path, []byte(mark)) {
			t.Errorf("%s is still on disk", mark)
		}
	}
	if got := must(b.cameras.List(t.Context()))(t); len(got) != 1 {
		t.Errorf("%d cameras, want the other one", len(got))
	}
	read := must(b.history.Last(t.Context(), keeper.Device))(t)
	_, err := b.history.Undo(t.Context(), keeper, read.Seq)
	wantErr(t, "undoing what was read from it", err, intake.ErrConflict)
}
