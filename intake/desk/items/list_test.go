package items_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"haulbook/intake"
)

func TestItemsEmpty(t *testing.T) {
	s := open(t)
	body := s.get(t, "/items")
	contains(t, body, "No item has a number yet", `href="/bench"`)
	lacks(t, body, `rel="next"`, "Without a number yet")
	contains(t, s.get(t, "/items?after=2026.1.1"), "No older items", `href="/items"`)
}

var numbered = regexp.MustCompile(`<li><a href="/items/(2026\.1\.\d+)">`)

// TestItemsPageByPage walks the register from the newest number down: every
// item once, whatever was added meanwhile.
func TestItemsPageByPage(t *testing.T) {
	s := open(t)
	const all = 65
	for i := range all {
		s.item(t, i*600, intake.Reading{Name: fmt.Sprintf("thing %d", i+1)})
	}
	first := s.get(t, "/items")
	numbers := numbered.FindAllStringSubmatch(first, -1)
	if len(numbers) != 60 || numbers[0][1] != "2026.1.65" || numbers[59][1] != "2026.1.6" {
		t.Fatalf("the first page has %d items, %v", len(numbers), numbers)
	}
	contains(t, first, `<a class="btn" href="/items?after=2026.1.6" rel="next">`)
	s.item(t, all*600, intake.Reading{Name: "latecomer"}) // does not shift what follows
	second := s.get(t, "/items?after=2026.1.6")
	if numbers = numbered.FindAllStringSubmatch(second, -1); len(numbers) != 5 || numbers[0][1] != "2026.1.5" || numbers[4][1] != "2026.1.1" {
		t.Fatalf("the second page has %v", numbers)
	}
	lacks(t, second, `rel="next"`)
	// The other form of the same page, and back to the newest in it.
	contains(t, second, `href="/items?after=2026.1.6&amp;as=list"`)
	dense := s.get(t, "/items?after=2026.1.6&as=list")
	contains(t, dense, "<table", "thing 5", `href="/items?as=list">Newest`, `href="/items?after=2026.1.6"`)
	contains(t, s.get(t, "/items?as=list"), `href="/items?after=2026.1.7&amp;as=list" rel="next"`)
}

func TestItemsAfterNonsense(t *testing.T) {
	s := open(t)
	w := s.send(t, "GET", "/items?after=%22%3E%3Cscript%3E", nil)
	if w.Code != 400 {
		t.Errorf("status = %d, want 400", w.Code)
	}
	lacks(t, w.Body.String(), "<script>")
}

// TestItemsStates: a void number keeps its place and says so, an undone one does
// not show, a thing that has only its tag waits above.
func TestItemsStates(t *testing.T) {
	s := open(t)
	void := s.terminal(t)
	if err := s.items.Void(t.Context(), keeper, void.ID, "counted twice"); err != nil {
		t.Fatal(err)
	}
	undone := s.item(t, 600, intake.Reading{Name: "undone thing"})
	last := must(s.history.Last(t.Context(), keeper.Device))(t)
	must(s.history.Undo(t.Context(), keeper, last.Seq))(t)
	code := must(s.codes.Blank(t.Context(), keeper, 1))(t)[0]
	entered := must(s.codes.Enter(t.Context(), keeper, code))(t)
	for _, page := range []string{"/items", "/items?as=list"} {
		body := s.get(t, page)
		contains(t, body, `<span class="tag lost"><bdi>2026.1.1</bdi></span>`, ">void</span>", "video terminal",
			"Without a number yet", "/items/"+string(entered.ID), string(code[:4])+" "+string(code[4:]), "no photo yet")
		lacks(t, body, "undone thing", undone.Number.String())
	}
	lacks(t, s.get(t, "/items?after=2026.1.9"), "Without a number yet")
}

func TestItemsHostile(t *testing.T) {
	s := open(t)
	s.item(t, 0, intake.Reading{Name: hostile, Maker: hostile, Model: hostile, Serial: hostile})
	for _, page := range []string{"/items", "/items?as=list"} {
		body := s.get(t, page)
		lacks(t, body, "<script>alert", "<b onmouseover")
		contains(t, body, harmless)
		if strings.Contains(body, "%!") {
			t.Errorf("%s: a text was taken for a format", page)
		}
	}
}
