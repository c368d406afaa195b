package container

import "bytes"

// Entry is one tag of a directory. Value holds Count values of Type in
// big-endian order whatever the file used; it has exactly their length.
type Entry struct {
	Tag, Type uint16
	Count     uint32
	Value     []byte
}

// Directories are the Exif directories of a photo (CIPA DC-008, 4.6.3). Only
// entries that say who took the photo, when, where and which way up are kept,
// and of those only the ones whose type, count and offset hold together. A tag
// stands at most once in a list.
type Directories struct {
	Main, Exif, GPS []Entry
	Maker           []Entry // of the one maker note whose form is known here
}

// Pointers from the main directory to the two others.
const (
	tagExifIFD = 0x8769
	tagGPSIFD  = 0x8825
)

// Bounds on what one file or block may make us read. Overlapping directories
// make a small file look like a huge one, so the sums are bounded as well.
const (
	maxText     = 64 << 10 // bytes of one kept value; a JPEG's whole block is no larger
	maxEntries  = 1 << 16  // entries of one directory, as many as TIFF can count
	maxDirs     = 64       // directories of one file
	maxFields   = 1 << 17  // entries of all its directories
	maxIntegers = 1 << 20  // strip and tile entries looked at
)

// keptInMain says which entries of the main directory are kept. Times and serial
// numbers belong into the Exif directory; some writers put them here.
func keptInMain(tag uint16) bool {
	switch tag {
	case 0x010f, 0x0110, 0x0112, 0x0132: // maker, model, orientation, time of change
		return true
	}
	return keptInExif(tag)
}

// keptInExif says which entries of the Exif directory are kept. The maker note,
// the largest entry of most photos, is not: every maker has another form, none is
// published, and what it repeats of the standard's tags is often older than them.
// What is taken from it nevertheless, makerNote says.
func keptInExif(tag uint16) bool {
	switch tag {
	case 0x9003, 0x9004, 0x9010, 0x9011, 0x9012, // times and their offsets
		0x9290, 0x9291, 0x9292, // parts of a second
		0xa431, 0xa433, 0xa434: // serial number of the body, maker and model of the lens
		return true
	}
	return false
}

// keptInGPS keeps the position with its references, and the time and date of the
// satellites. That is the time of the last fix, which may be hours before the
// photo: it can tell a zone, never when the photo was taken.
func keptInGPS(tag uint16) bool { return tag >= 1 && tag <= 4 || tag == 0x07 || tag == 0x1d }

// add takes over what more has and d lacks: in a file with two blocks the first
// one speaks, the second fills gaps.
func (d *Directories) add(more Directories) {
	d.Main = merge(d.Main, more.Main)
	d.Exif = merge(d.Exif, more.Exif)
	d.GPS = merge(d.GPS, more.GPS)
	d.Maker = merge(d.Maker, more.Maker)
}

func merge(have, more []Entry) []Entry {
	seen := make(map[uint16]bool, len(have))
	for _, e := range have {
		seen[e.Tag] = true
	}
	for _, e := range more {
		if !seen[e.Tag] {
			seen[e.Tag] = true
			have = append(have, e)
		}
	}
	return have
}

// readBlock reads an Exif block: a small TIFF file, with or without the name in
// front. In item files the header is a few bytes off where it is said to be often
// enough to look around for it.
func readBlock(b []byte) Directories {
	if cut, ok := cutExifName(b); ok {
		b = cut
	}
	for i := 0; i < len(b) && i < 64; i++ {
		if sniffTIFF(b[i:]) != "" {
			return readTIFF(newSource(bytes.NewReader(b[i:]), int64(len(b)-i))).dirs
		}
	}
	return Directories{}
}
