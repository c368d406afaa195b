package sqlite_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"haulbook/intake"
	"haulbook/metadata"
)

func TestReceiveTwiceIsOnce(t *testing.T) {
	b := openBook(t)
	first := shot(3, intake.SeenCode{Text: "AB 12", Symbology: intake.SymbologyCode39, Share: 0.01, X: 0.5, Y: 0.25})
	first.Photo.Meta.Position = &metadata.Position{Latitude: 48.5, Longitude: -9.25}
	first.Photo.Meta.Lens, first.Photo.Meta.Damage = "wide", "the file ends before the picture does"
	first.Photo.Meta.Taken.RawSubSec = "25"
	first.Photo.Meta.Taken.Wall = first.Photo.Meta.Taken.Wall.Add(250 * time.Millisecond)
	first.Photo.Purpose, first.Photo.Received = intake.ForAccession, time.Date(2026, 5, 9, 16, 0, 0, 0, time.UTC)
	a := first
	if err := b.photos.Receive(t.Context(), keeper, &a); err != nil || a.Outcome != intake.Added {
		t.Fatalf("first: %v, %v; want added", a.Outcome, err)
	}
	again := first
	again.Path, again.Photo.Name = "/inbox/copy.jpg", "copy.jpg"
	if err := b.photos.Receive(t.Context(), keeper, &again); err != nil || again.Outcome != intake.Duplicate {
		t.Fatalf("second: %v, %v; want duplicate", again.Outcome, err)
	}
	want := first.Photo
	want.Haul, want.Camera, want.CameraID = a.Photo.Haul, "Pocket 2", a.Photo.CameraID
	wall := want.Meta.Taken.Wall
	want.Resolved = intake.Resolved{At: wall.Add(-2 * time.Hour), Local: wall, Line: wall, Zone: "+02:00", ZoneFrom: "offset"}
	for what, got := range map[string]intake.Photo{
		"added": a.Photo, "duplicate": again.Photo, "photo": must(b.photos.Photo(t.Context(), want.ID))(t),
	} {
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s differs from what was received (-want +got):\n%s", what, diff)
		}
	}
	stats := must(b.photos.Stats(t.Context()))(t)
	if stats.Photos != 1 || stats.Hauls != 1 || stats.Waiting != 1 {
		t.Errorf("stats = %+v, want one photo in one haul, waiting", stats)
	}
	if n := len(must(b.history.Of(t.Context(), "photo", want.ID.String()))(t)); n != 1 {
		t.Errorf("%d changes of the photo in history, want 1", n)
	}
}

func TestOneOperationReceivesManyPhotos(t *testing.T) {
	b := openBook(t)
	by := keeper
	by.Op = "one command"
	for s := range 3 {
		a := shot(s)
		if err := b.photos.Receive(t.Context(), by, &a); err != nil || a.Outcome != intake.Added {
			t.Errorf("photo %d: %v, %v; want added", s, a.Outcome, err)
		}
	}
}

func TestArrivalsSaveHashing(t *testing.T) {
	b := openBook(t)
	a := shot(1)
	b.receive(t, a)
	known, ok, err := b.photos.Known(t.Context(), a.Path, a.Size, a.Modified)
	if err != nil || !ok || known.Photo.ID != a.Photo.ID || known.Outcome != intake.Added || !known.Modified.Equal(a.Modified) {
		t.Errorf("Known = %+v, %v, %v", known, ok, err)
	}
	for what, changed := range map[string]func() (intake.Arrival, bool, error){
		"other path": func() (intake.Arrival, bool, error) {
			return b.photos.Known(t.Context(), a.Path+"x", a.Size, a.Modified)
		},
		"other size": func() (intake.Arrival, bool, error) {
			return b.photos.Known(t.Context(), a.Path, a.Size+1, a.Modified)
		},
		"other time": func() (intake.Arrival, bool, error) {
			return b.photos.Known(t.Context(), a.Path, a.Size, a.Modified.Add(1))
		},
	} {
		if _, ok, err := changed(); ok || err != nil {
			t.Errorf("%s: known %v, %v; want not known", what, ok, err)
		}
	}
	if _, ok, err := b.photos.Known(t.Context(), "/uploaded", 5, time.Time{}); ok || err != nil {
		t.Errorf("a file without a time: %v, %v", ok, err)
	}
}

func TestRefusedFilesAreToldOnce(t *testing.T) {
	b := openBook(t)
	for _, path := range []string{"/inbox/notes.txt", "/inbox/sub/list.pdf", "/inbox/notes.txt"} {
		a := intake.Arrival{Path: path, Size: 3, Modified: afternoon, Reason: "is not a photo in a format we read"}
		if err := b.photos.Refuse(t.Context(), a); err != nil {
			t.Fatal(err)
		}
	}
	var names []string
	for _, a := range must(b.photos.Refused(t.Context()))(t) {
		names = append(names, a.Photo.Name+": "+a.Reason)
	}
	want := []string{"notes.txt: is not a photo in a format we read", "list.pdf: is not a photo in a format we read"}
	if !slices.Equal(names, want) {
		t.Errorf("refused = %q, want %q", names, want)
	}
	known, ok, err := b.photos.Known(t.Context(), "/inbox/notes.txt", 3, afternoon)
	if err != nil || !ok || known.Outcome != intake.Unreadable {
		t.Errorf("Known = %v, %v, %v; want unreadable", known.Outcome, ok, err)
	}
	if n := must(b.photos.Stats(t.Context()))(t).Unreadable; n != 2 {
		t.Errorf("%d unreadable files counted, want 2", n)
	}
}

func TestALookOwedIsTakenOver(t *testing.T) {
	b := openBook(t)
	seen := intake.SeenCode{Text: "X1", Symbology: intake.SymbologyCode128}
	a := shot(1)
	a.Photo.Look = intake.LookPending
	b.receive(t, a, shot(2))
	if pending := must(b.photos.Pending(t.Context()))(t); len(pending) != 1 || pending[0].ID != a.Photo.ID {
		t.Fatalf("%d photos pending, want the one", len(pending))
	}
	// Killed before the look, run again: the same file arrives a second time.
	again := shot(1, seen)
	if err := b.photos.Receive(t.Context(), keeper, &again); err != nil || again.Outcome != intake.Duplicate {
		t.Fatalf("again: %v, %v", again.Outcome, err)
	}
	got := must(b.photos.Photo(t.Context(), a.Photo.ID))(t)
	if got.Look != intake.LookDone || len(got.Codes) != 1 || got.Codes[0] != seen {
		t.Errorf("look %s, codes %v; want done with the code seen", got.Look, got.Codes)
	}
}

func TestLookedReplacesWhatWasSeen(t *testing.T) {
	b := openBook(t)
	b.receive(t, shot(1, intake.SeenCode{Text: "old", Symbology: intake.SymbologyQR}))
	codes := []intake.SeenCode{{Text: "new", Symbology: intake.SymbologyQR, X: 0.1}, {Text: "new", Symbology: intake.SymbologyQR, X: 0.9}}
	if err := b.photos.Looked(t.Context(), photoAt(1), intake.LookDone, codes); err != nil {
		t.Fatal(err)
	}
	before := must(b.Version(t.Context()))(t)
	if err := b.photos.Looked(t.Context(), photoAt(1), intake.LookDone, codes); err != nil {
		t.Fatal(err)
	}
	if after := must(b.Version(t.Context()))(t); after != before {
		t.Errorf("the same look again moved the version from %d to %d", before, after)
	}
	if got := must(b.photos.Photo(t.Context(), photoAt(1)))(t).Codes; !slices.Equal(got, codes) {
		t.Errorf("codes = %v, want %v", got, codes)
	}
	wantErr(t, "a photo never received", b.photos.Looked(t.Context(), photoAt(9), intake.LookDone, nil), intake.ErrNotFound)
}

func TestHostileNamesAreKept(t *testing.T) {
	b := openBook(t)
	names := []string{"'; DROP TABLE photos; --.jpg", "\xff\xfe.jpg", "<b>.jpg", strings.Repeat("ü", 900) + ".jpg", "\u202egpj.exe"}
	for i, name := range names {
		a := shot(i)
		a.Path, a.Photo.Name, a.Haul = "/inbox/"+name, name, name
		b.receive(t, a)
		got := must(b.photos.Photo(t.Context(), a.Photo.ID))(t)
		want := strings.ToValidUTF8(name, "\uFFFD")
		if got.Name != want && !strings.HasPrefix(want, got.Name) {
			t.Errorf("name %q came back as %q", name, got.Name)
		}
		if _, ok, err := b.photos.Known(t.Context(), a.Path, a.Size, a.Modified); !ok || err != nil {
			t.Errorf("path %q is not known again: %v", a.Path, err)
		}
	}
}

func TestBodiesOfOneModelHaveNames(t *testing.T) {
	b := openBook(t)
	var names []string
	for i, serial := range []string{"0042", "0043", "0042", ""} {
		a := shot(i)
		a.Photo.Meta.BodySerial = serial
		b.receive(t, a)
		names = append(names, must(b.photos.Photo(t.Context(), a.Photo.ID))(t).Camera)
	}
	want := []string{"Pocket 2", "Pocket 2, body 2", "Pocket 2", "Pocket 2, body 3"}
	if !slices.Equal(names, want) {
		t.Errorf("cameras = %q, want %q", names, want)
	}
	a := shot(9)
	a.Photo.Meta.Make, a.Photo.Meta.Model, a.Photo.Meta.BodySerial = "", "", ""
	b.receive(t, a)
	if got := must(b.photos.Photo(t.Context(), a.Photo.ID))(t).Camera; got != "" {
		t.Errorf("camera %q of a photo that does not say, want none", got)
	}
}

func TestAPhotoWithoutIDIsRefused(t *testing.T) {
	b := openBook(t)
	wantErr(t, "no hash", b.photos.Receive(t.Context(), keeper, &intake.Arrival{Path: "/inbox/x.jpg"}), intake.ErrInvalid)
	_, err := b.photos.Photo(t.Context(), photoAt(5))
	wantErr(t, "a photo never received", err, intake.ErrNotFound)
}
