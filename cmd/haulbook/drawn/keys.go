package drawn

import (
	"cmp"
	"math"
	"slices"
)

// keyPitch is the distance of two keys in millimetres: 19.05 has been the
// common pitch of full-size keyboards (common practice, no source).
const keyPitch = 19.05

// keycaps are the colours of a keyboard.
type keycaps struct{ letter, edge, accent, legend rgb }

// typist is the block of keys under ten fingers; each key is its legend and
// its width in quarters of a pitch, a lower-case first letter marks an edge
// key, a star an accent key.
var typist = [][]string{
	{"esc4", "14", "24", "34", "44", "54", "64", "74", "84", "94", "04", "-4", "=4", "*del6"},
	{"tab6", "Q4", "W4", "E4", "R4", "T4", "Y4", "U4", "I4", "O4", "P4", "[4", "]4", "ret4"},
	{"ctl7", "A4", "S4", "D4", "F4", "G4", "H4", "J4", "K4", "L4", ";4", "'4", "*enter7"},
	{"shift9", "Z4", "X4", "C4", "V4", "B4", "N4", "M4", ",4", ".4", "/4", "shift9"},
	{"fn7", "alt6", "_32", "*alt6", "fn7"},
}

// numbers is the block for figures, four keys wide.
var numbers = [][]string{
	{"74", "84", "94", "-4"}, {"44", "54", "64", "+4"}, {"14", "24", "34", "*en4"}, {"08", ".4", "=4"},
}

// width of the typist block in millimetres.
const typistWidth = 58.0 / 4 * keyPitch

// keys draws rows of keys from (x, y), unit the pitch; up is how high caps stand.
func (p *panel) keys(rows [][]string, x, y, unit, up float64, kc keycaps) {
	most := 0.0
	for _, row := range rows {
		most = max(most, rowWidth(row))
	}
	p.sunk(soot.blend(kc.edge, 0.2), x-3, y-3, most*unit/4+6, float64(len(rows))*unit+6, 3)
	type placed struct {
		legend               string
		x, y, w, aside, away float64
	}
	eye := p.o.toward(p.cam.eye)
	ex, ey := eye.dot(p.u), eye.dot(p.v)
	var all []placed
	for r, row := range rows {
		at, down := x, y+float64(r)*unit
		for _, k := range row {
			legend, w := key(k)
			w *= unit / 4
			all = append(all, placed{legend, at, down, w, math.Abs(at + w/2 - ex), math.Abs(down + unit/2 - ey)})
			at += w
		}
	}
	// The row nearest to the eye last, in it the nearest key: it stands before
	// its neighbours from wherever one looks.
	slices.SortStableFunc(all, func(a, b placed) int {
		return cmp.Or(cmp.Compare(b.away, a.away), cmp.Compare(b.aside, a.aside))
	})
	for _, k := range all {
		p.key(k.legend, k.x, k.y, k.w, unit, up, kc)
	}
}

func rowWidth(row []string) (w float64) {
	for _, k := range row {
		_, kw := key(k)
		w += kw
	}
	return w
}

// key parts a key's description into legend and width; the width is its last
// one or two digits, but a legend is never empty.
func key(k string) (legend string, w float64) {
	cut := len(k) - 1
	if len(k) > 2 && k[cut-1] >= '0' && k[cut-1] <= '9' && k[0] == '_' {
		cut--
	}
	for _, d := range k[cut:] {
		w = w*10 + float64(d-'0')
	}
	return k[:cut], w
}

func (p *panel) key(legend string, x, y, w, h, up float64, kc keycaps) {
	c := kc.letter
	switch {
	case legend[0] == '*':
		c, legend = kc.accent, legend[1:]
	case legend[0] >= 'a' && legend[0] <= 'z':
		c = kc.edge
	}
	g := h * 0.04
	base := rounded(x+g, y+g, w-2*g, h-2*g, h*0.1)
	lid := rounded(x+h*0.14, y+h*0.09, w-h*0.28, h*0.68, h*0.14)
	p.raised(c.times(0.70), c, base, lid, up)
	if legend == "_" {
		return
	}
	size := h * 0.30
	if len(legend) > 1 {
		size = h * 0.19
	}
	ink := kc.legend
	if c[0]+c[1]+c[2] < 330 {
		ink = ivory
	}
	o, _ := letters(medium, x+h*0.22, y+h*0.16+size*0.85, size, legend)
	for i := range o {
		o[i] = p.seen(o[i], up)
	}
	p.canvas.fill(glaze(ink.times(p.lit), 0.9), o...)
}
