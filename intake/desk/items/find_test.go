package items_test

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"haulbook/intake"
)

func find(words string) string { return "/find?" + url.Values{"q": {words}}.Encode() }

// TestFindGoesStraight: what names one thing opens it, whatever a scanner that
// types like a keyboard made of the address. The manglings are those of a
// scanner set to one layout and a computer set to another, and of Caps Lock:
// common practice, no source.
func TestFindGoesStraight(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	s.item(t, 600, intake.Reading{Name: "modem", Serial: "2026.1.1"})
	code := string(must(s.codes.For(t.Context(), keeper, it.ID))(t))
	blank := string(codeWith(t, s, true))
	small := strings.ToLower(code)
	folds := strings.NewReplacer("1", "l", "0", "o").Replace(small)
	const record = "/items/2026.1.1"
	tests := []struct{ name, words, to string }{
		{"number", "2026.1.1", record},
		{"padded", " 2026.001.0001 ", record},
		{"code", code, record},
		{"small letters", small, record},
		{"read by eye", folds, record},
		{"address", "http://192.168.1.20:8417/T/" + code, record},
		{"retired host", "HTTPS://SHED.LAN/t/" + small + "/", record},
		{"caps lock", "HTTP://192.168.1.20:8417/t/" + small, record},
		{"foreign layout", "HTTPö--192.168.1.20ö8417-T-" + code, record},
		{"shifted layout", "http>&&192:168:1:20>8417&T&" + code, record},
		{"scanner's prefix", "]Q1http://192.168.1.20:8417/T/" + code + "\r\n", record},
		{"pasted sentence", "the tag says " + code + ".", record},
		{"haul", "2026.001", "/hauls/2026.1"},
		{"blank tag", blank, "/t/" + blank},
		{"blank tag's address", "http://192.168.1.20:8417/T/" + blank, "/t/" + blank},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			w := s.send(t, "GET", find(tt.words), nil)
			if got := w.Header().Get("Location"); w.Code != 303 || got != tt.to {
				t.Errorf("%q = %d to %q, want %q", tt.words, w.Code, got, tt.to)
			}
		})
	}
}

// TestFindWords: one page of pictures, by beginnings, in any order, serials also
// as they look.
func TestFindWords(t *testing.T) {
	s := open(t)
	s.terminal(t)
	s.item(t, 600, intake.Reading{Name: "Vidéo monitor", Maker: "Velmora", Serial: "V3 32868 M"})
	tests := []struct {
		words string
		want  []string
	}{
		{"termin", []string{"2026.1.1"}},
		{"DANE orrel", []string{"2026.1.1"}},
		{"video", []string{"2026.1.1", "2026.1.2"}},
		{"OB8I-SS2O3", []string{"2026.1.1"}}, // typed as it looks
		{"v3 3286", []string{"2026.1.2"}},
		{"2026.1.9", nil},
		{"2026.9", nil},
		{"nothing like it", nil},
		{`" OR * NEAR(`, nil},
		{"terminal AND nothing", nil},
	}
	for _, tt := range tests {
		t.Run(tt.words, func(t *testing.T) {
			body := s.get(t, find(tt.words))
			for _, number := range []string{"2026.1.1", "2026.1.2"} {
				shown := strings.Contains(body, `<li><a href="/items/`+number+`">`)
				if want := strings.Contains(strings.Join(tt.want, " "), number); shown != want {
					t.Errorf("shows %s: %t, want %t", number, shown, want)
				}
			}
			switch len(tt.want) {
			case 0:
				contains(t, body, "The box at the top takes")
			case 1:
				contains(t, body, "1 item fits")
			default:
				contains(t, body, "2 items fit")
			}
		})
	}
	contains(t, s.get(t, find("2026.1.9")), "No such number", "was never given in this book")
	contains(t, s.get(t, find("nothing like it")), "Nothing fits")
	contains(t, s.get(t, "/find"), "Find an item")
	contains(t, s.get(t, find(" \t\n ")), "Find an item")
}

// TestFindSerialThatPassesForACode: one in 36 serials of eight characters does.
// One that the book knows is found, and does not end on a tag's page.
func TestFindSerialThatPassesForACode(t *testing.T) {
	s := open(t)
	for i := range 3 {
		code := must(intake.NewCode(nil))(t)
		s.item(t, i*600, intake.Reading{Name: fmt.Sprint("thing ", i+1), Serial: string(code)})
		contains(t, s.get(t, find(string(code))), "1 item fits", fmt.Sprint("thing ", i+1))
	}
}

// TestFindLooseTag: a tag without an item opens its own page. One whose code is
// all letters may be a word, and is offered.
func TestFindLooseTag(t *testing.T) {
	s := open(t)
	with, without := codeWith(t, s, true), codeWith(t, s, false)
	if w := s.send(t, "GET", find(string(with)), nil); w.Header().Get("Location") != "/t/"+string(with) {
		t.Errorf("%s = %d to %q", with, w.Code, w.Header().Get("Location"))
	}
	contains(t, s.get(t, find(strings.ToLower(string(without)))), "Nothing fits", `<a href="/t/`+string(without)+`">open tag `+string(without[:4])+" "+string(without[4:]))
	if w := s.send(t, "GET", find("http://shed.lan/T/"+string(without)), nil); w.Header().Get("Location") != "/t/"+string(without) {
		t.Errorf("the address of %s = %d to %q", without, w.Code, w.Header().Get("Location"))
	}
}

// codeWith makes blank tags until one has a digit in its code, or none: about
// one in twenty has none.
func codeWith(t *testing.T, s *shop, digits bool) intake.Code {
	t.Helper()
	for _, code := range must(s.codes.Blank(t.Context(), keeper, 1000))(t) {
		if strings.ContainsAny(string(code), "0123456789") == digits {
			return code
		}
	}
	t.Fatalf("no code with digits %t among a thousand", digits)
	return ""
}

// TestFindReplacedTag goes by the tag's own page, which says that the tag is to
// be taken off.
func TestFindReplacedTag(t *testing.T) {
	s := open(t)
	it := s.terminal(t)
	old := must(s.codes.For(t.Context(), keeper, it.ID))(t)
	now := must(s.codes.Replace(t.Context(), keeper, old, "torn"))(t)
	for code, to := range map[intake.Code]string{old: "/t/" + string(old), now: "/items/2026.1.1"} {
		if w := s.send(t, "GET", find(string(code)), nil); w.Header().Get("Location") != to {
			t.Errorf("%s leads to %q, want %q", code, w.Header().Get("Location"), to)
		}
	}
}

func TestFindMany(t *testing.T) {
	s := open(t)
	for i := range 62 {
		s.item(t, i*600, intake.Reading{Name: "modem"})
	}
	body := s.get(t, find("modem"))
	contains(t, body, "More than 60 items fit", "Another word narrows it")
	if got := strings.Count(body, `<li><a href="/items/`); got != 60 {
		t.Errorf("%d items shown, want 60", got)
	}
}

func TestFindHostile(t *testing.T) {
	s := open(t)
	s.item(t, 0, intake.Reading{Name: hostile})
	for _, words := range []string{hostile, strings.Repeat("x", 10_000), strings.Repeat("\U0010FFFF", 3_000), "a\xffb", "\x00", strings.Repeat("2026.1.", 999)} {
		body := s.get(t, find(words))
		lacks(t, body, "<script>alert", "<b onmouseover", "%!")
		if len(body) > 20_000 {
			t.Errorf("%.20q makes a page of %d bytes", words, len(body))
		}
	}
}
