package pictures

import (
	"cmp"
	"math"
	"slices"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/common"
	"github.com/makiuchi-d/gozxing/qrcode/detector"

	"haulbook/intake"
)

const (
	// maxTilts bounds the triples whose fourth corner is searched for.
	maxTilts = 3
	// The fourth corner is looked for up to cornerSteps steps away from where it
	// would be without perspective, in parts of the code's sides.
	cornerSteps = 7
	cornerStep  = 0.035
)

// cornerOffsets are the steps to try, the nearest first.
var cornerOffsets = func() []point {
	var all []point
	for i := -cornerSteps; i <= cornerSteps; i++ {
		for j := -cornerSteps; j <= cornerSteps; j++ {
			all = append(all, point{cornerStep * float64(i), cornerStep * float64(j)})
		}
	}
	slices.SortStableFunc(all, func(a, b point) int { return cmp.Compare(math.Hypot(a.x, a.y), math.Hypot(b.x, b.y)) })
	return all
}()

// readTilted reads a code seen at a slant. Three patterns tell nothing of the
// perspective; the fourth corner is guessed until the error correction agrees.
// That takes some hundred tries, so it is done only where the timing patterns
// count the same number of modules along both sides, which looksRight says.
func readTilted(bits *gozxing.BitMatrix, info *detector.FinderPatternInfo) (f find, looksRight, ok bool) {
	tl, tr, bl := center(info.GetTopLeft()), center(info.GetTopRight()), center(info.GetBottomLeft())
	dimension := dimensionBetween(bits, tl, tr, bl)
	if dimension == 0 || dimension != dimensionBetween(bits, tl, bl, tr) {
		return find{}, false, false
	}
	u, v := point{tr.x - tl.x, tr.y - tl.y}, point{bl.x - tl.x, bl.y - tl.y}
	far := float64(dimension) - 3.5
	for _, offset := range cornerOffsets {
		br := point{
			tr.x + v.x + offset.x*u.x + offset.y*v.x,
			tr.y + v.y + offset.x*u.y + offset.y*v.y,
		}
		transform := common.PerspectiveTransform_QuadrilateralToQuadrilateral(
			3.5, 3.5, far, 3.5, far, far, 3.5, far,
			tl.x, tl.y, tr.x, tr.y, br.x, br.y, bl.x, bl.y)
		sampled, err := detector.Detector_sampleGrid(bits, transform, dimension)
		if err != nil {
			continue
		}
		decoded, err := decodeQR(sampled)
		if err != nil {
			continue
		}
		edge := float64(dimension)
		corners := []float64{0, 0, edge, 0, edge, edge, 0, edge}
		transform.TransformPoints(corners)
		f := find{text: decoded.GetText(), symbology: intake.SymbologyQR}
		for i := range f.corners {
			f.corners[i] = point{corners[2*i], corners[2*i+1]}
		}
		return f, true, true
	}
	return find{}, true, false
}

func center(p *detector.FinderPattern) point { return point{p.GetX(), p.GetY()} }

// dimensionBetween counts the modules of a code along the timing pattern between
// the patterns a and b, of which the third lies in the direction of c: dark and
// light alternate from the corner of one to that of the other (ISO/IEC 18004,
// 6.3.5). It returns 0 when the count is none that a code has.
func dimensionBetween(bits *gozxing.BitMatrix, a, b, c point) int {
	length := math.Hypot(b.x-a.x, b.y-a.y)
	towards := point{c.x - a.x, c.y - a.y}
	side := math.Hypot(towards.x, towards.y)
	// The timing pattern runs three modules inside the line between the centres.
	// What a module is there follows from the pattern at either end.
	from, okFrom := inward(bits, a, towards, side)
	to, okTo := inward(bits, b, towards, side)
	if !okFrom || !okTo {
		return 0
	}
	changes := 0
	was := true
	steps := int(2 * length)
	for i := range steps {
		t := float64(i) / float64(steps)
		x, y := int(from.x+t*(to.x-from.x)), int(from.y+t*(to.y-from.y))
		if x < 0 || y < 0 || x >= bits.GetWidth() || y >= bits.GetHeight() {
			return 0
		}
		if is := bits.Get(x, y); is != was {
			changes++
			was = is
		}
	}
	dimension := changes + 13
	if changes%2 != 0 || dimension%4 != 1 || dimension < 21 || dimension > 177 {
		return 0
	}
	return dimension
}

// inward steps from the centre of a pattern to the middle of its far ring: dark,
// light and the middle of the next dark run, three modules on.
func inward(bits *gozxing.BitMatrix, from, towards point, side float64) (point, bool) {
	dx, dy := towards.x/side, towards.y/side
	var at [3]float64
	run := 0
	for t := 0.0; t < side/2 && run < 3; t += 0.25 {
		x, y := int(from.x+t*dx), int(from.y+t*dy)
		if x < 0 || y < 0 || x >= bits.GetWidth() || y >= bits.GetHeight() {
			return point{}, false
		}
		if bits.Get(x, y) != (run != 1) {
			at[run] = t
			run++
		}
	}
	if run < 3 {
		return point{}, false
	}
	middle := (at[1] + at[2]) / 2
	return point{from.x + middle*dx, from.y + middle*dy}, true
}
