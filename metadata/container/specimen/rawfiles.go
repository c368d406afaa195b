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
