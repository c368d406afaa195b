package drawn

// homeComputer is everything in a keyboard, coloured stripes and all.
func homeComputer(t Thing, c rgb) model {
	body := wedge(c, 8, 0, 4, 40, 400, 24, 52, 150)
	kc := keycaps{rgb{70, 66, 64}, rgb{112, 104, 98}, rgb{206, 104, 62}, ivory}
	body.faces[top].draw = func(p *panel) { p.keys(typist, 42, 26, 304/14.5, 8, kc) }
	// Two solids for one case: its top is bent where the keys end.
	deck := wedge(c, 8, 0, 4, -75, 400, 52, 60, 80)
	deck.faces[top].draw = func(p *panel) {
		p.vents(soot, 210, 14, 160, 3, 8, 7)
		for i, s := range []rgb{{190, 74, 58}, {220, 146, 60}, {222, 196, 92}, {92, 148, 120}} {
			p.fill(s, rect(24+float64(i)*7, 2, 5, p.h-4))
		}
		p.write(ink, slanted, 62, 36, 19, 0, t.Maker)
		p.write(ink.blend(c, 0.25), plain, 62, 56, 13, 0, t.Model)
		p.lamp(ember, 384, 62, 3, true)
	}
	deck.faces[back].draw = func(p *panel) {
		p.roundSocket(40, 26, 9, 5)
		p.roundSocket(74, 26, 9, 7)
		p.sunk(soot, 110, 16, 96, 18, 1)
		p.fill(rgb{190, 160, 84}, rect(114, 24, 88, 3))
		p.socket(238, 20, 15)
		p.button(rgb{60, 58, 56}, 320, 18, 22, 12, 4)
		for i, s := range []string{"TAPE", "MONITOR", "CARTRIDGE", "PRINTER", "POWER"} {
			p.write(ink, medium, []float64{40, 74, 158, 256, 331}[i], 50, 6, 0.5, s)
		}
	}
	body.faces[front].draw = func(p *panel) { p.scuffs(throw(7, 1), 4) }
	return model{scene{[]solid{deck, body}, []lead{
		{rgb{56, 54, 52}, 7, wavy(pt{140, -118}, pt{150, -190}, pt{280, -210}, pt{330, -110}, pt{420, -90})},
	}}, map[string]spot{
		"detail": {1, top, 205, 70, 250, -16, -32}, "ports": {0, back, 190, 26, 330, 12, 24},
		"tag": {1, top, 180, 70, 220, -8, -8},
	}}
}

// luggable is a case on its side, a small tube and two drives in its face,
// the lid with the keyboard folded down before it.
func luggable(t Thing, c rgb) model {
	body := box(c, 12, 0, 6, -60, 440, 216, 270)
	body.faces[front].draw = func(p *panel) {
		p.fill(c.times(0.42), rounded(12, 12, p.w-24, p.h-24, 10))
		p.tube(34, 36, 168, 126, amber.blend(verdant, 0.25), []string{"DISK A", "MEMO.TXT", "> _"})
		p.slot(228, 30, 180, 46, true)
		p.slot(228, 84, 180, 46, false)
		p.write(ivory, slanted, 228, 158, 20, 0, t.Maker)
		p.write(ivory.times(0.8), plain, 312, 158, 13, 0, t.Model)
		p.vents(soot, 228, 172, 180, 3, 7, 3)
		p.button(rgb{190, 78, 56}, 386, 143, 22, 16, 6)
	}
	body.faces[top].draw = func(p *panel) {
		p.sunk(c.times(0.5), p.w/2-80, 20, 160, 40, 12)
		p.raised(rgb{38, 36, 36}, rgb{66, 62, 60}, rounded(p.w/2-70, 30, 140, 20, 9), rounded(p.w/2-68, 31, 136, 18, 9), 16)
		p.scuffs(throw(3, 5), 9)
	}
	body.faces[back].draw = func(p *panel) {
		p.vents(soot, 30, 22, 150, 4, 11, 9)
		p.plate(t, 300, 74)
		p.socket(228, 140, 25)
		p.inlet(340, 136)
		p.screw(16, 16, 4, 30)
		p.screw(p.w-16, 16, 4, 80)
	}
	for _, f := range []int{left, right} {
		body.faces[f].draw = func(p *panel) { p.vents(soot, p.w-120, 40, 86, 4, 11, 10) }
	}
	// The lid is joined to the case, or it would look like a second thing.
	hinge := box(c.times(0.5), 4, 0, 4, 82, 380, 14, 14)
	lid := wedge(c, 9, 0, 3, 178, 440, 26, 36, 176)
	lid.faces[top].draw = func(p *panel) {
		p.fill(c.times(0.42), rounded(14, 14, p.w-28, p.h-28, 8))
		p.keys(typist, 36, 34, 282/14.5, 8, keycaps{ivory, rgb{150, 150, 142}, rgb{84, 138, 122}, ink})
		p.keys(numbers, 336, 34, 17.5, 8, keycaps{ivory, rgb{150, 150, 142}, rgb{84, 138, 122}, ink})
	}
	return model{scene{[]solid{body, hinge, lid}, nil}, map[string]spot{
		"plate": {0, back, 300, 74, 150, 5, 4}, "detail": {0, front, 318, 80, 220, 18, 12},
		"tag": {0, top, 120, 130, 210, 0, -12}, "ports": {0, back, 290, 120, 250, -14, 16},
	}}
}

// tower stands upright with drives above and a grille below.
func tower(t Thing, c rgb) model {
	body := box(c, 5, 0, 12, -10, 190, 420, 400)
	for _, f := range []int{left, right} {
		body.faces[f].draw = func(p *panel) {
			p.veil(soot, 0.35, border(16, 16, p.w-32, p.h-32, 6, 1.2)...)
			p.slits(soot, p.w*0.25, p.h-150, 4, 90, 14, 12)
			p.scuffs(throw(11, uint64(f)), 8)
		}
	}
	body.faces[back].draw = func(p *panel) {
		p.inlet(24, 22)
		p.inlet(76, 22)
		p.slits(soot, 124, 16, 3, 56, 7, 7)
		p.plate(t, p.w/2+2, 118)
		for i := 0; i < 6; i++ {
			y := 172 + float64(i)*34
			// Six covers for boards, every other one with a connector.
			p.sweep(chrome, pt{10, y}, steel, pt{10, y + 26}, rounded(14, y, p.w-28, 26, 1.5))
			if i%2 == 0 {
				p.socket(34, y+7, 25-4*i)
			}
			p.screw(p.w-22, y+13, 3, float64(i*40))
		}
	}
	bezel := box(c.times(1.02), 8, 0, 10, 202, 192, 424, 24)
	bezel.faces[front].draw = func(p *panel) {
		p.slot(22, 22, 148, 42, true)
		p.slot(22, 70, 148, 42, false)
		p.fill(c.times(0.9), rounded(22, 118, 148, 42, 2))
		p.veil(soot, 0.3, border(22, 118, 148, 42, 2, 0.8)...)
		p.fill(rgb{52, 70, 84}, rounded(22, 172, 148, 50, 4))
		p.squeezed(ivory, bold, 32, 194, 19, 128, t.Maker)
		p.squeezed(ivory.times(0.86), plain, 32, 213, 13, 128, t.Model)
		p.button(rgb{198, 92, 62}, 28, 240, 34, 22, 6)
		p.button(c.times(0.82), 74, 244, 22, 14, 4)
		for i, on := range []bool{true, true, false} {
			p.lamp([]rgb{verdant, amber, ember}[i], 118+float64(i)*18, 251, 3, on)
		}
		p.vents(soot, 24, 286, 144, 4.4, 11, 11)
	}
	foot := box(rgb{62, 60, 58}, 4, 0, 0, -10, 230, 12, 60)
	return model{scene{[]solid{body, bezel, foot.shifted(vec{0, 0, 160}), foot.shifted(vec{0, 0, -120})}, nil}, map[string]spot{
		"plate": {0, back, 97, 118, 148, 3, 4}, "detail": {1, front, 96, 120, 230, 22, 10},
		"tag": {0, top, 95, 200, 200, 0, -14}, "ports": {0, back, 95, 240, 260, 16, 10},
	}}
}

// flatDesk is the low case that carries its monitor.
func flatDesk(t Thing, c rgb) model {
	body := box(c, 6, 0, 8, 0, 420, 78, 380)
	body.faces[front].draw = func(p *panel) {
		p.vents(c.times(0.55), 16, 12, 148, 3, 7.5, 5)
		p.slot(232, 14, 168, 34, true)
		p.squeezed(ink, caps, 18, 64, 13, 146, t.Maker+"  "+t.Model)
		p.lamp(verdant, 246, 63, 3, true)
		p.lamp(amber, 262, 63, 3, false)
		p.button(c.times(0.8), 366, 56, 30, 13, 4)
		p.fill(rgb{66, 110, 124}, rect(176, 6, 5, p.h-12))
	}
	body.faces[top].draw = func(p *panel) {
		p.veil(soot, 0.25, rounded(8, 30, p.w-16, 1.4, 0.5))
		p.scuffs(throw(5, 9), 12)
		// A lot number from the swap meet, as most such finds carry.
		p.fill(rgb{238, 206, 92}, circle(p.w-54, 72, 13))
		p.write(ink, bold, p.w-54, 78, 15, 0.5, "41")
	}
	for _, f := range []int{left, right} {
		body.faces[f].draw = func(p *panel) { p.slits(soot, 60, 20, 4, p.h-40, 12, 18) }
	}
	body.faces[back].draw = func(p *panel) {
		p.plate(t, 68, 39)
		p.socket(140, 14, 25)
		p.socket(140, 46, 15)
		p.roundSocket(238, 22, 9, 5)
		p.slits(soot, 262, 10, 4, 56, 9, 8)
		p.inlet(360, 26)
	}
	feet := box(rgb{50, 48, 46}, 3, 0, 0, 150, 380, 8, 24)
	return model{scene{[]solid{body, feet, feet.shifted(vec{0, 0, -300})}, []lead{
		{rgb{56, 54, 52}, 8, wavy(pt{-170, -200}, pt{-250, -230}, pt{-300, -100}, pt{-270, 60}, pt{-380, 140})},
	}}, map[string]spot{
		"plate": {0, back, 68, 39, 146, 6, 5}, "detail": {0, front, 300, 40, 220, -20, 16},
		"tag": {0, top, 180, 230, 220, 0, -16}, "ports": {0, back, 170, 40, 260, -12, 18},
	}}
}
