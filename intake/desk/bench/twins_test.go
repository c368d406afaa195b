package bench_test

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"haulbook/intake"
	"haulbook/intake/sqlite"
)

// enter makes an entered item by the first scan of its tag, and names it.
func (s *stand) enter(code, name string) intake.Item {
	s.t.Helper()
	it, err := sqlite.Codes{DB: s.db}.Enter(s.t.Context(), keeper, intake.Code(code))
	if err != nil {
		s.t.Fatal(err)
	}
	if it, err = s.items.Amend(s.t.Context(), keeper, it.ID, it.Version, intake.Amendment{Name: &name}); err != nil {
		s.t.Fatal(err)
	}
	return it
}

// TestTwinsAreAskedOnce: the page comes back with both pictures and the number;
// the same form sent from there saves.
func TestTwinsAreAskedOnce(t *testing.T) {
	s := fullStand(t)
	s.post(s.group(1)+"/read", "name", "Home computer", "serial", "0B81-5S203").want(303)
	// B and 8, S and 5 look alike on a plate (common practice, no source).
	page := s.post(s.group(2)+"/read", "name", "Another", "serial", "O881-55Z03").
		want(200, "The same thing twice?", "2026.1.1", "0B81-5S203", "Save anyway",
			"/photos/"+s.byThing[1][0].String()+"/small", "/photos/"+s.byThing[2][0].String()+`/small" alt="on the bench"`)
	if page.value("name") != "Another" || page.value("serial") != "O881-55Z03" || page.focus() != "serial" {
		t.Errorf("name %q, serial %q, focus %q", page.value("name"), page.value("serial"), page.focus())
	}
	if n, err := s.store.Next(t.Context(), ""); err != nil || n.Item != 2 {
		t.Fatalf("next number %v, error %v; want nothing given yet", n, err)
	}
	s.follow(s.post(s.group(2)+"/read", "name", "Another", "serial", "O881-55Z03", "sure", page.value("sure"), "op", page.value("op"))).
		want(200, "2026.1.2", "given to Another.")
}

// TestSureIsOfOneSerial: a keeper who was shown one twin has not seen another.
func TestSureIsOfOneSerial(t *testing.T) {
	s := fullStand(t)
	s.post(s.group(1)+"/read", "serial", "1111").want(303)
	s.post(s.group(2)+"/read", "serial", "2222").want(303)
	s.post(s.group(3)+"/read", "serial", "2222", "sure", "1111").want(200, "The same thing twice?", "2026.1.2")
}

func TestNoTwins(t *testing.T) {
	s := fullStand(t)
	s.post(s.group(1)+"/read", plate(s.things[1])...).want(303)
	it := s.enter(s.things[0].Code, "Terminal")
	serial := "7-7-7"
	if _, err := s.items.Amend(t.Context(), keeper, it.ID, it.Version, intake.Amendment{Serial: &serial}); err != nil {
		t.Fatal(err)
	}
	for name, form := range map[string][]string{
		"several of a kind are no twins": {s.group(2), "maker", s.things[1].Maker, "model", s.things[1].Model},
		"unread is not equal":            {s.group(3), "serial", "???"},
		"nothing is its own twin":        {s.group(0), "serial", serial},
	} {
		if got := s.post(form[0]+"/read", form[1:]...); got.status != 303 {
			t.Errorf("%s: status %d, %s", name, got.status, got.text())
		}
	}
}

// TestTwinsWhileTyping is the fragment that the script asks for.
func TestTwinsWhileTyping(t *testing.T) {
	s := fullStand(t)
	s.post(s.group(1)+"/read", "name", "Home computer", "serial", "TP2-351500").want(303)
	ask := func(pairs ...string) answer {
		q := url.Values{}
		for i := 0; i < len(pairs); i += 2 {
			q.Set(pairs[i], pairs[i+1])
		}
		return s.get("/bench/twins?" + q.Encode()).want(200)
	}
	here := s.byThing[2][0].String()
	ask("serial", "tp2 3515OO", "here", here).want(200, `class="twins warn"`, "2026.1.1", "/photos/"+here+"/small")
	for _, serial := range []string{"", "TP2", "????", strings.Repeat("9", 3000), "\xff"} {
		ask("serial", serial).lacks(`class="twins`)
	}
	it, err := s.items.Item(t.Context(), "2026.1.1")
	if err != nil {
		t.Fatal(err)
	}
	ask("serial", "TP2-351500", "own", string(it.ID)).lacks(`class="twins`)
}

// TestManyTwins are counted, not listed.
func TestManyTwins(t *testing.T) {
	s := fullStand(t)
	for i := range 4 {
		s.post(s.group(i)+"/read", "name", fmt.Sprintf("Copy %d", i), "serial", "1", "sure", "1").want(303)
	}
	page := s.post(s.group(-1)+"/read", "serial", "1").want(200, "And 1 more with this serial.")
	if got := strings.Count(page.body, `class="twin"`); got != 3 {
		t.Errorf("%d twins shown, want 3", got)
	}
}
