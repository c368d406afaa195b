package labels

import (
	"sync"
	"unicode"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/gomonobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// missing stands for a letter the fonts do not have, so that a reader sees
// that something is there.
const missing = '□'

// A typeface is one of the fonts embedded in the PDF and drawn in the raster.
type typeface struct {
	family, style string // as fpdf calls it
	ttf           []byte
	font          *sfnt.Font
}

// typefaces are parsed once; the fonts are compiled in, so an error here is a
// broken build and reported by whoever draws first.
type typefaces struct {
	regular, bold, mono, monoBold *typeface
}

var loadFaces = sync.OnceValues(func() (*typefaces, error) {
	var firstErr error
	load := func(family, style string, ttf []byte) *typeface {
		f, err := sfnt.Parse(ttf)
		if err != nil && firstErr == nil {
			firstErr = err
		}
		return &typeface{family: family, style: style, ttf: ttf, font: f}
	}
	t := &typefaces{
		regular:  load("plain", "", goregular.TTF),
		bold:     load("plain", "B", gobold.TTF),
		mono:     load("mono", "", gomono.TTF),
		monoBold: load("mono", "B", gomonobold.TTF),
	}
	return t, firstErr
})

// all lists the faces in the order they enter a PDF.
func (t *typefaces) all() []*typeface {
	return []*typeface{t.regular, t.bold, t.mono, t.monoBold}
}

// has tells whether the face can draw a rune. fpdf panics above U+FFFF, so
// such runes count as absent whatever a font holds.
func (f *typeface) has(b *sfnt.Buffer, r rune) bool {
	if r > 0xFFFF {
		return false
	}
	g, err := f.font.GlyphIndex(b, r)
	return err == nil && g != 0
}

// clean makes a text fit to draw: white space and control characters become
// single spaces, invisible format characters vanish, and letters the face
// lacks become boxes. Combining marks it lacks vanish, a box would separate
// them from their letter.
func (f *typeface) clean(s string) string {
	var b sfnt.Buffer
	out := make([]rune, 0, min(len(s), 256))
	gap := false
	for _, r := range s {
		switch {
		case unicode.IsSpace(r) || unicode.IsControl(r):
			gap = len(out) > 0
			continue
		case unicode.In(r, unicode.Cf, unicode.Variation_Selector):
			continue
		case !f.has(&b, r):
			if unicode.In(r, unicode.Mn, unicode.Me) {
				continue
			}
			r = missing
		}
		if gap {
			out = append(out, ' ')
			gap = false
		}
		out = append(out, r)
	}
	return string(out)
}

// advance is the width of one rune in parts of the type size. It is read in the
// font's own units, so that no printer's resolution changes a line break.
func (f *typeface) advance(b *sfnt.Buffer, r rune) float64 {
	units := fixed.Int26_6(f.font.UnitsPerEm())
	g, err := f.font.GlyphIndex(b, r)
	if err != nil {
		return 0
	}
	a, err := f.font.GlyphAdvance(b, g, units, font.HintingNone)
	if err != nil {
		return 0
	}
	return float64(a) / float64(units)
}

// width measures a cleaned text in parts of the type size. Letters are not
// kerned: fpdf does not, and both outputs must agree.
func (f *typeface) width(s string) float64 {
	var b sfnt.Buffer
	var w float64
	for _, r := range s {
		w += f.advance(&b, r)
	}
	return w
}

// prefix returns how many bytes of a text fit into a width, measured in parts
// of the type size.
func (f *typeface) prefix(s string, width float64) int {
	var b sfnt.Buffer
	var w float64
	for i, r := range s {
		if w += f.advance(&b, r); w > width {
			return i
		}
	}
	return len(s)
}
