package container

import (
	"bytes"
	"encoding/binary"
	"slices"
)

// Types beyond the twelve of TIFF 6.0, and the one made of two numbers.
const (
	typeShort    = 3
	typeRational = 5
	typeIFD      = 13  // TIFF Technical Note 1: an offset of a directory
	typeLong8    = 16  // BigTIFF
	typeIFD8     = 18  // BigTIFF
	typeUTF8     = 129 // Exif 3.0
)

// typeSize gives the bytes of one value for the types of TIFF 6.0, of its
// supplements, of BigTIFF and of Exif 3.0. Zero: no such type.
func typeSize(t uint16) int64 {
	switch t {
	case 1, 2, 6, 7, typeUTF8:
		return 1
	case 3, 8:
		return 2
	case 4, 9, 11, typeIFD:
		return 4
	case typeRational, 10, 12, typeLong8, 17, typeIFD8:
		return 8
	}
	return 0
}

// tiffFile walks the directories of a TIFF file or an Exif block: the chain from
// the header, and the directories that entries point to. One that was seen is
// not visited again, so loops end.
type tiffFile struct {
	s     *source
	order binary.ByteOrder
	magic int  // 42, or what stands in its place
	big   bool // BigTIFF: counts and offsets of eight bytes
	seen  map[int64]bool
	left  int // strip and tile entries that may still be looked at
	room  int // entries that may still be read, over all directories

	dirs  Directories
	pages []page
	raw   bool // something only raw files have was seen
	cut   bool // a directory reaches past the end
	lost  bool // a field of a page was left out, or the end of the chain is missing

	preview *source  // a JPEG inside that has the Exif block
	streams []stream // where JPEGs inside may lie
}

// field is one entry as it lies in the file: valid type, value inside the source.
type field struct {
	tag, typ uint16
	count    int64
	at       int64 // where the value begins
}

func (f field) size() int64 { return f.count * typeSize(f.typ) }

// readTIFF walks everything reachable from the header at the start of s.
func readTIFF(s *source) *tiffFile {
	t, next := openTIFF(s)
	for first := true; next != 0 && len(t.seen) < maxDirs; first = false {
		var fields []field
		fields, next = t.directory(next)
		if first {
			t.main(fields)
		}
		t.picture(fields)
	}
	return t
}

// readAs reads a block of a single directory and keeps of it what kept says.
func readAs(block []byte, kept func(uint16) bool) []Entry {
	t, off := openTIFF(newSource(bytes.NewReader(block), int64(len(block))))
	fields, _ := t.directory(off)
	return t.entries(fields, kept)
}

// openTIFF reads the header at the start of s, which the caller has sniffed, and
// gives the place of the first directory, 0 where the header is cut short.
func openTIFF(s *source) (t *tiffFile, first int64) {
	t = &tiffFile{s: s, order: binary.LittleEndian, seen: map[int64]bool{}, left: maxIntegers, room: maxFields}
	h := s.copyAt(0, 16)
	if len(h) < 8 {
		t.cut = true
		return t, 0
	}
	if h[0] == 'M' {
		t.order = binary.BigEndian
	}
	t.magic = int(t.order.Uint16(h[2:]))
	if t.magic != 43 {
		return t, int64(t.order.Uint32(h[4:]))
	}
	t.big = true
	if len(h) < 16 {
		t.cut = true
		return t, 0
	}
	return t, int64(t.order.Uint64(h[8:]))
}

// main takes the kept entries of the first directory and follows its pointers.
// Directories further down the chain are previews, and pages of a scan: what
// they say about themselves is not said about the photo.
func (t *tiffFile) main(fields []field) {
	t.dirs.Main = t.entries(fields, keptInMain)
	for _, f := range fields {
		switch f.tag {
		case tagExifIFD:
			if sub, ok := t.follow(f, 0); ok {
				t.dirs.Exif = merge(t.dirs.Exif, t.entries(sub, keptInExif))
				t.makerNote(sub)
			}
		case tagGPSIFD:
			if sub, ok := t.follow(f, 0); ok {
				t.dirs.GPS = merge(t.dirs.GPS, t.entries(sub, keptInGPS))
			}
		}
	}
}

// directory reads the directory at off and gives the offset of the next, 0 for
// none. Entries that do not hold together are left out: one bad entry must not
// cost the rest. A directory that the file cuts short gives what is there.
func (t *tiffFile) directory(off int64) (fields []field, next int64) {
	if off <= 0 || off >= t.s.size || t.seen[off] || len(t.seen) >= maxDirs {
		t.cut = t.cut || off >= t.s.size
		return nil, 0
	}
	t.seen[off] = true
	countLen, entryLen, valueLen := int64(2), int64(12), int64(4)
	if t.big {
		countLen, entryLen, valueLen = 8, 20, 8
	}
	count, ok := t.number(off, countLen)
	if !ok || count < 0 || count > maxEntries {
		t.cut = t.cut || !ok
		return nil, 0
	}
	at := off + countLen
	if inside := (t.s.size - at) / entryLen; count > inside {
		t.cut, count = true, inside
	}
	count = min(count, int64(t.room))
	t.room -= int(count)
	for i := int64(0); i < count; i++ {
		if f, ok := t.field(at+i*entryLen, entryLen, valueLen); ok {
			fields = append(fields, f)
		} else {
			t.lost = t.lost || f.tag >= tagSubfile && f.tag < maxPageTag
		}
	}
	next, ok = t.number(at+count*entryLen, valueLen)
	t.lost = t.lost || !ok
	return fields, next
}

// field reads the entry at off. It says no to a type that does not exist, to no
// values, and to a value that lies outside of the source.
func (t *tiffFile) field(off, entryLen, valueLen int64) (field, bool) {
	b := t.s.at(off, int(entryLen))
	if int64(len(b)) < entryLen {
		return field{}, false
	}
	f := field{tag: t.order.Uint16(b), typ: t.order.Uint16(b[2:])}
	if t.big {
		f.count = int64(t.order.Uint64(b[4:]))
	} else {
		f.count = int64(t.order.Uint32(b[4:]))
	}
	unit := typeSize(f.typ)
	// The count is held against the size before it is multiplied.
	if unit == 0 || f.count <= 0 || f.count > t.s.size/unit {
		return f, false
	}
	f.at = off + entryLen - valueLen
	if f.size() > valueLen {
		f.at, _ = t.number(f.at, valueLen)
	}
	return f, f.at > 0 && f.at <= t.s.size-f.size()
}

// number reads an unsigned number of n bytes at off, n of 1, 2, 4 or 8. Numbers
// of eight bytes come back negative above 2^63: no offset is.
func (t *tiffFile) number(off, n int64) (int64, bool) {
	b := t.s.at(off, int(n))
	if int64(len(b)) < n {
		return 0, false
	}
	switch n {
	case 1:
		return int64(b[0]), true
	case 2:
		return int64(t.order.Uint16(b)), true
	case 4:
		return int64(t.order.Uint32(b)), true
	}
	return int64(t.order.Uint64(b)), true
}

// integer gives the i'th value of f where f holds whole numbers.
func (t *tiffFile) integer(f field, i int64) (int64, bool) {
	switch f.typ {
	case 1, 3, 4, 9, typeIFD, typeLong8, typeIFD8: // 9 is signed, and seen as a pointer
		if i < f.count {
			unit := typeSize(f.typ)
			return t.number(f.at+i*unit, unit)
		}
	}
	return 0, false
}

// follow reads the directory that the i'th value of f points to.
func (t *tiffFile) follow(f field, i int64) ([]field, bool) {
	off, ok := t.integer(f, i)
	if !ok || f.typ == 1 {
		return nil, false
	}
	fields, _ := t.directory(off)
	return fields, len(fields) > 0
}

// entries loads the fields that are kept, in the order of the file, the first of
// each tag. Values over maxText are no text of a camera's and are left out.
func (t *tiffFile) entries(fields []field, kept func(uint16) bool) []Entry {
	var list []Entry
	for _, f := range fields {
		if !kept(f.tag) || f.size() > maxText {
			continue
		}
		if slices.ContainsFunc(list, func(e Entry) bool { return e.Tag == f.tag }) {
			continue
		}
		v := t.s.copyAt(f.at, int(f.size()))
		if int64(len(v)) != f.size() {
			continue
		}
		if t.order == binary.LittleEndian {
			swap(v, f.typ)
		}
		list = append(list, Entry{Tag: f.tag, Type: f.typ, Count: uint32(f.count), Value: v})
	}
	return list
}

// swap turns the bytes of each number in v around. A rational is two numbers.
func swap(v []byte, typ uint16) {
	unit := int(typeSize(typ))
	if typ == typeRational || typ == 10 {
		unit = 4
	}
	for i := 0; i+unit <= len(v); i += unit {
		slices.Reverse(v[i : i+unit])
	}
}
