package specimen

import "encoding/binary"

// Box is a box of ISO/IEC 14496-12 with its length and name.
func Box(kind string, parts ...[]byte) []byte {
	b := append(make([]byte, 4), kind...)
	for _, p := range parts {
		b = append(b, p...)
	}
	binary.BigEndian.PutUint32(b, uint32(len(b)))
	return b
}

// FullBox is a box with a version and no flags.
func FullBox(kind string, version byte, parts ...[]byte) []byte {
	return Box(kind, append([][]byte{{version, 0, 0, 0}}, parts...)...)
}

// Where the Exif block of a HEIF lies (ISO/IEC 14496-12, 8.11.3).
const (
	InFile = 0
	InIdat = 1
	InItem = 2
)

// HEIF describes an item file with one picture and, when Exif is not nil, an
// Exif item that describes it. The picture's bytes are no picture.
type HEIF struct {
	Brand         string // major brand; "" is heic
	Width, Height int
	Turns         [][]byte // irot and imir boxes, in this order
	Exif          []byte   // a TIFF block
	Method        int      // InFile, InIdat, InItem
	Skip          []byte   // what stands between the offset field and the block
	IlocVersion   byte     // 0, 1 or 2; methods need 1 or more
	Split         bool     // the Exif item in two extents
	Other         []byte   // the TIFF block of an Exif item listed first that describes something else
	Parts         []Part   // further items, numbered from FirstPart on
	Kind          string   // of the picture's item; "" is hvc1
	Settings      []byte   // of its codec, the content of an hvcC box
	NoPrimary     bool     // leave out pitm
}

// Part is a further item of a HEIF: a thumbnail of the picture, or what it is made of.
type Part struct {
	Kind          string // hvc1, jpeg
	Reference     string // thmb: from the part to the picture; dimg: the other way round
	Width, Height int
	Turns         [][]byte
	Data          []byte
}

// FirstPart is the item number of the first part.
const FirstPart = 10

// Rotation is an irot property: quarter turns against the clock.
func Rotation(quarters byte) []byte { return Box("irot", []byte{quarters}) }

// Mirror is an imir property.
func Mirror(axis byte) []byte { return Box("imir", []byte{axis}) }

func u16(n int) []byte { return binary.BigEndian.AppendUint16(nil, uint16(n)) }
func u32(n int) []byte { return binary.BigEndian.AppendUint32(nil, uint32(n)) }

// Item numbers of a HEIF.
const (
	pictureItem = 1
	exifItem    = 2
	holderItem  = 3 // holds the Exif item where that is InItem
	otherItem   = 4
)

// pictureBytes stand for the coded picture.
const pictureBytes = "coded picture, or what stands for it"

// Bytes builds the file: ftyp, meta, mdat.
func (h HEIF) Bytes() []byte {
	if h.Brand == "" {
		h.Brand = "heic"
	}
	ftyp := Box("ftyp", []byte(h.Brand), u32(0), []byte("mif1"), []byte(h.Brand))
	payload := []byte{}
	if h.Exif != nil {
		payload = append(append(u32(len(h.Skip)), h.Skip...), h.Exif...)
	}
	// Offsets have a fixed width, so that the second round has the first's length.
	meta := h.meta(payload, 0)
	meta = h.meta(payload, len(ftyp)+len(meta)+8)
	data := []byte(pictureBytes)
	if h.Method != InIdat {
		data = append(data, payload...)
	}
	data = append(data, h.other()...)
	for _, p := range h.Parts {
		data = append(data, p.Data...)
	}
	return append(append(ftyp, meta...), Box("mdat", data)...)
}

// other is the payload of the item that describes something else.
func (h HEIF) other() []byte {
	if h.Other == nil {
		return nil
	}
	return append(u32(0), h.Other...)
}

func (h HEIF) meta(payload []byte, dataAt int) []byte {
	parts := [][]byte{
		FullBox("hdlr", 0, u32(0), []byte("pict"), make([]byte, 13)),
		FullBox("pitm", 0, u16(pictureItem)),
		h.infos(),
		h.locations(payload, dataAt),
		h.references(),
		h.properties(),
	}
	if h.NoPrimary {
		parts = append(parts[:1], parts[2:]...)
	}
	if h.Method == InIdat {
		parts = append(parts, Box("idat", payload))
	}
	return FullBox("meta", 0, parts...)
}

func (h HEIF) references() []byte {
	list := [][]byte{
		Box("cdsc", u16(exifItem), u16(1), u16(pictureItem)),
		Box("iloc", u16(exifItem), u16(1), u16(holderItem)),
	}
	var made []byte
	count := 0
	for i, p := range h.Parts {
		if p.Reference == "thmb" {
			list = append(list, Box("thmb", u16(FirstPart+i), u16(1), u16(pictureItem)))
		} else {
			made = append(made, u16(FirstPart+i)...)
			count++
		}
	}
	if count > 0 {
		list = append(list, Box("dimg", u16(pictureItem), u16(count), made))
	}
	return FullBox("iref", 0, list...)
}

func (h HEIF) infos() []byte {
	info := func(id int, kind string) []byte { return FullBox("infe", 2, u16(id), u16(0), []byte(kind), []byte{0}) }
	if h.Kind == "" {
		h.Kind = "hvc1"
	}
	list := [][]byte{info(pictureItem, h.Kind)}
	for i, p := range h.Parts {
		list = append(list, info(FirstPart+i, p.Kind))
	}
	if h.Other != nil {
		list = append(list, info(otherItem, "Exif"))
	}
	if h.Exif != nil {
		list = append(list, info(exifItem, "Exif"), info(holderItem, "mime"))
	}
	return FullBox("iinf", 0, append([][]byte{u16(len(list))}, list...)...)
}

func (h HEIF) locations(payload []byte, dataAt int) []byte {
	wide := u16
	if h.IlocVersion == 2 {
		wide = u32
	}
	entry := func(id, method, base int, extents ...[2]int) []byte {
		e := wide(id)
		if h.IlocVersion > 0 {
			e = append(e, u16(method)...)
		}
		e = append(append(e, u16(0)...), u32(base)...)
		e = append(e, u16(len(extents))...)
		for _, x := range extents {
			e = append(append(e, u32(x[0])...), u32(x[1])...)
		}
		return e
	}
	entries := entry(pictureItem, InFile, dataAt, [2]int{0, len(pictureBytes)})
	count := 1
	if h.Other != nil {
		at := dataAt + len(pictureBytes)
		if h.Method != InIdat {
			at += len(payload)
		}
		entries = append(entries, entry(otherItem, InFile, at, [2]int{0, len(h.other())})...)
		count++
	}
	if h.Exif != nil {
		at := 0
		if h.Method == InFile {
			at = dataAt + len(pictureBytes)
		}
		extents := [][2]int{{0, len(payload)}}
		if half := len(payload) / 2; h.Split {
			extents = [][2]int{{0, half}, {half, len(payload) - half}}
		}
		entries = append(entries, entry(exifItem, h.Method, at, extents...)...)
		count++
		if h.Method == InItem {
			entries = append(entries, entry(holderItem, InFile, dataAt+len(pictureBytes), [2]int{0, len(payload)})...)
			count++
		}
	}
	at := dataAt + len(pictureBytes) + len(h.other())
	if h.Method != InIdat {
		at += len(payload)
	}
	for i, p := range h.Parts {
		entries = append(entries, entry(FirstPart+i, InFile, at, [2]int{0, len(p.Data)})...)
		at += len(p.Data)
		count++
	}
	return FullBox("iloc", h.IlocVersion, []byte{0x44, 0x40}, wide(count), entries)
}

func (h HEIF) properties() []byte {
	var props, owners [][]byte
	owned := func(id int, list ...[]byte) {
		owner := append(u16(id), byte(len(list)))
		for _, p := range list {
			props = append(props, p)
			owner = append(owner, byte(len(props))|0x80) // essential
		}
		owners = append(owners, owner)
	}
	size := func(width, height int) []byte { return FullBox("ispe", 0, u32(width), u32(height)) }
	list := append([][]byte{size(h.Width, h.Height)}, h.Turns...)
	if h.Settings != nil {
		list = append(list, Box("hvcC", h.Settings))
	}
	owned(pictureItem, list...)
	for i, p := range h.Parts {
		owned(FirstPart+i, append([][]byte{size(p.Width, p.Height)}, p.Turns...)...)
	}
	associations := append([][]byte{u32(len(owners))}, owners...)
	return Box("iprp", Box("ipco", props...), FullBox("ipma", 0, associations...))
}
