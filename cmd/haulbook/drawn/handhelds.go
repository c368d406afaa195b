package drawn

// console plays games from cartridges; no stick is left with it.
func console(t Thing, c rgb) model {
	body := wedge(c, 10, 0, 5, 0, 320, 40, 66, 210)
	body.faces[top].draw = func(p *panel) {
		p.fill(rgb{206, 98, 58}, rounded(14, 118, p.w-28, 20, 6))
		p.fill(rgb{232, 162, 74}, rounded(14, 142, p.w-28, 9, 4))
		p.sunk(soot, 92, 34, 136, 26, 4)
		p.write(ink, slanted, 160, 104, 24, 0.5, t.Maker)
		for i, s := range []string{"START", "LEVEL"} {
			x := 46 + float64(i)*228
			p.shadow(3, 0.4, circle(x+1, 67, 22))
			p.knob([]rgb{{86, 142, 120}, {206, 98, 58}}[i], x, 64, 20, 9)
			p.write(ink, medium, x, 100, 8, 0.5, s)
		}
		p.vents(soot, 70, 168, 180, 3.6, 10, 3)
	}
	body.faces[front].draw = func(p *panel) {
		p.socket(60, 12, 9)
		p.socket(228, 12, 9)
		p.write(ink, bold, 160, 27, 14, 0.5, t.Model)
	}
	body.faces[back].draw = func(p *panel) {
		p.roundSocket(60, 30, 9, 5)
		p.roundSocket(100, 30, 7, 3)
		p.button(rgb{70, 68, 66}, 240, 22, 26, 14, 5)
	}
	// The cartridge is stuck into the case; it is painted after it, being given after it.
	cart := box(rgb{70, 74, 88}, 4, 0, 56, -58, 124, 62, 20)
	cart.faces[front].draw = func(p *panel) {
		p.fill(rgb{236, 206, 112}, rounded(12, 8, p.w-24, 34, 3))
		p.fill(rgb{66, 110, 124}, rect(12, 30, p.w-24, 9))
		p.write(rgb{150, 54, 40}, slanted, p.w/2, 26, 13, 0.5, "MOON FERRY")
	}
	return model{scene{[]solid{body, cart}, []lead{
		{rgb{56, 54, 52}, 6, wavy(pt{-100, -104}, pt{-130, -170}, pt{-250, -160}, pt{-260, -20}, pt{-340, 40})},
	}}, map[string]spot{
		"detail": {1, front, 62, 36, 200, -18, 24}, "ports": {0, front, 160, 20, 330, 10, 20},
		"tag": {0, top, 160, 130, 220, -6, -6},
	}}
}

// loneKeyboard has lost its computer but kept its coiled lead.
func loneKeyboard(t Thing, c rgb) model {
	body := wedge(c, 7, 0, 4, 0, 470, 20, 46, 178)
	body.faces[top].draw = func(p *panel) {
		kc := keycaps{ivory, rgb{168, 160, 146}, rgb{92, 134, 150}, ink}
		p.keys(typist, 26, 54, typistWidth/14.5, 10, kc)
		p.keys(numbers, 366, 54, keyPitch, 10, kc)
		p.fill(rgb{52, 70, 84}, rounded(26, 14, 160, 24, 3))
		p.squeezed(ivory, bold, 34, 31, 15, 146, t.Maker+"  "+t.Model)
		for i := 0.0; i < 3; i++ {
			p.lamp(verdant, 380+i*24, 28, 3, i == 0)
		}
	}
	body.faces[back].draw = func(p *panel) { p.roundSocket(90, 22, 8, 5) }
	return model{scene{[]solid{body}, []lead{
		{rgb{74, 70, 66}, 5, wavy(pt{144, -86}, pt{150, -120}, pt{170, -128})},
		{rgb{74, 70, 66}, 5, coiled(pt{170, -128}, pt{320, -104}, 16, 11)},
		{rgb{74, 70, 66}, 5, wavy(pt{331, -104}, pt{390, -90}, pt{360, 10}, pt{430, 60})},
	}}, map[string]spot{
		"detail": {0, top, 120, 100, 210, -18, -36}, "ports": {0, top, 400, 80, 210, 18, -30},
		"tag": {0, top, 230, 90, 230, -4, -6},
	}}
}

// underside is a flat thing lying on its back: feet, screws, slots, the plate.
func underside(t Thing, c rgb, w, d float64) model {
	body := box(c.times(0.86), 8, 0, 0, 0, w, 44, d)
	body.faces[top].draw = func(p *panel) {
		p.veil(soot, 0.22, border(8, 8, p.w-16, p.h-16, 8, 1)...)
		p.feet()
		for i, q := range []pt{{52, 18}, {p.w - 52, 18}, {52, p.h - 18}, {p.w - 52, p.h - 18}} {
			p.fill(c.times(0.5), circle(q.x, q.y, 6))
			p.screw(q.x, q.y, 4, float64(i)*37)
		}
		// As many slots as fit beside the plate, however wide the thing is.
		p.slits(soot, 34, p.h/2-26, 4, 52, 11, max(1, int((p.w/2-plateW/2-50)/11)))
		p.slits(soot, p.w/2+plateW/2+16, p.h/2-26, 4, 52, 11, max(1, int((p.w/2-plateW/2-50)/11)))
		p.plate(t, p.w/2, p.h/2)
		p.scuffs(throw(uint64(w), 4), 10)
	}
	return model{scene{[]solid{body}, nil}, map[string]spot{"plate": {0, top, w / 2, d / 2, 158, 0, -6}}}
}
