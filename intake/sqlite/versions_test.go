package sqlite_test

import (
	"testing"

	"haulbook/intake"
)

// TestSamePictureOtherBytes: a photo whose words were edited is linked to the one
// that came first and does not wait on the bench a second time.
func TestSamePictureOtherBytes(t *testing.T) {
	b := openBook(t)
	picture := [32]byte{1}
	arrive := func(second int, picture [32]byte) intake.Arrival {
		a := shot(second)
		a.Photo.Picture = picture
		if err := b.photos.Receive(t.Context(), keeper, &a); err != nil {
			t.Fatal(err)
		}
		return a
	}
	first := arrive(0, picture)
	edited := arrive(1, picture)
	third := arrive(2, picture)
	unknown, again := arrive(3, [32]byte{}), arrive(4, [32]byte{})
	for _, tt := range []struct {
		name string
		a    intake.Arrival
		want intake.Outcome
		of   intake.PhotoID
	}{
		{"the first", first, intake.Added, intake.PhotoID{}},
		{"edited", edited, intake.Version, first.Photo.ID},
		{"edited twice leads to the first too", third, intake.Version, first.Photo.ID},
		{"nothing known of the picture", unknown, intake.Added, intake.PhotoID{}},
		{"nothing known never equals nothing known", again, intake.Added, intake.PhotoID{}},
	} {
		p := must(b.photos.Photo(t.Context(), tt.a.Photo.ID))(t)
		if tt.a.Outcome != tt.want || p.VersionOf != tt.of || (tt.want == intake.Version) != (tt.a.Reason != "") {
			t.Errorf("%s: %s (%s), version of %v; want %s of %v", tt.name, tt.a.Outcome, tt.a.Reason, p.VersionOf, tt.want, tt.of)
		}
	}
	if p := must(b.photos.Photo(t.Context(), first.Photo.ID))(t); p.Picture != picture {
		t.Errorf("the hash comes back as %v", p.Picture)
	}
	waiting := 0
	for _, g := range b.groups(t) {
		waiting += len(g.Photos)
	}
	if waiting != 3 {
		t.Errorf("%d photos wait, want 3: versions do not", waiting)
	}
}
