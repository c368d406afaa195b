package bench_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"haulbook/intake"
	"haulbook/intake/desk"
	"haulbook/intake/desk/bench"
	"haulbook/intake/sqlite"
)

// TestStaleGroupKeepsTheWords: a boundary moved while the plate was typed. The
// page is of the group that holds the first photo now, with a sentence and the
// words; saving from there works.
func TestStaleGroupKeepsTheWords(t *testing.T) {
	s := fullStand(t)
	stale := s.group(1)
	page := s.get(stale).want(200)
	if err := s.store.Join(t.Context(), keeper, s.byThing[2][0]); err != nil {
		t.Fatal(err)
	}
	now := s.group(1)
	again := s.post(stale+"/read", append(typed, "op", page.value("op"))...).
		want(409, "This group changed meanwhile", `action="`+now+`/read"`).wantTyped()
	if ids, _ := again.film(); len(ids) != len(s.byThing[1])+len(s.byThing[2]) {
		t.Errorf("%d photos in the film", len(ids))
	}
	if n, err := s.store.Next(t.Context(), ""); err != nil || n.Item != 1 {
		t.Errorf("next number %v, error %v; want none given", n, err)
	}
	s.follow(s.post(now+"/read", append(typed, "op", again.value("op"))...)).want(200, "given to Half a name.")
}

// TestStaleGroupOfPhotosReadElsewhere: somebody else was faster.
func TestStaleGroupOfPhotosReadElsewhere(t *testing.T) {
	s := fullStand(t)
	stale := s.group(1)
	if _, err := s.store.Read(t.Context(), keeper, strings.TrimPrefix(stale, "/bench/"), intake.Reading{Name: "Faster"}); err != nil {
		t.Fatal(err)
	}
	s.post(stale+"/read", typed...).
		want(409, "These photos have their number already", "2026.1.1", "Faster", "What you typed", "Half a name", "Orrel &amp; Dane", "0B8?")
	got := s.get(stale)
	if got.to != "/items/2026.1.1" {
		t.Errorf("the old address leads to %q, want the record", got.to)
	}
	s.get(stale, live).want(200, "These photos are 2026.1.1 by now.")
}

// TestOpenPageFollows: what desk.js fetches in the background never redirects,
// and carries the group as it is now.
func TestOpenPageFollows(t *testing.T) {
	s := fullStand(t)
	stale := s.group(1)
	s.get(stale, live).want(200).lacks("This group changed")
	if err := s.store.Cut(t.Context(), keeper, s.byThing[1][1]); err != nil {
		t.Fatal(err)
	}
	s.get(stale, live).want(200, `id="film" class="film" data-group="`+strings.TrimPrefix(s.group(1), "/bench/")+`"`, "it has one photo now")
	if got := s.get(stale + "?name=Plotter"); got.to != s.group(1)+"?name=Plotter" {
		t.Errorf("the old address leads to %q", got.to)
	}
	s.follow(s.get(stale)).want(200, "This group changed meanwhile.")
}

// TestAttachToAStaleGroup asks to look again.
func TestAttachToAStaleGroup(t *testing.T) {
	s := fullStand(t)
	s.post(s.group(1)+"/read", plate(s.things[1])...).want(303)
	stale := s.group(2)
	if err := s.store.Cut(t.Context(), keeper, s.byThing[2][1]); err != nil {
		t.Fatal(err)
	}
	page := s.post(stale+"/attach", "number", "2026.1.1").want(409, "This group changed meanwhile", `action="`+s.group(2)+`/read"`)
	if got := page.value("number"); got != "2026.1.1" {
		t.Errorf("number holds %q", got)
	}
}

// brokenLedger fails wherever it is told to.
type brokenLedger struct {
	sqlite.Bench
	at string
}

var errDisk = errors.New("disk is gone, says /dev/secret")

func (b *brokenLedger) Next(ctx context.Context, haul intake.ID) (intake.Number, error) {
	if b.at == "next" {
		return intake.Number{}, errDisk
	}
	return b.Bench.Next(ctx, haul)
}

func (b *brokenLedger) Words(ctx context.Context, field, prefix string, limit int) ([]string, error) {
	if b.at == "words" {
		return nil, errDisk
	}
	return b.Bench.Words(ctx, field, prefix, limit)
}

func (b *brokenLedger) Read(ctx context.Context, by intake.By, group string, r intake.Reading) (intake.Item, error) {
	if b.at == "read" {
		return intake.Item{}, errDisk
	}
	return b.Bench.Read(ctx, by, group, r)
}

func (b *brokenLedger) Ribbon(ctx context.Context, haul intake.ID) ([]intake.Group, error) {
	if b.at == "ribbon" {
		return nil, errDisk
	}
	return b.Bench.Ribbon(ctx, haul)
}

// TestLedgerThatFails gives one calm page, and no word of the inside.
func TestLedgerThatFails(t *testing.T) {
	s := fullStand(t)
	here := s.group(1)
	broken := &brokenLedger{Bench: s.store}
	var err error
	if s.Frame, err = desk.New(desk.Config{Book: "k7m2"}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	err = bench.Register(s.Frame, bench.Config{Groups: broken, Plates: broken, Cuts: broken, Photos: sqlite.Photos{DB: s.db}, History: s.history.Of})
	if err != nil {
		t.Fatal(err)
	}
	for _, broken.at = range []string{"next", "words", "ribbon"} {
		s.get(here).want(500, "Something went wrong").lacks("/dev/secret")
	}
	broken.at = "read"
	s.post(here+"/read", "name", "x").want(500, "Something went wrong").lacks("/dev/secret")
	broken.at = ""
	s.get(here).want(200).lacks("a thing in the book") // no way to find items was given
	s.post(here+"/attach", "number", "2026.1.1").want(400)
}
