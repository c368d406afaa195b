package intake

// GuessRoles says what each photo of one group or item most likely shows, in
// the order given. What a human said stands; the rest follows habits seen in
// shooting sessions (common practice, no source):
//
//   - an own tag that fills enough of the picture makes a tag shot;
//   - a Code 39 or Code 128 is printed on the plate, hardly anywhere else;
//   - without one, the plate is shot last, once there is a view before it;
//   - the first photo that is neither is the view, the rest are details.
//
// At most one plate and one view are guessed, and none where a human named one.
func GuessRoles(photos []Photo) []ShownPhoto {
	shown := make([]ShownPhoto, len(photos))
	var open []int // photos about which nothing is known yet
	named := map[Role]bool{}
	for i, p := range photos {
		shown[i] = ShownPhoto{Photo: p, As: p.Role}
		switch {
		case p.Role != "":
			named[p.Role] = true
		case showsTag(p):
			shown[i].As = RoleTag
		default:
			open = append(open, i)
		}
	}
	plate := -1
	if !named[RolePlate] {
		plate = guessPlate(photos, open, named[RoleView])
	}
	for _, i := range open {
		switch {
		case i == plate:
			shown[i].As = RolePlate
		case !named[RoleView]:
			shown[i].As, named[RoleView] = RoleView, true
		default:
			shown[i].As = RoleDetail
		}
	}
	return shown
}

// tagShare is the least part of the picture that a tag shot's QR fills. A tag
// that merely hangs on the thing in a view fills less.
const tagShare = 0.02

func showsTag(p Photo) bool {
	for _, c := range p.Codes {
		// A share of 0 was never measured.
		if _, own := c.Tag(); own && (c.Share == 0 || c.Share >= tagShare) {
			return true
		}
	}
	return false
}

func guessPlate(photos []Photo, open []int, viewed bool) int {
	for _, i := range open {
		for _, c := range photos[i].Codes {
			if c.Symbology == SymbologyCode128 || c.Symbology == SymbologyCode39 {
				return i
			}
		}
	}
	if len(open) >= 2 || len(open) == 1 && viewed {
		return open[len(open)-1]
	}
	return -1
}
