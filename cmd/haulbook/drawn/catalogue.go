package drawn

import "strings"

// pose is how one photo of a thing is taken.
type pose struct {
	role       string
	spot       string  // "" for the whole thing, else a spot of its model
	yaw, pitch float64 // for the whole thing, degrees
	turn       int     // orientation written by the camera, 0 for upright
	under      bool    // the thing lies on its back
}

// design is an entry of the catalogue: a thing that can be invented.
type design struct {
	kind, name, maker, model, rating string
	serial                           string // 9 stands for a figure, A for a letter
	style                            plateStyle
	tint                             rgb
	build                            func(Thing, rgb) model
	under                            [2]float64 // width and depth of its underside, where the plate is there
	poses                            []pose
}

// modelOf builds the thing as a pose needs it: upright, or on its back.
func (d design) modelOf(t Thing, under bool) model {
	if under {
		return underside(t, t.tint, d.under[0], d.under[1])
	}
	return d.build(t, t.tint)
}

// Makers, models and serials are invented; none is known to have made computers.
func catalogue() []design {
	plate := pose{role: Plate, spot: "plate"}
	below := pose{role: Plate, spot: "plate", under: true}
	detail := pose{role: Detail, spot: "detail"}
	ports := pose{role: Detail, spot: "ports"}
	whole := func(yaw, pitch float64) pose { return pose{role: View, yaw: yaw, pitch: pitch} }
	turned := func(p pose, o int) pose { p.turn = o; return p }
	return []design{
		{"terminal", "Video terminal", "Orrel & Dane", "OD 7/B", "240V 85W", "9A99-9A999", metal, rgb{219, 209, 188},
			terminal, [2]float64{}, []pose{whole(0, 9), whole(-34, 17), detail, plate}},
		{"computer", "Home computer", "Tarnbrook", "Plover 2", "9V DC 1.2A", "TP2-999999", barred, rgb{214, 205, 190},
			homeComputer, [2]float64{400, 230}, []pose{whole(0, 40), whole(30, 28), ports, below}},
		{"computer", "Portable computer", "Velmora", "Valise III", "230V 110W", "V3 99999 A", embossed, rgb{174, 166, 148},
			luggable, [2]float64{}, []pose{whole(-26, 20), detail, turned(plate, 3), turned(whole(0, 13), 3)}},
		{"computer", "Tower computer", "Nordvane", "Fjell 6", "115/230V 250W", "NF-99-AA999", foil, rgb{220, 214, 200},
			tower, [2]float64{}, []pose{turned(whole(-30, 14), 6), turned(detail, 6), plate}},
		{"printer", "Matrix printer", "Quillfax", "Q-44", "220V 60W", "8099-9999", printed, rgb{226, 219, 202},
			printer, [2]float64{}, []pose{whole(24, 22), whole(0, 18), detail, plate}},
		{"disk drive", "Flexible disk drive", "Pondergast Instruments", "PD-5", "12V 5V", "P5A-99999", metal, rgb{204, 194, 172},
			diskDrive, [2]float64{}, []pose{whole(-30, 24), detail, plate}},
		{"computer", "Desktop computer", "Ostrey Works", "OW 230", "240V 150W", "A9999999", foil, rgb{208, 205, 196},
			flatDesk, [2]float64{}, []pose{whole(0, 20), whole(32, 26), detail, ports, plate}},
		{"monitor", "Amber monitor", "Glimmark", "G-12A", "240V 45W", "G12-999-99A", metal, rgb{150, 146, 138},
			monitor, [2]float64{}, []pose{whole(0, 10), whole(33, 16), plate}},
		{"modem", "Acoustic coupler", "Farspoke", "F-300", "9V AC 0.5A", "FS 999 999", embossed, rgb{206, 190, 150},
			modem, [2]float64{300, 150}, []pose{whole(-24, 32), detail, turned(below, 8)}},
		{"console", "Games console", "Jollivar", "JV-2", "9V DC 0.6A", "JV299999", printed, rgb{228, 220, 202},
			console, [2]float64{320, 210}, []pose{whole(22, 34), turned(whole(0, 46), 8), detail, below}},
		{"tape drive", "Reel tape unit", "Pondergast Instruments", "PT-9", "230V 180W", "T9A-9999-9", barred, rgb{176, 182, 176},
			tapeDrive, [2]float64{}, []pose{turned(whole(-28, 15), 6), detail, ports, plate}},
		{"keyboard", "Keyboard", "Orrel & Dane", "K 84", "5V 90mA", "9999-K-999", embossed, rgb{216, 206, 184},
			loneKeyboard, [2]float64{470, 178}, []pose{whole(0, 44), detail, below}},
	}
}

// invented picks the haul's things: the catalogue in order, again and again in
// other colours, with serials that never repeat.
func invented(o Options) []Thing {
	designs := catalogue()
	d := throw(o.Seed, 1)
	used := map[string]bool{}
	things := make([]Thing, o.Things)
	for i := range things {
		n := i % len(designs)
		e := designs[n]
		t := Thing{Name: e.name, Maker: e.maker, Model: e.model, Kind: e.kind,
			rating: e.rating, style: e.style, plan: n, tint: e.tint}
		if round := i / len(designs); round > 0 {
			// Another example of a known model: other plastics, another plate, a serial of its own.
			t.tint = t.tint.blend(rgb{d.between(90, 235), d.between(90, 235), d.between(90, 235)}, 0.3)
			t.style = plateStyle((int(t.style) + round) % 5)
		}
		for t.Serial == "" || used[t.Serial] {
			t.Serial = d.serial(e.serial)
		}
		used[t.Serial] = true
		things[i] = t
	}
	// Spread evenly, so that tagged and untagged things alternate whatever their number.
	tagged := min(len(o.Codes), len(things))
	for k := 0; k < tagged; k++ {
		things[k*len(things)/tagged].Code = o.Codes[k]
	}
	return things
}

// serial fills a pattern with figures and with letters nobody mistakes for one.
func (d *dice) serial(pattern string) string {
	var b strings.Builder
	for i, r := range pattern {
		switch {
		case r == '9':
			b.WriteByte(byte('0' + d.intn(10)))
		case r == 'A' && i > 0:
			b.WriteByte("ACEFHJKLMNPRTUVWXY"[d.intn(18)])
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
