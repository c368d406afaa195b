package container

import "encoding/binary"

// Embedded is a JPEG inside another file: bytes Offset to Offset+Length of it are
// a file of their own. Orientation, 1 to 8, says how to turn its pixels upright;
// 0 where neither it nor the file around says. The zero value is none.
type Embedded struct {
	Offset, Length int64
	Width, Height  int
	Orientation    int
}

// maxJPEGHead is how far into a JPEG inside its frame header is looked for. A few
// Exif blocks and colour profiles stand before it, 64 KiB each.
const maxJPEGHead = 1 << 20

const tagOrientation = 0x0112

// stream is a place where a JPEG may lie, with what its directory says of turning.
type stream struct {
	off, n      int64
	orientation int
}

// embed notes the largest JPEG among the streams. Where neither it nor its page
// says a turning, it is stored the way the sensor was, and the file's counts; but
// one that stands upright where the sensor lies on its side was turned by whoever
// made it. The size of the file's picture must be known by then.
func (c *Contents) embed(s *source, streams []stream) {
	e := embedded(s, streams)
	if e.Length > 0 && e.Orientation == 0 {
		e.Orientation = orientationOf(c.Exif.Main)
		wide, sensorWide := e.Width-e.Height, c.Width-c.Height
		if e.Orientation > 4 && (wide > 0 && sensorWide < 0 || wide < 0 && sensorWide > 0) {
			e.Orientation = 1
		}
	}
	c.Embedded = e
}

// embedded picks the stream that is a whole JPEG with the most pixels.
func embedded(s *source, streams []stream) (best Embedded) {
	for _, at := range streams {
		e, ok := embeddedAt(s, at)
		if ok && int64(e.Width)*int64(e.Height) > int64(best.Width)*int64(best.Height) {
			best = e
		}
	}
	return best
}

// embeddedAt looks whether a JPEG that anybody can draw lies at a place. Sensor
// data is often a JPEG as well, of a kind that no viewer knows: what counts is a
// Huffman-coded frame of eight bits (ITU-T T.81, table B.1: SOF0, SOF1, SOF2).
// Its own Exif block knows better which way up it is than the file around.
func embeddedAt(s *source, at stream) (Embedded, bool) {
	if at.off <= 0 || at.n < 4 || at.off > s.size-at.n || Sniff(s.at(at.off, 4)) != JPEG {
		return Embedded{}, false
	}
	w := jpegWalk{s: s.section(at.off, min(at.n, maxJPEGHead)), headOnly: true}
	w.walk()
	if !w.scanned || w.frame > markSOF0+2 || w.depth != 8 || w.width == 0 || w.height == 0 {
		return Embedded{}, false
	}
	e := Embedded{Offset: at.off, Length: at.n, Width: w.width, Height: w.height, Orientation: at.orientation}
	for _, b := range w.blocks {
		if n := orientationOf(readBlock(b).Main); n != 0 {
			e.Orientation = n
			break
		}
	}
	return e, true
}

// orientationOf gives the Exif orientation among entries, 0 when they have none.
func orientationOf(entries []Entry) int {
	for _, e := range entries {
		if e.Tag == tagOrientation && e.Type == typeShort && len(e.Value) >= 2 {
			if n := int(binary.BigEndian.Uint16(e.Value)); n >= 1 && n <= 8 {
				return n
			}
		}
	}
	return 0
}

// streamsOf lists where a directory of a raw file says a JPEG lies: as a stream
// of its own, or as the one strip of a page that is compressed so.
func (t *tiffFile) streamsOf(byTag map[uint16]field) (list []stream) {
	first := func(tag uint16) int64 {
		v, _ := t.integer(byTag[tag], 0)
		return v
	}
	// Upright is what cameras also write into the pages of a file that is turned.
	orientation := 0
	if n := first(tagOrientation); n > 1 && n <= 8 {
		orientation = int(n)
	}
	if f, ok := byTag[tagPreview]; ok && t.magic == magicBordered {
		list = append(list, stream{f.at, f.size(), orientation})
	}
	if off := first(tagJPEGOffset); off > 0 {
		list = append(list, stream{off, first(tagJPEGCount), orientation})
	}
	compression := first(tagCompression)
	if byTag[tagStripOffsets].count == 1 && (compression == compressedOldJPEG || compression == compressedJPEG) {
		list = append(list, stream{first(tagStripOffsets), first(tagStripCounts), orientation})
	}
	return list
}
