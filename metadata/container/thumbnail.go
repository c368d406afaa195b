package container

import (
	"bytes"
	"encoding/binary"
	"slices"
)

// Thumbnail is an item of a HEIC that shows the primary picture smaller, coded in
// the same way (hvc1). Width and height are pixels as stored, and Turn, 1 to 8,
// is what its own irot and imir do to them. The zero value is none: no file
// numbers an item 0.
type Thumbnail struct {
	Item          uint32
	Width, Height int
	Turn          int
}

// thumbnails lists the items of a kind that stand for the primary picture (ISO/IEC
// 23008-12, 6.4.7: reference type thmb, from the thumbnail to the picture).
func (h *heif) thumbnails(kind string) (ids []uint32) {
	for _, r := range h.refs {
		it := h.items[r.from]
		if r.kind == "thmb" && it != nil && it.kind == kind && slices.Contains(r.to, h.primaryItem()) {
			ids = append(ids, r.from)
		}
		if len(ids) == 16 { // cameras write one to three
			break
		}
	}
	return ids
}

// thumbnail picks the largest of the coded ones.
func (h *heif) thumbnail() (best Thumbnail) {
	for _, id := range h.thumbnails("hvc1") {
		t := Thumbnail{Item: id}
		t.Width, t.Height, t.Turn = h.sized(id)
		if int64(t.Width)*int64(t.Height) > int64(best.Width)*int64(best.Height) {
			best = t
		}
	}
	return best
}

// thumbnailStreams lists where the thumbnails that are JPEGs lie.
func (h *heif) thumbnailStreams() (list []stream) {
	for _, id := range h.thumbnails("jpeg") {
		it := h.items[id]
		if it.method == inFile && !it.foreign && len(it.extents) == 1 {
			_, _, turn := h.sized(id)
			list = append(list, stream{off: it.extents[0].off, n: it.extents[0].n, orientation: turn})
		}
	}
	return list
}

// WithPrimary returns a copy of a HEIC whose primary item is the one with that
// number, so that a decoder which draws the primary item alone draws that one:
// with Thumbnail.Item a small picture where the large one would take more memory
// than there is. Nothing else changes. It returns nil where the file names no
// primary item, has none of that number, or cannot write it in the room it has.
func WithPrimary(heic []byte, item uint32) []byte {
	switch Sniff(heic[:min(len(heic), 512)]) {
	case HEIC, AVIF:
	default:
		return nil
	}
	h, _ := openHEIF(newSource(bytes.NewReader(heic), int64(len(heic))))
	it := h.items[item]
	if it == nil || it.kind == "" || h.pitm.kind == "" || h.pitm.end-h.pitm.start < 6 {
		return nil
	}
	number := binary.BigEndian.AppendUint32(nil, item)
	if heic[h.pitm.start] == 0 { // version 0: two bytes
		if item > 0xffff {
			return nil
		}
		number = number[2:]
	}
	if h.pitm.start+4+int64(len(number)) > h.pitm.end {
		return nil
	}
	changed := bytes.Clone(heic)
	copy(changed[h.pitm.start+4:], number)
	return changed
}
