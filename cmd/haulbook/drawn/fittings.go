package drawn

import "math"

// Colours that come back on many things.
var (
	ink     = rgb{44, 42, 40}
	soot    = rgb{30, 31, 32}
	steel   = rgb{168, 170, 168}
	chrome  = rgb{214, 214, 208}
	paper   = rgb{246, 242, 230}
	ivory   = rgb{236, 230, 214}
	verdant = rgb{122, 224, 170}
	amber   = rgb{255, 186, 84}
	ember   = rgb{228, 74, 52}
)

// screw is a slotted head; deg is how far its slot is turned.
func (p *panel) screw(x, y, r, deg float64) {
	p.veil(soot, 0.35, circle(x+r*0.12, y+r*0.22, r*1.12))
	p.sweep(chrome.times(0.92), pt{x - r, y - r}, steel.times(0.62), pt{x + r, y + r}, circle(x, y, r))
	p.fill(ink, spun([][]pt{rect(x-r*0.8, y-r*0.14, r*1.6, r*0.28)}, x, y, deg)...)
}

// vents are n slots w wide and h high, one below the other, pitch apart.
func (p *panel) vents(c rgb, x, y, w, h, pitch float64, n int) {
	var dark, lit [][]pt
	r := math.Min(w, h) / 2
	for i := 0; i < n; i++ {
		dark = append(dark, rounded(x, y+float64(i)*pitch, w, h, r))
		lit = append(lit, rounded(x+r*0.2, y+float64(i)*pitch+r*0.5, w, h, r))
	}
	p.veil(rgb{255, 252, 244}, 0.4, lit...)
	p.fill(c, dark...)
}

// slits are vents that stand upright.
func (p *panel) slits(c rgb, x, y, w, h, pitch float64, n int) {
	for i := 0; i < n; i++ {
		p.vents(c, x+float64(i)*pitch, y, w, h, 1, 1)
	}
}

// lamp is a small light, burning or dark.
func (p *panel) lamp(c rgb, x, y, r float64, on bool) {
	if !on {
		p.fill(c.times(0.38), circle(x, y, r))
		p.glow(rgb{255, 255, 255}, 0.3, circle(x-r*0.3, y-r*0.35, r*0.3))
		return
	}
	p.canvas.soft(glaze(c, 0.55), 2.2*r*p.px(x, y), p.seen(circle(x, y, r*1.7), 0))
	p.glow(c, 1, circle(x, y, r))
	p.glow(rgb{255, 250, 235}, 0.75, circle(x, y, r*0.45))
}

// button is a small raised cap with a rounded rectangle for a plan.
func (p *panel) button(c rgb, x, y, w, h, up float64) {
	p.veil(soot, 0.4, rounded(x-0.8, y-0.4, w+1.6, h+2, 2))
	p.raised(c.times(0.68), c, rounded(x, y, w, h, 1.5), rounded(x+up*0.12, y+up*0.12, w-up*0.24, h-up*0.24, 1.5), up)
}

// knob is a round button or dial.
func (p *panel) knob(c rgb, x, y, r, up float64) {
	p.veil(soot, 0.35, circle(x+r*0.08, y+r*0.16, r*1.1))
	p.raised(c.times(0.6), c, circle(x, y, r), circle(x, y, r*0.9), up)
}

// slot is the front of a disk drive: a black face, a long opening, a lever, a lamp.
func (p *panel) slot(x, y, w, h float64, busy bool) {
	p.sunk(soot, x, y, w, h, 2)
	p.fill(rgb{52, 52, 52}, rounded(x+2, y+2, w-4, h-4, 1.5))
	gap := y + h*0.42
	p.fill(rgb{12, 12, 12}, rounded(x+w*0.05, gap, w*0.9, math.Max(2.6, h*0.08), 1.2))
	p.veil(rgb{255, 255, 255}, 0.16, rect(x+w*0.05, gap+math.Max(2.6, h*0.08), w*0.9, 0.8))
	lw := math.Min(26, w*0.2)
	p.raised(rgb{34, 34, 34}, rgb{74, 74, 74}, rounded(x+w/2-lw/2, gap-3, lw, 11, 1.5), rounded(x+w/2-lw/2+1, gap-2, lw-2, 8, 1.5), 7)
	p.lamp(ember, x+w*0.1, y+h*0.74, 2, busy)
}

// socket is a D-shaped connector with two rows of pins.
func (p *panel) socket(x, y float64, pins int) {
	w := 10 + float64((pins+1)/2)*2.8
	p.veil(soot, 0.3, rounded(x-1, y+0.6, w+2, 13, 2))
	p.sweep(chrome, pt{x, y}, steel.times(0.8), pt{x, y + 12}, rounded(x, y, w, 12.4, 2))
	p.fill(rgb{58, 60, 66}, smooth([]pt{{x + 4, y + 2.4}, {x + w - 4, y + 2.4}, {x + w - 5.6, y + 10}, {x + 5.6, y + 10}}, 2))
	var holes [][]pt
	for i := 0; i < pins; i++ {
		row, col := i%2, float64(i/2)
		holes = append(holes, circle(x+7+col*2.8+float64(row)*1.2, y+4.6+float64(row)*3.2, 0.75))
	}
	p.fill(rgb{196, 168, 92}, holes...)
	p.screw(x-4, y+6.2, 2.2, 20)
	p.screw(x+w+4, y+6.2, 2.2, 110)
}

// roundSocket is a barrel connector with pins in an arc.
func (p *panel) roundSocket(x, y, r float64, pins int) {
	p.fill(steel.times(0.8), ring(x, y, r, r*0.8)...)
	p.fill(soot, circle(x, y, r*0.8))
	var holes [][]pt
	for i := 0; i < pins; i++ {
		s, c := math.Sincos(math.Pi * (0.1 + 0.8*float64(i)/float64(max(1, pins-1))))
		holes = append(holes, circle(x+c*r*0.5, y+s*r*0.45, r*0.1))
	}
	p.fill(rgb{150, 142, 120}, holes...)
}

// inlet is where the mains lead goes in.
func (p *panel) inlet(x, y float64) {
	p.sunk(soot, x, y, 30, 22, 4)
	for i := 0.0; i < 3; i++ {
		p.fill(chrome.times(0.8), rect(x+7+i*7, y+8-3*math.Abs(i-1)+3, 1.8, 7))
	}
	p.screw(x-5, y+11, 2.6, 45)
	p.screw(x+35, y+11, 2.6, 95)
}

// tube is a picture tube behind its bezel, lit lines and all.
func (p *panel) tube(x, y, w, h float64, light rgb, lines []string) {
	p.veil(soot, 0.4, rounded(x-7, y-7, w+14, h+14, 14))
	p.sweep(rgb{74, 72, 68}, pt{x, y - 6}, rgb{120, 116, 108}, pt{x, y + h + 6}, rounded(x-6, y-5, w+12, h+11, 13))
	glass := smooth(pillow(x+2, y+2, w-4, h-4, h*0.022), 12)
	deep := light.blend(rgb{16, 20, 20}, 0.88)
	p.sweep(deep.times(1.5), pt{x, y}, deep.times(0.85), pt{x + w*0.5, y + h}, glass)
	size := h / 13
	for i, s := range lines {
		o, _ := letters(typedBold, x+w*0.08, y+h*0.13+float64(i)*size*1.35, size, s)
		seen := p.allSeen(o)
		p.canvas.soft(glaze(light, 0.5), size*0.5*p.px(x, y), seen...)
		p.canvas.fill(glaze(light.blend(rgb{255, 255, 255}, 0.18), 0.95), seen...)
	}
	// The window of the room, mirrored in the glass.
	shine := smooth([]pt{{x + w*0.60, y + h*0.06}, {x + w*0.93, y + h*0.07}, {x + w*0.94, y + h*0.40}, {x + w*0.72, y + h*0.38}}, 9)
	p.glow(rgb{232, 240, 240}, 0.085, shine)
	p.veil(rgb{}, 0.3, append([][]pt{}, border(x+2, y+2, w-4, h-4, 12, 3)...)...)
}

// feet are four rubber discs seen on an underside.
func (p *panel) feet() {
	for _, q := range []pt{{22, 22}, {p.w - 22, 22}, {22, p.h - 22}, {p.w - 22, p.h - 22}} {
		p.knob(rgb{60, 58, 56}, q.x, q.y, 10, 4)
		p.fill(rgb{40, 39, 38}, circle(q.x, q.y, 3))
	}
}

// scuffs are the small marks of thirty years: n faint scratches, dark or pale.
func (p *panel) scuffs(d *dice, n int) {
	for i := 0; i < n; i++ {
		x, y := p.w*d.between(0.05, 0.95), p.h*d.between(0.1, 0.9)
		l := d.between(4, 18)
		mark := spun([][]pt{rect(x, y, l, 0.35)}, x, y, d.between(-70, 70))
		if d.intn(2) == 0 {
			p.veil(soot, 0.22, mark...)
		} else {
			p.veil(rgb{255, 255, 250}, 0.4, mark...)
		}
	}
}
