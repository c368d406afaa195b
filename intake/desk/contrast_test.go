package desk_test

import (
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// tokens reads the colours of one scheme from the style sheet.
func tokens(t *testing.T, scheme string) map[string]string {
	t.Helper()
	sheet, err := os.ReadFile("static/desk.css")
	if err != nil {
		t.Fatal(err)
	}
	light, rest, ok := strings.Cut(string(sheet), "@media (prefers-color-scheme:dark)")
	if !ok {
		t.Fatal("the style sheet has no dark scheme")
	}
	if scheme == "dark" {
		light, _, _ = strings.Cut(rest, "}}")
	}
	colours := make(map[string]string)
	for _, m := range regexp.MustCompile(`--([a-z-]+):#([0-9A-Fa-f]{6})`).FindAllStringSubmatch(light, -1) {
		colours[m[1]] = m[2]
	}
	return colours
}

// luminance is the relative luminance of WCAG 2.2 (W3C Recommendation, section
// "Terms": relative luminance).
func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	n, err := strconv.ParseUint(hex, 16, 32)
	if err != nil {
		t.Fatal(err)
	}
	channel := func(shift int) float64 {
		c := float64(n>>shift&255) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	return 0.2126*channel(16) + 0.7152*channel(8) + 0.0722*channel(0)
}

// contrast is the contrast ratio of WCAG 2.2, from 1 to 21.
func contrast(t *testing.T, a, b string) float64 {
	t.Helper()
	la, lb := luminance(t, a), luminance(t, b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func TestContrastFormula(t *testing.T) {
	// Black on white is 21:1 by definition; #767676 is the lightest grey that
	// passes 4.5:1 on white (WCAG technique G18, common practice).
	if got := contrast(t, "000000", "FFFFFF"); math.Abs(got-21) > 1e-9 {
		t.Errorf("black on white = %.3f, want 21", got)
	}
	if got := contrast(t, "767676", "FFFFFF"); got < 4.5 || got > 4.6 {
		t.Errorf("#767676 on white = %.3f, want just above 4.5", got)
	}
}

// TestContrast: WCAG 2.2, 1.4.3 asks 4.5:1 for text, 1.4.11 asks 3:1 for the
// edges of fields, buttons and the marks of focus.
func TestContrast(t *testing.T) {
	texts := map[string][]string{
		"paper": {"ink", "soft", "verd", "rust", "amber"}, "sheet": {"ink", "soft", "verd", "rust", "amber"},
		"verd-bg": {"ink", "verd", "soft"}, "amber-bg": {"amber", "ink"}, "rust-bg": {"rust", "ink"}, "verd": {"on-verd"},
	}
	edges := map[string][]string{"paper": {"edge", "verd", "rust", "amber"}, "sheet": {"edge", "verd", "rust", "amber"}, "verd-bg": {"verd"}}
	for _, scheme := range []string{"light", "dark"} {
		colours := tokens(t, scheme)
		check := func(pairs map[string][]string, least float64) {
			for ground, tops := range pairs {
				for _, top := range tops {
					if colours[ground] == "" || colours[top] == "" {
						t.Errorf("%s: no token %s or %s", scheme, ground, top)
					} else if got := contrast(t, colours[top], colours[ground]); got < least {
						t.Errorf("%s: %s on %s = %.2f, want %.1f", scheme, top, ground, got, least)
					}
				}
			}
		}
		check(texts, 4.5)
		check(edges, 3)
	}
}

// TestColoursAreTokens: a colour written anywhere else would escape the test
// above and the dark scheme.
func TestColoursAreTokens(t *testing.T) {
	for _, name := range []string{"static/desk.css", "tags/static/tags.css"} {
		sheet, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for i, line := range strings.Split(string(sheet), "\n") {
			if strings.Contains(line, "--paper:#") || strings.Contains(line, "--verd:#") || strings.HasPrefix(line, ".qr{background:#fff") {
				continue // the tokens themselves, and white behind a QR
			}
			if found := regexp.MustCompile(`#[0-9A-Fa-f]{3,8}\b|rgba?\(|hsla?\(`).FindString(line); found != "" {
				t.Errorf("%s:%d has the colour %s outside the tokens", name, i+1, found)
			}
		}
	}
}
