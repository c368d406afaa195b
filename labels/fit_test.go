package labels

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"golang.org/x/image/font/sfnt"
)

func TestClean(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"plain", "Video terminal", "Video terminal"},
		{"white space", "  two\n\tlines\r\n ", "two lines"},
		{"Cyrillic is in the fonts", "Заря", "Заря"},
		{"Greek is in the fonts", "Αθήνα", "Αθήνα"},
		{"Hebrew is not", "מחשב", "□□□□"},
		{"Chinese is not", "漢字 desk", "□□ desk"},
		{"beyond U+FFFF", "a🖥b", "a□b"},
		{"joined emoji", "👨‍👩‍👧", "□□□"},
		{"variation selector", "🖥\ufe0f", "□"},
		{"lone combining mark", "n\u0308", "n"},
		{"direction marks", "a\u202eb\u200fc", "abc"},
		{"control characters", "a\x00b\x1bc\u0085d", "a b c d"},
		{"broken UTF-8", "a\xffb", "a\ufffdb"},
		{"nothing but spaces", " \n ", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := faces(t).regular.clean(c.in); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

func TestShorten(t *testing.T) {
	f := faces(t).mono // every letter is 0.6 of the size wide
	for _, c := range []struct {
		in    string
		width float64
		want  string
	}{
		{"terminal", 8 * 0.61, "terminal"},
		{"terminal", 7 * 0.61, "termin…"},
		{"disk, drive", 6 * 0.61, "disk…"}, // no comma before the mark
		{"terminal", 0.61, "…"},
		{"terminal", 0.5, ""},
		{"", 1, ""},
	} {
		if got := shorten(f, c.in, 1, c.width); got != c.want {
			t.Errorf("%q in %.2f: got %q, want %q", c.in, c.width, got, c.want)
		}
	}
}

func TestWrap(t *testing.T) {
	f := faces(t).mono
	for _, c := range []struct {
		in   string
		most int
		want string
	}{
		{"If found call 0134", 3, "If found|call 0134"},
		{"If found call 0134", 1, "If found…"},
		{"abcdefghijklmnopqrstuvwxyz", 3, "abcdefghij|klmnopqrst|uvwxyz"},
		{"", 3, ""},
	} {
		if got := strings.Join(wrap(f, c.in, 1, 10.5*0.6, c.most), "|"); got != c.want {
			t.Errorf("%q: got %q, want %q", c.in, got, c.want)
		}
	}
	if got := wrap(f, "abc", 1, 0.1, 3); len(got) != 0 {
		t.Errorf("got %q in no room, want nothing", got)
	}
}

func TestSetNumber(t *testing.T) {
	f := faces(t).bold
	for _, c := range []struct {
		number        string
		width, height float64
		want          string
	}{
		{"2026.7.14", 30, 10, "2026.7.14"},
		{"2026.114.1234ab", 16, 12, "2026.114.|1234ab"},
		{"7K3M 9Q2X", 20, 20, "7K3M|9Q2X"},
		{"2026.114.1234ab", 40, 5, "2026.114.1234ab"},
		{"123456789012345678901234567890", 16, 12, ""}, // nowhere to break
		{strings.Repeat("1.", 40), 100, 50, ""},        // no tag carries that
	} {
		set, ok := setNumber(f, c.number, c.width, c.height, tagEyelet+tagEnd, tagHead)
		if ok != (c.want != "") {
			t.Errorf("%s: fits is %v in %.0f × %.0f", c.number, ok, c.width, c.height)
		}
		if got := strings.Join(set.lines, "|"); ok && got != c.want {
			t.Errorf("got %s, want %s", got, c.want)
		}
		if ok && set.width+(tagEyelet+tagEnd)*set.size > c.width+1e-9 {
			t.Errorf("%s is wider than %.0f mm", c.number, c.width)
		}
	}
}

// Whatever is typed, what is drawn fits the box and uses only letters that the
// fonts have and fpdf bears.
func FuzzFit(f *testing.F) {
	for _, s := range []string{"Video terminal", "漢字 מחשב Заря 🖥️", strings.Repeat("w", 10000), "a\xff\x00\u202e\n", "…", "□□"} {
		f.Add(s, 30.0, 2.5)
		f.Add(s, 0.3, 4.0)
	}
	f.Fuzz(func(t *testing.T, s string, width, size float64) {
		if !(width >= 0 && width < 500 && size >= 0.5 && size < 50) {
			t.Skip("a label has no such box")
		}
		for _, face := range faces(t).all() {
			clean := face.clean(s)
			mustDraw(t, face, clean)
			lines := append(wrap(face, clean, size, width, 3), shorten(face, clean, size, width))
			for _, l := range lines {
				mustDraw(t, face, l)
				if w := face.width(l) * size; w > width+1e-6 {
					t.Errorf("%q is %.3f mm wide in a box of %.3f", l, w, width)
				}
			}
			if set, ok := setNumber(face, clean, width, width/2, tagEyelet+tagEnd, tagHead); ok {
				if got, want := letters(strings.Join(set.lines, "")), letters(clean); got != want {
					t.Errorf("number %q became %q", want, got)
				}
			}
		}
	})
}

// letters leaves out spaces, which line breaks swallow.
func letters(s string) string {
	return strings.ReplaceAll(s, " ", "")
}

// mustDraw checks that a text holds nothing the outputs cannot draw.
func mustDraw(t *testing.T, f *typeface, s string) {
	t.Helper()
	var b sfnt.Buffer
	for _, r := range s {
		if r > 0xFFFF || unicode.IsControl(r) || !f.has(&b, r) {
			t.Errorf("%q holds %U, which cannot be drawn", s, r)
		}
	}
	if !utf8.ValidString(s) {
		t.Errorf("%q is not UTF-8", s)
	}
}

// faces loads the fonts or ends the test.
func faces(t testing.TB) *typefaces {
	t.Helper()
	f, err := loadFaces()
	if err != nil {
		t.Fatal(err)
	}
	return f
}
