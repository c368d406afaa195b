package sqlite_test

import (
	"bytes"
	"compress/gzip"
	"database/sql"
	"errors"
	"flag"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"haulbook/intake"
	"haulbook/intake/sqlite"
)

var update = flag.Bool("update", false, "rewrite the book files in testdata that this version writes")

const (
	releasedBook = "testdata/book-schema-1.db.gz"
	releasedTag  = intake.Code("0000000") // completed by its check character below
)

// releasedCode is the tag in the released book's photo.
func releasedCode(t *testing.T) intake.Code {
	t.Helper()
	for _, check := range "0123456789ABCDEFGHJKMNPQRSTVWXYZ" {
		if code, err := intake.ParseCode(string(releasedTag) + string(check)); err == nil {
			return code
		}
	}
	t.Fatal("no check character fits")
	return ""
}

// TestBooksOfEveryReleaseOpen opens a book as the release with schema 1 left it.
// Only -update rewrites the file, and only until that release is out.
func TestBooksOfEveryReleaseOpen(t *testing.T) {
	if *update {
		writeReleased(t)
	}
	path := filepath.Join(t.TempDir(), "book.db")
	packed := must(os.ReadFile(releasedBook))(t)
	unpack := must(gzip.NewReader(bytes.NewReader(packed)))(t)
	if err := os.WriteFile(path, must(io.ReadAll(unpack))(t), 0o644); err != nil {
		t.Fatal(err)
	}
	b := reopen(t, path)

	it := must(b.items.Item(t.Context(), "2026.1.1"))(t)
	if it.Name != "desk computer" || it.Serial != "SB-0018" || it.Code() != releasedCode(t) || len(it.Photos) != 3 || len(it.Parts) != 1 {
		t.Errorf("the numbered item reads %q %q tag %q, %d photos, %d parts", it.Name, it.Serial, it.Code(), len(it.Photos), len(it.Parts))
	}
	if p := it.Photos[0]; p.Meta.Make != "Lumen" || !p.Taken().Equal(afternoon) || p.Meta.Taken.Offset != "+02:00" {
		t.Errorf("its first photo says %+v", p.Meta)
	}
	if void := must(b.items.Item(t.Context(), "2026.1.2"))(t); void.State != intake.StateVoid {
		t.Errorf("the second number is %s, want void", void.State)
	}
	if got := must(b.items.Find(t.Context(), "5b00l8 desk", 0))(t); len(got) != 1 || got[0].ID != it.ID {
		t.Errorf("search finds %d items, want the one", len(got))
	}
	if got, want := described(b.groups(t)), "200 ~2026.1.3 | 300"; got != want {
		t.Errorf("groups = %q, want %q", got, want)
	}
	_, err := b.devices.BySecret(t.Context(), strings.Repeat("ab", 32))
	if err != nil {
		t.Errorf("the paired phone is out: %v", err)
	}
	a := shot(9)
	if err := b.photos.Receive(t.Context(), keeper, &a); err != nil || a.Outcome != intake.Ignored {
		t.Errorf("the forgotten photo came back: %s, %v", a.Outcome, err)
	}
	// Its history can still be taken back.
	changes := must(b.history.Of(t.Context(), "item", string(must(b.items.Item(t.Context(), "2026.1.2"))(t).ID)))(t)
	must(b.history.Undo(t.Context(), keeper, changes[0].Seq))(t)
	if back := must(b.items.Item(t.Context(), "2026.1.2"))(t); back.State != intake.StateAccessioned {
		t.Errorf("after undoing the void it is %s", back.State)
	}
	if n := b.read(t, "third").Number; n.String() != "2026.1.3" {
		t.Errorf("the undone number came back as %s", n)
	}
}

func writeReleased(t *testing.T) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "written.db")
	b := reopen(t, path)
	b.receive(t, shot(0, tag(releasedCode(t), 0.1)), shot(5), shot(10))
	b.shoot(t, 9, 100, 200, 300)
	if err := b.photos.Forget(t.Context(), keeper, photoAt(9)); err != nil {
		t.Fatal(err)
	}
	g := b.groups(t)[0]
	it := must(b.bench.Read(t.Context(), keeper, g.ID(), intake.Reading{Name: "desk computer", Maker: "Orvex", Serial: "SB-0018"}))(t)
	must(b.items.AddPart(t.Context(), keeper, it.ID, "keyboard"))(t)
	second := b.read(t, "mistake")
	if err := b.items.Void(t.Context(), keeper, second.ID, "typed twice"); err != nil {
		t.Fatal(err)
	}
	b.read(t, "third")
	b.undo(t)
	must(b.devices.Add(t.Context(), keeper, "phone", "Ada Quill", intake.KindKeeper, strings.Repeat("ab", 32), afternoon.AddDate(100, 0, 0)))(t)

	plain := path + ".whole"
	raw := must(sql.Open("sqlite", path))(t)
	_, err := raw.ExecContext(t.Context(), "VACUUM INTO ?", plain)
	if err := errors.Join(err, raw.Close()); err != nil {
		t.Fatal(err)
	}
	var packed bytes.Buffer
	pack := must(gzip.NewWriterLevel(&packed, gzip.BestCompression))(t)
	_, err = pack.Write(must(os.ReadFile(plain))(t))
	if err := errors.Join(err, pack.Close(), os.WriteFile(releasedBook, packed.Bytes(), 0o644)); err != nil {
		t.Fatal(err)
	}
}

// TestAnEmptyBookAnswersEverything: the first page a new keeper sees.
func TestAnEmptyBookAnswersEverything(t *testing.T) {
	b := openBook(t)
	if stats := must(b.photos.Stats(t.Context()))(t); stats != (sqlite.Stats{}) {
		t.Errorf("an empty book counts %+v", stats)
	}
	for what, n := range map[string]int{
		"groups":   len(b.groups(t)),
		"ribbon":   len(must(b.bench.Ribbon(t.Context(), ""))(t)),
		"items":    len(must(b.items.List(t.Context(), intake.Number{}, 0))(t)),
		"found":    len(must(b.items.Find(t.Context(), "anything", 0))(t)),
		"hauls":    len(must(b.hauls.List(t.Context()))(t)),
		"untagged": len(must(b.codes.Untagged(t.Context()))(t)),
		"unused":   len(must(b.codes.Unused(t.Context()))(t)),
		"changes":  len(must(b.history.Recent(t.Context(), 10))(t)),
		"devices":  len(must(b.devices.List(t.Context()))(t)),
		"pending":  len(must(b.photos.Pending(t.Context()))(t)),
		"refused":  len(must(b.photos.Refused(t.Context()))(t)),
	} {
		if n != 0 {
			t.Errorf("an empty book has %d %s", n, what)
		}
	}
}
