package pictures

import (
	"cmp"
	"slices"

	"haulbook/intake"
)

// scanLines is how many lines are laid over a picture in each direction.
const scanLines = 250

// lines a text must be read on before it is believed. Code 128 has a check
// character, Code 39 has none: in a brick wall one line in thousands looks like
// one, but never the same one three times.
var linesNeeded = map[string]int{intake.SymbologyCode128: 2, intake.SymbologyCode39: 3}

// linearCodes reads the linear codes in p that run along or across it.
func linearCodes(p plane) []find {
	finds := scanned(p.h, p.row)
	column := make([]byte, p.h)
	across := scanned(p.w, func(x int) []byte {
		for y := range column {
			column[y] = p.pix[y*p.stride+x]
		}
		return column
	})
	for i := range across {
		for j, c := range across[i].corners {
			across[i].corners[j] = point{c.y, c.x}
		}
	}
	return append(finds, across...)
}

// reading is one text read on one or more lines.
type reading struct {
	text, symbology string
	lines           int
	left, right     float64 // along the line
	top, bottom     float64 // lines
}

// scanned reads some of the n parallel lines of a picture; x runs along a line, y
// counts lines.
func scanned(n int, line func(int) []byte) []find {
	return scannedLines(n, max(1, n/scanLines), line)
}

// scannedLines reads every step'th line.
func scannedLines(n, step int, line func(int) []byte) []find {
	var readings []reading
	scan := newLineScan()
	for y := step / 2; y < n; y += step {
		for _, r := range scan.read(line(y)) {
			readings = counted(readings, r, float64(y))
		}
	}
	return believed(readings, float64(step))
}

// counted adds what one line has read to what the others have.
func counted(readings []reading, r reading, y float64) []reading {
	for i := range readings {
		have := &readings[i]
		if have.text == r.text && have.symbology == r.symbology {
			have.lines++
			have.left, have.right = min(have.left, r.left), max(have.right, r.right)
			have.top, have.bottom = min(have.top, y), max(have.bottom, y)
			return readings
		}
	}
	r.lines, r.top, r.bottom = 1, y, y
	return append(readings, r)
}

// believed keeps the texts that enough lines agree on. Where two overlap, one is
// a misreading of the other, and the one with more lines wins.
func believed(readings []reading, step float64) []find {
	slices.SortStableFunc(readings, func(a, b reading) int { return cmp.Compare(b.lines, a.lines) })
	var kept []reading
	var finds []find
	for _, r := range readings {
		if r.lines < linesNeeded[r.symbology] || slices.ContainsFunc(kept, r.overlaps) {
			continue
		}
		kept = append(kept, r)
		top, bottom := r.top-step/2, r.bottom+step/2
		finds = append(finds, find{
			text: r.text, symbology: r.symbology, strength: r.lines,
			corners: [4]point{{r.left, top}, {r.right, top}, {r.right, bottom}, {r.left, bottom}},
		})
	}
	return finds
}

func (r reading) overlaps(s reading) bool {
	return r.left < s.right && s.left < r.right && r.top <= s.bottom && s.top <= r.bottom
}
