package specimen

import "encoding/binary"

// Film is a short film without pictures, as phones write it beside a still.
type Film struct {
	Brand         string            // "" is the one of QuickTime; "-" leaves the box out
	Made          uint64            // seconds from 1904 on
	Wide          bool              // times of eight bytes
	Values        map[string]string // named values
	Names         []string          // their order; names without a value are listed alone
	Width, Height int               // of its one track
	ISO           bool              // a meta box with a version, as MP4 has it
}

// Bytes builds the file: ftyp, mdat, moov.
func (f Film) Bytes() []byte {
	if f.Brand == "" {
		f.Brand = "qt  "
	}
	var file []byte
	if f.Brand != "-" {
		file = Box("ftyp", []byte(f.Brand), u32(0), []byte(f.Brand))
	}
	file = append(file, Box("mdat", make([]byte, 40))...)
	return append(file, f.Movie()...)
}

// Movie is the moov box alone.
func (f Film) Movie() []byte {
	var version byte
	made := u32(int(f.Made))
	if f.Wide {
		version, made = 1, binary.BigEndian.AppendUint64(nil, f.Made)
	}
	// From the track's number to its matrix: 8.3.2 of ISO/IEC 14496-12.
	between := make([]byte, 8+len(made)+52)
	size := append(u32(f.Width<<16), u32(f.Height<<16)...)
	track := Box("trak", FullBox("tkhd", version, made, made, between, size))
	parts := [][]byte{FullBox("mvhd", version, made, made, make([]byte, 80)), track}
	if len(f.Names) > 0 {
		parts = append(parts, f.meta())
	}
	return Box("moov", parts...)
}

func (f Film) meta() []byte {
	var keys, values [][]byte
	for i, name := range f.Names {
		keys = append(keys, Box("mdta", []byte(name)))
		if v, ok := f.Values[name]; ok {
			number := string(u32(i + 1))
			values = append(values, Box(number, Box("data", u32(1), u32(0), []byte(v))))
		}
	}
	parts := [][]byte{
		FullBox("hdlr", 0, u32(0), []byte("mdta"), make([]byte, 13)),
		FullBox("keys", 0, append([][]byte{u32(len(keys))}, keys...)...),
		Box("ilst", values...),
	}
	if f.ISO {
		return FullBox("meta", 0, parts...)
	}
	return Box("meta", parts...)
}
