package container

// heif is what is gathered from the meta box of an item file (ISO/IEC 14496-12,
// 8.11, and ISO/IEC 23008-12). Tables are read in whatever order they stand;
// questions are answered at the end.
type heif struct {
	s       *source
	film    bool // a sequence's film or the short form of meta was seen: not read
	short   bool // a box reaches past the end of the file
	primary uint32
	items   map[uint32]*item
	order   []uint32 // items as listed
	refs    []reference
	props   []property // numbered from 1 in the file
	assocs  []box      // the ipma boxes
	idat    box
	extents int // extents read so far, over all items
	copied  int // bytes of items copied so far
}

// property is one entry of the property container; the kinds not needed are
// kept empty, because properties are referred to by their place.
type property struct {
	kind          string
	width, height int
	turn          turning
}

// reference says that one item refers to others, in the way kind names.
type reference struct {
	kind string
	from uint32
	to   []uint32
}

// readHEIF reads HEIC and AVIF. The size is that of the primary item's ispe
// property, which for a picture made of tiles is the grid's own, so the whole
// picture as stored, before irot and imir turn it. Exif's pixel dimensions may
// differ: they are what the camera wrote before somebody cropped.
func readHEIF(s *source) Contents {
	h := &heif{s: s, items: map[uint32]*item{}}
	filled := walkBoxes(s, 0, s.size, func(b box) bool {
		switch b.kind {
		case "meta":
			if len(h.items) == 0 {
				h.meta(b)
			}
		case "moov", "mini":
			h.film = true
		}
		// Junk behind the last box is not a box that lacks its end.
		h.short = h.short || b.long && printable(b.kind)
		return true
	})
	c := Contents{}
	c.Width, c.Height, c.Turn = h.picture()
	c.Exif = h.exif()
	c.State, c.Damage = h.state(filled, c.Width > 0)
	return c
}

// state judges what was found. Boxes that fill the file make it whole; so do
// items that all lie inside of it, with junk behind the last box.
func (h *heif) state(filled, sized bool) (Completeness, string) {
	end := h.furthest()
	switch {
	case h.short || end > h.s.size || len(h.items) == 0 && !h.film && !filled:
		return Incomplete, damageShort
	case h.film && len(h.items) == 0:
		if filled {
			return Whole, ""
		}
		return Unknown, ""
	case h.extents == 0 && len(h.items) > 0:
		return Unknown, damageGarbled
	case !sized:
		return Unknown, damageEmpty
	case (filled || end > 0) && !h.hollow(end):
		return Whole, ""
	}
	return Unknown, ""
}

// hollow reports whether the file holds zeros where the last item ends. Coded
// pictures do not end so, but files do whose space a share has set aside before
// their content comes, and boxes alone cannot tell those from whole ones.
func (h *heif) hollow(end int64) bool {
	const tail = 256
	return end >= tail && blank(h.s.at(end-tail, tail))
}

// meta reads the tables of the meta box. A QuickTime meta box lacks the version.
func (h *heif) meta(b box) {
	from := b.start + 4
	if name := h.s.at(b.start+4, 4); string(name) == "hdlr" {
		from = b.start
	}
	walkBoxes(h.s, from, b.end, func(b box) bool {
		switch b.kind {
		case "pitm":
			version, _, t := table(h.s, b)
			h.primary = uint32(t.number(idLen(version > 0)))
		case "iinf":
			h.itemInfos(b)
		case "iloc":
			h.locations(b)
		case "iref":
			h.references(b)
		case "iprp":
			h.properties(b)
		case "idat":
			h.idat = b
		}
		return true
	})
}

// idLen is the width of item numbers.
func idLen(wide bool) int {
	if wide {
		return 4
	}
	return 2
}

// itemInfos reads the kinds of the items (ISO/IEC 14496-12, 8.11.6). Entries
// older than version 2 have no kind and are never pictures or Exif.
func (h *heif) itemInfos(b box) {
	v := h.s.at(b.start, 1)
	if len(v) == 0 {
		return
	}
	walkBoxes(h.s, b.start+4+int64(idLen(v[0] > 0)), b.end, func(b box) bool {
		t := cursor{b: h.s.copyAt(b.start, int(min(b.end-b.start, 16)))}
		version := t.number(1)
		t.number(3)
		if b.kind != "infe" || version < 2 {
			return true
		}
		id := uint32(t.number(idLen(version > 2)))
		t.number(2) // protection
		if it := h.item(id); it != nil && !t.spent {
			it.kind = t.text(4)
			h.order = append(h.order, id)
		}
		return true
	})
}

// references reads which items belong to which (ISO/IEC 14496-12, 8.11.12): Exif
// describes a picture, and an item may lie inside another.
func (h *heif) references(b box) {
	v := h.s.at(b.start, 1)
	if len(v) == 0 {
		return
	}
	n := idLen(v[0] > 0)
	walkBoxes(h.s, b.start+4, b.end, func(b box) bool {
		if b.kind != "cdsc" && b.kind != "iloc" || len(h.refs) >= maxMembers {
			return true
		}
		t := cursor{b: h.s.copyAt(b.start, int(min(b.end-b.start, 4<<10)))}
		r := reference{kind: b.kind, from: uint32(t.number(n))}
		for range t.number(2) {
			to := uint32(t.number(n))
			if t.spent {
				break
			}
			r.to = append(r.to, to)
		}
		h.refs = append(h.refs, r)
		return true
	})
}

// properties reads the property container and notes where the associations lie.
func (h *heif) properties(b box) {
	walkBoxes(h.s, b.start, b.end, func(b box) bool {
		switch b.kind {
		case "ipco":
			walkBoxes(h.s, b.start, b.end, func(b box) bool {
				h.props = append(h.props, h.property(b))
				return len(h.props) < maxMembers
			})
		case "ipma":
			if len(h.assocs) < 16 {
				h.assocs = append(h.assocs, b)
			}
		}
		return true
	})
}

func (h *heif) property(b box) property {
	p := property{kind: b.kind, turn: upright}
	t := cursor{b: h.s.at(b.start, int(min(b.end-b.start, 12)))}
	switch b.kind {
	case "ispe":
		t.number(4)
		p.width, p.height = pixels(int64(t.number(4))), pixels(int64(t.number(4)))
	case "irot":
		p.turn = rotation(int(t.number(1)))
	case "imir":
		p.turn = mirroring(int(t.number(1)))
	}
	return p
}

// picture answers for the primary item: its size, and its turnings put together
// in the order they are listed, which is the order they apply in.
func (h *heif) picture() (width, height, turn int) {
	t := upright
	for _, i := range h.associated(h.primaryItem()) {
		p := h.props[i]
		if p.kind == "ispe" {
			width, height = p.width, p.height
		}
		t = t.then(p.turn)
	}
	return width, height, t.orientation()
}

// primaryItem falls back to the first item that can be a picture.
func (h *heif) primaryItem() uint32 {
	if h.primary != 0 {
		return h.primary
	}
	for _, id := range h.order {
		if k := h.items[id].kind; k != "Exif" && k != "mime" {
			return id
		}
	}
	return 0
}

// associated lists the places in props of an item's properties (ISO/IEC
// 14496-12, 8.11.14).
func (h *heif) associated(id uint32) (list []int) {
	for _, b := range h.assocs {
		version, flags, t := table(h.s, b)
		for n := t.number(4); n > 0 && !t.spent; n-- {
			item := uint32(t.number(idLen(version > 0)))
			for k := t.number(1); k > 0 && !t.spent; k-- {
				i := int(t.number(1+int(flags&1))) & (0x7f | int(flags&1)*0x7f80)
				if item == id && i > 0 && i <= len(h.props) {
					list = append(list, i-1)
				}
			}
		}
	}
	return list
}
