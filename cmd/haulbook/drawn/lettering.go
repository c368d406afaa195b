package drawn

import (
	"fmt"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gobolditalic"
	"golang.org/x/image/font/gofont/gomedium"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/gomonobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/gofont/gosmallcaps"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// style picks a lettering.
type style int

const (
	plain style = iota
	medium
	bold
	slanted // bold and leaning, for badges
	caps
	typed
	typedBold
)

// typefaces parses the fonts once, at the first letter drawn, because half the
// users of this package never draw one.
var typefaces = sync.OnceValues(func() ([]*sfnt.Font, error) {
	files := [][]byte{plain: goregular.TTF, medium: gomedium.TTF, bold: gobold.TTF, slanted: gobolditalic.TTF,
		caps: gosmallcaps.TTF, typed: gomono.TTF, typedBold: gomonobold.TTF}
	out := make([]*sfnt.Font, len(files))
	for i, ttf := range files {
		f, err := sfnt.Parse(ttf)
		if err != nil {
			return nil, fmt.Errorf("parse lettering %d: %w", i, err)
		}
		out[i] = f
	}
	return out, nil
})

// em is the size glyph outlines are taken at before they are scaled: large
// enough that rounding to 1/64 does not show.
const em = 1024

// letters returns the outlines of s with its baseline starting at (x, y), size
// high, and how far it advances. A character the font lacks shows the font's own
// box. No letters come back when the fonts do not parse; a test holds that they do.
func letters(st style, x, y, size float64, s string) (outlines [][]pt, advance float64) {
	fonts, err := typefaces()
	if err != nil {
		return nil, 0
	}
	f := fonts[st]
	var buf sfnt.Buffer
	k := size / em / 64
	for _, r := range s {
		g, err := f.GlyphIndex(&buf, r)
		if err != nil {
			continue
		}
		segments, err := f.LoadGlyph(&buf, g, fixed.I(em), nil)
		if err != nil {
			continue
		}
		outlines = append(outlines, flattened(segments, x+advance, y, k)...)
		if a, err := f.GlyphAdvance(&buf, g, fixed.I(em), font.HintingNone); err == nil {
			advance += float64(a) * k
		}
	}
	return outlines, advance
}

func flattened(segments sfnt.Segments, x, y, k float64) (outlines [][]pt) {
	at := func(p fixed.Point26_6) pt { return pt{x + float64(p.X)*k, y + float64(p.Y)*k} }
	var o []pt
	for _, s := range segments {
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			if len(o) > 2 {
				outlines = append(outlines, o)
			}
			o = []pt{at(s.Args[0])}
		case sfnt.SegmentOpLineTo:
			o = append(o, at(s.Args[0]))
		case sfnt.SegmentOpQuadTo:
			o = append(o, bend(o[len(o)-1], at(s.Args[0]), at(s.Args[1]), 5)[1:]...)
		case sfnt.SegmentOpCubeTo:
			// The fonts above are TrueType and have none; the end point keeps the outline closed.
			o = append(o, at(s.Args[2]))
		}
	}
	if len(o) > 2 {
		outlines = append(outlines, o)
	}
	return outlines
}

// write puts a line of text on a face; align 0 starts at x, 0.5 centres, 1 ends there.
func (p *panel) write(c rgb, st style, x, y, size, align float64, s string) {
	if align != 0 {
		_, w := letters(st, 0, 0, size, s)
		x -= w * align
	}
	o, _ := letters(st, x, y, size, s)
	p.fill(c, o...)
}

// squeezed writes like write, smaller where s would be wider than width.
func (p *panel) squeezed(c rgb, st style, x, y, size, width float64, s string) {
	if _, w := letters(st, 0, 0, size, s); w > width {
		size *= width / w
	}
	p.write(c, st, x, y, size, 0, s)
}
