package container

import (
	"bytes"
	"strings"
)

// Markers of ITU-T T.81, table B.1.
const (
	markTEM  = 0x01
	markSOF0 = 0xc0
	markDHT  = 0xc4
	markJPG  = 0xc8
	markDAC  = 0xcc
	markRST0 = 0xd0
	markSOI  = 0xd8
	markEOI  = 0xd9
	markSOS  = 0xda
	markAPP1 = 0xe1
)

// maxMarkers bounds the walk; even a photo with a preview in every segment has hundreds.
const maxMarkers = 1 << 18

// jpegWalk goes from marker to marker. Nothing is asked of their order: Exif may
// stand behind other APP1 segments, or in none.
type jpegWalk struct {
	s             *source
	d             *digest // nil unless the picture is hashed
	headOnly      bool    // stop where picture data begins
	width, height int
	frame         byte // marker of the frame header
	depth         int  // bits of a sample
	framed        bool // a frame header was seen
	scanned       bool // picture data was seen
	ended         bool // the end marker was seen
	blocks        [][]byte
}

func readJPEG(s *source) Contents {
	w := jpegWalk{s: s}
	w.walk()
	c := Contents{Format: JPEG, Width: w.width, Height: w.height, State: Whole}
	for _, b := range w.blocks {
		c.Exif.add(readBlock(b))
	}
	switch {
	case !w.ended:
		c.Damage, c.State = damageShort, Incomplete
	case !w.framed || !w.scanned:
		c.Damage = damageEmpty
	}
	return c
}

// walk stops at the end marker or at the end of the bytes. Bytes between
// segments that are no marker are stepped over, as every decoder does.
func (w *jpegWalk) walk() {
	pos := int64(2)
	for range maxMarkers {
		b := w.s.at(pos, 4)
		if len(b) < 2 {
			return
		}
		if b[0] != 0xff {
			pos = w.seekMarker(pos)
			continue
		}
		switch m := b[1]; {
		case m == 0xff: // fill
			pos++
		case m == markEOI:
			w.ended = true
			return
		case m == 0 || m == markTEM || m >= markRST0 && m <= markSOI:
			pos += 2
		case len(b) < 4:
			return
		case be16(b[2:]) < 2: // no length: not a segment, look on behind it
			pos += 2
		default:
			n := int64(be16(b[2:]))
			w.segment(m, pos+4, int(n-2))
			w.d.segment(m, pos+4, n-2)
			pos += 2 + n
			if m == markSOS {
				w.scanned = true
				if w.headOnly {
					return
				}
				scan := pos
				pos = w.seekMarker(pos)
				w.d.picture(scan, pos-scan)
			}
		}
	}
}

// segment takes what it wants from the n bytes at pos. The first frame header
// counts: later ones belong to a hierarchical picture's smaller layers.
func (w *jpegWalk) segment(m byte, pos int64, n int) {
	switch {
	case m == markAPP1:
		w.exif(w.s.at(pos, n))
	case m >= markSOF0 && m < markRST0 && m != markDHT && m != markJPG && m != markDAC && !w.framed:
		if b := w.s.at(pos, 5); len(b) == 5 && n >= 6 {
			w.framed, w.frame, w.depth = true, m, int(b[0])
			w.height, w.width = be16(b[1:]), be16(b[3:])
		}
	}
}

// exif keeps the TIFF block of an Exif segment. A block over 64 KiB goes on in
// the next segments, which carry the same name but no TIFF header of their own.
func (w *jpegWalk) exif(b []byte) {
	block, ok := cutExifName(b)
	if !ok {
		return
	}
	last := len(w.blocks) - 1
	switch {
	case sniffTIFF(block) != "":
		if len(w.blocks) < 4 {
			w.blocks = append(w.blocks, bytes.Clone(block))
		}
	case last >= 0 && len(w.blocks[last])+len(block) <= maxBlock:
		w.blocks[last] = append(w.blocks[last], block...)
	}
}

// cutExifName takes off the "Exif\0" and the pad byte before a block. Some
// writers put a few bytes before the name, or write it in another case.
func cutExifName(b []byte) ([]byte, bool) {
	head := strings.ToLower(string(b[:min(len(b), 9)]))
	i := strings.Index(head, "exif\x00")
	if i < 0 || len(b) < i+6 {
		return nil, false
	}
	return b[i+6:], true
}

// seekMarker finds the next marker from pos on that ends picture data: not a
// stuffed zero, not a restart, not fill. Without one it gives the end.
func (w *jpegWalk) seekMarker(pos int64) int64 {
	for {
		b := w.s.at(pos, pageSize)
		if len(b) < 2 {
			return w.s.size
		}
		i := 0
		for {
			j := bytes.IndexByte(b[i:], 0xff)
			if j < 0 {
				i = len(b)
				break
			}
			i += j
			if i+1 == len(b) { // the pair is split over two pages
				break
			}
			m := b[i+1]
			if m != 0 && m != 0xff && (m < markRST0 || m >= markSOI) {
				return pos + int64(i)
			}
			if m == 0xff {
				i++
			} else {
				i += 2
			}
		}
		if i == 0 { // a lone 0xff that the next page will not complete
			return w.s.size
		}
		pos += int64(i)
	}
}
