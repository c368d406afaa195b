package main

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"haulbook/cmd/haulbook/drawn"
	"haulbook/intake"
	"haulbook/intake/sqlite"
	"haulbook/labels"
)

// demoWidth is half of what the demo draws: enough to find tags in the photos,
// and a quarter of the work.
const demoWidth = 800

// TestDemo lets the demo tell its whole story and looks at the book it leaves
// behind.
func TestDemo(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "book")
	ctx, stop := context.WithTimeout(t.Context(), patience)
	defer stop()
	told := false
	var out, talk transcript
	c := demoCommand{Dir: dir, Listen: "127.0.0.1:0", Pace: time.Millisecond, width: demoWidth, told: func(*book) { told = true; stop() }}
	if err := c.Run(&streams{ctx: ctx, in: strings.NewReader(""), out: &out, talk: &talk, now: time.Now}); err != nil || !told {
		t.Fatalf("demo: ended with %v, story told: %v\n%s", err, told, talk.String())
	}
	if !strings.HasPrefix(out.String(), "http://localhost:") {
		t.Errorf("printed %q, want the desk's address", out.String())
	}

	b, err := openBook(&streams{ctx: t.Context(), talk: &talk, now: time.Now}, dir)
	if err != nil {
		t.Fatal(err)
	}
	defer b.close()
	ahead := tagsOn(t, b, filepath.Join(dir, "tags-printed-ahead.pdf"), 4)
	afterwards := tagsOn(t, b, filepath.Join(dir, "tags-of-the-haul.pdf"), 0)

	plan, err := drawn.Plan(drawn.Options{Address: b.settings.Address, Codes: []string{string(ahead[0]), string(ahead[1]), string(ahead[2]), string(ahead[3])}})
	if err != nil {
		t.Fatal(err)
	}
	stats, err := sqlite.Photos{DB: b.db}.Stats(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if stats.Photos != len(plan.Photos) || stats.Photos < 45 || stats.Pending != 0 || stats.Unreadable != 0 {
		t.Errorf("the book holds %d photos, %d to look at, %d unreadable; want all %d of the haul", stats.Photos, stats.Pending, stats.Unreadable, len(plan.Photos))
	}
	checkDemoItems(t, b, plan.Things, append(slices.Clone(ahead), afterwards...))
	checkPaired(t, b, ahead)

	// Once more on the same book: it is opened as it is.
	again, stopAgain := context.WithTimeout(t.Context(), patience)
	defer stopAgain()
	c.told = func(*book) { stopAgain() }
	if err := c.Run(&streams{ctx: again, in: strings.NewReader(""), out: &out, talk: &talk, now: time.Now}); err != nil {
		t.Fatal(err)
	}
	if after, err := (sqlite.Photos{DB: b.db}).Stats(t.Context()); err != nil || after != stats {
		t.Errorf("a second demo on the book changed it: got %+v, want %+v: %v", after, stats, err)
	}
}

// tagsOn reads every tag of a demo's PDF; want is how many there must be, 0 for
// some.
func tagsOn(t *testing.T, b *book, file string, want int) (codes []intake.Code) {
	t.Helper()
	pdf, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	stock, err := labels.StockNamed("a4-3x8")
	if err != nil {
		t.Fatal(err)
	}
	pages := rasterised(t, pdf, 300)
	for i := range stock.PerPage() * len(pages) {
		text := scan(t, label(stock, pages[i/stock.PerPage()], i))
		if text == "" {
			continue
		}
		code, ok := intake.CodeInURL(text)
		if !ok || text != code.TagURL(b.settings.Address) {
			t.Errorf("%s: label %d says %q, which is no tag of %s", filepath.Base(file), i, text, b.settings.Address)
			continue
		}
		codes = append(codes, code)
	}
	if len(codes) == 0 || want > 0 && len(codes) != want {
		t.Fatalf("%s: %d tags read, want %d", filepath.Base(file), len(codes), want)
	}
	return codes
}

// checkDemoItems holds that five plates were read, each as drawn, and that each
// of these things has a printed tag that leads to it.
func checkDemoItems(t *testing.T, b *book, things []drawn.Thing, printed []intake.Code) {
	t.Helper()
	items, err := sqlite.Items{DB: b.db}.List(t.Context(), intake.Number{}, 100)
	if err != nil {
		t.Fatal(err)
	}
	if len(items) != platesRead {
		t.Errorf("%d things have numbers, want %d", len(items), platesRead)
	}
	serials := map[string]drawn.Thing{}
	for _, thing := range things {
		serials[thing.Serial] = thing
	}
	tagged := map[intake.ID]bool{}
	for _, code := range printed {
		if it, err := (sqlite.Items{DB: b.db}).Item(t.Context(), string(code)); err == nil {
			tagged[it.ID] = true
		}
	}
	for _, it := range items {
		truth, ok := serials[it.Serial]
		if !ok || it.Name != truth.Name || it.Maker != truth.Maker || it.Model != truth.Model {
			t.Errorf("%s: reads %s, %s %s, serial %q; drawn was %+v", it.Number, it.Name, it.Maker, it.Model, it.Serial, truth)
		}
		if len(it.Photos) == 0 {
			t.Errorf("%s has no photo", it.Number)
		}
		if !tagged[it.ID] {
			t.Errorf("%s: no printed tag leads to it", it.Number)
		}
	}
}

// checkPaired holds that every tag that was printed ahead was found in a photo
// and tied itself to what lay beside it: a thing with a number, or a group that
// waits.
func checkPaired(t *testing.T, b *book, ahead []intake.Code) {
	t.Helper()
	groups, err := sqlite.Bench{DB: b.db}.Groups(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	for _, code := range ahead {
		target, err := sqlite.Codes{DB: b.db}.Resolve(t.Context(), code)
		if err != nil {
			t.Fatal(err)
		}
		waits := slices.ContainsFunc(groups, func(g intake.Group) bool { return g.Code == code })
		if waits == (target.Item != nil) {
			t.Errorf("tag %s, printed ahead: leads to a thing: %v, seen in a group that waits: %v; want one of them", code, target.Item != nil, waits)
		}
	}
}
