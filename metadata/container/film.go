package container

// filmSize gives the size of a film's largest track, as its header says (ISO/IEC
// 14496-12, 8.3.2): whole pixels in the upper half of a 32-bit number.
func filmSize(s *source, movie box) (width, height int) {
	tracks := 0
	walkBoxes(s, movie.start, movie.end, func(b box) bool {
		if b.kind != "trak" {
			return true
		}
		head, ok := within(s, b, "tkhd")
		version := s.at(head.start, 1)
		if tracks++; !ok || len(version) == 0 {
			return tracks < maxTracks
		}
		at := head.start + 76 // behind times of four bytes, of eight from version 1 on
		if version[0] > 0 {
			at += 12
		}
		if t := s.at(at, 8); len(t) == 8 && at+8 <= head.end {
			if w, h := be16(t), be16(t[4:]); w*h > width*height {
				width, height = w, h
			}
		}
		return tracks < maxTracks
	})
	return width, height
}
