package drawn

import (
	"github.com/boombuler/barcode/code128"
)

// plateStyle is what a serial plate is made of.
type plateStyle int

const (
	metal    plateStyle = iota // riveted, engraved
	printed                    // printed paper
	embossed                   // black, raised lettering
	foil                       // silver foil with a printed band
	barred                     // printed paper with a Code 128 of the serial
)

// The plates of all makers are as large as a playing card lying on its side.
const plateW, plateH = 100.0, 60.0

// plate mounts the thing's serial plate with its middle at (cx, cy).
func (p *panel) plate(t Thing, cx, cy float64) {
	x, y := cx-plateW/2, cy-plateH/2
	p.shadow(1.6, 0.55, rounded(x+0.4, y+0.8, plateW, plateH, 3))
	switch t.style {
	case metal:
		p.metalPlate(t, x, y)
	case embossed:
		p.embossedPlate(t, x, y)
	case foil:
		p.foilPlate(t, x, y)
	default:
		p.paperPlate(t, x, y)
	}
}

func (p *panel) metalPlate(t Thing, x, y float64) {
	p.sweep(rgb{226, 226, 220}, pt{x, y}, rgb{176, 176, 170}, pt{x + plateW*0.7, y + plateH}, rounded(x, y, plateW, plateH, 3))
	var brushed [][]pt
	for i := 0; i < 46; i++ {
		// Brush marks need no chance: steps that never meet look as uneven.
		brushed = append(brushed, rect(x+2+float64(i*37%60), y+1.4+float64(i)*1.25, 30, 0.22))
	}
	p.canvas.fillEach(glaze(rgb{255, 255, 255}, 0.35), p.allSeen(brushed))
	p.veil(ink, 0.75, border(x+1.4, y+1.4, plateW-2.8, plateH-2.8, 2.4, 0.5)...)
	for _, q := range []pt{{6, 6}, {plateW - 6, 6}, {6, plateH - 6}, {plateW - 6, plateH - 6}} {
		p.fill(rgb{120, 120, 116}, circle(x+q.x+0.3, y+q.y+0.5, 2.7))
		p.sweep(chrome.times(1.1), pt{x + q.x - 2, y + q.y - 2}, steel.times(0.7), pt{x + q.x + 2, y + q.y + 2}, circle(x+q.x, y+q.y, 2.4))
	}
	p.lines(ink, bold, typed, typedBold, t, x+12, y+6, plateW-24)
}

func (p *panel) embossedPlate(t Thing, x, y float64) {
	p.sweep(rgb{52, 52, 54}, pt{x, y}, rgb{24, 24, 26}, pt{x + plateW, y + plateH}, rounded(x, y, plateW, plateH, 5))
	p.fill(rgb{190, 188, 178}, border(x+2, y+2, plateW-4, plateH-4, 4, 0.8)...)
	// The lower right side of raised letters is dark: draw them twice, a little apart.
	p.lines(rgb{8, 8, 8}, bold, medium, bold, t, x+10.35, y+6.4, plateW-20)
	p.lines(rgb{222, 220, 208}, bold, medium, bold, t, x+10, y+6, plateW-20)
}

func (p *panel) foilPlate(t Thing, x, y float64) {
	p.sweep(rgb{232, 233, 232}, pt{x, y}, rgb{192, 196, 200}, pt{x + plateW, y + plateH*0.6}, rounded(x, y, plateW, plateH, 2))
	p.glow(rgb{255, 255, 255}, 0.35, []pt{{x + 58, y + 1}, {x + 74, y + 1}, {x + 44, y + plateH - 1}, {x + 28, y + plateH - 1}})
	p.fill(rgb{42, 76, 108}, rounded(x+1.5, y+1.5, plateW-3, 15.5, 1.4))
	p.squeezed(rgb{240, 242, 240}, bold, x+7, y+12.8, 10, plateW-14, t.Maker)
	p.squeezed(ink, plain, x+7, y+24, 5.6, plateW-14, t.Name)
	p.squeezed(ink, medium, x+7, y+33, 6.6, plateW-14, "Model "+t.Model+"   "+t.rating)
	p.fill(rgb{250, 250, 246}, rounded(x+6, y+39, plateW-12, 15, 1))
	p.squeezed(ink, typedBold, x+8, y+50, 9.6, plateW-16, "S/N "+t.Serial)
}

func (p *panel) paperPlate(t Thing, x, y float64) {
	sheet := rounded(x, y, plateW, plateH, 2.2)
	p.sweep(rgb{248, 243, 226}, pt{x, y}, rgb{232, 222, 198}, pt{x + plateW, y + plateH}, sheet)
	p.veil(rgb{150, 118, 70}, 0.16, smooth([]pt{{x + plateW - 26, y}, {x + plateW, y}, {x + plateW, y + 20}}, 2))
	p.veil(ink, 0.8, border(x+2, y+2, plateW-4, plateH-4, 1.4, 0.45)...)
	if t.style != barred {
		p.lines(ink, bold, typed, typedBold, t, x+7, y+5.5, plateW-14)
		return
	}
	p.squeezed(ink, bold, x+7, y+13, 9, plateW-14, t.Maker)
	p.squeezed(ink, typed, x+7, y+20.6, 5, plateW-14, t.Name)
	p.squeezed(ink, typedBold, x+7, y+28.6, 6, plateW-14, t.Model+"  "+t.rating)
	p.bars(t.Serial, x+5, y+31.5, plateW-10, 14.5)
	p.squeezed(ink, typedBold, x+7, y+54.6, 7.6, plateW-14, "SER. "+t.Serial)
}

// lines sets the four lines most plates have.
func (p *panel) lines(c rgb, head, body, serial style, t Thing, x, y, w float64) {
	p.squeezed(c, head, x, y+9.6, 10.5, w, t.Maker)
	p.squeezed(c, body, x, y+20, 6.2, w, t.Name)
	p.squeezed(c, body, x, y+31, 7, w, "MODEL "+t.Model+"  "+t.rating)
	p.squeezed(c, serial, x, y+45, 10, w, "SER. "+t.Serial)
}

// bars prints text as Code 128, a quiet zone of ten modules at either end
// (ISO/IEC 15417, 4.2). Text it cannot hold prints no bars.
func (p *panel) bars(text string, x, y, w, h float64) {
	code, err := code128.Encode(text)
	if err != nil {
		return
	}
	n := code.Bounds().Dx()
	m := w / float64(n+20)
	p.fill(rgb{252, 250, 242}, rect(x, y, w, h))
	var bars [][]pt
	for i := 0; i < n; i++ {
		if r, _, _, _ := code.At(i, 0).RGBA(); r == 0 {
			bars = append(bars, rect(x+(10+float64(i))*m, y, m, h))
		}
	}
	p.fill(rgb{24, 23, 22}, bars...)
}
