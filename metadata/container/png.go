package container

import (
	"bytes"
	"compress/zlib"
	"encoding/hex"
	"io"
	"strings"
)

// readPNG goes through the chunks of ISO/IEC 15948 up to IEND. Exif stands in an
// eXIf chunk, before or behind the picture data; older writers put it as hex
// digits into a text chunk, which is taken only where there is no eXIf.
func readPNG(s *source) Contents {
	c := Contents{Format: PNG, State: Incomplete, Damage: damageShort}
	var block, profile []byte
	var pictured bool
	pos := int64(len(pngSignature))
	for n := 0; n < maxMembers*4; n++ {
		h := s.at(pos, 8)
		if len(h) < 8 {
			break
		}
		length, kind := be32(h), string(h[4:8])
		if !chunkName(kind) {
			c.Damage, c.State = damageGarbled, Unknown
			break
		}
		body := pos + 8
		pos = body + length + 4
		if pos > s.size {
			break
		}
		switch kind {
		case "IHDR":
			if b := s.at(body, 8); len(b) == 8 && length == 13 && n == 0 {
				c.Width, c.Height = pixels(be32(b)), pixels(be32(b[4:]))
			}
		case "IDAT":
			pictured = true
		case "eXIf":
			if block == nil && length <= maxBlock {
				block = s.copyAt(body, int(length))
			}
		case "tEXt", "zTXt", "iTXt":
			if profile == nil && length <= maxBlock {
				profile = rawProfile(kind, s.at(body, int(length)))
			}
		case "IEND":
			c.Damage, c.State = "", Whole
		}
		if kind == "IEND" {
			break
		}
	}
	if c.Damage == "" && (!pictured || c.Width == 0 || c.Height == 0) {
		c.Damage = damageEmpty
	}
	if block == nil {
		block = profile
	}
	c.Exif = readBlock(block)
	return c
}

// chunkName reports whether a chunk has a name: four ASCII letters.
func chunkName(s string) bool {
	for _, b := range []byte(s) {
		if (b|0x20) < 'a' || (b|0x20) > 'z' {
			return false
		}
	}
	return true
}

// pixels is a length in pixels, or 0 where the field holds what no picture has.
func pixels(n int64) int {
	if n <= 0 || n > 1<<31-1 {
		return 0
	}
	return int(n)
}

// rawProfile takes the Exif block from a text chunk "Raw profile type exif" (or
// "APP1"): after the keyword a line feed, the name, the length, then hex digits
// in lines. The form is common practice without a published source.
func rawProfile(kind string, b []byte) []byte {
	key, text, ok := bytes.Cut(b, []byte{0})
	name, found := strings.CutPrefix(string(key), "Raw profile type ")
	if !ok || !found || name != "exif" && !strings.EqualFold(name, "app1") {
		return nil
	}
	packed := kind == "zTXt"
	switch {
	case kind == "zTXt" && len(text) > 0:
		text = text[1:] // compression method
	case kind == "iTXt" && len(text) > 2:
		packed = text[0] == 1
		parts := bytes.SplitN(text[2:], []byte{0}, 3) // language, translated keyword, text
		text = parts[len(parts)-1]
	}
	if packed {
		z, err := zlib.NewReader(bytes.NewReader(text))
		if err != nil {
			return nil
		}
		// What cannot be unpacked to the end may still hold the block.
		text, _ = io.ReadAll(io.LimitReader(z, 3*maxBlock))
	}
	return unhexProfile(text)
}

// unhexProfile skips the three header lines and reads the hex digits after them.
func unhexProfile(text []byte) []byte {
	fields := bytes.Fields(text)
	if len(fields) < 3 {
		return nil
	}
	digits := bytes.Join(fields[2:], nil)
	out := make([]byte, len(digits)/2)
	n, _ := hex.Decode(out, digits[:len(digits)&^1]) // up to the first bad digit
	return out[:n]
}
