package labels

import (
	"fmt"
	"image"
	"math"
	"strings"
	"testing"
)

// hostile are texts that have broken labels: long, foreign, empty, odd.
var hostile = []Tag{
	{Number: "2026.7.14", Name: "Video terminal", Return: "If found: M. Example, 12 Mill Lane, Millbrook, +00 555 0134"},
	{Number: "2026.114.1234ab", Name: strings.Repeat("very long name ", 667), Return: strings.Repeat("return ", 2000)},
	{Number: "1.1.1", Name: strings.Repeat("W", 10000), Return: strings.Repeat("W", 300)},
	{Number: "2026.12.345", Name: "漢字端末", Return: "מחשב"},
	{Number: "1998.1.1", Name: "Портативный терминал «Заря»"},
	{Number: "2026.7.1", Name: "🖥️ emoji 👨‍👩‍👧", Return: "🏠"},
	{Number: "2026.7.2", Name: "gjpqy (a\\b) \x00 \u202e"},
	{Number: ""}, // blank
	{Number: "", Return: "If found: M. Example"},
	{Number: "2026.7.3", Linear: true, Name: "with bars"},
}

// tagFor completes a tag with an address and a code.
func tagFor(t Tag, i int) Tag {
	t.Code = fmt.Sprintf("7K3M9Q%02d", i%100)
	t.URL = "http://192.168.1.20:8417/T/" + t.Code
	return t
}

func TestLabelsKeepTheirShape(t *testing.T) {
	for _, s := range append(Stocks(), uprightStock(), squareStock()) {
		for _, dpi := range []int{203, 300, 600} {
			t.Run(fmt.Sprintf("%s at %d", s.Name, dpi), func(t *testing.T) {
				j := Job{Stock: s, DPI: dpi}
				drawn := 0
				for i, tag := range hostile {
					d, err := j.layOut(tagFor(tag, i), i%s.PerPage())
					if err != nil {
						if !strings.Contains(err.Error(), "no room") {
							t.Errorf("tag %d: %v", i, err)
						}
						continue
					}
					drawn++
					checkShape(t, j, d)
				}
				if drawn == 0 && !(s.Name == "letter-4x20" && dpi == 203) {
					t.Error("no tag could be drawn")
				}
			})
		}
	}
}

// checkShape holds a composed label to what the package promises of it.
func checkShape(t *testing.T, j Job, d drawing) {
	t.Helper()
	x, y, w, h := j.Stock.Cell(d.cell)
	insetX, insetY := j.Stock.inset()
	cut := box{x, y, w, h}
	within := box{x + insetX, y + insetY, w - 2*insetX, h - 2*insetY}
	dot := j.dot()
	var solid []box
	for _, g := range d.grids() {
		b := g.box(dot)
		if !holds(within, b, dot) {
			t.Errorf("a code at %.2f is not inside %.2f", b, within)
		}
		quietX, quietY := float64(barQuiet*g.dotW)*dot, 0.0
		if len(g.rows) > 1 {
			quietX, quietY = float64(quietModules*g.dotW)*dot, float64(quietModules*g.dotH)*dot
		}
		quiet := box{b.x - quietX, b.y - quietY, b.w + 2*quietX, b.h + 2*quietY}
		if !holds(cut, quiet, 0.01) {
			t.Errorf("the quiet zone %.2f leaves the die-cut %.2f", quiet, cut)
		}
		for _, o := range solid {
			if overlap(o, b, 0) || overlap(o, quiet, dot) {
				t.Errorf("codes at %.2f and %.2f stand in each other's quiet zone", o, b)
			}
		}
		solid = append(solid, quiet)
	}
	var set []box
	for _, l := range d.lines {
		b := box{l.x, l.base - digitH*l.size, l.face.width(l.text) * l.size, (digitH + descent) * l.size}
		if !holds(within, b, 0.01) {
			t.Errorf("%q at %.2f is not inside %.2f", l.text, b, within)
		}
		for _, o := range append(solid, set...) {
			if overlap(o, b, dot) {
				t.Errorf("%q at %.2f runs into %.2f", l.text, b, o)
			}
		}
		set = append(set, b)
	}
	for _, s := range d.shapes {
		for _, contour := range s {
			for _, p := range contour {
				if !holds(within, box{p.x, p.y, 0, 0}, dot) {
					t.Errorf("a line reaches %.2f, outside %.2f", p, within)
				}
			}
		}
	}
}

// grids lists the codes of a label.
func (d drawing) grids() []grid {
	if len(d.bars.rows) > 0 {
		return []grid{d.bars, d.code}
	}
	return []grid{d.code}
}

// box is the grid's place in millimetres.
func (g grid) box(dot float64) box {
	return box{float64(g.at.X) * dot, float64(g.at.Y) * dot,
		float64(len(g.rows[0])*g.dotW) * dot, float64(len(g.rows)*g.dotH) * dot}
}

func holds(outer, inner box, slack float64) bool {
	return inner.x >= outer.x-slack && inner.y >= outer.y-slack &&
		inner.x+inner.w <= outer.x+outer.w+slack && inner.y+inner.h <= outer.y+outer.h+slack
}

func overlap(a, b box, slack float64) bool {
	return a.x+a.w > b.x+slack && b.x+b.w > a.x+slack && a.y+a.h > b.y+slack && b.y+b.h > a.y+slack
}

// uprightStock and squareStock stand for geometry a keeper types.
func uprightStock() Stock {
	return Stock{Name: "upright", PageW: 40, PageH: 90, Cols: 1, Rows: 1, PitchX: 40, PitchY: 90, LabelW: 40, LabelH: 90, Corner: 3}
}

func squareStock() Stock {
	return Stock{Name: "square", PageW: 210, PageH: 297, Cols: 4, Rows: 5, Left: 2, Top: 20,
		PitchX: 51.5, PitchY: 51.5, LabelW: 50, LabelH: 50, Corner: 2}
}

// The number is the largest thing on a label but for the code.
func TestNumberIsInTheLargestType(t *testing.T) {
	for _, s := range Stocks() {
		d, err := Job{Stock: s, DPI: 600}.layOut(tagFor(hostile[0], 1), 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range d.lines {
			if l.text == "2026.7.14" {
				if l.size < 7*mmPerPoint {
					t.Errorf("%s: the number is %.1f points large", s.Name, l.size/mmPerPoint)
				}
				continue
			}
			if l.size > max(0.8*d.number(t).size, leastName*mmPerPoint) {
				t.Errorf("%s: %q is almost as large as the number", s.Name, l.text)
			}
		}
	}
}

// number finds the line in bold type.
func (d drawing) number(t *testing.T) line {
	t.Helper()
	for _, l := range d.lines {
		if l.face.style == "B" {
			return l
		}
	}
	t.Fatal("a label has no number")
	return line{}
}

func TestReturnLineIsWhole(t *testing.T) {
	for _, name := range []string{"a4-3x8", "a4-3x7", "a4-5x13", "letter-3x10", "roll-62x29"} {
		d, err := Job{Stock: named(t, name)}.layOut(tagFor(hostile[0], 1), 0)
		if err != nil {
			t.Fatal(err)
		}
		var all strings.Builder
		for _, l := range d.lines {
			all.WriteString(letters(l.text))
		}
		// Lines are composed from the last upwards, so look for each word.
		for _, word := range strings.Fields(hostile[0].Return) {
			if !strings.Contains(all.String(), word) {
				t.Errorf("%s: the return line lost %q", name, word)
			}
		}
	}
}

func TestBlankTagShowsItsCode(t *testing.T) {
	d, err := Job{Stock: named(t, "a4-3x8")}.layOut(tagFor(Tag{}, 7), 0)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, l := range d.lines {
		got = append(got, l.text)
	}
	if want := "7K3M 9Q07"; strings.Join(got, " ") != want {
		t.Errorf("got %q, want %q once and large", got, want)
	}
}

// Grids name the same dots whether they are told as runs or one by one.
func TestSpansCoverTheModules(t *testing.T) {
	rows, err := Symbol{Version: 3, Level: "Q"}.modules(address)
	if err != nil {
		t.Fatal(err)
	}
	g := grid{rows: rows, dotW: 4, dotH: 4}
	black := map[image.Point]bool{}
	for _, s := range g.spans() {
		for y := s.Min.Y; y < s.Max.Y; y++ {
			for x := s.Min.X; x < s.Max.X; x++ {
				if black[image.Pt(x, y)] {
					t.Fatalf("dot %d, %d is drawn twice", x, y)
				}
				black[image.Pt(x, y)] = true
			}
		}
	}
	for y := range 29 * 4 {
		for x := range 29 * 4 {
			if got, want := black[image.Pt(x, y)], rows[y/4][x/4]; got != want {
				t.Fatalf("dot %d, %d: got %v, want %v", x, y, got, want)
			}
		}
	}
	for _, s := range g.joints() {
		if y := s.Min.Y / 4; !rows[y][s.Min.X/4] || !rows[y-1][s.Min.X/4] {
			t.Errorf("joint %v joins white", s)
		}
	}
}

func TestOutlineIsOneThickness(t *testing.T) {
	const thick = 0.2
	s := band(10, 10, 30, 8, 2.5, thick)
	outer, inner := s[0], s[1]
	for i := range outer {
		// The inner contour runs the other way: find the side it belongs to.
		a, b := outer[i], outer[(i+1)%len(outer)]
		near := math.Inf(1)
		for _, p := range inner {
			near = min(near, math.Abs((b.x-a.x)*(a.y-p.y)-(a.x-p.x)*(b.y-a.y))/math.Hypot(b.x-a.x, b.y-a.y))
		}
		if math.Abs(near-thick) > 1e-9 {
			t.Errorf("side %d is %.4f mm thick, want %.1f", i, near, thick)
		}
	}
}

// Whatever the texts, the label keeps its shape or is refused.
func FuzzCompose(f *testing.F) {
	for i, t := range hostile {
		f.Add(t.Number, t.Name, t.Return, t.Linear, i)
	}
	all := Stocks()
	f.Fuzz(func(t *testing.T, number, name, owner string, bars bool, i int) {
		i = (i%1000 + 1000) % 1000
		j := Job{Stock: all[i%len(all)], DPI: []int{203, 300, 600}[i%3]}
		tag := tagFor(Tag{Number: number, Name: name, Return: owner, Linear: bars}, i)
		d, err := j.layOut(tag, i)
		if err == nil {
			checkShape(t, j, d)
		}
	})
}
