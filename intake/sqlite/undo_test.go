package sqlite_test

import (
	"context"
	"database/sql"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"haulbook/intake"
)

// state writes out everything a user can see in the book, except what undo
// legitimately moves on: versions, history, numbers promised, and blank codes
// that a tie once touched.
func (b *book) state(t *testing.T) string {
	t.Helper()
	var out []string
	add := func(v any) {
		text, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, string(text))
	}
	for _, h := range must(b.hauls.List(t.Context()))(t) {
		h.Version = 0
		add(h)
		for _, p := range must(b.hauls.Photos(t.Context(), h.ID))(t) {
			add(p)
		}
	}
	var visit func(items []intake.Item)
	visit = func(items []intake.Item) {
		for _, it := range items {
			parts := it.Parts
			it.Parts, it.Version, it.Haul.Version, it.Haul.Waiting = nil, 0, 0, 0
			add(it)
			visit(parts)
		}
	}
	visit(must(b.items.List(t.Context(), intake.Number{}, 1000))(t))
	visit(must(b.items.Entered(t.Context()))(t))
	visit(must(b.items.Find(t.Context(), "a", 1000))(t))
	for _, g := range must(b.bench.Ribbon(t.Context(), ""))(t) {
		add(g.ID() + " " + string(g.Item.ID))
	}
	return strings.Join(out, "\n")
}

// TestEveryActGoesBackAndForth undoes each act, does it again and undoes it
// again, and compares the whole visible book each time.
func TestEveryActGoesBackAndForth(t *testing.T) {
	text := func(s string) *string { return &s }
	acts := []struct {
		name string
		act  string
		do   func(ctx context.Context, b *book, it intake.Item) error
	}{
		{"plate read", "plate read", func(ctx context.Context, b *book, _ intake.Item) error {
			groups, err := b.bench.Groups(ctx, "")
			if err != nil {
				return err
			}
			_, err = b.bench.Read(ctx, keeper, groups[0].ID(), intake.Reading{Name: "a b", Maker: "Orvex", Serial: "S1"})
			return err
		}},
		{"cut", "cut", func(ctx context.Context, b *book, _ intake.Item) error { return b.bench.Cut(ctx, keeper, photoAt(105)) }},
		{"cut again, the other way", "joined", func(ctx context.Context, b *book, _ intake.Item) error {
			return b.bench.Join(ctx, keeper, photoAt(205))
		}},
		{"photos attached", "photos attached", func(ctx context.Context, b *book, it intake.Item) error {
			groups, err := b.bench.Groups(ctx, "")
			if err != nil {
				return err
			}
			_, err = b.bench.Attach(ctx, keeper, groups[0].ID(), it.ID)
			return err
		}},
		{"role", "role set", func(ctx context.Context, b *book, _ intake.Item) error {
			return b.photos.SetRole(ctx, keeper, photoAt(0), intake.RolePlate)
		}},
		{"purpose", "purpose set", func(ctx context.Context, b *book, _ intake.Item) error {
			return b.photos.SetPurpose(ctx, keeper, photoAt(100), intake.LeftOut)
		}},
		{"item amended", "item amended", func(ctx context.Context, b *book, it intake.Item) error {
			_, err := b.items.Amend(ctx, keeper, it.ID, it.Version, intake.Amendment{Name: text("aa"), Serial: text(""), Notes: text("n")})
			return err
		}},
		{"serial added", "item amended", func(ctx context.Context, b *book, it intake.Item) error {
			_, err := b.items.Amend(ctx, keeper, it.ID, it.Version, intake.Amendment{Serial: text("other")})
			return err
		}},
		{"part added", "part added", func(ctx context.Context, b *book, it intake.Item) error {
			_, err := b.items.AddPart(ctx, keeper, it.ID, "a lead")
			return err
		}},
		{"voided", "voided", func(ctx context.Context, b *book, it intake.Item) error {
			return b.items.Void(ctx, keeper, it.ID, "why not")
		}},
		{"tag replaced", "tag replaced", func(ctx context.Context, b *book, it intake.Item) error {
			_, err := b.codes.Replace(ctx, keeper, it.Code(), "lost")
			return err
		}},
		{"item entered", "item entered", func(ctx context.Context, b *book, _ intake.Item) error {
			codes, err := b.codes.Unused(ctx)
			if err != nil {
				return err
			}
			_, err = b.codes.Enter(ctx, keeper, codes[0])
			return err
		}},
		{"haul amended", "haul amended", func(ctx context.Context, b *book, _ intake.Item) error {
			h, err := b.hauls.Haul(ctx, "2026.1")
			if err != nil {
				return err
			}
			h.Name = "another"
			_, err = b.hauls.Amend(ctx, keeper, h.ID, h.Version, h)
			return err
		}},
	}
	for _, tt := range acts {
		t.Run(tt.name, func(t *testing.T) {
			b := openBook(t)
			b.shoot(t, 0, 5, 100, 105, 200, 205)
			it := b.read(t, "a first thing")
			must(b.items.Amend(t.Context(), keeper, it.ID, it.Version, intake.Amendment{Serial: text("A-1")}))(t)
			must(b.items.AddPart(t.Context(), keeper, it.ID, "a lid"))(t)
			must(b.codes.For(t.Context(), keeper, it.ID))(t)
			must(b.codes.Blank(t.Context(), keeper, 1))(t)
			if err := b.bench.Cut(t.Context(), keeper, photoAt(205)); err != nil {
				t.Fatal(err)
			}
			it = must(b.items.Item(t.Context(), string(it.ID)))(t)

			before := b.state(t)
			if err := tt.do(t.Context(), b, it); err != nil {
				t.Fatal(err)
			}
			done := must(b.history.Recent(t.Context(), 1))(t)[0]
			if done.Act != tt.act || !done.Undoable || done.By.Person != keeper.Person || done.Summary == "" {
				t.Fatalf("history says %+v, want the act %q", done, tt.act)
			}
			after := b.state(t)
			if before == after {
				t.Fatal("the act shows nowhere")
			}
			for round := range 2 {
				if undone := b.undo(t); undone.Undoes == 0 || undone.Act != "undone" {
					t.Fatalf("undo wrote %+v", undone)
				}
				wantSame(t, "undone", b.state(t), before)
				again := must(b.history.Recent(t.Context(), 1))(t)[0]
				if redone := must(b.history.Undo(t.Context(), keeper, again.Seq))(t); redone.Act != "done again" {
					t.Fatalf("round %d: redo wrote %+v", round, redone)
				}
				wantSame(t, "done again", b.state(t), after)
			}
		})
	}
}

func wantSame(t *testing.T, what, got, want string) {
	t.Helper()
	if got == want {
		return
	}
	lines := strings.Split(want, "\n")
	for _, line := range strings.Split(got, "\n") {
		if !slices.Contains(lines, line) {
			t.Errorf("%s: unexpected\n  %s", what, line)
		}
	}
	for _, line := range lines {
		if !strings.Contains(got, line) {
			t.Errorf("%s: missing\n  %s", what, line)
		}
	}
	if !t.Failed() {
		t.Errorf("%s: the order differs", what)
	}
}

func TestAnUndoneNumberComesBack(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0, 5, 100, 105, 200)
	first := b.read(t, "one")
	code := must(b.codes.For(t.Context(), keeper, first.ID))(t)
	b.undo(t)
	if got, want := described(b.groups(t)), "0 5 ~2026.1.1 | 100 105 | 200"; got != want {
		t.Fatalf("groups = %q, want %q", got, want)
	}
	// Its neighbour is read first, and must not get the number.
	second := must(b.bench.Read(t.Context(), keeper, b.groups(t)[1].ID(), intake.Reading{}))(t)
	if second.Number.String() != "2026.1.2" {
		t.Errorf("the neighbour got %s, want 2026.1.2", second.Number)
	}
	if it := must(b.items.Item(t.Context(), "2026.1.1"))(t); it.State != intake.StateWithdrawn {
		t.Errorf("the undone number leads to an item that is %s, want withdrawn", it.State)
	}
	if items := must(b.items.List(t.Context(), intake.Number{}, 0))(t); len(items) != 1 {
		t.Errorf("%d items listed, want 1", len(items))
	}
	again := must(b.bench.Read(t.Context(), keeper, b.groups(t)[0].ID(), intake.Reading{Name: "one, better"}))(t)
	if again.ID != first.ID || again.Number != first.Number || again.Name != "one, better" || again.Code() != code {
		t.Errorf("read again as %s %q tag %s, want %s back with tag %s", again.Number, again.Name, again.Code(), first.Number, code)
	}
}

func TestACutDecidesWhoGetsTheNumberBack(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0, 5, 10, 100)
	b.read(t, "three photos")
	b.read(t, "one photo")
	b.undo(t)
	b.undo(t)
	if err := b.bench.Cut(t.Context(), keeper, photoAt(5)); err != nil {
		t.Fatal(err)
	}
	if got, want := described(b.groups(t)), "0 | 5 10 ~2026.1.1 | 100 ~2026.1.2"; got != want {
		t.Errorf("groups = %q, want %q", got, want)
	}
	for _, photo := range []int{5, 100} {
		if err := b.bench.Join(t.Context(), keeper, photoAt(photo)); err != nil {
			t.Fatal(err)
		}
	}
	if got, want := described(b.groups(t)), "0 5 10 100 ~2026.1.1"; got != want {
		t.Errorf("joined groups = %q, want %q: the lower number first", got, want)
	}
}

func TestUndoConflicts(t *testing.T) {
	name := "changed"
	b := openBook(t)
	b.shoot(t, 0, 5, 100)
	it := b.read(t, "thing")
	read := must(b.history.Last(t.Context(), keeper.Device))(t)

	other := intake.By{Person: "Bo Reed", Device: "phone"}
	must(b.items.Amend(t.Context(), other, it.ID, it.Version, intake.Amendment{Name: &name}))(t)
	_, err := b.history.Undo(t.Context(), keeper, read.Seq)
	wantErr(t, "undo of what was amended since", err, intake.ErrConflict)
	if err != nil && !strings.Contains(err.Error(), "Bo Reed") {
		t.Errorf("the conflict %q does not say who", err)
	}
	amended := must(b.history.Last(t.Context(), "phone"))(t)
	must(b.history.Undo(t.Context(), keeper, amended.Seq))(t)
	_, err = b.history.Undo(t.Context(), keeper, amended.Seq)
	wantErr(t, "undo of what was undone", err, intake.ErrConflict)

	part := must(b.items.AddPart(t.Context(), other, it.ID, "lid"))(t)
	_, err = b.history.Undo(t.Context(), keeper, read.Seq)
	wantErr(t, "undo of a whole with parts", err, intake.ErrConflict)
	added := must(b.history.Of(t.Context(), "item", string(part.ID)))(t)[0]
	must(b.history.Undo(t.Context(), keeper, added.Seq))(t)
	undone := must(b.history.Undo(t.Context(), keeper, read.Seq))(t)

	// Read anew, in another cut: the old reading cannot be done again on top.
	if err := b.bench.Cut(t.Context(), keeper, photoAt(5)); err != nil {
		t.Fatal(err)
	}
	b.read(t, "thing, cut")
	_, err = b.history.Undo(t.Context(), keeper, undone.Seq)
	wantErr(t, "redo over a new reading", err, intake.ErrConflict)
	_, err = b.history.Undo(t.Context(), keeper, 9999)
	wantErr(t, "undo of no change", err, intake.ErrNotFound)
}

func TestRedoRefusesPhotosReadElsewhere(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0, 100)
	one := b.read(t, "one")
	two := b.read(t, "two")
	b.undo(t)
	undone := must(b.history.Recent(t.Context(), 1))(t)[0]
	late := b.groups(t)[0]
	must(b.bench.Attach(t.Context(), keeper, late.ID(), one.ID))(t)
	_, err := b.history.Undo(t.Context(), keeper, undone.Seq)
	wantErr(t, "redo of a reading whose photo went elsewhere", err, intake.ErrConflict)
	if it := must(b.items.Item(t.Context(), string(two.ID)))(t); it.State != intake.StateWithdrawn {
		t.Errorf("item two is %s after a refused redo, want withdrawn", it.State)
	}
}

func TestLastIsWhatTheButtonMeans(t *testing.T) {
	b := openBook(t)
	_, err := b.history.Last(t.Context(), keeper.Device)
	wantErr(t, "nothing done yet", err, intake.ErrNotFound)
	b.shoot(t, 0, 100)
	_, err = b.history.Last(t.Context(), keeper.Device)
	wantErr(t, "only photos arrived", err, intake.ErrNotFound)
	b.read(t, "one")
	b.read(t, "two")
	must(b.codes.Blank(t.Context(), keeper, 2))(t) // on paper: no undo
	var acts []string
	for range 2 {
		acts = append(acts, b.undo(t).Summary)
	}
	want := []string{"undone: plate read: 2026.1.2 two", "undone: plate read: 2026.1.1 one"}
	if !slices.Equal(acts, want) {
		t.Errorf("undo twice said %q, want %q", acts, want)
	}
	_, err = b.history.Last(t.Context(), keeper.Device)
	wantErr(t, "all undone", err, intake.ErrNotFound)

	recent := must(b.history.Recent(t.Context(), 1))(t)[0]
	redone := must(b.history.Undo(t.Context(), keeper, recent.Seq))(t)
	last := must(b.history.Last(t.Context(), keeper.Device))(t)
	if last.Seq != redone.Seq {
		t.Errorf("last is change %d (%s), want the redo %d", last.Seq, last.Summary, redone.Seq)
	}
	original := must(b.history.Of(t.Context(), "item", redone.Subject.ID))(t)
	first := original[len(original)-1]
	// Naming the first doing of a change that was done again means its last.
	again := must(b.history.Undo(t.Context(), keeper, first.Seq))(t)
	if again.Undoes != redone.Seq {
		t.Errorf("undo took back change %d, want %d", again.Undoes, redone.Seq)
	}
}

func TestWhatIsOnPaperStays(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0)
	it := b.read(t, "")
	code := must(b.codes.For(t.Context(), keeper, it.ID))(t)
	if err := b.codes.Printed(t.Context(), keeper, []intake.Print{{Code: code, Stock: "a4-3x8", Address: "http://a"}}); err != nil {
		t.Fatal(err)
	}
	for _, c := range must(b.history.Recent(t.Context(), 2))(t) {
		_, err := b.history.Undo(t.Context(), keeper, c.Seq)
		wantErr(t, "undo of "+c.Act, err, intake.ErrConflict)
	}
}

// TestHistoryIsAppendOnly goes around the ledger, as a careless tool would.
func TestHistoryIsAppendOnly(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0)
	it := b.read(t, "")
	must(b.codes.For(t.Context(), keeper, it.ID))(t)
	raw := must(sql.Open("sqlite", b.path))(t)
	defer raw.Close()
	for _, statement := range []string{
		"DELETE FROM history", "UPDATE history SET person = 'nobody'", "DELETE FROM numbers",
		"UPDATE numbers SET item = 7", "DELETE FROM codes",
	} {
		if _, err := raw.ExecContext(t.Context(), statement); err == nil {
			t.Errorf("%s was let through", statement)
		}
	}
}

func TestHistoryHoldsNoMetadata(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0, 5)
	b.read(t, "")
	if err := b.photos.SetRole(t.Context(), keeper, photoAt(0), intake.RoleTag); err != nil {
		t.Fatal(err)
	}
	raw := must(sql.Open("sqlite", b.path))(t)
	defer raw.Close()
	var all string
	if err := raw.QueryRowContext(t.Context(), "SELECT group_concat(summary || rows || subject_id) FROM history").Scan(&all); err != nil {
		t.Fatal(err)
	}
	for _, word := range []string{"IMG_", "Lumen", "2026:05", "+02:00", "inbox"} {
		if strings.Contains(all, word) {
			t.Errorf("history holds %q, which is what a photo says", word)
		}
	}
}
