package labels

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

const address = "http://192.168.1.20:8417/T/7K3M9Q2X"

// Capacities of versions 1 to 6 at L, M, Q, H, ISO/IEC 18004 table 7.
var capacities = []struct {
	version                      int
	numeric, alphanumeric, bytes [4]int
}{
	{1, [4]int{41, 34, 27, 17}, [4]int{25, 20, 16, 10}, [4]int{17, 14, 11, 7}},
	{2, [4]int{77, 63, 48, 34}, [4]int{47, 38, 29, 20}, [4]int{32, 26, 20, 14}},
	{3, [4]int{127, 101, 77, 58}, [4]int{77, 61, 47, 35}, [4]int{53, 42, 32, 24}},
	{4, [4]int{187, 149, 111, 82}, [4]int{114, 90, 67, 50}, [4]int{78, 62, 46, 34}},
	{5, [4]int{255, 202, 144, 106}, [4]int{154, 122, 87, 64}, [4]int{106, 84, 60, 44}},
	{6, [4]int{322, 255, 178, 139}, [4]int{195, 154, 108, 84}, [4]int{134, 106, 74, 58}},
}

func TestCapacityOfEachVersion(t *testing.T) {
	for _, c := range capacities {
		for kind, most := range map[string][4]int{"7": c.numeric, "A": c.alphanumeric, "a": c.bytes} {
			for level, n := range most {
				s := Symbol{Version: c.version, Level: levels[level].name}
				if _, err := s.modules(strings.Repeat(kind, n)); err != nil {
					t.Errorf("%d-%s: %d times %q: %v", c.version, s.Level, n, kind, err)
				}
				if _, err := s.modules(strings.Repeat(kind, n+1)); err == nil {
					t.Errorf("%d-%s takes %d times %q, want %d at most", c.version, s.Level, n+1, kind, n)
				}
			}
		}
	}
}

// Every version and level that a tag may get is read back by a decoder from
// another hand, which also reports the level; the side is 17 + 4·version.
func TestModulesReadBack(t *testing.T) {
	for _, c := range capacities {
		for level, n := range c.alphanumeric {
			s := Symbol{Version: c.version, Level: levels[level].name, Modules: 17 + 4*c.version}
			text := strings.Repeat("K7", n)[:n]
			rows, err := s.modules(text)
			if err != nil {
				t.Fatal(err)
			}
			if len(rows) != s.Modules {
				t.Errorf("%d-%s has %d modules a side, want %d", c.version, s.Level, len(rows), s.Modules)
			}
			got, foundLevel := decodeModules(t, rows)
			if got != text || foundLevel != s.Level {
				t.Errorf("got %q at %s, want %q at %s", got, foundLevel, text, s.Level)
			}
		}
	}
}

// decodeModules lays rows out at three dots a module and reads them.
func decodeModules(t *testing.T, rows [][]bool) (text, level string) {
	t.Helper()
	const n = 3
	side := len(rows) + 2*quietModules
	m, err := gozxing.NewSquareBitMatrix(side * n)
	if err != nil {
		t.Fatal(err)
	}
	for y, row := range rows {
		for x, black := range row {
			if black {
				if err := m.SetRegion((x+quietModules)*n, (y+quietModules)*n, n, n); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	bitmap, err := gozxing.NewBinaryBitmap(&dots{matrix: m})
	if err != nil {
		t.Fatal(err)
	}
	r, err := qrcode.NewQRCodeReader().DecodeWithoutHints(bitmap)
	if err != nil {
		t.Fatalf("version with %d modules does not read: %v", len(rows), err)
	}
	return r.GetText(), fmt.Sprint(r.GetResultMetadata()[gozxing.ResultMetadataType_ERROR_CORRECTION_LEVEL])
}

// Tag addresses with a lower-case scheme: 25 modules at level L, 29 at M and Q.
func TestCandidatesOfPrivateAddresses(t *testing.T) {
	for _, c := range []struct {
		url  string
		want []candidate
	}{
		{"http://192.168.1.20:8417/T/7K3M9Q2X", []candidate{{3, 2}, {3, 1}, {3, 0}, {2, 0}}},
		{"http://10.0.0.5:8417/T/7K3M9Q2X", []candidate{{3, 2}, {3, 1}, {3, 0}, {2, 0}}},
		{"http://172.16.254.1:8417/T/7K3M9Q2X", []candidate{{3, 2}, {3, 1}, {3, 0}, {2, 0}}},
		{"http://192.168.178.120:8417/T/7K3M9Q2X", []candidate{{3, 2}, {3, 1}, {3, 0}, {2, 0}}},
		{"http://192.168.1.20/T/7K3M9Q2X", []candidate{{3, 2}, {3, 1}, {3, 0}, {2, 1}, {2, 0}}},
		// Lower case costs the alphanumeric mode, and with it a version.
		{"http://192.168.1.20:8417/t/7k3m9q2x", []candidate{{4, 3}, {4, 2}, {4, 1}, {4, 0}, {3, 1}, {3, 0}}},
	} {
		got, err := candidates(c.url)
		if err != nil {
			t.Fatal(err)
		}
		if fmt.Sprint(got) != fmt.Sprint(c.want) {
			t.Errorf("%s: got %v, want %v", c.url, got, c.want)
		}
	}
}

// Sizes of a module in dots: 203 dpi by arithmetic (25.4/203), 300 and 600 dpi
// from the table at qrcode.com/en/howto/cell.html.
func TestModuleInDots(t *testing.T) {
	for _, c := range []struct {
		dpi, dots  int
		mm, within float64
	}{
		{203, 4, 0.5005, 0.0001},
		{300, 4, 0.33, 0.01}, {300, 5, 0.42, 0.01}, {300, 6, 0.5, 0.01},
		{600, 4, 0.17, 0.005}, {600, 5, 0.21, 0.005}, {600, 6, 0.25, 0.005},
	} {
		s := largest(candidate{2, 0}, c.dpi, room{side: float64(c.dots)*mmPerInch/float64(c.dpi)*33 + 1e-6, dark: 1000})
		if s.Dots != c.dots || math.Abs(s.Module-c.mm) > c.within {
			t.Errorf("%d dpi: got %d dots of %.4f mm, want %d of %.4f", c.dpi, s.Dots, s.Module, c.dots, c.mm)
		}
	}
}

// Versions 1 to 5 at 203 dpi and four dots, with quiet zone: 14.5 to 22.5 mm,
// so that a label 21.2 mm high holds version 4 at most (arithmetic).
func TestSideAt203(t *testing.T) {
	for version, want := range map[int]float64{1: 14.5, 2: 16.5, 3: 18.5, 4: 20.5, 5: 22.5} {
		s := largest(candidate{version, 0}, 203, room{side: want + 0.1, dark: 100})
		if s.Dots != 4 || math.Abs(s.Side-want) > 0.05 {
			t.Errorf("version %d: got %d dots and %.2f mm, want 4 and %.1f", version, s.Dots, s.Side, want)
		}
		fits := largest(candidate{version, 0}, 203, room{side: 21.2, dark: 100}).Dots >= leastDots
		if fits != (version <= 4) {
			t.Errorf("version %d in 21.2 mm: fits is %v", version, fits)
		}
	}
}

// The worked example for a 29-module symbol at X 0.396 mm: (29+8)·0.396 =
// 14.652 mm (GS1 General Specifications 5.12.3.1).
func TestSideWithQuietZone(t *testing.T) {
	s := largest(candidate{3, 0}, 600, room{side: 14.652, dark: 100})
	if want := 9; s.Dots != want || s.Side > 14.652 || s.Side+37*mmPerInch/600 <= 14.652 {
		t.Errorf("got %d dots and %.3f mm, want %d, the most that fit 14.652 mm", s.Dots, s.Side, want)
	}
}

func TestPlan(t *testing.T) {
	for _, c := range []struct {
		stock         string
		dpi           int
		version, dots int
		level         string
		note          bool
	}{
		{"a4-3x8", 203, 3, 6, "Q", false}, {"a4-3x8", 300, 3, 10, "Q", false}, {"a4-3x8", 600, 3, 20, "Q", false},
		{"a4-3x7", 300, 3, 9, "Q", false},
		{"a4-5x13", 203, 2, 4, "L", false}, {"a4-5x13", 300, 2, 6, "L", false},
		{"letter-3x10", 203, 3, 4, "Q", false}, {"letter-3x10", 300, 3, 7, "Q", false},
		{"letter-4x20", 300, 2, 4, "L", true},
		{"roll-62x29", 203, 3, 5, "Q", false}, {"roll-62x29", 300, 3, 8, "Q", false}, {"roll-62x29", 0, 3, 8, "Q", false},
	} {
		t.Run(fmt.Sprintf("%s at %d", c.stock, c.dpi), func(t *testing.T) {
			j := Job{Stock: named(t, c.stock), DPI: c.dpi}
			s, err := j.Plan(Tag{URL: address, Number: "2026.7.14", Code: "7K3M9Q2X"})
			if err != nil {
				t.Fatal(err)
			}
			if s.Version != c.version || s.Level != c.level || s.Dots != c.dots {
				t.Errorf("got version %d-%s at %d dots, want %d-%s at %d", s.Version, s.Level, s.Dots, c.version, c.level, c.dots)
			}
			if got := s.Note != ""; got != c.note {
				t.Errorf("got note %q", s.Note)
			}
			if want := float64(s.Modules+8) * s.Module; math.Abs(s.Side-want) > 1e-9 {
				t.Errorf("got a side of %.3f mm, want %.3f", s.Side, want)
			}
		})
	}
}

func TestRefusals(t *testing.T) {
	tag := Tag{URL: address, Number: "2026.7.14", Code: "7K3M9Q2X"}
	for _, c := range []struct {
		name  string
		stock string
		dpi   int
		spoil func(*Tag)
		want  []string
	}{
		{"dots", "letter-4x20", 203, func(*Tag) {}, []string{
			"tag 2026.7.14", "letter-4x20", "needs 4 dots of a 203 dpi printer and would get 2", "smallest stock that works is a4-5x13", "300 dpi"}},
		{"module", "letter-4x20", 600, func(t *Tag) { t.URL += strings.Repeat("A", 60) }, []string{
			"phones need 0.33 mm", "smallest stock that works is a4-5x13"}},
		{"address", "a4-3x8", 300, func(t *Tag) { t.URL = strings.Repeat("x", 4000) }, []string{"4000 bytes is too long", "shorten"}},
		{"number", "a4-5x13", 300, func(t *Tag) { t.Number = strings.Repeat("1234567890", 2) }, []string{"never shortened", "smallest stock"}},
		{"endless number", "a4-3x8", 300, func(t *Tag) { t.Number = strings.Repeat("1", 10000) }, []string{"never shortened", "shorten the text"}},
		{"linear", "a4-5x13", 300, func(t *Tag) { t.Number, t.Linear = "2026.114.1234", true }, []string{"Code 128", "smallest stock"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			spoiled := tag
			c.spoil(&spoiled)
			_, err := Job{Stock: named(t, c.stock), DPI: c.dpi}.Plan(spoiled)
			if !errors.Is(err, ErrNoRoom) {
				t.Fatalf("got %v, want a refusal for want of room", err)
			}
			for _, part := range c.want {
				if !strings.Contains(err.Error(), part) {
					t.Errorf("%q does not say %q", err, part)
				}
			}
			if len(err.Error()) > 400 {
				t.Errorf("the sentence has %d letters", len(err.Error()))
			}
		})
	}
}

// What no paper would mend is refused without naming paper.
func TestRefusalsOfContent(t *testing.T) {
	j := Job{Stock: named(t, "a4-3x8")}
	for name, c := range map[string]struct {
		tag  Tag
		want string
	}{
		"no address":      {Tag{Number: "2026.7.14"}, "no address"},
		"blank linear":    {Tag{URL: address, Code: "7K3M9Q2X", Linear: true}, "no number"},
		"linear with é":   {Tag{URL: address, Number: "2026.é", Linear: true}, "'é' in the number"},
		"linear with tab": {Tag{URL: address, Number: "2026\t7", Linear: true}, `'\t' in the number`},
	} {
		_, err := j.Plan(c.tag)
		if err == nil || errors.Is(err, ErrNoRoom) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want a sentence with %q", name, err, c.want)
		}
	}
}
