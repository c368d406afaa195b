package labels

import (
	"math"
	"strings"
	"testing"
)

// The sheet sizes: 63.5 × 38.1 from a published template for the size, the
// others from memory and checked by arithmetic; inches where the paper is.
func TestStockGeometry(t *testing.T) {
	const inch = 25.4
	for _, c := range []struct {
		name                 string
		cols, rows           int
		left, top            float64
		pitchX, pitchY, w, h float64
	}{
		{"a4-3x8", 3, 8, 0, 0.5, 70, 37, 70, 37},
		{"a4-3x7", 3, 7, 7.2, 15.15, 63.5 + 2.5, 38.1, 63.5, 38.1},
		{"a4-5x13", 5, 13, 4.75, 10.7, 40.6, 21.2, 38.1, 21.2},
		{"letter-3x10", 3, 10, 0.1875 * inch, 0.5 * inch, 2.75 * inch, inch, 2.625 * inch, inch},
		{"letter-4x20", 4, 20, 0.28 * inch, 0.5 * inch, 2.0625 * inch, 0.5 * inch, 1.75 * inch, 0.5 * inch},
		{"roll-62x29", 1, 1, 0, 0, 62, 29, 62, 29},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := named(t, c.name)
			if s.Cols != c.cols || s.Rows != c.rows {
				t.Errorf("got %d × %d labels, want %d × %d", s.Cols, s.Rows, c.cols, c.rows)
			}
			got := []float64{s.Left, s.Top, s.PitchX, s.PitchY, s.LabelW, s.LabelH}
			for i, want := range []float64{c.left, c.top, c.pitchX, c.pitchY, c.w, c.h} {
				if math.Abs(got[i]-want) > 0.06 {
					t.Errorf("length %d: got %.3f mm, want %.3f mm", i, got[i], want)
				}
			}
			if err := s.check(); err != nil {
				t.Error(err)
			}
		})
	}
}

// A sheet is cut symmetrically: 2·left + (n−1)·pitch + w is the page's width,
// and so for its height (common practice, no source).
func TestStockIsSymmetrical(t *testing.T) {
	for _, s := range Stocks() {
		across := 2*s.Left + float64(s.Cols-1)*s.PitchX + s.LabelW
		down := 2*s.Top + float64(s.Rows-1)*s.PitchY + s.LabelH
		if math.Abs(across-s.PageW) > 0.5 || math.Abs(down-s.PageH) > 0.5 {
			t.Errorf("%s: margins and labels add up to %.2f × %.2f mm, the page is %.2f × %.2f", s.Name, across, down, s.PageW, s.PageH)
		}
	}
}

func TestCell(t *testing.T) {
	s := named(t, "a4-3x8")
	for _, c := range []struct {
		i    int
		x, y float64
	}{
		{0, 0, 0.5}, {1, 70, 0.5}, {3, 0, 37.5},
		{23, 140, 259.5}, // the 24th label, arithmetic
		{24, 0, 0.5},     // first of the second page
		{-1, 140, 259.5}, // never outside
	} {
		x, y, w, h := s.Cell(c.i)
		if x != c.x || y != c.y || w != 70 || h != 37 {
			t.Errorf("cell %d: got %.2f, %.2f, %.2f, %.2f, want %.2f, %.2f, 70, 37", c.i, x, y, w, h, c.x, c.y)
		}
	}
}

func TestCellsDoNotOverlap(t *testing.T) {
	for _, s := range Stocks() {
		for i := range s.PerPage() {
			x, y, w, h := s.Cell(i)
			if x < 0 || y < 0 || x+w > s.PageW+0.01 || y+h > s.PageH+0.01 {
				t.Errorf("%s: label %d lies outside the page", s.Name, i)
			}
			for k := range i {
				ox, oy, _, _ := s.Cell(k)
				if math.Abs(x-ox) < w-0.001 && math.Abs(y-oy) < h-0.001 {
					t.Errorf("%s: labels %d and %d overlap", s.Name, i, k)
				}
			}
		}
	}
}

func TestStockNamedListsTheNames(t *testing.T) {
	_, err := StockNamed("a4-9x9")
	if err == nil {
		t.Fatal("an unknown stock was found")
	}
	for _, s := range Stocks() {
		if !strings.Contains(err.Error(), s.Name) {
			t.Errorf("%q does not name %s", err, s.Name)
		}
	}
}

func TestTypedGeometryIsChecked(t *testing.T) {
	good := Stock{Name: "mine", PageW: 100, PageH: 100, Cols: 2, Rows: 2, Left: 5, Top: 5, PitchX: 45, PitchY: 45, LabelW: 40, LabelH: 40}
	if err := good.check(); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, want string
		spoil      func(*Stock)
	}{
		{"not a number", "2000 mm", func(s *Stock) { s.Left = math.NaN() }},
		{"endless", "2000 mm", func(s *Stock) { s.PageW = math.Inf(1) }},
		{"negative", "2000 mm", func(s *Stock) { s.Top = -1 }},
		{"no columns", "columns", func(s *Stock) { s.Cols = 0 }},
		{"tiny", "at least 5 mm", func(s *Stock) { s.LabelH = 1 }},
		{"overlap", "overlap", func(s *Stock) { s.PitchX = 30 }},
		{"off the page", "outside the page", func(s *Stock) { s.Left = 40 }},
		{"empty", "columns", func(s *Stock) { *s = Stock{Name: "mine"} }},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := good
			c.spoil(&s)
			if err := s.check(); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want a sentence with %q", err, c.want)
			}
		})
	}
}

// Office printers leave a sixth of an inch white; labels that reach the edge
// of the sheet keep their black inside it (common practice, no source).
func TestInsetKeepsToWhatPrintersReach(t *testing.T) {
	for _, s := range Stocks() {
		if s.PerPage() == 1 {
			continue
		}
		x, y := s.inset()
		for i := range s.PerPage() {
			cx, cy, w, h := s.Cell(i)
			near := min(cx+x, s.PageW-cx-w+x, cy+y, s.PageH-cy-h+y)
			if near < 4.2 {
				t.Errorf("%s: label %d may print %.2f mm from the paper's edge", s.Name, i, near)
			}
		}
	}
}

// named finds a stock or ends the test.
func named(t testing.TB, name string) Stock {
	t.Helper()
	s, err := StockNamed(name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}
