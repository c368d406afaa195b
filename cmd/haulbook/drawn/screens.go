package drawn

// model is a thing built in the room, and where its close-ups look.
type model struct {
	scene
	spots map[string]spot
}

// spot is a place on a face: where a plate is read, a tag lies, a detail shows.
type spot struct {
	solid, face int
	x, y        float64 // millimetres on the face
	span        float64 // millimetres of the world across the photo
	yaw, pitch  float64 // degrees off the face's own direction
}

// terminal is a picture tube on a foot with a keyboard before it.
func terminal(t Thing, c rgb) model {
	dark := c.times(0.62)
	head := box(c, 9, 0, 62, 40, 340, 282, 70)
	head.faces[front].draw = func(p *panel) {
		p.tube(34, 32, 224, 172, verdant, []string{"READY", "LOAD LEDGER", "214 LINES", "> _"})
		p.write(ink, bold, 30, 258, 15, 0, t.Maker)
		p.write(ink.blend(c, 0.3), plain, 226, 258, 12, 0, t.Model)
		p.slits(soot, 282, 36, 34, 3, 0, 1)
		p.vents(soot, 282, 36, 34, 3.4, 9, 9)
		p.knob(dark.times(0.7), 299, 150, 13, 9)
		p.knob(dark.times(0.7), 299, 188, 13, 9)
		p.lamp(ember, 299, 252, 3.4, true)
	}
	// Darker than the bezel by a shade: two mouldings never age alike.
	tail := box(c.times(0.97), 10, 0, 66, -85, 330, 272, 180).shrunkBack(48, 44)
	tail.faces[back].draw = func(p *panel) {
		p.vents(soot, 24, 14, p.w-48, 3.6, 9, 4)
		p.plate(t, p.w/2, 92)
		p.socket(24, 140, 25)
		p.roundSocket(116, 146, 9, 5)
		p.inlet(168, 138)
	}
	for _, side := range []int{left, right} {
		tail.faces[side].draw = func(p *panel) { p.vents(soot, p.w*0.25, 44, p.w*0.5, 4, 12, 8) }
	}
	tail.faces[top].draw = func(p *panel) { p.vents(soot, p.w*0.28, 50, p.w*0.44, 4, 12, 8) }
	foot := box(dark, 8, 0, 12, -20, 210, 50, 190)
	base := box(c.times(0.94), 5, 0, 2, -20, 270, 10, 230)
	board := wedge(c, 6, 0, 3, 190, 340, 20, 44, 150)
	board.faces[top].draw = func(p *panel) {
		p.keys(typist, 28, 30, 284/14.5, 9, keycaps{ivory, c.times(0.66), rgb{196, 98, 66}, ink})
	}
	return model{scene{[]solid{tail, base, foot, head, board}, []lead{
		{rgb{70, 66, 62}, 7, wavy(pt{-90, 110}, pt{-130, 70}, pt{-170, 60}, pt{-160, -40})},
	}}, map[string]spot{
		"plate": {0, back, 117, 92, 150, 4, 2}, "detail": {4, top, 150, 80, 250, -14, -34},
		"tag": {0, top, 165, 90, 210, 10, -14}, "ports": {0, back, 117, 130, 260, -16, 14},
	}}
}

// monitor is a plain tube in a dark case on a tilting foot.
func monitor(t Thing, c rgb) model {
	head := box(c, 12, 0, 46, 60, 320, 262, 56)
	head.faces[front].draw = func(p *panel) {
		p.tube(28, 26, 264, 188, amber, []string{"FILES", "LETTERS   14", "STAMPS     9", "> _"})
		p.fill(c.times(0.55), rounded(28, 228, 264, 22, 4))
		p.write(ivory, caps, 36, 243, 13, 0, t.Maker)
		for i := 0.0; i < 3; i++ {
			p.knob(c.times(0.9), 214+i*22, 239, 7, 5)
		}
		p.lamp(amber, 280, 239, 3, true)
	}
	tail := box(c.times(0.93), 10, 0, 54, -55, 306, 246, 174).shrunkBack(56, 40)
	ribs := func(p *panel) { p.slits(soot, p.w*0.2, p.h*0.2, 5, p.h*0.6, 13, int(p.w*0.6/13)) }
	tail.faces[left].draw, tail.faces[right].draw, tail.faces[top].draw = ribs, ribs, func(p *panel) {
		p.slits(soot, p.w*0.32, 50, 5, 80, 13, int(p.w*0.36/13))
	}
	tail.faces[back].draw = func(p *panel) {
		p.plate(t, p.w/2, 74)
		p.roundSocket(40, 136, 9, 6)
		p.inlet(130, 124)
		p.vents(soot, 30, 12, p.w-60, 3.4, 9, 3)
	}
	foot := wedge(c.times(0.8), 7, 0, 2, 10, 200, 26, 42, 200)
	foot.faces[top].tint = &rgb{40, 40, 40}
	return model{scene{[]solid{tail, foot, head}, []lead{
		{rgb{50, 48, 46}, 8, wavy(pt{40, -140}, pt{150, -160}, pt{250, -60}, pt{240, 60}, pt{330, 130}, pt{420, 110})},
	}}, map[string]spot{
		"plate": {0, back, 97, 74, 148, -3, 3}, "detail": {2, front, 250, 220, 150, 20, 16},
		"tag": {2, top, 160, 28, 200, 6, -20}, "ports": {0, back, 97, 110, 230, 15, 12},
	}}
}
