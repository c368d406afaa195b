package drawn

import (
	"fmt"
	"strings"

	"github.com/skip2/go-qrcode"
)

// qrModules returns the dark modules of text as rows, without a border.
func qrModules(text string) ([][]bool, error) {
	q, err := qrcode.New(text, qrcode.Medium)
	if err != nil {
		return nil, fmt.Errorf("draw tag %s: %w", text, err)
	}
	q.DisableBorder = true
	return q.Bitmap(), nil
}

// tagURL is what the QR of a tag says: the desk's address, then the code.
func tagURL(address, code string) string {
	return strings.TrimRight(address, "/") + "/T/" + code
}

// tag lays a printed tie-on tag on a face, its middle at (cx, cy), turned deg
// degrees: corners cut at the eyelet's end, QR, code in clear.
func (p *panel) tag(modules [][]bool, code string, cx, cy, deg float64) {
	const w, h = 84.0, 46.0
	x, y := cx-w/2, cy-h/2
	turned := func(o ...[]pt) [][]pt { return spun(o, cx, cy, deg) }
	shape := smooth([]pt{{x + 12, y}, {x + w, y}, {x + w, y + h}, {x + 12, y + h}, {x, y + h - 13}, {x, y + 13}}, 1.6)
	// The shadow lies lower right of a card that does not lie quite flat.
	p.shadow(4.5, 0.5, spun([][]pt{shape}, cx-1.2, cy-2.4, deg)...)
	for _, o := range turned(shape) {
		p.sweep(rgb{255, 254, 250}, pt{x, y}, rgb{240, 238, 231}, pt{x + w, y + h}, o)
	}
	string1 := stroke(wavy(pt{x + 8, cy}, pt{x - 14, cy - 4}, pt{x - 24, cy - 22}, pt{x - 40, cy - 20}, pt{x - 52, cy - 34}), 1.1)
	p.veil(soot, 0.25, turned(shifted(string1, 0.8, 1.6))...)
	p.fill(rgb{34, 100, 84}, turned(ring(x+8, cy, 4.2, 2.2)...)...)
	p.fill(rgb{122, 96, 62}, turned(ring(x+8, cy, 2.2, 1.9)...)...)
	p.fill(rgb{196, 178, 140}, turned(string1)...)
	// 34 mm is larger than printed tags have it: the photo shows the tag from
	// an arm's length, and readers want four pixels a module after JPEG.
	const side = 34.0
	m := side / float64(len(modules))
	qx, qy := x+16.5, y+(h-side)/2
	var dark [][]pt
	for r, row := range modules {
		for c, on := range row {
			if on {
				dark = append(dark, rect(qx+float64(c)*m, qy+float64(r)*m, m, m))
			}
		}
	}
	p.fill(rgb{22, 22, 22}, turned(dark...)...)
	tx := qx + side + 5
	line := func(c rgb, st style, ty, size float64, s string) {
		o, _ := letters(st, tx, ty, size, s)
		p.fill(c, turned(o...)...)
	}
	// In two halves, as one reads a code aloud.
	half := len(code) / 2
	line(ink, typedBold, y+20, 9.2, code[:half])
	line(ink, typedBold, y+30, 9.2, code[half:])
	line(rgb{34, 100, 84}, medium, y+39, 4, "scan me")
}
