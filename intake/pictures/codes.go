package pictures

import (
	"cmp"
	"context"
	"math"
	"slices"
	"unicode/utf8"

	"haulbook/intake"
)

// find is a code read at one scale: its text and its corners, in fractions of the
// stored picture.
type find struct {
	text, symbology string
	corners         [4]point
	strength        int // how many scan lines agree, for linear codes
}

type point struct{ x, y float64 }

// levels are the long edges at which the whole picture is searched. One scale is
// never enough: at full size a big code breaks up into false finder patterns and
// a small one is lost at 1000. Finer levels are only for pictures in which the
// coarser ones have found nothing.
var levels = [...]int{1000, 1600, 2400}

// seen searches a frame for codes and returns each text once, the largest first.
func seen(ctx context.Context, f frame) ([]intake.SeenCode, error) {
	finds, err := search(ctx, f.luma())
	if err != nil {
		return nil, err
	}
	var codes []intake.SeenCode
	for _, one := range finds {
		codes = append(codes, placed(one, f))
	}
	slices.SortStableFunc(codes, func(a, b intake.SeenCode) int { return cmp.Compare(b.Share, a.Share) })
	return codes, nil
}

// search looks at each level in turn until one has found something.
func search(ctx context.Context, luma plane) ([]find, error) {
	var finds []find
	long := max(luma.w, luma.h)
	previous := 0
	for i, level := range levels {
		level = min(level, long)
		if level == previous || i > 1 && len(finds) > 0 {
			break
		}
		previous = level
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		w, h := fit(luma.w, luma.h, level)
		finds = merged(finds, searchLevel(shrunk(luma, w, h)))
	}
	if len(finds) == 0 {
		w, h := fit(luma.w, luma.h, levels[0])
		finds = merged(finds, searchInverted(shrunk(luma, w, h)))
	}
	// A small picture may hold a code of two pixels a module, which local
	// thresholds cannot separate: look again with more room.
	if len(finds) == 0 && long <= 800 {
		finds = merged(finds, searchLevel(doubled(luma)))
	}
	return finds, nil
}

func searchLevel(p plane) []find {
	finds := linearCodes(p)
	if bits := binarized(p); bits != nil {
		finds = append(finds, qrCodes(bits)...)
	}
	return inFractions(finds, p)
}

// searchInverted looks for light codes on dark ground, as plates and screens have.
func searchInverted(p plane) []find {
	negative := newPlane(p.w, p.h)
	for y := range p.h {
		dst := negative.row(y)
		for x, v := range p.row(y) {
			dst[x] = 255 - v
		}
	}
	return searchLevel(negative)
}

// inFractions replaces pixels of p by fractions of the picture.
func inFractions(finds []find, p plane) []find {
	for i := range finds {
		for j, c := range finds[i].corners {
			finds[i].corners[j] = point{c.x / float64(p.w), c.y / float64(p.h)}
		}
	}
	return finds
}

// merged adds what is new: the same text in the same symbology is one code.
func merged(finds, more []find) []find {
	for _, m := range more {
		if !utf8.ValidString(m.text) || m.text == "" {
			continue
		}
		if !slices.ContainsFunc(finds, func(f find) bool { return f.text == m.text && f.symbology == m.symbology }) {
			finds = append(finds, m)
		}
	}
	return finds
}

// placed says where in the upright picture a code is seen.
func placed(f find, in frame) intake.SeenCode {
	var x, y, doubleArea float64
	for i, c := range f.corners {
		next := f.corners[(i+1)%4]
		doubleArea += c.x*next.y - next.x*c.y
		x, y = x+c.x/4, y+c.y/4
	}
	x, y = seenAt(in.turn, clamped(x), clamped(y))
	return intake.SeenCode{
		Text: f.text, Symbology: f.symbology,
		Share: clamped(math.Abs(doubleArea) / 2), X: x, Y: y,
	}
}

func clamped(v float64) float64 {
	if !(v > 0) { // also what is not a number
		return 0
	}
	return min(v, 1)
}
