package container

import "bytes"

// rawBoxes names the box in which one maker's raw files keep Exif: as three TIFF
// files of one directory each. From files seen; the maker has not published it.
const rawBoxes = "\x85\xc0\xb6\x87\x82\x0f\x11\xe0\x81\x11\xf4\xce\x46\x2b\x6a\x48"

// previewBox names the box of the same files that holds a preview of about two
// megapixels, and rawPreviewHead is what stands before a JPEG in there: its size
// in pixels and bytes, and fields nobody knows.
const (
	previewBox     = "\xea\xf4\x2b\x5e\x1c\x98\x4b\x88\xb9\xfb\xb7\xdc\x40\x6e\x4d\x16"
	rawPreviewHead = 16
)

// maxTracks bounds the tracks looked at. Raw files have four, films a few more.
const maxTracks = 64

// readRawBoxes reads a raw file made of boxes (brand "crx "). The size is that
// of the main directory, which is the size of the developed picture; the tracks
// hold sensor sizes with margins.
func readRawBoxes(s *source) Contents {
	c := Contents{Format: Raw}
	short, data := false, false
	var previews []stream
	filled := walkBoxes(s, 0, s.size, func(b box) bool {
		short = short || b.long
		data = data || b.kind == "mdat"
		switch {
		case b.kind == "uuid" && string(s.at(b.start, 16)) == previewBox:
			// Eight bytes stand before the boxes inside.
			walkBoxes(s, b.start+24, b.end, func(b box) bool {
				if b.kind == "PRVW" {
					previews = append(previews, stream{off: b.start + rawPreviewHead, n: b.end - b.start - rawPreviewHead})
				}
				return len(previews) < maxTracks
			})
		case b.kind == "moov":
			previews = append(previews, c.rawMovie(s, b)...)
		}
		return len(previews) < 2*maxTracks
	})
	c.embed(s, previews)
	switch {
	case short || !filled || !data:
		c.State, c.Damage = Incomplete, damageShort
	case c.Width == 0:
		c.Damage = damageEmpty
	default:
		c.State = Whole
	}
	return c
}

// rawMovie reads the box that holds the directories and the tracks. The first
// sample of one track is the picture developed by the camera, as a JPEG in full size.
func (c *Contents) rawMovie(s *source, movie box) (previews []stream) {
	walkBoxes(s, movie.start, movie.end, func(b box) bool {
		switch {
		case b.kind == "uuid" && string(s.at(b.start, 16)) == rawBoxes:
			walkBoxes(s, b.start+16, b.end, func(b box) bool {
				c.rawDirectory(s, b)
				return true
			})
		case b.kind == "trak":
			previews = append(previews, firstSample(s, b))
		}
		return len(previews) < maxTracks
	})
	return previews
}

// firstSample gives the place of a track's first sample (ISO/IEC 14496-12, 8.7):
// where the first chunk begins, and how long the first sample is.
func firstSample(s *source, track box) (at stream) {
	tables, ok := within(s, track, "mdia", "minf", "stbl")
	if !ok {
		return stream{}
	}
	walkBoxes(s, tables.start, tables.end, func(b box) bool {
		t := cursor{b: s.copyAt(b.start, int(min(b.end-b.start, 16)))}
		t.number(4) // version and flags
		switch b.kind {
		case "stsz":
			at.n = int64(t.number(4))
			if t.number(4); at.n == 0 {
				at.n = int64(t.number(4))
			}
		case "stco":
			t.number(4)
			at.off = int64(t.number(4))
		case "co64":
			t.number(4)
			at.off = whole(t.number(8), 0)
		}
		return true
	})
	return at
}

// rawDirectory reads one of the three: what stands in the first directory of the
// second and third is what other files have in the Exif and GPS directories.
func (c *Contents) rawDirectory(s *source, b box) {
	if b.kind != "CMT1" && b.kind != "CMT2" && b.kind != "CMT4" {
		return
	}
	block := s.copyAt(b.start, int(min(b.end-b.start, maxBlock)))
	if sniffTIFF(block) == "" {
		return
	}
	switch b.kind {
	case "CMT1":
		t := readTIFF(newSource(bytes.NewReader(block), int64(len(block))))
		c.Exif.add(Directories{Main: t.dirs.Main})
		if p, ok := t.largest(false); ok {
			c.Width, c.Height = int(p.width), int(p.height)
		}
	case "CMT2":
		c.Exif.add(Directories{Exif: readAs(block, keptInExif)})
	case "CMT4":
		c.Exif.add(Directories{GPS: readAs(block, keptInGPS)})
	}
}
