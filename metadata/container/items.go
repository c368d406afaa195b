package container

import "slices"

// How an item's bytes are found (ISO/IEC 14496-12, 8.11.3).
const (
	inFile = 0 // at offsets of the file
	inIdat = 1 // at offsets of the idat box
	inItem = 2 // at offsets of other items
)

// item is one item of a box file: a picture, a tile, a block of Exif.
type item struct {
	kind    string
	method  int
	foreign bool // its bytes lie in another file
	extents []extent
}

// extent is one run of an item's bytes. No length means up to the end.
type extent struct{ index, off, n int64 }

// Bounds over all items together. Items can be made of each other's bytes many
// times over, so what is copied is counted, and not only what comes out.
const (
	maxExtents = 1 << 18
	maxCopied  = 8 * maxBlock
)

// item finds or makes the item of that number; nil when there are too many.
func (h *heif) item(id uint32) *item {
	it := h.items[id]
	if it == nil && len(h.items) < maxMembers {
		it = &item{}
		h.items[id] = it
	}
	return it
}

// locations reads the item location box (ISO/IEC 14496-12, 8.11.3).
func (h *heif) locations(b box) {
	version, _, t := table(h.s, b)
	widths := t.number(2)
	offLen, lenLen, baseLen, indexLen := int(widths>>12&15), int(widths>>8&15), int(widths>>4&15), int(widths&15)
	if version == 0 {
		indexLen = 0
	}
	if max(offLen, lenLen, baseLen, indexLen) > 8 {
		return
	}
	wide := idLen(version > 1)
	for n := t.number(wide); n > 0 && !t.spent; n-- {
		id := uint32(t.number(wide))
		method := uint64(0)
		if version > 0 {
			method = t.number(2) & 15
		}
		foreign := t.number(2) != 0
		base := t.number(baseLen)
		count := t.number(2)
		it := h.item(id)
		if it == nil {
			return
		}
		it.method, it.foreign = int(method), foreign
		for ; count > 0; count-- {
			e := extent{index: whole(t.number(indexLen), 0), off: whole(t.number(offLen), base), n: whole(t.number(lenLen), 0)}
			if t.spent || h.extents >= maxExtents {
				return
			}
			h.extents++
			it.extents = append(it.extents, e)
		}
	}
}

// whole adds two unsigned numbers of a file; beyond 2^60 the sum is far outside
// of every file and stays there without running over.
func whole(a, b uint64) int64 {
	const far = 1 << 60
	if a >= far || b >= far {
		return far
	}
	return int64(a + b)
}

// furthest gives the byte behind the last one that any item needs of this file.
func (h *heif) furthest() (end int64) {
	for _, it := range h.items {
		if it.method != inFile || it.foreign {
			continue
		}
		for _, e := range it.extents {
			if e.n > 0 {
				end = max(end, e.off+e.n)
			}
		}
	}
	return end
}

// exif reads the Exif item that describes the primary picture, or else the first
// one that holds anything. A file has one, a burst a few.
func (h *heif) exif() Directories {
	var ids []uint32
	for _, id := range h.order {
		if h.items[id].kind != "Exif" {
			continue
		}
		if h.describes(id, h.primaryItem()) {
			ids = slices.Insert(ids, 0, id)
		} else {
			ids = append(ids, id)
		}
	}
	for _, id := range ids[:min(len(ids), 4)] {
		b := h.payload(id, 3)
		if len(b) < 4 {
			continue
		}
		// Before the block stands how far behind this number its TIFF header
		// lies (ISO/IEC 23008-12, annex A.2.1). Where that is wrong, readBlock
		// looks around from the start.
		d := Directories{}
		if skip := be32(b); skip <= int64(len(b)-4) {
			d = readBlock(b[4+skip:])
		}
		if len(d.Main) == 0 {
			d.add(readBlock(b))
		}
		if len(d.Main)+len(d.Exif)+len(d.GPS) > 0 {
			return d
		}
	}
	return Directories{}
}

// describes reports whether an item says of itself that it describes another.
func (h *heif) describes(id, picture uint32) bool {
	return slices.ContainsFunc(h.refs, func(r reference) bool {
		return r.kind == "cdsc" && r.from == id && slices.Contains(r.to, picture)
	})
}

// payload puts an item's bytes together, up to maxBlock. Items inside of items
// are followed to the given depth, which ends circles.
func (h *heif) payload(id uint32, depth int) (b []byte) {
	it := h.items[id]
	if it == nil || it.foreign || depth == 0 {
		return nil
	}
	for _, e := range it.extents[:min(len(it.extents), 256)] {
		n := maxBlock - len(b)
		if e.n > 0 {
			n = int(min(e.n, int64(n)))
		}
		var run []byte
		switch it.method {
		case inFile:
			run = h.s.at(e.off, n)
		case inIdat:
			run = h.s.at(h.idat.start+e.off, int(min(int64(n), h.idat.end-h.idat.start-e.off)))
		case inItem:
			inner := h.payload(h.referred(id, e.index), depth-1)
			run = inner[min(e.off, int64(len(inner))):]
			run = run[:min(n, len(run))]
		}
		b = append(b, run...)
		if h.copied += len(run); h.copied > maxCopied {
			break
		}
	}
	return b
}

// referred gives the item that the index'th "iloc" reference of an item names,
// counted from 1; no index is the first.
func (h *heif) referred(id uint32, index int64) uint32 {
	for _, r := range h.refs {
		if r.kind == "iloc" && r.from == id && max(index, 1) <= int64(len(r.to)) {
			return r.to[max(index, 1)-1]
		}
	}
	return 0
}
