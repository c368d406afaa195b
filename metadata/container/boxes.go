package container

// box is one box of ISO/IEC 14496-12, 4.2: its name and where its content lies.
type box struct {
	kind       string
	start, end int64 // of the content
	long       bool  // it reaches past what holds it; end is clipped
}

// walkBoxes visits the boxes between from and to until visit says stop. It
// reports whether they fill the space to the last byte.
func walkBoxes(s *source, from, to int64, visit func(box) bool) (filled bool) {
	to = min(to, s.size)
	for n := 0; n < maxMembers; n++ {
		if from == to {
			return true
		}
		h := s.at(from, 16)
		if len(h) < 8 || from+8 > to {
			return false
		}
		b := box{kind: string(h[4:8]), start: from + 8}
		length := be32(h)
		switch {
		case length == 0: // to the end of what holds it
			length = to - from
		case length == 1 && len(h) == 16:
			b.start += 8
			c := cursor{b: h[8:]}
			length = int64(c.number(8))
		}
		b.long = length > to-from
		b.end = from + min(length, to-from)
		// Shorter than its own head: no box. A length above 2^63 is one of those.
		if b.end < b.start || !visit(b) || b.long {
			return false
		}
		from = b.end
	}
	return false
}

// within finds the first box of each kind inside the one before it.
func within(s *source, b box, kinds ...string) (box, bool) {
	for _, kind := range kinds {
		found := false
		walkBoxes(s, b.start, b.end, func(inner box) bool {
			if found = inner.kind == kind; found {
				b = inner
			}
			return !found
		})
		if !found {
			return box{}, false
		}
	}
	return b, true
}

// table reads the content of a full box (ISO/IEC 14496-12, 4.2.2) up to
// maxTable bytes: its version, its flags and the rest.
func table(s *source, b box) (version int, flags uint64, rest cursor) {
	rest = cursor{b: s.copyAt(b.start, int(min(b.end-b.start, maxTable)))}
	version = int(rest.number(1))
	flags = rest.number(3)
	return version, flags, rest
}

// printable reports whether a box name is four visible ASCII characters, or the
// blank-filled ones some brands use. Junk behind the last box rarely is.
func printable(kind string) bool {
	for _, c := range []byte(kind) {
		if c < ' ' || c > '~' {
			return false
		}
	}
	return len(kind) == 4
}
