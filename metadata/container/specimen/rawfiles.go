package specimen

// RawBoxes is a raw file made of boxes, with the three directories of e in a
// TIFF block each, and the size in the main one.
func RawBoxes(width, height int, e Exif) []byte {
	main := append([]Tag{Number(0x0100, uint16(width)), Number(0x0101, uint16(height))}, e.Main...)
	parts := [][]byte{
		[]byte("\x85\xc0\xb6\x87\x82\x0f\x11\xe0\x81\x11\xf4\xce\x46\x2b\x6a\x48"),
		Box("CMT1", Exif{Main: main}.Block()),
		Box("CMT2", Exif{Main: e.Exif}.Block()),
	}
	if len(e.GPS) > 0 {
		parts = append(parts, Box("CMT4", Exif{Main: e.GPS}.Block()))
	}
	file := Box("ftyp", []byte("crx "), u32(1), []byte("crx isom"))
	file = append(file, Box("moov", Box("uuid", parts...))...)
	return append(file, Box("mdat", make([]byte, 64))...)
}

// RawAroundJPEG is a raw file that wraps a JPEG.
func RawAroundJPEG(jpeg []byte) []byte {
	const head = 160
	file := make([]byte, head)
	copy(file, "FUJIFILMCCD-RAW 0201")
	copy(file[84:], append(u32(head), u32(len(jpeg))...))
	return append(append(file, jpeg...), make([]byte, 64)...)
}

// Place stands for a number that is known once a file is put together.
type Place int

// The places of the JPEG in a RawTIFF.
const (
	JPEGOffset Place = iota + 1
	JPEGLength
)

// RawTIFF is a raw file built as a TIFF with a JPEG at its end.
type RawTIFF struct {
	Magic string  // the first four bytes; "" is those of TIFF
	Exif  Exif    // its main directory is the first page
	Subs  [][]Tag // pages that the first points to
	JPEG  []byte
}

// Bytes builds the file. Tags with a Place name the JPEG.
func (r RawTIFF) Bytes() []byte {
	e := r.Exif
	e.Main = append([]Tag{}, r.Exif.Main...)
	at := make([]uint32, len(r.Subs))
	if len(at) > 0 {
		e.Main = append(e.Main, Tag{ID: 0x014a, Type: Long, Numbers: at})
	}
	// Numbers have a fixed width: the first rounds give the places for the last.
	for end := 0; ; {
		place := func(tags []Tag) []Tag { return placed(tags, uint32(end), uint32(len(r.JPEG))) }
		whole := e
		whole.Main, whole.Exif = place(e.Main), place(e.Exif)
		file := whole.Block()
		for i, sub := range r.Subs {
			at[i] = uint32(len(file))
			file = append(file, directory(e.order(), place(sub), len(file), 0)...)
		}
		if end == len(file) {
			if r.Magic != "" {
				copy(file, r.Magic)
			}
			return append(file, r.JPEG...)
		}
		end = len(file)
	}
}

// placed fills in the places.
func placed(tags []Tag, at, n uint32) []Tag {
	tags = append([]Tag{}, tags...)
	for i, t := range tags {
		switch t.Place {
		case JPEGOffset:
			tags[i].Type, tags[i].Numbers = Long, []uint32{at}
		case JPEGLength:
			tags[i].Type, tags[i].Numbers = Long, []uint32{n}
		}
	}
	return tags
}

// PhoneNote is the maker note of a phone that pairs a still with its film.
func PhoneNote(contentID string) Tag {
	note := []byte("Apple iOS\x00\x00\x01MM")
	note = append(note, directory(Exif{BigEndian: true}.order(), []Tag{Number(0x0001, 9), Text(0x0011, contentID)}, len(note), 0)...)
	return Tag{ID: 0x927c, Type: Undefined, Text: string(note)}
}

// RawBoxesWith is RawBoxes with a JPEG in the box for previews and one as the
// only sample of a track; nil for none.
func RawBoxesWith(width, height int, e Exif, preview, track []byte) []byte {
	file := RawBoxes(width, height, e)
	if preview != nil {
		head := append(make([]byte, 4), u16(1)...)
		head = append(head, make([]byte, 6)...)
		head = append(head, u32(len(preview))...)
		file = append(file, Box("uuid",
			[]byte("\xea\xf4\x2b\x5e\x1c\x98\x4b\x88\xb9\xfb\xb7\xdc\x40\x6e\x4d\x16"), make([]byte, 8),
			Box("PRVW", head, preview))...)
	}
	if track != nil {
		file = append(file, Box("mdat", track)...)
		at := len(file) - len(track)
		tables := Box("stbl",
			FullBox("stsz", 0, u32(0), u32(1), u32(len(track))),
			FullBox("co64", 0, u32(1), u32(0), u32(at)))
		file = append(file, Box("moov", Box("trak", Box("mdia", Box("minf", tables))))...)
	}
	return file
}
