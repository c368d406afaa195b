package sqlite_test

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"haulbook/intake"
	"haulbook/intake/grouping"
	"haulbook/intake/sqlite"
	"haulbook/metadata"
)

// book is an open book with everything a test asks of it.
type book struct {
	*sqlite.DB
	path    string
	photos  sqlite.Photos
	hauls   sqlite.Hauls
	bench   sqlite.Bench
	items   sqlite.Items
	codes   sqlite.Codes
	history sqlite.History
	devices sqlite.Devices
	cameras sqlite.Cameras
}

var keeper = intake.By{Person: "Ada Quill", Device: "workshop"}

func openBook(t *testing.T) *book {
	t.Helper()
	return reopen(t, filepath.Join(t.TempDir(), "book.db"))
}

func reopen(t *testing.T, path string) *book {
	t.Helper()
	return openIn(t, path, "")
}

// openIn opens a book with a zone.
func openIn(t *testing.T, path, zone string) *book {
	t.Helper()
	// A clock that never stands still, so that the order of events shows.
	var ticks atomic.Int64
	start := time.Date(2026, 5, 9, 18, 0, 0, 0, time.UTC)
	now := func() time.Time { return start.Add(time.Duration(ticks.Add(1)) * time.Second) }
	db, err := sqlite.Open(t.Context(), path, sqlite.Options{Now: now, Zone: zone})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
	return &book{
		DB: db, path: path, photos: sqlite.Photos{DB: db}, hauls: sqlite.Hauls{DB: db}, bench: sqlite.Bench{DB: db, Split: minutes},
		items: sqlite.Items{DB: db}, codes: sqlite.Codes{DB: db}, history: sqlite.History{DB: db}, devices: sqlite.Devices{DB: db}, cameras: sqlite.Cameras{DB: db},
	}
}

// minutes is a split that tests can reckon with: a minute's gap is a boundary,
// and what a human said is obeyed.
func minutes(shots []grouping.Shot) grouping.Result {
	var r grouping.Result
	for i := range shots {
		r.Order = append(r.Order, i)
	}
	slices.SortStableFunc(r.Order, func(a, b int) int { return shots[a].Taken.Compare(shots[b].Taken) })
	for k, i := range r.Order {
		b := intake.Boundary{Cut: true, Certainty: 1}
		if k > 0 {
			b = intake.Boundary{Cut: shots[i].Taken.Sub(shots[r.Order[k-1]].Taken) >= time.Minute, Certainty: 0.75}
		}
		if k > 0 && shots[i].Cut != grouping.Unsaid {
			b = intake.Boundary{Cut: shots[i].Cut == grouping.CutHere, Certainty: 1, Human: true}
		}
		r.Before = append(r.Before, b)
	}
	return r
}

// afternoon is when the invented photos were taken.
var afternoon = time.Date(2026, 5, 9, 14, 0, 0, 0, time.UTC)

// shot is one invented photo, at a second of the afternoon.
func shot(second int, codes ...intake.SeenCode) intake.Arrival {
	name := fmt.Sprintf("IMG_%04d.JPG", second)
	wall := afternoon.Add(time.Duration(second) * time.Second)
	return intake.Arrival{
		Path: "/inbox/" + name, Size: int64(1000 + second), Modified: wall,
		Photo: intake.Photo{
			ID: sha256.Sum256([]byte(name)), Name: name, Size: int64(1000 + second), Codes: codes, Look: intake.LookDone,
			Meta: metadata.Info{
				Format: metadata.FormatJPEG, Width: 4000, Height: 3000, Orientation: 6, ExifOrientation: 6,
				Make: "Lumen", Model: "Pocket 2", BodySerial: "0042",
				Taken: metadata.Taken{
					Raw: wall.Format("2006:01:02 15:04:05"), RawOffset: "+02:00", Wall: wall, Offset: "+02:00", From: "DateTimeOriginal",
				},
			},
		},
	}
}

func (b *book) receive(t *testing.T, arrivals ...intake.Arrival) {
	t.Helper()
	for _, a := range arrivals {
		if err := b.photos.Receive(t.Context(), keeper, &a); err != nil {
			t.Fatal(err)
		}
		if a.Outcome != intake.Added {
			t.Fatalf("receive %s: outcome %s (%s), want added", a.Path, a.Outcome, a.Reason)
		}
	}
}

// shoot receives one photo for each second given.
func (b *book) shoot(t *testing.T, seconds ...int) {
	t.Helper()
	for _, s := range seconds {
		b.receive(t, shot(s))
	}
}

func photoAt(second int) intake.PhotoID { return shot(second).Photo.ID }

func (b *book) groups(t *testing.T) []intake.Group {
	t.Helper()
	return must(b.bench.Groups(t.Context(), ""))(t)
}

// read reads the first waiting group under a name.
func (b *book) read(t *testing.T, name string) intake.Item {
	t.Helper()
	groups := b.groups(t)
	if len(groups) == 0 {
		t.Fatal("no group waits")
	}
	return must(b.bench.Read(t.Context(), keeper, groups[0].ID(), intake.Reading{Name: name}))(t)
}

// undo takes back the newest change of the workshop's device.
func (b *book) undo(t *testing.T) intake.Change {
	t.Helper()
	last := must(b.history.Last(t.Context(), keeper.Device))(t)
	return must(b.history.Undo(t.Context(), keeper, last.Seq))(t)
}

// must turns a result with an error into the result, or ends the test.
func must[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func wantErr(t *testing.T, what string, err, want error) {
	t.Helper()
	if !errors.Is(err, want) {
		t.Errorf("%s: got error %v, want %v", what, err, want)
	}
}

// described writes the groups as seconds of the afternoon: "0 5 | 60* | ?".
func described(groups []intake.Group) string {
	var out []string
	for _, g := range groups {
		var photos []string
		for _, p := range g.Photos {
			at := "undated"
			if !p.Taken().IsZero() {
				at = fmt.Sprint(int(p.Taken().Sub(afternoon).Seconds()))
			}
			photos = append(photos, at)
		}
		s := strings.Join(photos, " ")
		if g.Item.ID != "" {
			s += " =" + strings.TrimSpace(g.Item.Number.String()+" "+string(g.Item.State))
		}
		if !g.Pending.IsZero() {
			s += " ~" + g.Pending.String()
		}
		out = append(out, s)
	}
	return strings.Join(out, " | ")
}

// tag is an own tag seen in a photo.
func tag(code intake.Code, share float64) intake.SeenCode {
	return intake.SeenCode{Text: code.TagURL("http://192.168.1.20:8417"), Symbology: intake.SymbologyQR, Share: share}
}

func openForFuzz(ctx context.Context, path string) (*sqlite.DB, error) {
	db, err := sqlite.Open(ctx, path, sqlite.Options{})
	if err != nil {
		return nil, err
	}
	a := shot(0)
	if err := (sqlite.Photos{DB: db}).Receive(ctx, keeper, &a); err != nil {
		return nil, err
	}
	bench := sqlite.Bench{DB: db}
	groups, err := bench.Groups(ctx, "")
	if err != nil {
		return nil, err
	}
	_, err = bench.Read(ctx, keeper, groups[0].ID(), intake.Reading{Name: "portable", Serial: "SB 00-18"})
	return db, err
}

func itemsOf(db *sqlite.DB) sqlite.Items { return sqlite.Items{DB: db} }
