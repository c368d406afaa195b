package tags_test

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"path/filepath"
	"strings"
	"testing"

	"haulbook/intake"
	"haulbook/intake/desk"
	"haulbook/intake/desk/tags"
	"haulbook/intake/sqlite"
)

// TestWithARealBook walks a blank tag's life over the real ledger: made,
// scanned by a stranger, entered by the keeper, scanned again, replaced.
func TestWithARealBook(t *testing.T) {
	ctx := t.Context()
	db, err := sqlite.Open(ctx, filepath.Join(t.TempDir(), "book.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	codes, items := sqlite.Codes{DB: db}, sqlite.Items{DB: db}
	s := &shelf{}
	if s.Frame, err = desk.New(desk.Config{Book: "real", Devices: sqlite.Devices{DB: db}, Changed: db.Version}); err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	printed := 0
	p := tags.Pages{
		Frame: s.Frame, Codes: codes, Item: items.Item, Stocks: stocks,
		Print: func(_ context.Context, _ intake.By, job tags.PrintJob, w io.Writer) error {
			printed += len(job.Items) + job.Blank
			_, err := fmt.Fprint(w, "%PDF")
			return err
		},
	}
	if err := p.Register(); err != nil {
		t.Fatal(err)
	}
	blank, err := codes.Blank(ctx, intake.By{Person: "keeper", Device: "test"}, 2)
	if err != nil {
		t.Fatal(err)
	}
	path := "/t/" + string(blank[0])
	status(t, s.send("GET", path, "", stranger), 404)
	contains(t, s.send("GET", path, "").Body.String(), "Blank tag, not used yet")
	w := s.send("POST", path+"/enter", "op=enter-1")
	status(t, w, http.StatusSeeOther)
	record := w.Header().Get("Location")
	if again := s.send("POST", path+"/enter", "op=enter-1").Header().Get("Location"); again != record {
		t.Errorf("pressing twice leads to %s and %s", record, again)
	}
	if got := s.send("GET", strings.ToLower(path), "").Header().Get("Location"); got != record || !strings.HasPrefix(got, "/items/") {
		t.Errorf("the tag leads to %q, want %q", got, record)
	}
	if _, err := codes.Replace(ctx, intake.By{Person: "keeper", Device: "test"}, blank[0], "torn"); err != nil {
		t.Fatal(err)
	}
	w = s.send("GET", path, "")
	if got := w.Header(); got.Get("Location") != record || !strings.Contains(got.Get("Set-Cookie"), "_flash=") {
		t.Errorf("a replaced tag answers %v", got)
	}
	status(t, s.send("GET", "/tags", ""), 200)
	status(t, s.send("POST", "/tags/print", "op=p&stock=a4-3x8&blank=3&more="+strings.TrimPrefix(record, "/items/")), 200)
	if printed != 4 {
		t.Errorf("%d tags printed, want 4", printed)
	}
}

// TestPairingOverARealBook: the ledger's devices satisfy the frame as they are.
func TestPairingOverARealBook(t *testing.T) {
	db, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "book.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	s := &shelf{}
	s.Frame, err = desk.New(desk.Config{
		Book: "real", Devices: sqlite.Devices{DB: db}, Changed: db.Version, Address: func() string { return "http://192.168.1.20:8417" },
	})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	body := s.send("POST", "/devices/pair", "").Body.String()
	_, rest, _ := strings.Cut(body, "http://192.168.1.20:8417/PAIR/")
	path, _, found := strings.Cut(rest, "<")
	if !found {
		t.Fatalf("no pairing address:\n%s", body)
	}
	w := s.send("POST", "/PAIR/"+path, "op=pair-1&name=attic+phone", stranger)
	status(t, w, http.StatusSeeOther)
	cookie := strings.Split(w.Header().Get("Set-Cookie"), ";")[0]
	with := func(r *http.Request) { r.Header.Set("Cookie", cookie) }
	w = s.send("GET", "/devices", "", stranger, with)
	status(t, w, 200)
	contains(t, w.Body.String(), "attic phone", "this device")
	_, rest, _ = strings.Cut(w.Body.String(), `action="/devices/`)
	id, _, _ := strings.Cut(rest, "/revoke")
	status(t, s.send("POST", "/devices/"+id+"/revoke", "op=revoke-1"), http.StatusSeeOther)
	status(t, s.send("GET", "/devices", "", stranger, with), 403)
}
