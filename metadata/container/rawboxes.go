package container

import "bytes"

// rawBoxes names the box in which one maker's raw files keep Exif: as three TIFF
// files of one directory each. From files seen; the maker has not published it.
const rawBoxes = "\x85\xc0\xb6\x87\x82\x0f\x11\xe0\x81\x11\xf4\xce\x46\x2b\x6a\x48"

// readRawBoxes reads a raw file made of boxes (brand "crx "). The size is that
// of the main directory, which is the size of the developed picture; the tracks
// hold sensor sizes with margins.
func readRawBoxes(s *source) Contents {
	c := Contents{Format: Raw}
	short, data := false, false
	filled := walkBoxes(s, 0, s.size, func(b box) bool {
		short = short || b.long
		data = data || b.kind == "mdat"
		if b.kind != "moov" {
			return true
		}
		walkBoxes(s, b.start, b.end, func(b box) bool {
			if b.kind == "uuid" && string(s.at(b.start, 16)) == rawBoxes {
				walkBoxes(s, b.start+16, b.end, func(b box) bool {
					c.rawDirectory(s, b)
					return true
				})
			}
			return true
		})
		return true
	})
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
