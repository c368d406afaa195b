package labels

import (
	"image"
	"math"
)

// A drawing is one label composed at its place on the page: positions are
// millimetres from the page's top left corner, codes are in printer dots from
// the same corner, so that every module edge falls on a whole dot.
type drawing struct {
	cell   int    // which label of the run
	symbol Symbol // what was decided for the QR
	code   grid   // the QR
	bars   grid   // the Code 128, without rows when there is none
	shapes []shape
	lines  []line
}

// A grid is a code: rows of modules, true for black.
type grid struct {
	rows       [][]bool
	at         image.Point // top left module, in dots from the page's corner
	dotW, dotH int         // dots a module
}

// A shape is a filled figure of closed contours. A contour that runs the other
// way round cuts a hole.
type shape [][]point

// A point is in millimetres from the page's top left corner, or in dots where
// the raster says so.
type point struct{ x, y float64 }

// A line is one line of cleaned text, its size in millimetres.
type line struct {
	face    *typeface
	text    string
	x, base float64 // left end of the base line
	size    float64
}

// A canvas is what a drawing is painted on: the PDF and the raster, which for
// that reason look alike.
type canvas interface {
	cells(g grid)
	fill(s shape)
	write(l line)
}

// paint puts a drawing on a canvas. Everything is black, so the order matters to
// nobody: words that ran into a code would spoil it, and the proof would tell.
func (d drawing) paint(c canvas) {
	for _, s := range d.shapes {
		c.fill(s)
	}
	for _, l := range d.lines {
		c.write(l)
	}
	c.cells(d.code)
	if len(d.bars.rows) > 0 {
		c.cells(d.bars)
	}
}

// spans lists the modules of a grid as few rectangles in dots relative to its
// corner: runs of black along each row. A version 3 symbol has some 230 of them
// against 430 black modules.
func (g grid) spans() []image.Rectangle {
	var out []image.Rectangle
	for y, row := range g.rows {
		for x := 0; x < len(row); x++ {
			if !row[x] {
				continue
			}
			from := x
			for x < len(row) && row[x] {
				x++
			}
			out = append(out, image.Rect(from*g.dotW, y*g.dotH, x*g.dotW, (y+1)*g.dotH))
		}
	}
	return out
}

// joints lists where black runs on from one row to the next: rectangles of no
// height on the common edge.
func (g grid) joints() []image.Rectangle {
	var out []image.Rectangle
	for y := 1; y < len(g.rows); y++ {
		row, above := g.rows[y], g.rows[y-1]
		for x := 0; x < len(row); x++ {
			if !row[x] || !above[x] {
				continue
			}
			from := x
			for x < len(row) && row[x] && above[x] {
				x++
			}
			out = append(out, image.Rect(from*g.dotW, y*g.dotH, x*g.dotW, y*g.dotH))
		}
	}
	return out
}

// ring is the eyelet: a circle with a hole, as polygons fine enough that no
// printer shows their corners.
func ring(cx, cy, outer, inner float64) shape {
	const corners = 48
	circle := func(r, turn float64) []point {
		c := make([]point, corners)
		for i := range c {
			a := turn * float64(i) * 2 * math.Pi / corners
			c[i] = point{cx + r*math.Cos(a), cy + r*math.Sin(a)}
		}
		return c
	}
	return shape{circle(outer, 1), circle(inner, -1)}
}

// tagOutline gives the corners of a tie-on tag: a box with both left corners
// cut, clockwise.
func tagOutline(x, y, w, h, cut float64) []point {
	return []point{{x + cut, y}, {x + w, y}, {x + w, y + h}, {x + cut, y + h}, {x, y + h - cut}, {x, y + cut}}
}

// band is the tag's outline as a line of one thickness, drawn inwards.
func band(x, y, w, h, cut, thick float64) shape {
	// Moving the slanted edge inwards by thick shortens the cut by this much.
	innerCut := cut - thick*(2-math.Sqrt2)
	inner := tagOutline(x+thick, y+thick, w-2*thick, h-2*thick, innerCut)
	for i, k := 0, len(inner)-1; i < k; i, k = i+1, k-1 {
		inner[i], inner[k] = inner[k], inner[i]
	}
	return shape{tagOutline(x, y, w, h, cut), inner}
}

// dashes is the same outline broken up: the tag that waits for its number.
func dashes(x, y, w, h, cut, thick float64) shape {
	const length = 1.1 // mm of dash and gap together, about
	var s shape
	outline := tagOutline(x, y, w, h, cut)
	for i, from := range outline {
		to := outline[(i+1)%len(outline)]
		dx, dy := to.x-from.x, to.y-from.y
		far := math.Hypot(dx, dy)
		if far == 0 {
			continue
		}
		ux, uy := dx/far, dy/far
		n := max(math.Round(far/length), 1)
		for k := 0.0; k < n; k++ {
			// Each dash sits in the middle of its share, corners stay open.
			a, b := (k+0.2)*far/n, (k+0.8)*far/n
			s = append(s, []point{
				{from.x + a*ux, from.y + a*uy}, {from.x + b*ux, from.y + b*uy},
				{from.x + b*ux - thick*uy, from.y + b*uy + thick*ux}, {from.x + a*ux - thick*uy, from.y + a*uy + thick*ux},
			})
		}
	}
	return s
}
