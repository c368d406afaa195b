package container

// heif is what is gathered from the meta box of an item file (ISO/IEC 14496-12,
// 8.11, and ISO/IEC 23008-12). Tables are read in whatever order they stand;
// questions are answered at the end.
type heif struct {
	s       *source
	film    bool // a sequence's film, or a short form of meta with more in it than is read
	short   bool // a box reaches past the end of the file
	primary uint32
	pitm    box // the box that names it
	items   map[uint32]*item
	order   []uint32            // items as listed
	madeOf  map[uint32][]uint32 // the items that an item is made of
	refs    []reference
	props   []property       // numbered from 1 in the file
	assocs  []box            // the ipma boxes
	owned   map[uint32][]int // places in props of each item's properties, once read
	idat    box
	plain   property // size and turning where no items give them
	extents int      // extents read so far, over all items
	copied  int      // bytes of items copied so far
}

// maxAssociations bounds the properties of all items together.
const maxAssociations = 1 << 18

// maxReference is the longest reference read: as many items as it can count.
const maxReference = 8 + 4*(1<<16)

// property is one entry of the property container; the kinds not needed are
// kept empty, because properties are referred to by their place.
type property struct {
	kind          string
	width, height int
	turn          turning
	start, end    int64 // of what a decoder is told, for codec settings alone
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
	h, filled := openHEIF(s)
	c := Contents{}
	c.Width, c.Height, c.Turn = h.picture()
	c.Exif = h.exif()
	c.State, c.Damage = h.state(filled, c.Width > 0)
	c.Thumbnail = h.thumbnail()
	c.Embedded = embedded(s, h.thumbnailStreams())
	return c
}

// openHEIF goes through the boxes of the file, and says whether they fill it.
func openHEIF(s *source) (h *heif, filled bool) {
	h = &heif{s: s, items: map[uint32]*item{}, plain: property{turn: upright}}
	filled = walkBoxes(s, 0, s.size, func(b box) bool {
		switch b.kind {
		case "meta":
			if len(h.items) == 0 {
				h.meta(b)
			}
		case "moov":
			h.film = true
			if h.plain.width == 0 {
				h.plain.width, h.plain.height = filmSize(s, b)
			}
		case "mini":
			if len(h.items) == 0 {
				h.mini(b)
			}
		}
		// Junk behind the last box is not a box that lacks its end.
		h.short = h.short || b.long && printable(b.kind)
		return true
	})
	return h, filled
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
			h.primary, h.pitm = uint32(t.number(idLen(version > 0))), b
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
// describes a picture, an item may lie inside another or be made of others, and a
// small picture stands for a large one.
func (h *heif) references(b box) {
	v := h.s.at(b.start, 1)
	if len(v) == 0 {
		return
	}
	n := idLen(v[0] > 0)
	walkBoxes(h.s, b.start+4, b.end, func(b box) bool {
		switch b.kind {
		case "cdsc", "iloc", "dimg", "thmb":
		default:
			return true
		}
		if len(h.refs) >= maxMembers {
			return false
		}
		t := cursor{b: h.s.copyAt(b.start, int(min(b.end-b.start, maxReference)))}
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
	case "hvcC", "lhvC", "av1C", "avcC", "vvcC", "jpgC", "j2kH", "uncC", "cmpd":
		p.start, p.end = b.start, b.end
	}
	return p
}

// picture answers for the primary item: its size, and its turnings put together
// in the order they are listed, which is the order they apply in.
func (h *heif) picture() (width, height, turn int) {
	if len(h.items) == 0 {
		return h.plain.width, h.plain.height, h.plain.turn.orientation()
	}
	return h.sized(h.primaryItem())
}

// sized gives an item's size and turning.
func (h *heif) sized(id uint32) (width, height, turn int) {
	t := upright
	for _, i := range h.associated(id) {
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

// associated lists the places in props of an item's properties. They are read at
// the first question, as the properties may stand behind them.
func (h *heif) associated(id uint32) []int {
	if h.owned == nil {
		h.owned = map[uint32][]int{}
		left := maxAssociations
		for _, b := range h.assocs {
			left = h.associations(b, left)
		}
	}
	return h.owned[id]
}

// derivation lists the items that an item is made of, in their order (ISO/IEC
// 23008-12, 6.6.2: reference type dimg, from the whole to its parts).
func (h *heif) derivation(id uint32) []uint32 {
	if h.madeOf == nil {
		h.madeOf = map[uint32][]uint32{}
		for _, r := range h.refs {
			if _, twice := h.madeOf[r.from]; r.kind == "dimg" && !twice {
				h.madeOf[r.from] = r.to
			}
		}
	}
	return h.madeOf[id]
}

// associations reads an item property association box (ISO/IEC 14496-12, 8.11.14)
// and gives how many may still come after it.
func (h *heif) associations(b box, left int) int {
	version, flags, t := table(h.s, b)
	for n := t.number(4); n > 0 && !t.spent; n-- {
		id := uint32(t.number(idLen(version > 0)))
		for k := t.number(1); k > 0 && !t.spent; k-- {
			i := int(t.number(1+int(flags&1))) & (0x7f | int(flags&1)*0x7f80)
			if i > 0 && i <= len(h.props) && left > 0 {
				left--
				h.owned[id] = append(h.owned[id], i-1)
			}
		}
	}
	return left
}
