package pictures

import (
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

// rowDecoder reads one symbology; begins says whether edges can be its start
// pattern. The decoders look for one themselves, along all of a row and from every
// place again, which in a picture of a grille takes seconds.
type rowDecoder struct {
	symbology string
	begins    func(edges []float64) bool
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
			{intake.SymbologyCode128, beginsCode128, oned.NewCode128Reader().(oned.RowDecoder)},
			{intake.SymbologyCode39, beginsCode39, oned.NewCode39Reader().(oned.RowDecoder)},
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
		if i > 0 && edges[i]-edges[i-1] < quietShare*start || !s.begins(edges[i:]) {
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

// code128Starts are the start patterns A, B and C in modules (ISO/IEC 15417, table
// 1, as gozxing has them).
var code128Starts = [...][6]float64{{2, 1, 1, 4, 1, 2}, {2, 1, 1, 2, 1, 4}, {2, 1, 1, 2, 3, 2}}

func beginsCode128(edges []float64) bool {
	module := (edges[6] - edges[0]) / 11
	for _, pattern := range code128Starts {
		fits := true
		for i, modules := range pattern {
			fits = fits && math.Abs((edges[i+1]-edges[i])/module-modules) < 0.9
		}
		if fits {
			return true
		}
	}
	return false
}

// beginsCode39 knows the asterisk: the second, fifth and seventh of its nine runs
// are wide (ISO/IEC 16388, table 1, as gozxing has it).
func beginsCode39(edges []float64) bool {
	narrow, wide := 0.0, math.Inf(1)
	for i := range 9 {
		if run := edges[i+1] - edges[i]; i == 1 || i == 4 || i == 6 {
			wide = min(wide, run)
		} else {
			narrow = max(narrow, run)
		}
	}
	return wide > 1.1*narrow
}

// begins reports whether any symbology can begin here.
func (s *lineScan) begins(edges []float64) bool {
	return slices.ContainsFunc(s.decoders, func(d rowDecoder) bool { return d.begins(edges) })
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
		if !d.begins(edges) {
			continue
		}
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
		if len(edges) > 0 || size >= least { // before that it was only noise
			edges = withEdge(edges, crossing(line, from, at), rising)
		}
		// Strong swings raise what counts as one, so that ringing beside a thick
		// bar does not; they are forgotten within a few bars.
		swing = max(size, 0.7*swing+0.3*size)
		from, at, rising = at, x, !rising
	}
	if len(line) > 0 && math.Abs(float64(line[at])-float64(line[from])) >= least {
		edges = withEdge(edges, crossing(line, from, at), rising)
	}
	if len(edges)%2 == 1 {
		edges = append(edges, float64(len(line))) // it ends in the dark
	}
	return edges
}

// withEdge adds an edge. A line whose first edge is one into the light begins in
// the dark, which then has its edge at the border.
func withEdge(edges []float64, at float64, rising bool) []float64 {
	if len(edges) == 0 && rising {
		edges = append(edges, 0)
	}
	return append(edges, at)
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
