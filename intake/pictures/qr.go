package pictures

import (
	"cmp"
	"math"
	"slices"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/common"
	"github.com/makiuchi-d/gozxing/qrcode/decoder"
	"github.com/makiuchi-d/gozxing/qrcode/detector"

	"haulbook/intake"
)

const (
	// maxCenters bounds the triples that are looked at; a tag's three patterns are
	// crossed by many scan lines and come first.
	maxCenters = 48
	// maxTries bounds the triples that are sampled, half a millisecond each.
	maxTries = 24
)

// qrCodes reads every QR code in bits. The patterns in the corners are found by
// gozxing; which three belong together is decided here, by trying the likeliest
// triples in turn: keys, vents and screws look like patterns too, and a single
// guess, which is what gozxing makes, fails on them.
func qrCodes(bits *gozxing.BitMatrix) []find {
	var finds []find
	used := map[*detector.FinderPattern]bool{}
	tilts := 0
	for _, t := range likelyTriples(finderPatterns(bits)) {
		if used[t.info.GetTopLeft()] || used[t.info.GetTopRight()] || used[t.info.GetBottomLeft()] {
			continue
		}
		f, ok := readQR(bits, t.info)
		if !ok && tilts < maxTilts {
			var looksRight bool
			if f, looksRight, ok = readTilted(bits, t.info); looksRight {
				tilts++
			}
		}
		if ok {
			finds = append(finds, f)
			used[t.info.GetTopLeft()], used[t.info.GetTopRight()], used[t.info.GetBottomLeft()] = true, true, true
		}
	}
	return finds
}

// finderPatterns scans rows for the proportions 1:1:3:1:1 (ISO/IEC 18004, 6.3.3).
func finderPatterns(bits *gozxing.BitMatrix) []*detector.FinderPattern {
	finder := detector.NewFinderPatternFinder(bits, nil)
	row := gozxing.NewBitArray(bits.GetWidth())
	counts := make([]int, 5)
	var edges []int
	for y := 1; y < bits.GetHeight(); y += 2 {
		row = bits.GetRow(y, row)
		edges = edgesOf(row, edges[:0])
		for i := 0; i+5 < len(edges); i += 2 {
			for j := range counts {
				counts[j] = edges[i+j+1] - edges[i+j]
			}
			if detector.FinderPatternFinder_foundPatternCross(counts) {
				finder.HandlePossibleCenter(counts, y, edges[i+5])
			}
		}
	}
	centers := finder.GetPossibleCenters()
	slices.SortStableFunc(centers, func(a, b *detector.FinderPattern) int { return cmp.Compare(b.GetCount(), a.GetCount()) })
	return centers[:min(len(centers), maxCenters)]
}

// edgesOf lists where a row changes, beginning with the first dark pixel.
func edgesOf(row *gozxing.BitArray, edges []int) []int {
	size := row.GetSize()
	for at := row.GetNextSet(0); at < size; {
		end := row.GetNextUnset(at)
		edges = append(edges, at, end)
		at = row.GetNextSet(end)
	}
	return edges
}

// triple is three patterns that may belong to one code; cost grows with how far
// they are from the corners of a square.
type triple struct {
	info *detector.FinderPatternInfo
	cost float64
}

// likelyTriples orders what can be a code at all, the likeliest first.
func likelyTriples(centers []*detector.FinderPattern) []triple {
	var triples []triple
	for i, a := range centers {
		for j := i + 1; j < len(centers); j++ {
			b := centers[j]
			if !similar(a, b) {
				continue
			}
			for _, c := range centers[j+1:] {
				if !similar(a, c) || !similar(b, c) {
					continue
				}
				if t, ok := newTriple(a, b, c); ok {
					triples = append(triples, t)
				}
			}
		}
	}
	slices.SortStableFunc(triples, func(a, b triple) int { return cmp.Compare(a.cost, b.cost) })
	return triples[:min(len(triples), maxTries)]
}

// similar allows for what perspective does between two corners of one code.
func similar(a, b *detector.FinderPattern) bool {
	small, large := a.GetEstimatedModuleSize(), b.GetEstimatedModuleSize()
	return max(small, large) < 1.6*min(small, large)
}

func newTriple(a, b, c *detector.FinderPattern) (triple, bool) {
	bl, tl, tr := gozxing.ResultPoint_OrderBestPatterns(a, b, c)
	module := (a.GetEstimatedModuleSize() + b.GetEstimatedModuleSize() + c.GetEstimatedModuleSize()) / 3
	ux, uy := tr.GetX()-tl.GetX(), tr.GetY()-tl.GetY()
	vx, vy := bl.GetX()-tl.GetX(), bl.GetY()-tl.GetY()
	u, v := math.Hypot(ux, uy), math.Hypot(vx, vy)
	// From 21 to 177 modules; the estimate of a module is rough and grows with tilt.
	if min(u, v) < 10*module || max(u, v) > 190*module {
		return triple{}, false
	}
	lean := math.Abs(ux*vx+uy*vy) / (u * v)
	stretch := max(u, v)/min(u, v) - 1
	if lean > 0.6 || stretch > 1 {
		return triple{}, false
	}
	spread := max(a.GetEstimatedModuleSize(), b.GetEstimatedModuleSize(), c.GetEstimatedModuleSize()) /
		min(a.GetEstimatedModuleSize(), b.GetEstimatedModuleSize(), c.GetEstimatedModuleSize())
	info := detector.NewFinderPatternInfo(bl.(*detector.FinderPattern), tl.(*detector.FinderPattern), tr.(*detector.FinderPattern))
	seen := float64(min(a.GetCount(), b.GetCount(), c.GetCount()))
	return triple{info, lean + stretch + (spread - 1) + 1/(1+seen)}, true
}

// readQR samples and decodes one triple. The error correction is what makes a
// false triple fail: nothing is read where there is no code.
func readQR(bits *gozxing.BitMatrix, info *detector.FinderPatternInfo) (find, bool) {
	sampled, err := detector.NewDetector(bits).ProcessFinderPatternInfo(info)
	if err == nil {
		if f, ok := decodedQR(sampled.GetBits(), info); ok {
			return f, true
		}
	}
	// Where a module has only two or three pixels, the detector's count of modules
	// is often wrong by a few, and then it has sampled another size of code.
	for _, dimension := range likelyDimensions(info) {
		transform := detector.Detector_createTransform(info.GetTopLeft(), info.GetTopRight(), info.GetBottomLeft(), nil, dimension)
		modules, err := detector.Detector_sampleGrid(bits, transform, dimension)
		if err != nil {
			continue
		}
		if f, ok := decodedQR(modules, info); ok {
			return f, true
		}
	}
	return find{}, false
}

// likelyDimensions are the sizes a code may have by the distances of its patterns,
// the nearest first: 17 + 4 × version modules (ISO/IEC 18004, 6.3.1).
func likelyDimensions(info *detector.FinderPatternInfo) []int {
	tl, tr, bl := info.GetTopLeft(), info.GetTopRight(), info.GetBottomLeft()
	module := (tl.GetEstimatedModuleSize() + tr.GetEstimatedModuleSize() + bl.GetEstimatedModuleSize()) / 3
	sides := gozxing.ResultPoint_Distance(tl, tr) + gozxing.ResultPoint_Distance(tl, bl)
	version := (sides/2/module + 7 - 17) / 4
	var dimensions []int
	for v := max(1, int(math.Round(version))-2); v <= min(40, int(math.Round(version))+2); v++ {
		dimensions = append(dimensions, 17+4*v)
	}
	off := func(d int) float64 { return math.Abs(float64(d-17)/4 - version) }
	slices.SortFunc(dimensions, func(a, b int) int { return cmp.Compare(off(a), off(b)) })
	return dimensions[:min(3, len(dimensions))]
}

func decodedQR(modules *gozxing.BitMatrix, info *detector.FinderPatternInfo) (find, bool) {
	decoded, err := decodeQR(modules)
	if err != nil {
		return find{}, false
	}
	return find{
		text: decoded.GetText(), symbology: intake.SymbologyQR,
		corners: qrCorners(info, float64(modules.GetWidth())),
	}, true
}

func decodeQR(modules *gozxing.BitMatrix) (*common.DecoderResult, error) {
	return decoder.NewDecoder().Decode(modules, nil)
}

// qrCorners extends the centres of the three patterns, which lie 3.5 modules
// inside, to the corners of the code.
func qrCorners(info *detector.FinderPatternInfo, dimension float64) [4]point {
	tl, tr, bl := info.GetTopLeft(), info.GetTopRight(), info.GetBottomLeft()
	cx, cy := (tr.GetX()+bl.GetX())/2, (tr.GetY()+bl.GetY())/2
	grow := dimension / (dimension - 7)
	corner := func(x, y float64) point { return point{cx + (x-cx)*grow, cy + (y-cy)*grow} }
	return [4]point{
		corner(tl.GetX(), tl.GetY()), corner(tr.GetX(), tr.GetY()),
		corner(tr.GetX()+bl.GetX()-tl.GetX(), tr.GetY()+bl.GetY()-tl.GetY()), corner(bl.GetX(), bl.GetY()),
	}
}
