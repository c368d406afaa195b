package labels

import (
	"strings"
	"testing"
)

// patterns are the bar and space widths of the Code 128 characters 0 to 105,
// ISO/IEC 15417 table 1 (from memory).
var patterns = strings.Fields(`
212222 222122 222221 121223 121322 131222 122213 122312 132212 221213 221312 231212 112232 122132 122231
113222 123122 123221 223211 221132 221231 213212 223112 312131 311222 321122 321221 312212 322112 322211
212123 212321 232121 111323 131123 131321 112313 132113 132311 211313 231113 231311 112133 112331 132131
113123 113321 133121 313121 211331 231131 213113 213311 213131 311123 311321 331121 312113 312311 332111
314111 221411 431111 111224 111422 121124 121421 141122 141221 112214 112412 122114 122411 142112 142211
241211 221114 413111 241112 134111 111242 121142 121241 114212 124112 124211 411212 421112 421211 212141
214121 412121 111143 111341 131141 114113 114311 411113 411311 113141 114131 311141 411131 211412 211214 211232`)

// characters turns bars into character values, start to check, and checks the
// stop pattern 11000111010 11.
func characters(t *testing.T, bars []bool) []int {
	t.Helper()
	var b strings.Builder
	for _, black := range bars {
		b.WriteByte("01"[map[bool]int{false: 0, true: 1}[black]])
	}
	text, ok := strings.CutSuffix(b.String(), "1100011101011")
	if !ok || len(text)%11 != 0 {
		t.Fatalf("bars do not end with the stop pattern: %s", b.String())
	}
	index := map[string]int{}
	for v, p := range patterns {
		var s strings.Builder
		for i, n := range p {
			s.WriteString(strings.Repeat("10"[i%2:i%2+1], int(n-'0')))
		}
		index[s.String()] = v
	}
	var values []int
	for i := 0; i < len(text); i += 11 {
		v, ok := index[text[i:i+11]]
		if !ok {
			t.Fatalf("%s is no Code 128 character", text[i:i+11])
		}
		values = append(values, v)
	}
	return values
}

// Check characters: published examples for "abcdef" and "345678"
// (barcoderesource.com) and "Wikipedia" (from memory); (start + Σ i·v) mod 103.
func TestCode128CheckCharacter(t *testing.T) {
	wide := room{side: 200, dark: 200}
	for _, c := range []struct {
		text         string
		start, check int
	}{
		{"abcdef", 104, 97}, {"Wikipedia", 104, 88}, {"345678", 105, 73},
		{"2026.7.14", 105, -1}, {"2026.114.1234ab", 105, -1}, {"HI345678", 104, -1},
	} {
		ways, err := linear(c.text, 300, wide)
		if err != nil {
			t.Fatal(err)
		}
		v := characters(t, ways[0].bars)
		sum := v[0]
		for i, x := range v[1 : len(v)-1] {
			sum += (i + 1) * x
		}
		if got := v[len(v)-1]; v[0] != c.start || got != sum%103 || c.check >= 0 && got != c.check {
			t.Errorf("%q: got start %d and check %d, want %d and %d (sum says %d)", c.text, v[0], got, c.start, c.check, sum%103)
		}
	}
}

// Twelve characters of set B make 167 modules, 187 with quiet zones: 47.5 mm
// at 0.254 mm (ISO/IEC 15417, from memory and computed).
func TestCode128Length(t *testing.T) {
	const text = "abcdefghijkl"
	ways, err := linear(text, 300, room{side: 47.5, dark: 47.5})
	if err != nil {
		t.Fatal(err)
	}
	if s := ways[0]; len(ways) != 1 || len(s.bars) != 167 || s.dots != 3 {
		t.Errorf("got %d modules of %d dots, want 167 of 3, one way", len(s.bars), s.dots)
	}
	if _, err := linear(text, 300, room{side: 47.4, dark: 47.4}); err == nil {
		t.Error("47.4 mm were enough, want a refusal below 47.5")
	}
}

// A hand-held reader wants bars of 5 mm or 15 % of the length, whichever is
// more (ISO/IEC 15417, from memory), in whole dots of at least 0.25 mm.
func TestCode128Size(t *testing.T) {
	for _, dpi := range []int{203, 300, 600} {
		for _, width := range []float64{40, 60, 80, 140} {
			ways, err := linear("2026.7.14", dpi, room{side: width, dark: width})
			if err != nil {
				t.Errorf("%d dpi in %.0f mm: %v", dpi, width, err)
			}
			for _, s := range ways {
				module := float64(s.dots) * mmPerInch / float64(dpi)
				long := module * float64(len(s.bars))
				if module < 0.25 || long+20*module > width {
					t.Errorf("%d dpi: modules of %.3f mm in %.0f mm", dpi, module, width)
				}
				if s.height < 5 || s.height < 0.15*long-1e-9 {
					t.Errorf("%d dpi: %.1f mm high for %.1f mm of length", dpi, s.height, long)
				}
			}
		}
	}
}
