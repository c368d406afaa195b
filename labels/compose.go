package labels

import (
	"errors"
	"fmt"
	"image"
	"math"
	"sort"
)

// A box is a rectangle in millimetres from the page's top left corner.
type box struct{ x, y, w, h float64 }

// Shares of a label that the code may take from the words: enough for a version
// 3 symbol on common stocks, little enough that a number of nine characters
// stays larger than anything else (judged by eye).
const (
	besideShare  = 0.46 // of the width when the words stand beside the code
	stackedShare = 0.62 // of the height when they stand below
	wideLabel    = 1.3  // width by height from which words stand beside
)

// compose lays out one label at its place on the page. A refusal for want of
// room says what would help: a finer printer, or the smallest stock that works.
func (j Job) compose(t Tag, cell int) (drawing, error) {
	d, err := j.layOut(t, cell)
	if err == nil || !errors.Is(err, ErrNoRoom) {
		return d, err
	}
	return drawing{}, fmt.Errorf("stock %s: %w; %s", j.Stock.Name, err, j.remedy(t))
}

// remedy looks for a finer printer that would take the tag on this stock and
// for the smallest known stock that takes it with this printer.
func (j Job) remedy(t Tag) string {
	works := func(s Stock, dpi int) bool {
		_, err := Job{Stock: s, DPI: dpi}.layOut(t, 0)
		return err == nil
	}
	stocks := Stocks()
	sort.SliceStable(stocks, func(a, b int) bool {
		return stocks[a].LabelW*stocks[a].LabelH < stocks[b].LabelW*stocks[b].LabelH
	})
	help := ""
	for _, s := range stocks {
		if works(s, j.dpi()) {
			help = "the smallest stock that works is " + s.Name
			break
		}
	}
	for _, dpi := range []int{300, 600} {
		if dpi > j.dpi() && works(j.Stock, dpi) {
			finer := fmt.Sprintf("a printer of %d dpi would do", dpi)
			if help == "" {
				return finer
			}
			return help + ", or " + finer
		}
	}
	if help == "" {
		return "no known stock takes it, so shorten the text"
	}
	return help
}

// layOut decides where code, bars and words stand. Where bars of several widths
// fit, the widest wins that leaves the QR comfortable, or else any QR at all.
// QR symbols to avoid have not read back before.
func (j Job) layOut(t Tag, cell int, avoid ...candidate) (drawing, error) {
	if !t.Linear {
		return j.arrange(t, cell, nil, avoid)
	}
	insetX, _ := j.Stock.inset()
	ways, err := linear(t.Number, j.dpi(), room{side: j.Stock.LabelW, dark: j.Stock.LabelW - 2*insetX})
	if err != nil {
		return drawing{}, err
	}
	var best drawing
	var refusal error
	found := false
	for i := range ways {
		d, err := j.arrange(t, cell, &ways[i], avoid)
		switch {
		case err != nil:
			refusal = fmt.Errorf("above the number as Code 128: %w", err)
		case d.symbol.Note == "":
			return d, nil
		case !found:
			best, found = d, true
		}
	}
	if found {
		return best, nil
	}
	return drawing{}, refusal
}

// arrange composes the label above one strip of bars, or without one.
func (j Job) arrange(t Tag, cell int, s *strip, avoid []candidate) (drawing, error) {
	faces, err := loadFaces()
	if err != nil {
		return drawing{}, fmt.Errorf("load the fonts: %w", err)
	}
	d := drawing{cell: cell}
	x, y, w, h := j.Stock.Cell(cell)
	body := box{x, y, w, h}
	if s != nil {
		_, insetY := j.Stock.inset()
		body.h -= insetY + s.height
		d.bars = j.placeStrip(*s, box{x, y + body.h, w, s.height})
	}
	words, err := j.placeSymbol(&d, t.URL, body, avoid)
	if err != nil {
		return drawing{}, err
	}
	return d, d.words(faces, t, words, j.dot())
}

// dot is the printer's dot in millimetres.
func (j Job) dot() float64 { return mmPerInch / float64(j.dpi()) }

// placeStrip centres the bars in their box, edges on whole dots. Centred, the
// white left and right is at least the quiet zone that linear kept free.
func (j Job) placeStrip(s strip, b box) grid {
	dot := j.dot()
	wide := float64(len(s.bars)*s.dots) * dot
	at := image.Pt(int(math.Round((b.x+(b.w-wide)/2)/dot)), int(math.Round(b.y/dot)))
	return grid{rows: [][]bool{s.bars}, at: at, dotW: s.dots, dotH: int(b.h / dot)}
}

// placeSymbol chooses the QR, puts it at the right of the body or, on a square
// or upright label, on top, and returns the box left for words.
func (j Job) placeSymbol(d *drawing, url string, body box, avoid []candidate) (box, error) {
	insetX, insetY := j.Stock.inset()
	beside := body.w >= wideLabel*body.h
	var rooms []room
	for _, margin := range []float64{edgeMargin, tightEdgeMargin} {
		r := room{side: min(body.h-2*margin, besideShare*body.w), dark: body.h - 2*insetY}
		if !beside {
			r = room{side: min(body.w-2*margin, stackedShare*body.h), dark: body.w - 2*insetX}
		}
		rooms = append(rooms, r)
	}
	s, err := choose(url, j.dpi(), rooms, avoid)
	if err != nil {
		return box{}, err
	}
	rows, err := s.modules(url)
	if err != nil {
		return box{}, err
	}
	d.symbol = s
	dot, quiet := j.dot(), quietModules*s.Module
	margin := min(edgeMargin, (body.h-s.Side)/2)
	left := body.x + body.w - max(margin, insetX-quiet) - s.Side
	top := body.y + (body.h-s.Side)/2
	if !beside {
		left = body.x + (body.w-s.Side)/2
		top = body.y + max(min(edgeMargin, (body.w-s.Side)/2), insetY-quiet)
	}
	corner := image.Pt(int(math.Floor((left+quiet)/dot)), int(math.Round((top+quiet)/dot)))
	d.code = grid{rows: rows, at: corner, dotW: s.Dots, dotH: s.Dots}
	dark := box{float64(corner.X) * dot, float64(corner.Y) * dot, s.Side - 2*quiet, s.Side - 2*quiet}
	if !beside {
		from := dark.y + dark.h + quiet
		return box{body.x + insetX, from, body.w - 2*insetX, body.y + body.h - insetY - from}, nil
	}
	words := box{body.x + insetX, body.y + insetY, dark.x - quiet - body.x - insetX, body.h - 2*insetY}
	const aligned = 15 // mm of code from which words line up with its edges
	if dark.h >= aligned {
		words.y, words.h = dark.y, dark.h
	}
	return words, nil
}
