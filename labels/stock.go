package labels

import (
	"fmt"
	"math"
	"strings"
)

// mmPerInch is exact by definition of the inch.
const mmPerInch = 25.4

// A Stock is a kind of label paper. All lengths are millimetres from the top
// left corner of the page. A roll is a page that holds one label.
type Stock struct {
	Name           string  // sizes only: paper and grid, or roll and label size
	PageW, PageH   float64 // the sheet, or the label itself on a roll
	Cols, Rows     int     // labels across and down
	Left, Top      float64 // corner of the first label
	PitchX, PitchY float64 // from one label's corner to the next one's
	LabelW, LabelH float64 // the die-cut
	Corner         float64 // radius of the die-cut's corners
}

// Stocks returns the known stocks, sheets first, in a fixed order.
//
// The 63.5 × 38.1 geometry is a published template for the size; the others
// follow from the sizes and from symmetry, corner radii are from memory.
func Stocks() []Stock {
	const inch = mmPerInch
	return []Stock{
		{Name: "a4-3x8", PageW: 210, PageH: 297, Cols: 3, Rows: 8, Left: 0, Top: 0.5,
			PitchX: 70, PitchY: 37, LabelW: 70, LabelH: 37},
		{Name: "a4-3x7", PageW: 210, PageH: 297, Cols: 3, Rows: 7, Left: 7.25, Top: 15.15,
			PitchX: 66, PitchY: 38.1, LabelW: 63.5, LabelH: 38.1, Corner: 2},
		{Name: "a4-5x13", PageW: 210, PageH: 297, Cols: 5, Rows: 13, Left: 4.75, Top: 10.7,
			PitchX: 40.6, PitchY: 21.2, LabelW: 38.1, LabelH: 21.2, Corner: 2},
		{Name: "letter-3x10", PageW: 8.5 * inch, PageH: 11 * inch, Cols: 3, Rows: 10, Left: 0.1875 * inch, Top: 0.5 * inch,
			PitchX: 2.75 * inch, PitchY: inch, LabelW: 2.625 * inch, LabelH: inch, Corner: 2},
		{Name: "letter-4x20", PageW: 8.5 * inch, PageH: 11 * inch, Cols: 4, Rows: 20, Left: 0.28 * inch, Top: 0.5 * inch,
			PitchX: 2.0625 * inch, PitchY: 0.5 * inch, LabelW: 1.75 * inch, LabelH: 0.5 * inch, Corner: 1.5},
		{Name: "roll-62x29", PageW: 62, PageH: 29, Cols: 1, Rows: 1,
			PitchX: 62, PitchY: 29, LabelW: 62, LabelH: 29, Corner: 1.5},
	}
}

// StockNamed finds a stock by its name. The error lists the names there are.
func StockNamed(name string) (Stock, error) {
	var names []string
	for _, s := range Stocks() {
		if s.Name == name {
			return s, nil
		}
		names = append(names, s.Name)
	}
	return Stock{}, fmt.Errorf("stock %q is not known; there are %s", excerpt(name), strings.Join(names, ", "))
}

// PerPage is the number of labels on one page.
func (s Stock) PerPage() int { return s.Cols * s.Rows }

// Cell gives the box of label i on its page, in millimetres from the page's
// top left corner. Labels run left to right, then down; i counts on over
// pages, so that cell PerPage() is the first of the second page.
func (s Stock) Cell(i int) (x, y, w, h float64) {
	n := max(s.PerPage(), 1)
	i = ((i % n) + n) % n
	cols := max(s.Cols, 1)
	return s.Left + float64(i%cols)*s.PitchX, s.Top + float64(i/cols)*s.PitchY, s.LabelW, s.LabelH
}

// check refuses geometry that would print outside the paper or one label over
// another; a keeper may have typed it.
func (s Stock) check() error {
	const slack = 0.5 // published templates are rounded that far
	for _, v := range []float64{s.PageW, s.PageH, s.LabelW, s.LabelH, s.Left, s.Top, s.PitchX, s.PitchY, s.Corner} {
		if math.IsNaN(v) || v < 0 || v > 2000 {
			return fmt.Errorf("stock %s: every length must lie between 0 and 2000 mm", s.Name)
		}
	}
	switch {
	case s.Cols < 1 || s.Rows < 1 || s.Cols > 200 || s.Rows > 200:
		return fmt.Errorf("stock %s: a page needs 1 to 200 columns and rows", s.Name)
	case s.LabelW < 5 || s.LabelH < 5:
		return fmt.Errorf("stock %s: a label must be at least 5 mm wide and high", s.Name)
	case s.Cols > 1 && s.PitchX < s.LabelW-0.001, s.Rows > 1 && s.PitchY < s.LabelH-0.001:
		return fmt.Errorf("stock %s: labels overlap, the pitch is smaller than the label", s.Name)
	}
	x, y, w, h := s.Cell(s.PerPage() - 1)
	if x+w > s.PageW+slack || y+h > s.PageH+slack {
		return fmt.Errorf("stock %s: the last label ends at %.1f × %.1f mm, outside the page of %.1f × %.1f mm",
			s.Name, x+w, y+h, s.PageW, s.PageH)
	}
	return nil
}

// unprintable is the strip along a sheet's edge that most office printers
// leave white, a sixth of an inch (common practice, no source).
const unprintable = mmPerInch / 6

// inset tells how far inside the die-cut black may stand, across and down: off
// the cut itself, out of round corners, and on sheets whose outer labels reach
// the paper's edge, inside what a printer can reach. It is the same for every
// label of a stock, so that a sheet looks even.
func (s Stock) inset() (x, y float64) {
	base := 1.0
	switch small := min(s.LabelW, s.LabelH); {
	case small >= 25:
		base = 2
	case small >= 15:
		base = 1.5
	}
	// A square corner at this distance lies inside a rounded one.
	base = max(base, s.Corner*(1-math.Sqrt2/2))
	x, y = base, base
	if s.PerPage() > 1 {
		lastX, lastY, w, h := s.Cell(s.PerPage() - 1)
		x = max(x, unprintable-s.Left, unprintable-(s.PageW-lastX-w))
		y = max(y, unprintable-s.Top, unprintable-(s.PageH-lastY-h))
	}
	return x, y
}
