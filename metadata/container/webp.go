package container

// readWebP goes through the chunks of a RIFF file (RFC 9649). Without VP8X the
// size stands in the head of the one picture chunk.
func readWebP(s *source) Contents { return walkWebP(s, nil) }

// walkWebP is readWebP with a digest, which is nil unless the picture is hashed.
func walkWebP(s *source, d *digest) Contents {
	c := Contents{Format: WebP, State: Whole}
	h := s.at(0, 12)
	if len(h) < 12 {
		c.Damage, c.State = damageShort, Incomplete
		return c
	}
	end := 8 + int64(h[4]) + int64(h[5])<<8 + int64(h[6])<<16 + int64(h[7])<<24
	if end > s.size {
		c.Damage, c.State = damageShort, Incomplete
		end = s.size
	}
	pictured := false
	pos := int64(12)
	for n := 0; n < maxMembers && pos+8 <= end; n++ {
		h := s.at(pos, 8)
		if len(h) < 8 {
			break
		}
		kind := string(h[:4])
		length := int64(h[4]) | int64(h[5])<<8 | int64(h[6])<<16 | int64(h[7])<<24
		body := pos + 8
		pos = body + length + length&1
		if body+length > end && c.Damage == "" {
			// The whole is as long as it says, so no more bytes will come.
			c.Damage = damageGarbled
		}
		d.riff(kind, body, min(length, max(end-body, 0)))
		switch kind {
		case "VP8X", "VP8 ", "VP8L":
			// A still's own chunk knows better than VP8X, which gives the canvas.
			if w, h := webpSize(kind, s.at(body, int(min(length, 10)))); w > 0 && !pictured {
				c.Width, c.Height = w, h
			}
			pictured = pictured || kind != "VP8X"
		case "ANMF":
			pictured = true
		case "EXIF":
			if length <= maxBlock && len(c.Exif.Main) == 0 {
				c.Exif = readBlock(s.copyAt(body, int(length)))
			}
		}
	}
	if c.Damage == "" && (!pictured || c.Width == 0) {
		c.Damage = damageEmpty
	}
	return c
}

// webpSize reads width and height from the head of a chunk: RFC 9649, 2.7.1 for
// VP8X, RFC 6386, 9.1 for VP8, RFC 9649, 3.4 for VP8L.
func webpSize(kind string, b []byte) (width, height int) {
	switch {
	case kind == "VP8X" && len(b) >= 10:
		return 1 + int(b[4]) + int(b[5])<<8 + int(b[6])<<16, 1 + int(b[7]) + int(b[8])<<8 + int(b[9])<<16
	case kind == "VP8 " && len(b) >= 10 && string(b[3:6]) == "\x9d\x01\x2a":
		return (int(b[6]) | int(b[7])<<8) & 0x3fff, (int(b[8]) | int(b[9])<<8) & 0x3fff
	case kind == "VP8L" && len(b) >= 5 && b[0] == 0x2f:
		v := int(b[1]) | int(b[2])<<8 | int(b[3])<<16 | int(b[4])<<24
		return 1 + v&0x3fff, 1 + v>>14&0x3fff
	}
	return 0, 0
}
