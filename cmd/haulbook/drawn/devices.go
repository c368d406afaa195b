package drawn

// The things below are measured in millimetres, roughly as such things were:
// what matters is that no two of them have the same outline, so that a wrong
// boundary between groups shows at a glance.

// printer hammers dots on folded paper.
func printer(t Thing, c rgb) model {
	body := wedge(c, 10, 0, 6, 70, 420, 70, 104, 160)
	body.faces[top].draw = func(p *panel) {
		p.sunk(soot, 34, 20, p.w-120, 60, 8)
		p.veil(rgb{150, 170, 176}, 0.35, rounded(38, 24, p.w-128, 52, 6))
		p.veil(rgb{255, 255, 255}, 0.22, []pt{{60, 26}, {130, 26}, {100, 74}, {44, 74}})
		p.write(ink, bold, 34, 118, 20, 0, t.Maker)
		p.write(ink.blend(c, 0.3), plain, 34, 140, 13, 0, t.Model)
		for i, s := range []string{"LINE", "PAGE", "READY"} {
			y := 34 + float64(i)*34
			p.button([]rgb{{92, 90, 86}, {92, 90, 86}, {96, 142, 120}}[i], p.w-62, y, 34, 16, 5)
			p.write(ink, medium, p.w-45, y+25, 6.5, 0.5, s)
		}
		p.lamp(verdant, p.w-74, 110, 3, true)
	}
	rear := box(c, 8, 0, 6, -60, 420, 108, 100)
	rear.faces[top].draw = func(p *panel) { p.sunk(soot, 40, 40, p.w-80, 26, 3) }
	rear.faces[back].draw = func(p *panel) {
		p.plate(t, 120, 56)
		p.socket(220, 30, 36)
		p.inlet(340, 40)
		p.vents(soot, 220, 62, 100, 3.4, 9, 4)
	}
	for _, f := range []int{left, right} {
		rear.faces[f].draw = func(p *panel) { p.knob(rgb{58, 56, 54}, p.w/2, 32, 21, 22) }
	}
	sheet := paperSheet()
	return model{scene{[]solid{rear, body, sheet}, nil}, map[string]spot{
		"plate": {0, back, 120, 56, 150, -5, 4}, "detail": {1, top, 320, 70, 220, 12, -34},
		"tag": {1, top, 190, 110, 220, -6, -6}, "ports": {0, back, 250, 56, 260, 14, 18},
	}}
}

// paperSheet leans back out of the printer, banded, with holes along its edges.
func paperSheet() solid {
	var c [8]vec
	for i := range c {
		c[i] = vec{-150, 114, -64}
		if i&1 != 0 {
			c[i].x = 150
		}
		if i&2 != 0 {
			c[i].y, c[i].z = 330, -128
		}
		if i&4 != 0 {
			c[i].z++
		}
	}
	s := hexa(paper, 0.4, c)
	s.faces[front].draw = func(p *panel) {
		for i := 0.0; i < 8; i++ {
			p.veil(rgb{150, 200, 166}, 0.40, rect(20, 8+i*28, p.w-40, 14))
		}
		var holes [][]pt
		for i := 0.0; i*12+8 < p.h; i++ {
			holes = append(holes, circle(9, 8+i*12, 2.6), circle(p.w-9, 8+i*12, 2.6))
		}
		p.fill(rgb{150, 146, 134}, holes...)
		for i, l := range []string{"STOCK LIST       PAGE 3", "0117  FUSES 2A      40", "0118  FUSES 3A      12", "0119  LAMPS 12V     25",
			"0120  LEADS, MAINS   9", "0121  RIBBON, BLACK  6", "0122  PAPER, BOX     2", "0123  KNOBS, SMALL  31"} {
			p.write(rgb{70, 74, 96}, typed, 28, 19+float64(i)*28, 14, 0, l)
		}
	}
	return s
}

// diskDrive is a small box with one wide mouth, a disk lying beside it.
func diskDrive(t Thing, c rgb) model {
	body := box(c, 6, -30, 5, 0, 172, 84, 270)
	body.faces[front].draw = func(p *panel) {
		p.slot(10, 9, p.w-20, 52, true)
		p.squeezed(ink, bold, 12, 75, 11, 106, t.Maker)
		p.write(ink.blend(c, 0.3), plain, p.w-12, 75, 10, 1, t.Model)
	}
	body.faces[back].draw = func(p *panel) {
		p.plate(t, 64, 43)
		p.roundSocket(132, 24, 9, 6)
		p.roundSocket(132, 52, 9, 6)
	}
	for _, f := range []int{left, right} {
		body.faces[f].draw = func(p *panel) { p.slits(soot, 60, 26, 4, 34, 12, 13) }
	}
	body.faces[top].draw = func(p *panel) { p.vents(soot, 36, 30, 100, 4, 12, 6); p.scuffs(throw(2, 2), 6) }
	disk := box(rgb{44, 44, 46}, 1, 156, 0, 150, 133, 2, 133)
	disk.faces[top].draw = func(p *panel) {
		p.fill(rgb{28, 28, 30}, circle(66, 66, 19))
		p.fill(rgb{120, 92, 70}, ring(66, 66, 19, 14)...)
		p.fill(rgb{120, 92, 70}, rounded(62, 92, 9, 32, 4))
		p.fill(paper, rounded(10, 6, 84, 34, 2))
		p.fill(rgb{196, 84, 62}, rect(10, 6, 84, 7))
		p.write(rgb{52, 66, 120}, slanted, 16, 30, 13, 0, "work disk 2")
	}
	// Feet a little narrower than the case leave the dark gap that makes it stand.
	foot := box(rgb{50, 48, 46}, 2, -30, 0, 0, 150, 5, 230)
	return model{scene{[]solid{body, foot, disk}, []lead{
		{rgb{120, 116, 108}, 9, wavy(pt{30, -136}, pt{60, -210}, pt{190, -220}, pt{240, -130}, pt{330, -120})},
	}}, map[string]spot{
		"plate": {0, back, 64, 43, 146, 4, 5}, "detail": {0, front, 86, 36, 190, 22, 14},
		"tag": {0, top, 90, 180, 190, 6, -14}, "ports": {0, back, 90, 42, 210, -16, 16},
	}}
}

// modem holds a telephone's handset in two rubber cups.
func modem(t Thing, c rgb) model {
	body := box(c, 9, 0, 5, 0, 300, 56, 150)
	body.faces[top].draw = func(p *panel) {
		// Cups are hollow: each ring further in lies deeper and darker.
		for _, x := range []float64{62, 214} {
			p.shadow(5, 0.5, circle(x+2, 78, 47))
			p.raised(rgb{30, 30, 30}, rgb{58, 57, 56}, circle(x, 75, 45), circle(x, 75, 43), 22)
			for i, r := range []float64{38, 30, 21} {
				lid := p.seen(circle(x, 75, r), 22-float64(i)*3)
				p.canvas.fill(flat(rgb{34, 33, 33}.times(p.lit*(1-float64(i)*0.22))), lid)
			}
		}
		p.write(ink, slanted, 138, 142, 12, 0.5, t.Maker)
	}
	body.faces[front].draw = func(p *panel) {
		p.fill(rgb{64, 22, 22}, rounded(14, 12, 170, 32, 3))
		for i, s := range []string{"ON", "CARRIER", "SEND", "RECV", "TEST"} {
			p.lamp(rgb{255, 92, 66}, 32+float64(i)*33, 23, 3, i != 4 && i != 2)
			p.write(rgb{236, 206, 196}, medium, 32+float64(i)*33, 39, 6, 0.5, s)
		}
		p.write(ink, bold, 202, 34, 15, 0, t.Model)
		p.button(rgb{70, 68, 66}, 264, 18, 20, 18, 5)
	}
	body.faces[back].draw = func(p *panel) {
		p.socket(60, 18, 25)
		p.roundSocket(170, 28, 10, 4)
		p.inlet(220, 16)
	}
	foot := box(rgb{50, 48, 46}, 2, 0, 0, 0, 270, 5, 120)
	return model{scene{[]solid{foot, body}, []lead{
		{rgb{196, 186, 168}, 6, wavy(pt{140, -60}, pt{200, -120}, pt{240, 20}, pt{210, 90}, pt{280, 150})},
	}}, map[string]spot{
		"detail": {1, front, 110, 28, 190, -16, 22}, "ports": {1, back, 150, 28, 260, 12, 20},
		"tag": {1, top, 138, 78, 200, 0, -10},
	}}
}

// tapeDrive shows its two reels behind glass.
func tapeDrive(t Thing, c rgb) model {
	body := box(c, 8, 0, 8, 0, 290, 330, 220)
	body.faces[front].draw = func(p *panel) {
		p.fill(c.times(0.5), rounded(14, 14, p.w-28, 214, 8))
		p.fill(rgb{30, 32, 34}, rounded(22, 22, p.w-44, 198, 6))
		p.reel(84, 92, 56, 44)
		p.reel(206, 92, 56, 30)
		// The tape runs from reel to reel around two posts, past the head.
		p.fill(rgb{92, 62, 44}, stroke([]pt{{40, 112}, {60, 196}, {145, 204}, {230, 196}, {236, 100}}, 2.4))
		p.fill(steel, rounded(122, 186, 46, 22, 3))
		for _, x := range []float64{60, 230} {
			p.knob(chrome, x, 196, 8, 8)
		}
		p.glow(rgb{255, 255, 255}, 0.09, []pt{{120, 24}, {200, 24}, {110, 218}, {30, 218}})
		p.write(ink, bold, 20, 258, 17, 0, t.Maker)
		p.write(ink.blend(c, 0.3), plain, p.w-20, 258, 13, 1, t.Model)
		for i, s := range []rgb{{88, 86, 84}, {88, 86, 84}, {96, 142, 120}, {196, 84, 62}} {
			p.button(s, 22+float64(i)*44, 276, 36, 24, 8)
		}
		p.lamp(verdant, 228, 288, 4, true)
		p.lamp(ember, 250, 288, 4, false)
	}
	body.faces[back].draw = func(p *panel) {
		p.vents(soot, 40, 24, 210, 4, 11, 7)
		p.plate(t, 145, 150)
		p.socket(50, 220, 37)
		p.inlet(200, 214)
		p.socket(50, 258, 37)
	}
	for _, f := range []int{left, right} {
		body.faces[f].draw = func(p *panel) {
			p.sunk(c.times(0.45), p.w/2-50, 30, 100, 30, 12)
			p.vents(soot, 40, 230, p.w-80, 4, 12, 6)
		}
	}
	foot := box(rgb{50, 48, 46}, 3, 0, 0, 0, 250, 8, 190)
	return model{scene{[]solid{foot, body}, nil}, map[string]spot{
		"plate": {1, back, 145, 150, 152, -4, 3}, "detail": {1, front, 145, 100, 270, 16, 8},
		"tag": {1, top, 145, 110, 210, 4, -14}, "ports": {1, back, 150, 220, 260, 16, 12},
	}}
}

// reel is a spool with r millimetres of flange and a pack of tape on it.
func (p *panel) reel(x, y, r, pack float64) {
	p.sweep(rgb{206, 208, 206}, pt{x - r, y - r}, rgb{140, 144, 146}, pt{x + r, y + r}, circle(x, y, r))
	p.fill(rgb{84, 54, 38}, ring(x, y, pack, 20)...)
	for i := 0.0; i < 3; i++ {
		p.veil(rgb{222, 224, 220}, 0.75, spun([][]pt{smooth([]pt{{x - 7, y - r + 4}, {x + 7, y - r + 4}, {x + 10, y}, {x - 10, y}}, 4)}, x, y, i*120+24)...)
	}
	p.fill(rgb{214, 214, 208}, circle(x, y, 19))
	p.fill(rgb{60, 62, 64}, circle(x, y, 7))
	for i := 0.0; i < 3; i++ {
		p.fill(rgb{60, 62, 64}, spun([][]pt{rect(x-1.6, y-15, 3.2, 9)}, x, y, i*120)...)
	}
}
