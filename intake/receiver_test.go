package intake_test

import (
	"context"
	"crypto/sha256"
	"errors"
	"image"
	"image/jpeg"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"haulbook/intake"
	"haulbook/intake/originals"
	"haulbook/metadata"
)

// notebook is the smallest ledger: it remembers in memory what it was told and
// fails where the test says.
type notebook struct {
	photos  map[intake.PhotoID]intake.Photo
	refused []intake.Arrival
	fail    error
}

func (n *notebook) Receive(_ context.Context, _ intake.By, a *intake.Arrival) error {
	if n.fail != nil {
		return n.fail
	}
	if known, ok := n.photos[a.Photo.ID]; ok {
		a.Photo, a.Outcome = known, intake.Duplicate
		return nil
	}
	n.photos[a.Photo.ID], a.Outcome = a.Photo, intake.Added
	return nil
}

func (n *notebook) Refuse(_ context.Context, a intake.Arrival) error {
	n.refused = append(n.refused, a)
	return n.fail
}

func (n *notebook) Looked(_ context.Context, id intake.PhotoID, look intake.Look, codes []intake.SeenCode) error {
	p := n.photos[id]
	p.Look, p.Codes = look, codes
	n.photos[id] = p
	return n.fail
}

func newReceiver(t *testing.T) (*intake.Receiver, *notebook) {
	t.Helper()
	n := &notebook{photos: map[intake.PhotoID]intake.Photo{}}
	return &intake.Receiver{
		Originals: originals.Store{Dir: t.TempDir()}, Ledger: n,
		Look: func(context.Context, string, intake.Photo) ([]intake.SeenCode, error) {
			return []intake.SeenCode{{Text: "seen", Symbology: intake.SymbologyQR}}, nil
		},
		Now: func() time.Time { return time.Date(2026, 5, 9, 14, 0, 0, 0, time.UTC) },
	}, n
}

// smallJPEG writes a grey picture and returns its path and bytes.
func smallJPEG(t *testing.T, name string) (string, []byte) {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(jpeg.Encode(f, image.NewGray(image.Rect(0, 0, 40, 30)), nil), f.Close()); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return path, data
}

func TestReceiveStoresThenEnters(t *testing.T) {
	r, n := newReceiver(t)
	path, data := smallJPEG(t, "IMG_0001.JPG")
	for _, want := range []intake.Outcome{intake.Added, intake.Duplicate} {
		a, err := r.Receive(t.Context(), intake.By{}, intake.Arrival{Path: path})
		if err != nil || a.Outcome != want {
			t.Fatalf("Receive = %q, %v; want %q", a.Outcome, err, want)
		}
		if a.Photo.ID != sha256.Sum256(data) || a.Photo.Meta.Width != 40 || len(a.Photo.Codes) != 1 || a.Photo.Look != intake.LookDone {
			t.Errorf("reading = %+v", a.Photo)
		}
	}
	stored, err := os.ReadFile(r.Originals.Path(sha256.Sum256(data), ".jpg"))
	if err != nil || string(stored) != string(data) {
		t.Errorf("original differs from what arrived: %v", err)
	}
	if len(n.photos) != 1 {
		t.Errorf("%d photos, want 1", len(n.photos))
	}
}

func TestOriginalIsDurableBeforeTheRow(t *testing.T) {
	r, n := newReceiver(t)
	path, data := smallJPEG(t, "a.jpg")
	n.fail = errors.New("ledger is closed")
	if _, err := r.Receive(t.Context(), intake.By{}, intake.Arrival{Path: path}); !errors.Is(err, n.fail) {
		t.Fatalf("Receive = %v, want the ledger's error", err)
	}
	if _, err := os.Stat(r.Originals.Path(sha256.Sum256(data), ".jpg")); err != nil {
		t.Errorf("the original is not there: %v", err)
	}
	n.fail = nil
	if a, err := r.Receive(t.Context(), intake.By{}, intake.Arrival{Path: path}); err != nil || a.Outcome != intake.Added {
		t.Errorf("second try = %q, %v; want added", a.Outcome, err)
	}
}

func TestReceiveRefusesWhatIsNoPhoto(t *testing.T) {
	r, n := newReceiver(t)
	dir := t.TempDir()
	text := filepath.Join(dir, "notes.jpg")
	if err := os.WriteFile(text, []byte(strings.Repeat("only words ", 20)), 0o644); err != nil {
		t.Fatal(err)
	}
	tests := []struct{ name, path, want string }{
		{"text called .jpg", text, "not a photo"},
		{"gone", filepath.Join(dir, "gone.jpg"), "is gone"},
		{"a folder", dir, "not a regular file"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			a, err := r.Receive(t.Context(), intake.By{}, intake.Arrival{Path: tt.path})
			if err != nil || a.Outcome != intake.Unreadable || !strings.Contains(a.Reason, tt.want) || strings.Contains(a.Reason, dir) {
				t.Errorf("Receive = %q %q, %v; want unreadable, %q, no path", a.Outcome, a.Reason, err, tt.want)
			}
		})
	}
	if len(n.refused) != len(tests) || len(n.photos) != 0 {
		t.Errorf("%d refused and %d entered", len(n.refused), len(n.photos))
	}
}

func TestSlowFormatsAreEnteredBeforeTheLook(t *testing.T) {
	r, n := newReceiver(t)
	r.Slow = func(metadata.Format) bool { return true }
	var entered bool
	r.Look = func(_ context.Context, _ string, p intake.Photo) ([]intake.SeenCode, error) {
		_, entered = n.photos[p.ID]
		return nil, errors.New("cannot be drawn")
	}
	path, _ := smallJPEG(t, "a.jpg")
	a, err := r.Receive(t.Context(), intake.By{}, intake.Arrival{Path: path})
	if err != nil || !entered || a.Photo.Look != intake.LookFailed {
		t.Errorf("entered %v, look %q, %v; want the row first and a failed look noted", entered, a.Photo.Look, err)
	}
}

func TestAStoppedLookStaysPending(t *testing.T) {
	r, _ := newReceiver(t)
	ctx, stop := context.WithCancel(t.Context())
	r.Look = func(context.Context, string, intake.Photo) ([]intake.SeenCode, error) {
		stop()
		return nil, io.ErrUnexpectedEOF
	}
	path, _ := smallJPEG(t, "a.jpg")
	if _, err := r.Receive(ctx, intake.By{}, intake.Arrival{Path: path}); !errors.Is(err, context.Canceled) {
		t.Errorf("Receive = %v, want it stopped, so that the next run looks again", err)
	}
}

func TestPhotosSortAsShot(t *testing.T) {
	at := func(name string, second int) intake.Photo {
		p := intake.Photo{Name: name}
		if second >= 0 {
			p.Meta.Taken.Wall = time.Date(2026, 5, 9, 14, 0, second, 0, time.UTC)
		}
		return p
	}
	// DCF (CIPA DC-009): the counter wraps from 9999 to 0001, so time comes first.
	wrapped := []intake.Photo{at("IMG_9999.JPG", 0), at("IMG_0001.JPG", 1), at("IMG_0002.JPG", 1), at("IMG_0010.JPG", 1), at("undated.jpg", -1)}
	for i := range wrapped[1:] {
		if intake.ComparePhotos(wrapped[i], wrapped[i+1]) >= 0 || intake.ComparePhotos(wrapped[i+1], wrapped[i]) <= 0 {
			t.Errorf("%s should come before %s", wrapped[i].Name, wrapped[i+1].Name)
		}
	}
	for name, want := range map[string]int{"IMG_0042.JPG": 42, "20260509_140233.heic": 140233, "x.jpg": 0, "": 0, "12345678901234567890.jpg": 234567890} {
		if got := (intake.Photo{Name: name}).Counter(); got != want {
			t.Errorf("Counter(%q) = %d, want %d", name, got, want)
		}
	}
}
