package container

// mini is what the short form of meta says (ISO/IEC 23008-12:2025, annex O, as its
// open-source readers have it): one bit-packed head, then the chunks it counts.
type mini struct {
	width, height, turn int

	// Where the chunks of interest lie in the file; no length where there are none.
	settings, picture, exif extent

	filled bool // the chunks end where the box does
}

// miniForm is one way to read the short form.
type miniForm struct {
	wideIfSet bool // a set flag means the wider field; in drafts the narrower one
	matrix    bool // pictures without colour give three numbers for colours as well
}

// miniForms lists the forms that files and readers have, the published one first.
var miniForms = []miniForm{{true, true}, {true, false}, {false, false}}

// mini reads the short form. The reading that makes the chunks fill the box is
// the right one. Where none does, because of parts not read here, the published
// one gives the size alone.
func (h *heif) mini(b box) {
	bits := bitReader{b: h.s.copyAt(b.start, int(min(b.end-b.start, 64)))}
	m := bits.mini(b, miniForms[0])
	for _, form := range miniForms[1:] {
		if other := bits.mini(b, form); other.filled && !m.filled {
			m = other
		}
	}
	h.plain = property{kind: "ispe", width: m.width, height: m.height, turn: byOrientation[m.turn]}
	if !m.filled {
		h.film = true
		return
	}
	h.primary = 1
	h.list(1, "mini", m.picture)
	h.props = []property{h.plain, {kind: "mini", turn: upright, start: m.settings.off, end: m.settings.off + m.settings.n}}
	h.owned = map[uint32][]int{1: {0, 1}}
	if m.exif.n > 0 {
		h.list(2, "Exif", m.exif)
	}
}

// list adds an item of one extent.
func (h *heif) list(id uint32, kind string, e extent) {
	h.items[id] = &item{kind: kind, method: inFile, extents: []extent{e}}
	h.order = append(h.order, id)
	h.extents++
}

// mini reads the head of box b.
func (r bitReader) mini(b box, form miniForm) (m mini) {
	wide := func(wider, narrower int) int {
		if r.flag() == form.wideIfSet {
			return wider
		}
		return narrower
	}
	r.take(2) // version
	codecs, float := r.flag(), r.flag()
	r.take(1) // range of the samples
	alpha, colours, hdr := r.flag(), r.flag(), r.flag()
	icc, exif, xmp := r.flag(), r.flag(), r.flag()
	chroma := r.take(2)
	m.turn = int(r.take(3)) + 1
	n := wide(15, 7)
	m.width, m.height = int(r.take(n))+1, int(r.take(n))+1
	r.sampleFormat(chroma, float, alpha)
	if r.spent {
		return mini{turn: 1}
	}
	if colours {
		r.take(16)
		if chroma != 0 || form.matrix {
			r.take(8)
		}
	}
	if codecs {
		r.take(64)
	}
	if hdr { // a gain map and light levels, with chunks of their own
		return m
	}
	// Drafts could not pack metadata.
	has := miniChunks{alpha, icc, exif, xmp, form.wideIfSet && (exif || xmp)}
	m.chunks(&r, b, wide, has)
	return m
}

// sampleFormat steps over where chroma samples lie and how deep samples are.
func (r *bitReader) sampleFormat(chroma uint64, float, alpha bool) {
	if chroma == 1 || chroma == 2 {
		r.take(1)
	}
	if chroma == 1 {
		r.take(1)
	}
	if float {
		r.take(2)
	} else if r.flag() {
		r.take(3)
	}
	if alpha {
		r.take(1)
	}
}

// miniChunks says which chunks there are beside the picture's, and whether the
// head says that Exif and XMP are packed.
type miniChunks struct{ alpha, icc, exif, xmp, packable bool }

// chunks reads the lengths and lays the chunks out behind them.
func (m *mini) chunks(r *bitReader, b box, wide func(int, int) int, has miniChunks) {
	metaLen := 0
	if has.icc || has.exif || has.xmp {
		metaLen = wide(20, 10)
	}
	configLen, dataLen := wide(12, 3), wide(28, 15)
	optional := func(there bool, n int) int64 {
		if !there {
			return 0
		}
		return int64(r.take(n)) + 1
	}
	profile := optional(has.icc, metaLen)
	config, data := int64(r.take(configLen)), int64(r.take(dataLen))+1
	var alphaData int64
	if has.alpha {
		if alphaData = int64(r.take(dataLen)); alphaData > 0 {
			config += int64(r.take(configLen))
		}
	}
	packed := has.packable && r.flag()
	exifData, xmpData := optional(has.exif, metaLen), optional(has.xmp, metaLen)
	at := b.start + int64(r.at+7)/8
	m.settings = extent{off: at, n: config}
	m.picture = extent{off: at + config + profile + alphaData, n: data}
	if !packed {
		m.exif = extent{off: m.picture.off + data, n: exifData}
	}
	m.filled = !r.spent && m.picture.off+data+exifData+xmpData == b.end
}

// bitReader takes numbers of any width, the highest bit first. Past the end it
// gives zeros and is spent.
type bitReader struct {
	b     []byte
	at    int // in bits
	spent bool
}

// take takes n bits, at most 64.
func (r *bitReader) take(n int) (v uint64) {
	if r.at+n > 8*len(r.b) {
		r.spent, r.at = true, 8*len(r.b)
		return 0
	}
	for ; n > 0; n-- {
		v = v<<1 | uint64(r.b[r.at/8]>>(7-r.at%8)&1)
		r.at++
	}
	return v
}

func (r *bitReader) flag() bool { return r.take(1) == 1 }
