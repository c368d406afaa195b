package container

import (
	"bytes"
	"compress/zlib"
	"encoding/hex"
	"io"
	"strings"
)

// pngWalk goes from chunk to chunk.
type pngWalk struct {
	s        *source
	d        *digest // nil unless the picture is hashed
	c        Contents
	pictured bool   // picture data was seen
	block    []byte // from an eXIf chunk
	profile  []byte // from a text chunk
	profiles int    // text chunks tried
}

// maxProfiles bounds the text chunks that are unpacked: each may be a bomb.
const maxProfiles = 4

// readPNG goes through the chunks of ISO/IEC 15948 up to IEND. Exif stands in an
// eXIf chunk, before or behind the picture data; older writers put it as hex
// digits into a text chunk, which is taken only where there is no eXIf.
func readPNG(s *source) Contents {
	w := pngWalk{s: s}
	w.walk()
	c := w.c
	if c.Damage == "" && (!w.pictured || c.Width == 0 || c.Height == 0) {
		c.Damage = damageEmpty
	}
	if w.block == nil {
		w.block = w.profile
	}
	c.Exif = readBlock(w.block)
	return c
}

// walk stops at IEND, at what is no chunk, or at the end of the bytes.
func (w *pngWalk) walk() {
	w.c = Contents{Format: PNG, State: Incomplete, Damage: damageShort}
	last := ""
	pos := int64(len(pngSignature))
	for n := 0; n < maxMembers*4; n++ {
		h := w.s.at(pos, 8)
		if len(h) < 8 {
			return
		}
		length, kind := be32(h), string(h[4:8])
		if !chunkName(kind) {
			w.c.Damage, w.c.State = damageGarbled, Unknown
			return
		}
		body := pos + 8
		pos = body + length + 4 // behind the check sum
		if pos > w.s.size {
			return
		}
		if kind == "IEND" {
			w.c.Damage, w.c.State = "", Whole
			return
		}
		w.chunk(kind, body, length, n == 0)
		w.d.chunk(kind, last, body, length)
		last = kind
	}
}

// chunk takes what it wants from a chunk that is all there. Check sums are left
// to decoders: a tag is worth reading even where a bit has flipped beside it.
func (w *pngWalk) chunk(kind string, body, length int64, first bool) {
	switch kind {
	case "IHDR":
		if b := w.s.at(body, 8); len(b) == 8 && length == 13 && first {
			w.c.Width, w.c.Height = pixels(be32(b)), pixels(be32(b[4:]))
		}
	case "IDAT":
		w.pictured = true
	case "eXIf":
		if w.block == nil && length <= maxBlock {
			w.block = w.s.copyAt(body, int(length))
		}
	case "tEXt", "zTXt", "iTXt":
		if len(w.profile) > 0 || w.profiles >= maxProfiles || length > maxBlock {
			return
		}
		if text, ok := profileText(w.s.at(body, int(length))); ok {
			w.profiles++
			w.profile = rawProfile(kind, text)
		}
	}
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

// profileText gives what follows the keyword of a text chunk that holds Exif.
func profileText(b []byte) (text []byte, ok bool) {
	key, text, ok := bytes.Cut(b, []byte{0})
	name, found := strings.CutPrefix(string(key), "Raw profile type ")
	return text, ok && found && (name == "exif" || strings.EqualFold(name, "app1"))
}

// rawProfile takes the Exif block from the text of a chunk "Raw profile type
// exif" (or "APP1"): a line feed, the name, the length, then hex digits in lines.
// The form is common practice without a published source.
func rawProfile(kind string, text []byte) []byte {
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
