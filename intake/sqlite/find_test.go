package sqlite_test

import (
	"fmt"
	"strings"
	"testing"

	"haulbook/intake"
)

func TestItemAnswersToEveryName(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0)
	it := b.read(t, "thing")
	part := must(b.items.AddPart(t.Context(), keeper, it.ID, "lead"))(t)
	code := must(b.codes.For(t.Context(), keeper, it.ID))(t)
	lower := strings.ToLower(string(code))
	names := map[string]intake.ID{
		"2026.1.1": it.ID, " 2026.001.0001 ": it.ID, "2026.1.1a": part.ID, "2026.1.01A": part.ID,
		string(it.ID): it.ID, strings.ToUpper(string(it.ID)): it.ID,
		string(code): it.ID, lower: it.ID, code.TagURL("http://192.168.1.20:8417"): it.ID,
		"https://another.example/t/" + lower + "?x": it.ID, "HTTPÖ--192.168.1.20Ö8417-T-" + string(code): it.ID,
	}
	for name, want := range names {
		if got := must(b.items.Item(t.Context(), name))(t); got.ID != want {
			t.Errorf("Item(%q) = %s, want %s", name, got.ID, want)
		}
	}
	for _, name := range []string{"", "2026.1.2", "2026.1", "2026.1.1b", "thing", "00000000", strings.Repeat("9", 4000), "\x00", "0123456789abcdef"} {
		_, err := b.items.Item(t.Context(), name)
		wantErr(t, fmt.Sprintf("Item(%.20q)", name), err, intake.ErrNotFound)
	}
}

func TestFind(t *testing.T) {
	b := openBook(t)
	for i, r := range []intake.Reading{
		{Name: "portable computer", Maker: "Orvex", Model: "Mark 12", Serial: "SB 00-18"},
		{Name: "Drucker für Café", Maker: "Émilie", Model: "9-pin", Serial: "IL0-7731"},
		{Name: `odd "quoted" AND (name)`, Maker: "Straße", Model: "NEAR/2", Serial: "???"},
		{Name: "portable radio", Maker: "Orvex", Model: "R2", Serial: "80018"},
	} {
		a := shot(i * 100)
		a.Haul = "Frühjahrsmarkt"
		b.receive(t, a)
		must(b.bench.Read(t.Context(), keeper, b.groups(t)[0].ID(), r))(t)
	}
	first := must(b.items.Item(t.Context(), "2026.1.1"))(t)
	code := must(b.codes.For(t.Context(), keeper, first.ID))(t)
	must(b.items.AddPart(t.Context(), keeper, first.ID, "mains lead"))(t)

	tests := []struct{ words, want string }{
		{"portable", "4 1"}, {"PORTABLE computer", "1"}, {"computer port", "1"}, {"orv mark", "1"}, {"mark orv portable", "1"},
		{"portable printer", ""}, {"cafe", "2"}, {"CAFÉ emilie", "2"}, {"fur", "2"}, {"frühjahr", "4 3 2 1 1a"}, {"fruhjahrs portable", "4 1"},
		{"2026.1.2", "2"}, {" 2026.001.002 ", "2"}, {"2026.1.1a", "1a"}, {"mains", "1a"}, {"2026.1", "4 3 2 1 1a"},
		{"2026.1.1 portable", "1"}, {"2026.2", ""},
		{"sb0018", "1"}, {"SB 0018", "1"}, {"5800i8", "1"}, {"sb-00 18", "1"}, {"sb00", "1"}, {"8oo18", "4"}, {"110773", "2"}, {"il07731", "2"},
		{"7731", "2"}, {"il0 café", "2"},
		{string(code), "1"}, {strings.ToLower(string(code)), "1"}, {code.TagURL("http://h:1"), "1"}, {"look: http://h/t/" + string(code), "1"},
		{"quoted", "3"}, {`"quoted" name`, "3"}, {"AND", "3"}, {"near", "3"}, {"strasse", "3"}, {"straße", "3"},
		{"", ""}, {"  ", ""}, {`"`, ""}, {`""`, ""}, {"*", ""}, {"???", ""}, {"-", ""}, {"'; DROP TABLE items; --", ""},
	}
	for _, tt := range tests {
		var got []string
		for _, it := range must(b.items.Find(t.Context(), tt.words, 0))(t) {
			got = append(got, strings.TrimPrefix(it.Number.String(), "2026.1."))
		}
		sameSet := len(got) == len(strings.Fields(tt.want))
		for _, want := range strings.Fields(tt.want) {
			sameSet = sameSet && strings.Contains(" "+strings.Join(got, " ")+" ", " "+want+" ")
		}
		if !sameSet {
			t.Errorf("Find(%q) = %q, want %q", tt.words, got, tt.want)
		}
	}
	if got := must(b.items.Find(t.Context(), "portable", 1))(t); len(got) != 1 {
		t.Errorf("a limit of 1 found %d", len(got))
	}
	if got := must(b.items.Find(t.Context(), "2026.1.2", 0))(t); got[0].Number.Item != 2 {
		t.Errorf("an exact number came as %s first", got[0].Number)
	}
}

func TestHostileSearchesAreOnlyWords(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0)
	b.read(t, "thing")
	for _, words := range []string{
		"name:", "serials : x", "NEAR(a b, 2)", "a AND", "OR", "NOT x", "(", ")", "^a", "{a b} : c", `"unclosed`, `""" `, "a*b*", "+",
		"\x00", "thing\x00", "\xff\xfe", "\u202e", "😀", "日本", strings.Repeat("a ", 5000), strings.Repeat("é", 5000), strings.Repeat(`"`, 999),
		"rowid:1", "item_words", "% _ \\", "thing; SELECT", "..", "1.2.3.4", "½", "\u0301",
	} {
		if _, err := b.items.Find(t.Context(), words, 10); err != nil {
			t.Errorf("Find(%.40q): %v", words, err)
		}
		if _, err := b.bench.Words(t.Context(), "name", words, 10); err != nil {
			t.Errorf("Words(%.40q): %v", words, err)
		}
	}
}

func FuzzFind(f *testing.F) {
	for _, seed := range []string{"portable", `a" OR "b`, "2026.1.1", "NEAR(x", "\x00", "ſ ß İ"} {
		f.Add(seed)
	}
	path := f.TempDir() + "/book.db"
	db, err := openForFuzz(f.Context(), path)
	if err != nil {
		f.Fatal(err)
	}
	f.Cleanup(func() { db.Close() })
	items := itemsOf(db)
	f.Fuzz(func(t *testing.T, words string) {
		if _, err := items.Find(t.Context(), words, 5); err != nil {
			t.Errorf("Find(%q): %v", words, err)
		}
	})
}

func TestSearchFollowsEveryChange(t *testing.T) {
	b := openBook(t)
	text := func(s string) *string { return &s }
	found := func(words string) int { return len(must(b.items.Find(t.Context(), words, 0))(t)) }
	b.shoot(t, 0)
	it := b.read(t, "lathe")
	it = must(b.items.Amend(t.Context(), keeper, it.ID, it.Version, intake.Amendment{Name: text("drill"), Serial: text("ZX81"), Notes: text("oily")}))(t)
	for words, want := range map[string]int{"lathe": 0, "drill": 1, "2x8l": 1, "oily": 1} {
		if got := found(words); got != want {
			t.Errorf("after amending, %q finds %d, want %d", words, got, want)
		}
	}
	b.undo(t)
	for words, want := range map[string]int{"lathe": 1, "drill": 0, "zx81": 0} {
		if got := found(words); got != want {
			t.Errorf("after undo, %q finds %d, want %d", words, got, want)
		}
	}
	h := must(b.hauls.Haul(t.Context(), "2026.1"))(t)
	h.Name = "auction"
	must(b.hauls.Amend(t.Context(), keeper, h.ID, h.Version, h))(t)
	if got := found("auction lathe"); got != 1 {
		t.Errorf("the haul's new name finds %d, want 1", got)
	}
	b.undo(t)
	b.undo(t)
	for _, words := range []string{"lathe", "2026.1.1"} {
		if got := found(words); got != 0 {
			t.Errorf("a withdrawn item is found by %q", words)
		}
	}
}

func TestListPagesThroughTheRegister(t *testing.T) {
	b := openBook(t)
	for i := range 12 { // past 9, where text order would go wrong
		b.shoot(t, i*100, i*100+5)
		b.read(t, "")
	}
	must(b.items.AddPart(t.Context(), keeper, must(b.items.Item(t.Context(), "2026.1.10"))(t).ID, "lid"))(t)
	var got []string
	var after intake.Number
	for {
		page := must(b.items.List(t.Context(), after, 5))(t)
		if len(page) == 0 {
			break
		}
		for _, it := range page {
			got = append(got, it.Number.String())
			if len(it.Photos) != 1 || it.Photos[0].As != intake.RoleView {
				t.Errorf("%s carries %d photos, want its view", it.Number, len(it.Photos))
			}
			if n := len(it.Parts); (n == 1) != (it.Number.Item == 10) {
				t.Errorf("%s carries %d parts", it.Number, n)
			}
		}
		after = page[len(page)-1].Number
	}
	if got, want := strings.Join(got, " "), "2026.1.12 2026.1.11 2026.1.10 2026.1.9 2026.1.8 2026.1.7 2026.1.6 2026.1.5 2026.1.4 2026.1.3 2026.1.2 2026.1.1"; got != want {
		t.Errorf("pages hold %s, want %s", got, want)
	}
}

func TestAmendKeepsWhatOthersWrote(t *testing.T) {
	b := openBook(t)
	b.shoot(t, 0, 5)
	it := b.read(t, "thing")
	public, three, serial := true, 3, " X 9 "
	got := must(b.items.Amend(t.Context(), keeper, it.ID, it.Version, intake.Amendment{Public: &public, Quantity: &three, Serial: &serial}))(t)
	if !got.Public || got.Quantity != 3 || got.Serial != "X 9" || got.Name != "thing" || got.Version != it.Version+1 {
		t.Errorf("amended to %+v", got)
	}
	_, err := b.items.Amend(t.Context(), keeper, it.ID, it.Version, intake.Amendment{Quantity: &three})
	wantErr(t, "a stale edit", err, intake.ErrConflict)
	_, err = b.items.Amend(t.Context(), keeper, "nosuchitem", 1, intake.Amendment{})
	wantErr(t, "no item", err, intake.ErrNotFound)
	zero := 0
	_, err = b.items.Amend(t.Context(), keeper, it.ID, got.Version, intake.Amendment{Quantity: &zero})
	wantErr(t, "no things", err, intake.ErrInvalid)
	same := must(b.items.Amend(t.Context(), keeper, it.ID, got.Version, intake.Amendment{Quantity: &three}))(t)
	if same.Version != got.Version {
		t.Error("an edit that changes nothing counted as a version")
	}
	// A photo's new role is no edit of the record that a form would overwrite.
	if err := b.photos.SetRole(t.Context(), keeper, photoAt(5), intake.RoleDetail); err != nil {
		t.Fatal(err)
	}
	after := must(b.items.Item(t.Context(), string(it.ID)))(t)
	if after.Version != got.Version || after.Photos[1].As != intake.RoleDetail {
		t.Errorf("version %d, role %s", after.Version, after.Photos[1].As)
	}
}
