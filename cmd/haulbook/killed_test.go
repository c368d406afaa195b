package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"haulbook/cmd/haulbook/drawn"
	"haulbook/intake"
	"haulbook/intake/originals"
)

// killedPhotos is how many different photos a killed intake has before it.
const killedPhotos = 200

// tinyPhotos writes 200 photos of an afternoon, five of each thing, and some of
// them again under another name. They are tiny so that killing the program
// often costs little; every one has pixels and a time of its own.
func tinyPhotos(t *testing.T) (folder string, hashes []string) {
	t.Helper()
	folder = filepath.Join(t.TempDir(), "Barn sale")
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 5, 9, 14, 0, 0, 0, time.FixedZone("", 2*60*60))
	for i := range killedPhotos {
		picture := image.NewGray(image.Rect(0, 0, 96, 64))
		for at := range picture.Pix {
			picture.Pix[at] = uint8(40 + i) // plain, so that looking for codes in it is quick
		}
		var plain bytes.Buffer
		if err := jpeg.Encode(&plain, picture, nil); err != nil {
			t.Fatal(err)
		}
		at = at.Add(7 * time.Second)
		if i%5 == 0 {
			at = at.Add(90 * time.Second)
		}
		photo, err := drawn.WithEXIF(plain.Bytes(), drawn.EXIF{Make: "Lumora", Model: "Pocket 9", Taken: at, Offset: "+02:00"})
		if err != nil {
			t.Fatal(err)
		}
		names := []string{fmt.Sprintf("IMG_%04d.JPG", i)}
		if i%10 == 0 {
			names = append(names, fmt.Sprintf("IMG_%04d copy.JPG", i))
		}
		for _, name := range names {
			if err := os.WriteFile(filepath.Join(folder, name), photo, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		hashes = append(hashes, fmt.Sprintf("%x", sha256.Sum256(photo)))
	}
	slices.Sort(hashes)
	return filepath.Dir(folder), hashes
}

// killable runs the program as a process of its own and kills it, as a power
// cut would, once it has lived for a while. It reports whether the program was
// through before.
func killable(t *testing.T, life time.Duration, args ...string) (ended bool) {
	t.Helper()
	path, err := exec.LookPath("haulbook") // what built made
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), life)
	defer cancel()
	var talk bytes.Buffer
	c := exec.CommandContext(ctx, path, args...) // killed with SIGKILL when ctx ends
	c.Stderr = &talk
	err = c.Run()
	if err != nil && ctx.Err() == nil {
		t.Fatalf("haulbook %s: %v\n%s", strings.Join(args, " "), err, talk.String())
	}
	return err == nil
}

// TestKilledAnywhere kills the intake at random moments, again and again on the
// same book until it happens to get through, and reads plates in between, which
// is killed at random too. However often that was, the end is as if nothing had
// happened.
func TestKilledAnywhere(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("the kill moments come from the seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 0))
	card, hashes := tinyPhotos(t)
	t.Setenv("PATH", built(t)+string(os.PathListSeparator)+os.Getenv("PATH"))

	clean := newBook(t)
	begun := time.Now()
	killable(t, patience, "take", "--book", clean, card)
	whole := time.Since(begun)
	checkWhole(t, clean, hashes, nil)
	rounds := 50
	if testing.Short() {
		rounds = 5
	}

	book, given, kills := newBook(t), map[string]string{}, 0
	for kills < rounds {
		through := killable(t, time.Duration(chance.Int64N(int64(whole))), "take", "--book", book, card)
		if !through {
			kills++
			checkNothingHalf(t, book)
		}
		if through || chance.IntN(4) == 0 {
			readPlateKilled(t, book, chance, given)
		}
		if through || chance.IntN(12) == 0 {
			done(t, "take", "--book", book, card)
			checkWhole(t, book, hashes, given)
			book, given = newBook(t), map[string]string{}
		}
	}
	done(t, "take", "--book", book, card)
	checkWhole(t, book, hashes, given)
	t.Logf("killed %d times; a clean run takes %v", kills, whole.Round(time.Millisecond))
}

// built compiles the program as it is shipped, without the race detector that this
// test may run under: fifty intakes of 200 photos would take a quarter of an hour
// with it. It returns the folder that holds it.
func built(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	c := exec.CommandContext(t.Context(), "go", "build", "-o", filepath.Join(dir, "haulbook"), "haulbook/cmd/haulbook")
	c.Env = append(os.Environ(), "CGO_ENABLED=0")
	if out, err := c.CombinedOutput(); err != nil {
		t.Fatalf("build the program: %v\n%s", err, out)
	}
	return dir
}

// newBook makes a book in memory where the system has a folder there: what a
// killed process wrote is the kernel's, so that no disk has to be waited for.
func newBook(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("/dev/shm", "haulbook-killed-")
	if err != nil {
		dir = t.TempDir()
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	book := filepath.Join(dir, "book")
	done(t, "init", book)
	return book
}

// readPlateKilled reads the plate of some group while the program is being
// killed, then asks what became of it: the group has its number or still waits.
func readPlateKilled(t *testing.T, book string, chance *rand.Rand, given map[string]string) {
	t.Helper()
	groups := groupsOf(t, book)
	if len(groups) == 0 {
		return
	}
	g := groups[chance.IntN(len(groups))]
	serial := fmt.Sprintf("SN-%d", len(given)+1)
	killable(t, time.Duration(chance.Int64N(int64(200*time.Millisecond))), "plate", "--book", book, g.Group, "--serial", serial)
	for _, it := range itemsOf(t, book, serial) {
		given[it.Number] = serial
	}
}

func itemsOf(t *testing.T, book, words string) (items []shown) {
	t.Helper()
	if err := json.Unmarshal([]byte(done(t, "find", "--book", book, "--json", words)), &items); err != nil {
		t.Fatal(err)
	}
	return items
}

// checkNothingHalf looks at a book right after the kill, before anything could
// mend it: each row's original is there and whole.
func checkNothingHalf(t *testing.T, book string) {
	t.Helper()
	for _, hash := range rowsOf(t, book, "SELECT id FROM photos") {
		verify(t, book, hash)
	}
}

func verify(t *testing.T, book, hash string) {
	t.Helper()
	id, err := intake.ParsePhotoID(hash)
	if err != nil {
		t.Fatal(err)
	}
	if err := (originals.Store{Dir: filepath.Join(book, "originals")}).Verify(t.Context(), id, ".jpg"); err != nil {
		t.Error(err)
	}
}

// checkWhole holds that every photo is in the book exactly once, that every
// number that was given is there once, and that nothing else is left.
func checkWhole(t *testing.T, book string, hashes []string, given map[string]string) {
	t.Helper()
	if got := rowsOf(t, book, "SELECT id FROM photos ORDER BY id"); !slices.Equal(got, hashes) {
		t.Errorf("%d rows of photos, want the %d hashes", len(got), len(hashes))
	}
	if got := rowsOf(t, book, "PRAGMA integrity_check"); !slices.Equal(got, []string{"ok"}) {
		t.Errorf("integrity check: %q", got)
	}
	if got := rowsOf(t, book, "PRAGMA foreign_key_check"); len(got) > 0 {
		t.Errorf("foreign keys: %q", got)
	}
	if got := rowsOf(t, book, "SELECT id FROM photos WHERE look <> 'done'"); len(got) > 0 {
		t.Errorf("%d photos were not looked at", len(got))
	}
	numbers := rowsOf(t, book, "SELECT year || '.' || haul || '.' || item FROM numbers")
	if slices.Sort(numbers); len(slices.Compact(slices.Clone(numbers))) != len(numbers) || len(numbers) != len(given) {
		t.Errorf("numbers %q, want each of the %d given once", numbers, len(given))
	}
	for number, serial := range given {
		if items := itemsOf(t, book, serial); len(items) != 1 || items[0].Number != number {
			t.Errorf("%s was given to serial %s, found %d things", number, serial, len(items))
		}
	}
	checkFiles(t, book, hashes)
}

// checkFiles holds that the originals are there, whole, and alone.
func checkFiles(t *testing.T, book string, hashes []string) {
	t.Helper()
	var stored []string
	err := filepath.WalkDir(book, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		name := e.Name()
		if strings.HasPrefix(name, ".") || strings.HasSuffix(name, ".part") {
			t.Errorf("a temporary file is left: %s", path)
		} else if filepath.Dir(filepath.Dir(path)) == filepath.Join(book, "originals") {
			stored = append(stored, strings.TrimSuffix(name, ".jpg"))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(stored, hashes) {
		t.Errorf("%d originals, want the %d hashes", len(stored), len(hashes))
	}
	for _, hash := range hashes {
		verify(t, book, hash)
	}
}

// rowsOf asks the database file itself for one column, past all our own code.
func rowsOf(t *testing.T, book, query string) (texts []string) {
	t.Helper()
	db, err := sql.Open("sqlite", filepath.Join(book, "book.db"))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := db.QueryContext(t.Context(), query)
	if err != nil {
		t.Fatal(errors.Join(fmt.Errorf("%s: %w", query, err), db.Close()))
	}
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			t.Fatal(err)
		}
		texts = append(texts, text)
	}
	if err := errors.Join(rows.Err(), rows.Close(), db.Close()); err != nil {
		t.Fatal(err)
	}
	return texts
}
