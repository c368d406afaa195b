package pictures

import (
	"cmp"
	"math"
	"slices"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/oned"

	"haulbook/intake"
)

const (
	// minLinear is the shortest linear code believed: real plates carry more.
	minLinear = 4
	// minEdges is less than a code of minLinear characters has.
	minEdges = 36
	// scanLines is how many lines are laid over a picture in each direction.
	scanLines = 250
	// subpixels is how finely an edge is placed for the row decoders.
	subpixels = 4
	// quietShare is the light before a code in parts of its first six runs. The
	// standards ask for nine tenths (ISO/IEC 15417, 4.3.1, from memory: ten modules);
	// labels cut close to the code have a third.
	quietShare = 0.3
)

// longestRuns is where a code ends, in the same parts, tried in turn: a Code 128
// has runs of four modules in eleven inside, more where the picture is tilted, and
// a label cut close has hardly more than that outside.
var longestRuns = [...]float64{0.6, 0.42}

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
	step := max(1, n/scanLines)
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

type rowDecoder struct {
	symbology string
	oned.RowDecoder
}

// lineScan reads lines of luma; it keeps its buffers from line to line.
type lineScan struct {
	decoders  []rowDecoder
	fullASCII oned.RowDecoder
	edges     []float64
}

func newLineScan() *lineScan {
	return &lineScan{
		decoders: []rowDecoder{
			{intake.SymbologyCode128, oned.NewCode128Reader().(oned.RowDecoder)},
			{intake.SymbologyCode39, oned.NewCode39Reader().(oned.RowDecoder)},
		},
		fullASCII: oned.NewCode39ReaderWithFlags(false, true).(oned.RowDecoder),
	}
}

// read returns the codes on one line, read in either direction.
func (s *lineScan) read(line []byte) []reading {
	s.edges = edgesIn(line, s.edges[:0])
	if len(s.edges) < minEdges {
		return nil
	}
	readings := s.candidates(s.edges, float64(len(line)))
	slices.Reverse(s.edges)
	for i, e := range s.edges {
		s.edges[i] = float64(len(line)) - e
	}
	for _, r := range s.candidates(s.edges, float64(len(line))) {
		r.left, r.right = float64(len(line))-r.right, float64(len(line))-r.left
		readings = append(readings, r)
	}
	return readings
}

// candidates tries to decode from each dark run that has a quiet zone before it.
// edges begin where it gets dark, so that even ones do and odd ones get light.
func (s *lineScan) candidates(edges []float64, width float64) []reading {
	var readings []reading
	for i := 0; i+minEdges <= len(edges); i += 2 {
		start := edges[i+6] - edges[i] // six runs: eleven modules of a Code 128
		// Beyond the picture it is light.
		if i > 0 && edges[i]-edges[i-1] < quietShare*start {
			continue
		}
		last := 0
		for _, longest := range longestRuns {
			end := segmentEnd(edges, i, longest*start)
			if end == last || end-i < minEdges {
				continue
			}
			last = end
			if r, ok := s.decode(edges[i:end], start, width); ok {
				readings = append(readings, r)
				i = end - 2
				break
			}
		}
	}
	return readings
}

// segmentEnd returns the index after the last edge of a code that begins at i: it
// ends before a run that is longer than any inside a code.
func segmentEnd(edges []float64, i int, longest float64) int {
	for j := i + 2; j < len(edges); j += 2 {
		if edges[j]-edges[j-1] > longest || edges[j+1]-edges[j] > longest {
			return j
		}
	}
	return len(edges)
}

// decode gives a segment of edges to the row decoders, as a row of bits with a
// quiet zone on both sides.
func (s *lineScan) decode(edges []float64, start, width float64) (reading, bool) {
	origin := edges[0] - start
	last := edges[len(edges)-1]
	row := gozxing.NewBitArray(int((last - origin + start) * subpixels))
	for i := 0; i+1 < len(edges); i += 2 {
		from, to := int((edges[i]-origin)*subpixels+0.5), int((edges[i+1]-origin)*subpixels+0.5)
		if from < to {
			row.SetRange(from, min(to, row.GetSize()))
		}
	}
	for _, d := range s.decoders {
		result, err := d.DecodeRow(0, row, nil)
		if err != nil || len(result.GetText()) < minLinear || !printable(result.GetText()) {
			continue
		}
		text := result.GetText()
		if full, err := s.fullASCII.DecodeRow(0, row, nil); d.symbology == intake.SymbologyCode39 && hasLowerCase(text) && err == nil {
			text = full.GetText()
		}
		// The points are the middles of the start and the stop pattern.
		points := result.GetResultPoints()
		return reading{
			text: text, symbology: d.symbology,
			left:  max(0, origin+points[0].GetX()/subpixels-start/2),
			right: min(width, origin+points[1].GetX()/subpixels+start/2),
		}, true
	}
	return reading{}, false
}

// hasLowerCase reports whether a Code 39 spells a small letter in its full ASCII
// way, as a plus and a capital. Nothing in the code says which way is meant; the
// other pairs, of /, $ and %, are taken as they stand, because real serials and
// part numbers contain a slash far more often than a spelt-out comma.
func hasLowerCase(s string) bool {
	for i := range len(s) - 1 {
		if s[i] == '+' && 'A' <= s[i+1] && s[i+1] <= 'Z' {
			return true
		}
	}
	return false
}

func printable(s string) bool {
	for i := range len(s) {
		if s[i] < ' ' || s[i] > '~' {
			return false
		}
	}
	return true
}

// edgesIn finds where a line of luma turns dark and light, to a fraction of a
// pixel: halfway in grey between a light extreme and the next dark one. Blur
// takes the depth of thin bars but leaves their edges nearly in place, which a
// threshold for the whole line would not. The first edge is one into the dark,
// the last one into the light.
func edgesIn(line []byte, edges []float64) []float64 {
	const least = 10 // grey levels that are more than noise
	from, at := 0, 0 // the last extreme, and the one that may be the next
	rising, swing := false, 2.0*least
	for x, v := range line {
		depth := float64(v) - float64(line[at])
		if rising {
			depth = -depth
		}
		if depth < 0 {
			at = x
			continue
		}
		if depth < max(least, swing/4) {
			continue
		}
		size := math.Abs(float64(line[at]) - float64(line[from]))
		switch {
		case size >= least:
			if rising && len(edges) == 0 {
				edges = append(edges, 0) // the line begins in the dark
			}
			edges = append(edges, crossing(line, from, at))
		case len(edges) > 0:
			edges = append(edges, crossing(line, from, at))
		}
		// Strong swings raise what counts as one, so that ringing beside a thick
		// bar does not; they are forgotten within a few bars.
		swing = max(size, 0.7*swing+0.3*size)
		from, at, rising = at, x, !rising
	}
	if math.Abs(float64(line[at])-float64(line[from])) >= least {
		edges = append(edges, crossing(line, from, at))
	}
	if len(edges)%2 == 1 {
		edges = append(edges, float64(len(line))) // it ends in the dark
	}
	return edges
}

// crossing is where the line passes the grey halfway between two extremes.
func crossing(line []byte, from, to int) float64 {
	half := (float64(line[from]) + float64(line[to])) / 2
	for x := from; x < to; x++ {
		a, b := float64(line[x]), float64(line[x+1])
		if (a-half)*(b-half) <= 0 && a != b {
			return float64(x) + 0.5 + (half-a)/(b-a)
		}
	}
	return float64(to) + 0.5
}
