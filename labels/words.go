package labels

import (
	"fmt"
	"math"
	"strings"
)

// Proportions of the tag around the number, in parts of the type size.
const (
	tagHead    = 1.42 // height of the tag for one line
	tagEyelet  = 0.98 // from the tag's left end to the number
	tagEnd     = 0.42 // from the number to the right end
	tagCut     = 0.42 // the cut corners
	eyeletAt   = 0.56 // the eyelet's middle from the left end
	eyeletOut  = 0.21
	eyeletIn   = 0.13
	digitH     = 0.72 // height of a digit, measured on the bold face
	descent    = 0.21 // what hangs below the base line
	lineHeight = 1.2
	outline    = 0.18 // mm, rounded to whole dots
	leastOwner = 4    // points
	leastName  = 5.5  // points
)

// clampPt turns a share of a height into a type size in millimetres within
// limits in points.
func clampPt(mm, least, most float64) float64 {
	return min(max(mm, least*mmPerPoint), most*mmPerPoint)
}

// words sets number, name, code and return line into a box: the number's tag
// hangs from the top with the name below it, the rest stands on the bottom.
func (d *drawing) words(faces *typefaces, t Tag, b box, dot float64) error {
	head, given := t.headline()
	face := faces.bold
	if !given {
		face = faces.monoBold
	}
	head = face.clean(head)
	code := ""
	if given {
		code = faces.mono.clean(grouped(t.Code))
	}
	foot := d.foot(faces, code, faces.regular.clean(t.Return), b)
	name := faces.regular.clean(t.Name)
	nameSize := fitName(faces.regular, name, b)
	if head == "" { // nothing to hang a tag on: the name alone
		d.put(faces.regular, shorten(faces.regular, name, nameSize, b.w), b.x, b.y+nameSize, nameSize)
		return nil
	}
	const gap = 0.06 // of the box, between tag and name, and name and foot
	left := b.h - foot - gap*b.h
	if name != "" {
		left -= nameSize*lineHeight + gap/2*b.h
	}
	set, ok := setNumber(face, head, b.w, left, tagEyelet+tagEnd, tagHead)
	if !ok {
		return fmt.Errorf("%w for the number %s, which is never shortened: its type would be smaller than %.0f points",
			ErrNoRoom, excerpt(head), leastNumber/mmPerPoint)
	}
	// The number stays the largest word, even where it is set small to fit.
	nameSize = max(min(nameSize, 0.75*set.size), leastName*mmPerPoint)
	bottom := d.tag(face, set, b, given, dot)
	base := bottom + gap*b.h + nameSize*0.95
	d.put(faces.regular, shorten(faces.regular, name, nameSize, b.w), b.x, base, nameSize)
	return nil
}

// fitName picks the name's size: as the box suggests, smaller for a long name,
// but not so small that it cannot be read at arm's length.
func fitName(face *typeface, name string, b box) float64 {
	size := clampPt(0.14*b.h, leastName, 11)
	least := max(0.7*size, leastName*mmPerPoint)
	if w := face.width(name); w*size > b.w {
		size = max(b.w/w*0.999, least)
	}
	return size
}

// tag draws the number in its tie-on tag at the top of the box and returns the
// tag's lower edge. Edges lie on whole dots, so that all lines are as thick.
func (d *drawing) tag(face *typeface, set setting, b box, given bool, dot float64) float64 {
	snap := func(v float64) float64 { return math.Round(v/dot) * dot }
	em := set.size
	x, y := snap(b.x), snap(b.y)
	w := math.Floor(((tagEyelet+tagEnd)*em+set.width)/dot) * dot
	h := math.Floor((tagHead+float64(len(set.lines)-1)*leading)*em/dot) * dot
	thick := max(math.Round(outline/dot), 1) * dot
	edge := band
	if !given {
		edge = dashes
	}
	d.shapes = append(d.shapes, edge(x, y, w, h, tagCut*em, thick))
	d.shapes = append(d.shapes, ring(x+eyeletAt*em, y+h/2, eyeletOut*em, eyeletIn*em))
	base := y + (h-float64(len(set.lines)-1)*leading*em+digitH*em)/2
	for i, s := range set.lines {
		d.put(face, s, x+tagEyelet*em, base+float64(i)*leading*em, em)
	}
	return y + h
}

// foot sets return line and code on the bottom of the box and returns the
// height they take. On a low label they share a line when that holds both.
// It goes before the number is sized: a stranger with a dead phone has only
// these two lines, so they get their few millimetres first.
func (d *drawing) foot(faces *typefaces, code, owner string, b box) float64 {
	const low = 14 // mm
	codeSize := clampPt(0.11*b.h, 5.5, 9)
	size := clampPt(0.075*b.h, leastOwner, 6)
	base := b.y + b.h
	if b.h < low {
		codeSize, size = clampPt(0.13*b.h, 4.5, 6), leastOwner*mmPerPoint
		after := (faces.mono.width(code) + 1) * codeSize
		if w := faces.regular.width(owner) * size; code != "" && after+w <= b.w {
			d.put(faces.regular, owner, b.x+after, base-descent*codeSize, size)
			owner = ""
		}
	}
	lines, size := setOwner(faces.regular, owner, size, b)
	for i := len(lines) - 1; i >= 0; i-- {
		d.put(faces.regular, lines[i], b.x, base-descent*size, size)
		base -= size * lineHeight
	}
	if code != "" {
		if len(lines) > 0 && b.h >= low {
			base -= 0.35 * size
		}
		d.put(faces.mono, shorten(faces.mono, code, codeSize, b.w), b.x, base-descent*codeSize, codeSize)
		base -= codeSize * lineHeight
	}
	return b.y + b.h - base
}

// setOwner breaks the return line into lines. It is the one text a stranger
// needs whole, so it gets smaller before it is cut.
func setOwner(face *typeface, owner string, size float64, b box) ([]string, float64) {
	most := min(max(int(b.h/6), 1), 3)
	lines := wrap(face, owner, size, b.w, most)
	if len(lines) > 0 && lines[len(lines)-1] != "" && !whole(lines, owner) {
		size = leastOwner * mmPerPoint
		lines = wrap(face, owner, size, b.w, most)
	}
	return lines, size
}

// whole tells whether wrapped lines still hold every letter of a text.
func whole(lines []string, text string) bool {
	bare := func(s string) string { return strings.ReplaceAll(s, " ", "") }
	return bare(strings.Join(lines, "")) == bare(text)
}

// put adds a line of text unless it is empty: a text may have been shortened to
// nothing, and neither canvas should be asked to draw that.
func (d *drawing) put(face *typeface, text string, x, base, size float64) {
	if text != "" {
		d.lines = append(d.lines, line{face: face, text: text, x: x, base: base, size: size})
	}
}
