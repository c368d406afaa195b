package pictures

// turned returns p as an Exif orientation asks for it, 1 to 8, by the table of
// jpegexiforient(1): 2 mirrors left and right, 3 turns half round, 4 mirrors top
// and bottom, 5 transposes, 6 turns a quarter clockwise, 7 transposes over the
// other diagonal, 8 turns a quarter the other way. Anything else is 1.
func turned(p plane, orientation int) plane {
	if orientation < 2 || orientation > 8 {
		return p
	}
	w, h := p.w, p.h
	if orientation >= 5 {
		w, h = h, w
	}
	out := newPlane(w, h)
	for y := range out.h {
		dst := out.row(y)
		// Along a target row the source moves by one step from one start.
		sx, sy := stored(orientation, p.w, p.h, 0, y)
		nx, ny := stored(orientation, p.w, p.h, 1, y)
		at, step := sy*p.stride+sx, (ny-sy)*p.stride+(nx-sx)
		for x := range dst {
			dst[x] = p.pix[at]
			at += step
		}
	}
	return out
}

// stored says which pixel of a stored w × h picture is seen at x, y upright.
func stored(orientation, w, h, x, y int) (int, int) {
	switch orientation {
	case 2:
		return w - 1 - x, y
	case 3:
		return w - 1 - x, h - 1 - y
	case 4:
		return x, h - 1 - y
	case 5:
		return y, x
	case 6:
		return y, h - 1 - x
	case 7:
		return w - 1 - y, h - 1 - x
	case 8:
		return w - 1 - y, x
	}
	return x, y
}

// seenAt is the inverse of stored in fractions of the picture: where the stored
// point x, y, each 0 to 1, is seen upright.
func seenAt(orientation int, x, y float64) (float64, float64) {
	switch orientation {
	case 2:
		return 1 - x, y
	case 3:
		return 1 - x, 1 - y
	case 4:
		return x, 1 - y
	case 5:
		return y, x
	case 6:
		return 1 - y, x
	case 7:
		return 1 - y, 1 - x
	case 8:
		return y, 1 - x
	}
	return x, y
}
