package sqlite_test

import (
	"bytes"
	"maps"
	"slices"
	"strings"
	"testing"

	"haulbook/intake"
	"haulbook/intake/sqlite"
)

func TestABlankTagPairsItself(t *testing.T) {
	b := openBook(t)
	code := must(b.codes.Blank(t.Context(), keeper, 1))(t)[0]
	if target := must(b.codes.Resolve(t.Context(), code))(t); !target.Blank || target.Item != nil {
		t.Errorf("a new code resolves to %+v, want blank", target)
	}
	b.receive(t, shot(0, tag(code, 0.1)), shot(5))
	g := b.groups(t)[0]
	if g.Code != code || g.Photos[0].As != intake.RoleTag || g.Item.ID != "" {
		t.Errorf("group has code %q, first photo %s", g.Code, g.Photos[0].As)
	}
	it := b.read(t, "tagged")
	if it.Code() != code {
		t.Errorf("item has tag %q, want %q", it.Code(), code)
	}
	if target := must(b.codes.Resolve(t.Context(), code))(t); target.Blank || target.Item == nil || target.Item.Number != it.Number {
		t.Errorf("code resolves to %+v", target)
	}
	if got := must(b.codes.For(t.Context(), keeper, it.ID))(t); got != code {
		t.Errorf("For made %q though the item has %q", got, code)
	}
	b.undo(t)
	if target := must(b.codes.Resolve(t.Context(), code))(t); !target.Blank {
		t.Errorf("after undo the code resolves to %+v, want blank again", target)
	}
}

func TestAnUnknownTagIsAdopted(t *testing.T) {
	b := openBook(t)
	code := must(intake.NewCode(nil))(t)
	_, err := b.codes.Resolve(t.Context(), code)
	wantErr(t, "a code never made nor seen", err, intake.ErrNotFound)
	b.receive(t, shot(0, tag(code, 0.1)))
	if target := must(b.codes.Resolve(t.Context(), code))(t); !target.Blank {
		t.Errorf("a code seen in a photo resolves to %+v, want blank", target)
	}
	if it := b.read(t, ""); it.Code() != code {
		t.Errorf("item has tag %q, want the one in its photo, %q", it.Code(), code)
	}
}

func TestLatePhotosFindTheirItemByTag(t *testing.T) {
	b := openBook(t)
	code := must(b.codes.Blank(t.Context(), keeper, 1))(t)[0]
	b.receive(t, shot(0, tag(code, 0.1)), shot(5))
	it := b.read(t, "camera one")
	b.receive(t, shot(5000, tag(code, 0.2)), shot(5005))
	g := b.groups(t)[0]
	if got, want := described([]intake.Group{g}), "5000 5005 =2026.1.1 accessioned"; got != want {
		t.Fatalf("late group = %q, want %q", got, want)
	}
	_, err := b.bench.Read(t.Context(), keeper, g.ID(), intake.Reading{})
	wantErr(t, "a second number for one tag", err, intake.ErrConflict)
	b.shoot(t, 9000)
	other := must(b.bench.Read(t.Context(), keeper, b.groups(t)[1].ID(), intake.Reading{}))(t)
	_, err = b.bench.Attach(t.Context(), keeper, g.ID(), other.ID)
	wantErr(t, "attaching to another item than the tag's", err, intake.ErrConflict)
	got := must(b.bench.Attach(t.Context(), keeper, g.ID(), it.ID))(t)
	if len(got.Photos) != 4 || got.Number != it.Number || len(b.groups(t)) != 0 {
		t.Errorf("attached: %d photos, number %s, %d groups left", len(got.Photos), got.Number, len(b.groups(t)))
	}
}

func TestAnEnteredItemWaitsForItsPlate(t *testing.T) {
	b := openBook(t)
	code := must(b.codes.Blank(t.Context(), keeper, 1))(t)[0]
	entered := must(b.codes.Enter(t.Context(), keeper, code))(t)
	if entered.State != intake.StateEntered || !entered.Number.IsZero() || entered.Code() != code {
		t.Fatalf("entered %+v", entered)
	}
	if again := must(b.codes.Enter(t.Context(), keeper, code))(t); again.ID != entered.ID {
		t.Error("a second scan entered a second item")
	}
	name := "typed before"
	must(b.items.Amend(t.Context(), keeper, entered.ID, entered.Version, intake.Amendment{Name: &name}))(t)
	b.receive(t, shot(0, tag(code, 0.1)), shot(5))
	b.shoot(t, 1000)
	must(b.bench.Attach(t.Context(), keeper, b.groups(t)[1].ID(), entered.ID))(t)
	// One group by its tag, one that a human attached: both wait with the item.
	if got, want := described(b.groups(t)), "0 5 =entered | 1000 =entered"; got != want {
		t.Fatalf("groups = %q, want %q", got, want)
	}
	if n := len(must(b.items.Entered(t.Context()))(t)); n != 1 {
		t.Errorf("%d entered items, want 1", n)
	}
	it := must(b.bench.Read(t.Context(), keeper, b.groups(t)[0].ID(), intake.Reading{Maker: "Orvex"}))(t)
	if it.ID != entered.ID || it.Number.String() != "2026.1.1" || it.Name != name || it.Maker != "Orvex" || it.Haul.Name == "" {
		t.Errorf("the entered item became %+v", it)
	}
	if len(it.Photos) != 3 || len(b.groups(t)) != 0 {
		t.Errorf("%d photos, %d groups left; want 3 and none", len(it.Photos), len(b.groups(t)))
	}
	b.undo(t)
	back := must(b.items.Item(t.Context(), string(entered.ID)))(t)
	if back.State != intake.StateEntered || !back.Number.IsZero() {
		t.Errorf("undone to %s with number %q, want entered without one", back.State, back.Number)
	}
	g := b.groups(t)[0]
	if g.Pending.String() != "2026.1.1" {
		t.Errorf("pending number %q, want its own back", g.Pending)
	}
	if again := must(b.bench.Read(t.Context(), keeper, g.ID(), intake.Reading{}))(t); again.Number != it.Number || again.ID != it.ID {
		t.Errorf("read again as %s, want %s", again.Number, it.Number)
	}
}

func TestReplacedTagsStillResolve(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0)
	it := b.read(t, "thing")
	first := must(b.codes.For(t.Context(), keeper, it.ID))(t)
	second := must(b.codes.Replace(t.Context(), keeper, first, "fell off"))(t)
	old := must(b.codes.Resolve(t.Context(), first))(t)
	if old.Item == nil || old.Item.ID != it.ID || old.Successor != second || old.Reason != "fell off" || old.Blank {
		t.Errorf("the old code resolves to %+v", old)
	}
	if now := must(b.items.Item(t.Context(), string(first)))(t); now.ID != it.ID || now.Code() != second {
		t.Errorf("the old code opens %s with tag %s, want tag %s", now.Number, now.Code(), second)
	}
	_, err := b.codes.Replace(t.Context(), keeper, first, "again")
	wantErr(t, "replacing a replaced tag", err, intake.ErrConflict)
	_, err = b.codes.Enter(t.Context(), keeper, must(intake.NewCode(nil))(t))
	wantErr(t, "entering a code never made", err, intake.ErrNotFound)

	// A photo of the old tag is late evidence of the same item.
	b.receive(t, shot(5000, tag(first, 0.2)))
	if g := b.groups(t)[0]; g.Item.ID != it.ID {
		t.Errorf("the old tag in a photo leads to %q, want the item", g.Item.ID)
	}

	blank := must(b.codes.Blank(t.Context(), keeper, 1))(t)[0]
	next := must(b.codes.Replace(t.Context(), keeper, blank, "smudged"))(t)
	_, err = b.codes.Enter(t.Context(), keeper, blank)
	wantErr(t, "entering a replaced blank tag", err, intake.ErrConflict)
	b.receive(t, shot(9000, tag(blank, 0.2)))
	tied := must(b.bench.Read(t.Context(), keeper, b.groups(t)[1].ID(), intake.Reading{}))(t)
	if tied.Code() != next {
		t.Errorf("a photo of a replaced blank tag tied %q, want its successor %q", tied.Code(), next)
	}
}

func TestUntaggedAndPrinted(t *testing.T) {
	b := openBook(t)
	seen := must(intake.NewCode(nil))(t)
	b.shoot(t, 0, 100)
	b.receive(t, shot(200, tag(seen, 0.2)))
	one, two := b.read(t, "one"), b.read(t, "two")
	b.read(t, "three, its tag is in its photo")
	numbers := func() (out []string) {
		for _, it := range must(b.codes.Untagged(t.Context()))(t) {
			out = append(out, it.Number.String())
		}
		return out
	}
	if got, want := numbers(), []string{"2026.1.1", "2026.1.2"}; !slices.Equal(got, want) {
		t.Errorf("untagged = %v, want %v", got, want)
	}
	code := must(b.codes.For(t.Context(), keeper, one.ID))(t)
	if got := numbers(); len(got) != 2 {
		t.Errorf("a code made but not printed left %v untagged", got)
	}
	print := []sqlite.Print{{Code: code, Stock: "a4-3x8", Address: "http://old:8417"}}
	for range 2 {
		if err := b.codes.Printed(t.Context(), keeper, print); err != nil {
			t.Fatal(err)
		}
	}
	if got, want := numbers(), []string{"2026.1.2"}; !slices.Equal(got, want) {
		t.Errorf("untagged = %v, want %v", got, want)
	}
	if it := must(b.items.Item(t.Context(), string(one.ID)))(t); it.Codes[0].Printed.IsZero() {
		t.Error("the item does not say when its tag was printed")
	}
	print = []sqlite.Print{{Code: must(b.codes.For(t.Context(), keeper, two.ID))(t), Stock: "a4-3x8", Address: "http://new:8417"}}
	if err := b.codes.Printed(t.Context(), keeper, print); err != nil {
		t.Fatal(err)
	}
	want := map[string]int{"http://old:8417": 1, "http://new:8417": 1}
	if got := must(b.codes.Addresses(t.Context()))(t); !maps.Equal(got, want) {
		t.Errorf("addresses = %v, want %v", got, want)
	}
	must(b.codes.Replace(t.Context(), keeper, code, "lost"))(t)
	if got := must(b.codes.Addresses(t.Context()))(t); got["http://old:8417"] != 0 {
		t.Errorf("a replaced tag still counts: %v", got)
	}
	if got := numbers(); len(got) != 1 || got[0] != "2026.1.1" {
		t.Errorf("untagged = %v, want the one whose tag was replaced", got)
	}
	err := b.codes.Printed(t.Context(), keeper, []sqlite.Print{{Code: must(intake.NewCode(nil))(t)}})
	wantErr(t, "printing a code never made", err, intake.ErrNotFound)
}

func TestBlankTags(t *testing.T) {
	b := openBook(t)
	for _, n := range []int{0, -1, sqlite.MaxBlank + 1} {
		_, err := b.codes.Blank(t.Context(), keeper, n)
		wantErr(t, "a count of tags", err, intake.ErrInvalid)
	}
	codes := must(b.codes.Blank(t.Context(), keeper, 200))(t)
	sorted := slices.Sorted(slices.Values(codes))
	if len(slices.Compact(sorted)) != 200 {
		t.Error("two blank tags carry one code")
	}
	must(b.codes.Enter(t.Context(), keeper, codes[7]))(t)
	b.receive(t, shot(0, tag(codes[9], 0.1)))
	unused := must(b.codes.Unused(t.Context()))(t)
	if len(unused) != 198 || slices.Contains(unused, codes[7]) || slices.Contains(unused, codes[9]) {
		t.Errorf("%d unused, want all but the one entered and the one photographed", len(unused))
	}
}

// TestADrawnCodeIsNew feeds randomness that repeats itself once.
func TestADrawnCodeIsNew(t *testing.T) {
	b := openBook(t)
	seven := []byte{3, 31, 7, 12, 25, 0, 18}
	b.Random = bytes.NewReader(slices.Concat(seven, seven, []byte{1, 2, 3, 4, 5, 6, 8}))
	codes := must(b.codes.Blank(t.Context(), keeper, 2))(t)
	if codes[0] == codes[1] {
		t.Errorf("both tags carry %s", codes[0])
	}
	b.Random = strings.NewReader("")
	if _, err := b.codes.Blank(t.Context(), keeper, 1); err == nil {
		t.Error("a code without randomness")
	}
}

func TestOtherPeoplesQRsAreNoTags(t *testing.T) {
	b := openBook(t)
	code := must(b.codes.Blank(t.Context(), keeper, 1))(t)[0]
	foreign := intake.SeenCode{Text: "http://shop.example/" + string(code), Symbology: intake.SymbologyQR, Share: 0.3}
	linear := intake.SeenCode{Text: code.TagURL("http://h"), Symbology: intake.SymbologyCode128, Share: 0.3}
	b.receive(t, shot(0, foreign, linear))
	if g := b.groups(t)[0]; g.Code != "" {
		t.Errorf("group took %q for its tag", g.Code)
	}
}

func TestTheLargestTagWins(t *testing.T) {
	b := openBook(t)
	codes := must(b.codes.Blank(t.Context(), keeper, 2))(t)
	b.receive(t, shot(0, tag(codes[0], 0.001), tag(codes[1], 0.05)), shot(5, tag(codes[0], 0.002)))
	if g := b.groups(t)[0]; g.Code != codes[1] {
		t.Errorf("group's tag is %q, want the one that fills most, %q", g.Code, codes[1])
	}
}

// TestATagSeenLatePairsAllTheSame: the plate was read while the pixels of a slow
// format still waited to be looked at.
func TestATagSeenLatePairsAllTheSame(t *testing.T) {
	b := openBook(t)
	codes := must(b.codes.Blank(t.Context(), keeper, 3))(t)
	slow := shot(0)
	slow.Photo.Look = intake.LookPending
	b.receive(t, slow, shot(5))
	it := b.read(t, "thing")
	look := func(photo int, codes ...intake.SeenCode) {
		t.Helper()
		if err := b.photos.Looked(t.Context(), photoAt(photo), intake.LookDone, codes); err != nil {
			t.Fatal(err)
		}
	}
	look(5, tag(codes[1], 0.1), tag(codes[2], 0.1))
	if got := must(b.items.Item(t.Context(), string(it.ID)))(t); len(got.Codes) != 0 {
		t.Errorf("two tags in one photo paired %v, want neither", got.Codes)
	}
	look(0, tag(codes[0], 0.1))
	if got := must(b.items.Item(t.Context(), string(codes[0])))(t); got.ID != it.ID {
		t.Errorf("the late tag leads to %q, want the item", got.ID)
	}
	look(5, tag(codes[1], 0.1))
	if got := must(b.items.Item(t.Context(), string(it.ID)))(t); len(got.Codes) != 1 || got.Code() != codes[0] {
		t.Errorf("a second tag joined: %v", got.Codes)
	}
	seen := must(b.history.Of(t.Context(), "item", string(it.ID)))(t)[0]
	must(b.history.Undo(t.Context(), keeper, seen.Seq))(t)
	if target := must(b.codes.Resolve(t.Context(), codes[0]))(t); !target.Blank {
		t.Errorf("after undo the tag leads to %+v, want nothing yet", target)
	}
}
