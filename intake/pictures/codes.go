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

// The long edges at which the whole picture is searched. One scale is never
// enough: at full size a big code breaks up into false finder patterns and a small
// one is lost at a thousand pixels. The large preview's planes serve for the first
// two; the fine one is only for pictures in which those have found nothing.
const (
	coarse = 1000
	middle = int(Large)
	fine   = 4100
	// cramped is where a code may have two pixels a module, which thresholds by
	// blocks cannot separate: twice the size gives them room.
	cramped = 800
)

// seen searches a frame for codes and returns each text once, the largest first.
// Large is the same frame with a long edge of at most middle.
func seen(ctx context.Context, f, large frame) ([]intake.SeenCode, error) {
	finds, err := search(ctx, f.luma(), large.luma())
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

// search looks at each scale in turn, from coarse to fine. The first two are always
// looked at, because a photo of a plate may show a tag as well; the others only for
// want of any code.
func search(ctx context.Context, full, large plane) ([]find, error) {
	small := fitted(large, coarse)
	passes := []struct {
		always bool // else only when nothing has been found before
		wanted bool
		look   func() []find
	}{
		{always: true, look: func() []find { return searchLevel(small, 2) }},
		{always: true, look: func() []find { return searchMatrix(fitted(small, coarse/2)) }},
		{wanted: true, look: func() []find { return searchMatrix(small) }},
		{always: large.w > small.w || large.h > small.h, look: func() []find { return searchLevel(large, 2) }},
		{always: true, look: func() []find { return inFractions(tiltedCodes(large, full), full) }},
		{always: true, look: func() []find { return inFractions(tiltedCodes(fitted(small, coarse/2), full), full) }},
		{wanted: true, look: func() []find { return searchMatrix(large) }},
		{wanted: max(full.w, full.h) > middle, look: func() []find { return searchLevel(fitted(full, fine), 3) }},
		// A picture within the dark modules, or cloth under the light, is gone at half the size.
		{wanted: true, look: func() []find { return searchLevel(fitted(small, max(small.w, small.h)/2), 1) }},
		{wanted: max(full.w, full.h) <= cramped, look: func() []find { return searchLevel(doubled(full), 2) }},
	}
	var finds []find
	for _, pass := range passes {
		if !pass.always && !(pass.wanted && len(finds) == 0) {
			continue
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		finds = merged(finds, pass.look())
	}
	return finds, nil
}

func fitted(p plane, long int) plane {
	w, h := fit(p.w, p.h, long)
	return shrunk(p, w, h)
}

// searchLevel reads linear and QR codes at one scale, by lines step apart.
func searchLevel(p plane, step int) []find {
	return inFractions(append(linearCodes(p), qrCodes(p, step)...), p)
}

func searchMatrix(p plane) []find {
	bits := binarized(p)
	if bits == nil {
		return nil
	}
	return inFractions(matrixCodes(bits), p)
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
