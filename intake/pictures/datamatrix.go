package pictures

import (
	"cmp"
	"slices"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/datamatrix/decoder"
	"github.com/makiuchi-d/gozxing/datamatrix/detector"

	"haulbook/intake"
)

const (
	// cell is the edge of the squares in which changes of light are counted to find
	// where a Data Matrix may be: it has no pattern that a scan line could find.
	cell = 8
	// busy is the least number of changes in a cell.
	busy = cell / 2
	// margin is added around a patch, so that the light around a code is in it.
	margin = 12
	// maxPatches bounds the places that are tried.
	maxPatches = 10
	// minMatrix is the shortest text believed: the smallest symbols carry three
	// letters, and noise passes their five check words now and then.
	minMatrix = 4
)

// patch is a rectangle of busy cells, in cells.
type patch struct{ left, top, right, bottom, cells int }

// matrixCodes reads Data Matrix codes in bits. gozxing looks for one from the
// middle of a picture outwards, so it is given one picture for each busy patch.
func matrixCodes(bits *gozxing.BitMatrix) []find {
	var finds []find
	for _, p := range patches(bits) {
		left, top := max(0, p.left*cell-margin), max(0, p.top*cell-margin)
		right, bottom := min(bits.GetWidth(), p.right*cell+margin), min(bits.GetHeight(), p.bottom*cell+margin)
		if f, ok := readMatrix(cut(bits, left, top, right, bottom)); ok {
			for i := range f.corners {
				f.corners[i].x += float64(left)
				f.corners[i].y += float64(top)
			}
			finds = append(finds, f)
		}
	}
	return finds
}

func readMatrix(bits *gozxing.BitMatrix) (find, bool) {
	finder, err := detector.NewDetector(bits)
	if err != nil {
		return find{}, false
	}
	detected, err := finder.Detect()
	if err != nil {
		return find{}, false
	}
	decoded, err := decoder.NewDecoder().Decode(detected.GetBits())
	if err != nil || len(decoded.GetText()) < minMatrix {
		return find{}, false
	}
	f := find{text: decoded.GetText(), symbology: intake.SymbologyDataMatrix}
	points := detected.GetPoints()
	// gozxing gives them as top left, bottom left, bottom right, top right.
	for i := range min(len(points), 4) {
		f.corners[i] = point{points[i].GetX(), points[i].GetY()}
	}
	return f, true
}

// patches lists the likeliest places, the largest first: connected busy cells that
// are neither a line nor a speck.
func patches(bits *gozxing.BitMatrix) []patch {
	w, h := bits.GetWidth()/cell, bits.GetHeight()/cell
	cells := busyCells(bits, w, h)
	var all []patch
	for i := range cells {
		if !cells[i] {
			continue
		}
		p := flooded(cells, w, h, i)
		across, down := p.right-p.left, p.bottom-p.top
		if max(across, down) <= 3*min(across, down) && 2*p.cells >= across*down {
			all = append(all, p)
		}
	}
	slices.SortStableFunc(all, func(a, b patch) int { return cmp.Compare(b.cells, a.cells) })
	return all[:min(len(all), maxPatches)]
}

// busyCells marks cells with more than a change across half of them.
func busyCells(bits *gozxing.BitMatrix, w, h int) []bool {
	changes := make([]int, w*h)
	row, above := gozxing.NewBitArray(bits.GetWidth()), gozxing.NewBitArray(bits.GetWidth())
	for y := range h * cell {
		row, above = bits.GetRow(y, above), row
		for x := 1; x < w*cell; x++ {
			at := y/cell*w + x/cell
			here := row.Get(x)
			if here != row.Get(x-1) {
				changes[at]++
			}
			if y > 0 && here != above.Get(x) {
				changes[at]++
			}
		}
	}
	cells := make([]bool, w*h)
	for i := range cells {
		cells[i] = changes[i] >= busy
	}
	return cells
}

// flooded takes the cells that hang together with start out of cells, diagonals
// included.
func flooded(cells []bool, w, h, start int) patch {
	p := patch{left: w, top: h}
	cells[start] = false
	for stack := []int{start}; len(stack) > 0; {
		at := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		x, y := at%w, at/w
		p.cells++
		p.left, p.right = min(p.left, x), max(p.right, x+1)
		p.top, p.bottom = min(p.top, y), max(p.bottom, y+1)
		for ny := max(0, y-1); ny <= min(h-1, y+1); ny++ {
			for nx := max(0, x-1); nx <= min(w-1, x+1); nx++ {
				if next := ny*w + nx; cells[next] {
					cells[next] = false
					stack = append(stack, next)
				}
			}
		}
	}
	return p
}

// cut copies a rectangle.
func cut(bits *gozxing.BitMatrix, left, top, right, bottom int) *gozxing.BitMatrix {
	out, err := gozxing.NewBitMatrix(max(1, right-left), max(1, bottom-top))
	if err != nil {
		return bits
	}
	for y := top; y < bottom; y++ {
		for x := left; x < right; x++ {
			if bits.Get(x, y) {
				out.Set(x-left, y-top)
			}
		}
	}
	return out
}
