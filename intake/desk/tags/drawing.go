package tags

import (
	"fmt"
	"strconv"
)

// picture is the small drawing of a sheet, in millimetres of the paper, so that
// its viewBox shows every stock in proportion.
type picture struct {
	Width, Height int // pixels on the page
	ViewBox       string
	Paper         box
	Cells         []box
}

// box is a rectangle as an SVG takes it.
type box struct{ X, Y, W, H, R string }

// pictureHeight is how tall a sheet stands on the page; a roll's label, far
// smaller in truth, is drawn larger so that it can be made out.
const (
	pictureHeight = 132
	rollHeight    = 60
)

// draw lays out the sheet. A roll shows one label with the beginning of the
// next ones, because the page of a roll is the label itself.
func draw(s Stock) picture {
	mm := func(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }
	height := float64(pictureHeight)
	if s.Cols*s.Rows == 1 {
		height = rollHeight
	}
	p := picture{
		Height: int(height), Width: max(int(height*s.PageW/s.PageH), 1),
		ViewBox: fmt.Sprintf("0 0 %s %s", mm(s.PageW), mm(s.PageH)),
		Paper:   box{"0", "0", mm(s.PageW), mm(s.PageH), "0"},
	}
	// Labels that touch would run into one another; a hair of air shows the cut.
	air := 0.012 * s.PageH
	for i := range s.Cols * s.Rows {
		x, y := s.Left+float64(i%s.Cols)*s.PitchX, s.Top+float64(i/s.Cols)*s.PitchY
		p.Cells = append(p.Cells, box{
			mm(x + air/2), mm(y + air/2), mm(s.LabelW - air), mm(s.LabelH - air), mm(max(s.Corner, air)),
		})
	}
	return p
}

// Cells is how many labels a sheet has.
func (s Stock) Cells() int { return s.Cols * s.Rows }

// Size is the label's size in words, "70 × 37 mm".
func (s Stock) Size() string {
	trim := func(v float64) string { return strconv.FormatFloat(float64(int(v*10+0.5))/10, 'f', -1, 64) }
	return trim(s.LabelW) + " × " + trim(s.LabelH) + " mm"
}

// Paper says in words what the stock comes as.
func (s Stock) Paper() string {
	switch {
	case s.Cells() == 1:
		return "roll"
	case s.PageW == 210 && s.PageH == 297:
		return fmt.Sprintf("A4, %d × %d", s.Cols, s.Rows)
	case s.PageW > 215 && s.PageW < 217:
		return fmt.Sprintf("Letter, %d × %d", s.Cols, s.Rows)
	}
	return fmt.Sprintf("sheet, %d × %d", s.Cols, s.Rows)
}
