package container

import "strings"

// Tags and values that tell the pages of a file apart (TIFF 6.0; DNG 1.6).
const (
	tagSubfile      = 0x00fe
	tagWidth        = 0x0100
	tagHeight       = 0x0101
	tagCompression  = 0x0103
	tagPhotometric  = 0x0106
	tagStripOffsets = 0x0111
	tagStripCounts  = 0x0117
	tagTileOffsets  = 0x0144
	tagTileCounts   = 0x0145
	tagSubIFDs      = 0x014a
	tagJPEGOffset   = 0x0201
	tagJPEGCount    = 0x0202
	tagDNGVersion   = 0xc612

	maxPageTag = 0x0213 // what shapes a page and says where it is stands below

	// In files of magic 85, from files seen: the sensor's borders and a JPEG
	// preview with the Exif block. Their strip offsets may be place holders.
	magicBordered   = 85
	tagBorderTop    = 0x0004
	tagBorderLeft   = 0x0005
	tagBorderBottom = 0x0006
	tagBorderRight  = 0x0007
	tagPreview      = 0x002e

	compressedOldJPEG = 6
	compressedJPEG    = 7

	photometricCFA       = 32803
	photometricLinearRaw = 34892
)

// rawCompressions are private numbers of camera makers, from files seen; sensor
// data under a public number is known by its photometric interpretation.
var rawCompressions = map[int64]bool{32767: true, 32769: true, 32770: true, 34713: true, 65535: true}

// page is one picture a directory describes.
type page struct {
	width, height int64
	reduced       bool  // a preview of another page
	end           int64 // the byte behind its furthest strip, tile or stream
	fields        map[uint16]field
}

// placesOfData are the pairs of fields that say where picture data is and how
// long its pieces are.
var placesOfData = [][2]uint16{
	{tagStripOffsets, tagStripCounts}, {tagTileOffsets, tagTileCounts}, {tagJPEGOffset, tagJPEGCount},
}

// picture notes the page of a directory and of those it points to as sub-directories.
func (t *tiffFile) picture(fields []field) {
	t.page(fields)
	for _, f := range fields {
		if f.tag != tagSubIFDs {
			continue
		}
		for i := int64(0); i < min(f.count, maxDirs); i++ {
			if sub, ok := t.follow(f, i); ok {
				t.page(sub)
			}
		}
	}
}

func (t *tiffFile) page(fields []field) {
	var p page
	byTag := map[uint16]field{}
	for _, f := range fields {
		if _, twice := byTag[f.tag]; !twice && f.tag < maxPageTag {
			byTag[f.tag] = f
		}
		v, _ := t.integer(f, 0)
		switch f.tag {
		case tagWidth:
			p.width = int64(pixels(v))
		case tagHeight:
			p.height = int64(pixels(v))
		case tagSubfile:
			p.reduced = v&1 == 1
		case tagCompression:
			t.raw = t.raw || rawCompressions[v]
		case tagPhotometric:
			t.raw = t.raw || v == photometricCFA || v == photometricLinearRaw
		case tagDNGVersion:
			t.raw = true
		}
	}
	if len(t.streams) < maxDirs*2 {
		t.streams = append(t.streams, t.streamsOf(byTag)...)
	}
	if t.magic == magicBordered {
		t.bordered(byTag)
		return
	}
	p.fields = byTag
	for _, pair := range placesOfData {
		p.end = max(p.end, t.furthest(byTag[pair[0]], byTag[pair[1]]))
	}
	if p.width > 0 && p.height > 0 || p.end > 0 {
		t.pages = append(t.pages, p)
	}
}

// bordered notes the page of a file of magic 85: the picture lies between the
// sensor's borders. How long the file must be is not said.
func (t *tiffFile) bordered(byTag map[uint16]field) {
	edge := func(tag uint16) int64 {
		v, _ := t.integer(byTag[tag], 0)
		return v
	}
	p := page{
		width:  int64(pixels(edge(tagBorderRight) - edge(tagBorderLeft))),
		height: int64(pixels(edge(tagBorderBottom) - edge(tagBorderTop))),
	}
	if p.width > 0 && p.height > 0 {
		t.pages = append(t.pages, p)
	}
	if f, ok := byTag[tagPreview]; ok {
		t.preview = t.s.section(f.at, f.size())
	}
}

// furthest gives the end of the strip that ends last. A strip with no length is
// taken as one byte; a strip at offset 0 is one that a sparse file left out.
func (t *tiffFile) furthest(offsets, counts field) (end int64) {
	n := min(offsets.count, int64(t.left))
	t.left -= int(n)
	for i := int64(0); i < n; i++ {
		off, ok := t.integer(offsets, i)
		if !ok {
			break
		}
		length, ok := t.integer(counts, i)
		if !ok {
			length = 1
		}
		if off != 0 && length != 0 {
			end = max(end, off+length)
		}
		if off < 0 || length < 0 || off+length < 0 { // beyond 2^63: outside of every file
			return 1<<63 - 1
		}
	}
	return end
}

// readTIFFOrRaw reads a whole file that is TIFF inside, or one that wraps a JPEG.
func readTIFFOrRaw(s *source) Contents {
	switch head := string(s.at(0, 16)); {
	case strings.HasPrefix(head, rafSignature):
		return readRAF(s)
	case len(head) >= 8 && head[4:8] == "ftyp":
		return readRawBoxes(s)
	}
	t := readTIFF(s)
	c := Contents{Format: TIFF, Exif: t.dirs, State: Whole}
	if t.raw || Sniff(s.at(0, 16)) == Raw {
		c.Format = Raw
	}
	if p, ok := t.largest(c.Format == Raw); ok {
		c.Width, c.Height = int(p.width), int(p.height)
	}
	if t.preview != nil && Sniff(t.preview.at(0, 32)) == JPEG {
		c.Exif.add(readJPEG(t.preview).Exif)
	}
	if c.Format == Raw {
		c.embed(s, t.streams)
	}
	c.State, c.Damage = t.state()
	return c
}

// state holds the ends of all pages against the size. Sensor data without
// strips (some raw files) leaves the answer open, and so does a chain that leads
// outside: sloppy writers leave out the zero that ends it.
func (t *tiffFile) state() (Completeness, string) {
	var end int64
	for _, p := range t.pages {
		end = max(end, p.end)
	}
	switch {
	case end > t.s.size || t.cut && end == 0:
		return Incomplete, damageShort
	case len(t.pages) == 0:
		return Unknown, damageEmpty
	case end == 0 || t.cut:
		return Unknown, ""
	}
	return Whole, ""
}

// largest picks the page that is the photo: the first in a TIFF, where further
// ones are pages of a scan, and in a raw file the largest that is no preview.
func (t *tiffFile) largest(raw bool) (best page, ok bool) {
	for _, p := range t.pages {
		switch {
		case p.width == 0 || p.height == 0:
		case !ok:
			best, ok = p, true
		case raw && (best.reduced && !p.reduced || best.reduced == p.reduced && p.width*p.height > best.width*best.height):
			best = p
		}
	}
	return best, ok
}

// readRAF reads a raw file that wraps a JPEG: its place stands at byte 84 (from
// files seen). The JPEG carries the Exif block, and its size is the size given.
func readRAF(s *source) Contents {
	c := Contents{Format: Raw, State: Incomplete, Damage: damageShort}
	h := s.at(84, 8)
	if len(h) < 8 {
		return c
	}
	off, n := be32(h), be32(h[4:])
	inner := s.section(off, n)
	if Sniff(inner.at(0, 32)) != JPEG {
		if off < s.size {
			c.State, c.Damage = Unknown, damageEmpty
		}
		return c
	}
	j := readJPEG(inner)
	c.Width, c.Height, c.Exif = j.Width, j.Height, j.Exif
	c.embed(s, []stream{{off: off, n: n}})
	if off+n <= s.size {
		c.State, c.Damage = Unknown, ""
	}
	return c
}
