package specimen

// Mini is a picture in the short form of meta, ISO/IEC 23008-12:2025, annex O.
type Mini struct {
	Brand         string // the codec's brand, in the place of the minor version
	Width, Height int
	Orientation   int    // 1 to 8; 0 is 1
	Exif          []byte // a TIFF block
	Draft         bool   // flags for wide fields in the sense they had in drafts
	Alpha, HDR    bool
	Colours       bool // with three numbers for colours
	Settings      []byte
	Picture       []byte // the coded picture; nil is some text
}

// Bytes builds the file: ftyp, mini.
func (m Mini) Bytes() []byte {
	if m.Picture == nil {
		m.Picture = []byte(pictureBytes)
	}
	var w bitWriter
	wide := func(is bool) { w.flag(is != m.Draft) }
	w.put(0, 2)
	for _, is := range []bool{false, false, true, m.Alpha, m.Colours, m.HDR, false, m.Exif != nil, false} {
		w.flag(is)
	}
	w.put(1, 2) // chroma at half the width and height
	w.put(max(m.Orientation, 1)-1, 3)
	large := max(m.Width, m.Height) > 128
	wide(large)
	n := map[bool]int{true: 15, false: 7}[large]
	w.put(m.Width-1, n)
	w.put(m.Height-1, n)
	w.put(0, 2)   // where chroma samples lie
	w.flag(false) // eight bits
	if m.Alpha {
		w.flag(false)
	}
	if m.Colours {
		w.put(0x010d06, 24)
	}
	if m.HDR {
		w.put(0, 7) // no gain map, no levels
	}
	alpha := []byte{}
	if m.Alpha {
		alpha = []byte("coded alpha")
	}
	if m.Exif != nil {
		wide(false)
	}
	wide(true)  // settings of twelve bits
	wide(false) // data of fifteen
	w.put(len(m.Settings), 12)
	w.put(len(m.Picture)-1, 15)
	if m.Alpha {
		w.put(len(alpha), 15)
		w.put(0, 12)
	}
	if m.Exif != nil {
		if !m.Draft {
			w.flag(false) // not packed
		}
		w.put(len(m.Exif)-1, 10)
	}
	brand := m.Brand
	if brand == "" {
		brand = "heic"
	}
	file := Box("ftyp", []byte("mif3"), []byte(brand))
	return append(file, Box("mini", w.b, m.Settings, alpha, m.Picture, m.Exif)...)
}

// bitWriter puts numbers one behind the other, the highest bit first.
type bitWriter struct {
	b []byte
	n int
}

func (w *bitWriter) put(v, n int) {
	for ; n > 0; n-- {
		if w.n%8 == 0 {
			w.b = append(w.b, 0)
		}
		w.b[w.n/8] |= byte(v>>(n-1)&1) << (7 - w.n%8)
		w.n++
	}
}

func (w *bitWriter) flag(is bool) {
	if is {
		w.put(1, 1)
	} else {
		w.put(0, 1)
	}
}
