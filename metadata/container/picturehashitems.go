package container

// maxDerivation is how deep a picture can be made of others: a grid of tiles
// inside of an overlay inside of a turned copy.
const maxDerivation = 4

// items hashes the primary item of a HEIC or AVIF and what it is made of.
func (d *digest) items() (sum [32]byte) {
	h, filled := openHEIF(d.s)
	state, _ := h.state(filled, true)
	id := h.primaryItem()
	if h.items[id] == nil {
		return sum
	}
	d.item(h, id, maxDerivation)
	return d.sum(state != Incomplete && !h.hollow(h.furthest()))
}

// item adds an item: its kind, the settings of its codec, its bytes, and then
// the items it is made of, in their order.
func (d *digest) item(h *heif, id uint32, depth int) {
	it := h.items[id]
	own := h.associated(id)
	if it == nil || it.foreign || depth == 0 || !d.charge(int64(len(own))) {
		d.bad = true
		return
	}
	d.begin(it.kind)
	for _, i := range own {
		if p := h.props[i]; p.end > p.start {
			d.part(p.kind, p.start, p.end-p.start)
		}
	}
	d.begin("data")
	before := d.data
	d.itemData(h, it)
	parts := h.derivation(id)
	if derived(it.kind) {
		// What such an item holds is the plan alone, and two plans can be equal.
		d.data = before
	}
	for _, to := range parts {
		if d.item(h, to, depth-1); d.bad {
			return
		}
	}
}

// derived reports whether items of a kind are made of others and hold no picture
// themselves (ISO/IEC 23008-12, 6.6.2; tmap from ISO/IEC 21496-1).
func derived(kind string) bool {
	switch kind {
	case "grid", "iovl", "iden", "tmap":
		return true
	}
	return false
}

// itemData adds an item's own bytes, wherever they are kept.
func (d *digest) itemData(h *heif, it *item) {
	for _, e := range it.extents {
		switch it.method {
		case inFile:
			n := e.n
			if n == 0 {
				n = d.s.size - e.off
			}
			d.picture(e.off, n)
		case inIdat:
			n := e.n
			if n == 0 {
				n = h.idat.end - h.idat.start - e.off
			}
			if e.off > h.idat.end-h.idat.start-n {
				d.bad = true
				return
			}
			d.picture(h.idat.start+e.off, n)
		default:
			// Items made of pieces of others hold Exif in the files seen, and no
			// pictures: those pieces would have to be counted.
			d.bad = true
		}
		if d.bad {
			return
		}
	}
}
