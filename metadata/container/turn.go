package container

// turning is what brings stored pixels upright: where a step along the stored
// columns and rows goes on the screen (y runs down).
type turning struct{ xx, xy, yx, yy int }

// upright is no turning at all.
var upright = turning{1, 0, 0, 1}

// byOrientation lists the turnings of the Exif orientations 1 to 8, after the
// table of jpegexiforient(1): 2 mirrors left and right, 3 turns by 180°, 4
// mirrors top and bottom, 5 transposes, 6 turns by 90° clockwise, 7 transposes
// over the other diagonal, 8 turns by 90° the other way.
var byOrientation = [9]turning{
	1: upright,
	2: {-1, 0, 0, 1},
	3: {-1, 0, 0, -1},
	4: {1, 0, 0, -1},
	5: {0, 1, 1, 0},
	6: {0, -1, 1, 0},
	7: {0, -1, -1, 0},
	8: {0, 1, -1, 0},
}

// then is t followed by u.
func (t turning) then(u turning) turning {
	return turning{
		u.xx*t.xx + u.xy*t.yx, u.xx*t.xy + u.xy*t.yy,
		u.yx*t.xx + u.yy*t.yx, u.yx*t.xy + u.yy*t.yy,
	}
}

// orientation gives t in Exif's words, 1 to 8.
func (t turning) orientation() int {
	for i, o := range byOrientation {
		if i > 0 && o == t {
			return i
		}
	}
	return 1
}

// rotation is the turning of an irot box: quarter turns against the clock
// (ISO/IEC 23008-12, 6.5.10).
func rotation(quarters int) turning {
	return byOrientation[[4]int{1, 8, 3, 6}[quarters&3]]
}

// mirroring is the turning of an imir box. Axis 0 exchanges top and bottom, as
// Exif's 4, and axis 1 left and right, as Exif's 2: ISO/IEC 23008-12:2022, 6.5.12
// with its note. Earlier editions could be read the other way round.
func mirroring(axis int) turning {
	if axis&1 == 0 {
		return byOrientation[4]
	}
	return byOrientation[2]
}
