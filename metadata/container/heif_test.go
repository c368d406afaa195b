package container_test

import (
	"bytes"
	"encoding/binary"
	"runtime"
	"testing"

	"haulbook/metadata/container"
	"haulbook/metadata/container/specimen"
)

func TestBrands(t *testing.T) {
	ftyp := func(brands ...string) []byte {
		b := []byte(brands[0] + "\x00\x00\x00\x00")
		for _, c := range brands[1:] {
			b = append(b, c...)
		}
		return specimen.Box("ftyp", b)
	}
	tests := []struct {
		file []byte
		want container.Format
	}{
		{ftyp("heic", "mif1", "heic"), container.HEIC},
		{ftyp("mif1", "heic"), container.HEIC},
		{ftyp("mif1", "avif", "miaf"), container.AVIF},
		{ftyp("avif", "mif1", "heic"), container.AVIF},
		{ftyp("avis", "avif", "msf1"), container.AVIF},
		{ftyp("hevc", "msf1", "heic"), container.HEIC},
		{ftyp("msf1", "hevc"), container.HEIC},
		{ftyp("mif1"), container.HEIC},
		{ftyp("mif1", "unif"), container.HEIC},
		{ftyp("crx ", "crx ", "isom"), container.Raw},
		{ftyp("isom", "iso2", "mp41"), ""},
		{ftyp("qt  "), ""},
		{ftyp("mp42", "isom"), ""},
		{[]byte("\x00\x00\x00\x08ftypheic"), ""}, // the box ends before its brand
		{[]byte("\x00\x00\x00\x18ftyp"), ""},
	}
	for _, tt := range tests {
		if got := container.Sniff(tt.file); got != tt.want {
			t.Errorf("%q: %q, want %q", tt.file, got, tt.want)
		}
	}
}

func TestTurning(t *testing.T) {
	rotate, mirror := specimen.Rotation, specimen.Mirror
	// Single turnings: ISO/IEC 23008-12:2022, 6.5.10 and 6.5.12 with its note that
	// axis 0 is Exif's 4 and axis 1 Exif's 2. Pairs: the table for irot and imir in
	// libavif's avifImageGetExifOrientationFromIrotImir, rotation first.
	tests := []struct {
		name  string
		turns [][]byte
		want  int
	}{
		{"none", nil, 1},
		{"no quarter", [][]byte{rotate(0)}, 1},
		{"one quarter against the clock", [][]byte{rotate(1)}, 8},
		{"two", [][]byte{rotate(2)}, 3},
		{"three", [][]byte{rotate(3)}, 6},
		{"top and bottom", [][]byte{mirror(0)}, 4},
		{"left and right", [][]byte{mirror(1)}, 2},
		{"one, then top and bottom", [][]byte{rotate(1), mirror(0)}, 5},
		{"one, then left and right", [][]byte{rotate(1), mirror(1)}, 7},
		{"two, then top and bottom", [][]byte{rotate(2), mirror(0)}, 2},
		{"two, then left and right", [][]byte{rotate(2), mirror(1)}, 4},
		{"three, then top and bottom", [][]byte{rotate(3), mirror(0)}, 7},
		{"three, then left and right", [][]byte{rotate(3), mirror(1)}, 5},
		{"left and right, then one", [][]byte{mirror(1), rotate(1)}, 5},
		{"twice left and right", [][]byte{mirror(1), mirror(1)}, 1},
		{"reserved bits", [][]byte{rotate(0xfd)}, 8},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := read(t, specimen.HEIF{Width: 40, Height: 30, Turns: tt.turns}.Bytes())
			if c.Turn != tt.want || c.Width != 40 || c.Height != 30 {
				t.Errorf("turn %d of %dx%d, want %d of 40x30 as stored", c.Turn, c.Width, c.Height, tt.want)
			}
		})
	}
}

// patch changes the first occurrence of a box name's following bytes.
func patch(file []byte, kind string, at int, b ...byte) []byte {
	file = bytes.Clone(file)
	copy(file[bytes.Index(file, []byte(kind))+at:], b)
	return file
}

func TestHEIFDamage(t *testing.T) {
	const short, garbled, empty = "the file ends before the picture does", "its structure is garbled", "it holds no picture that can be found"
	whole := specimen.HEIF{Width: 40, Height: 30, Exif: said.Block()}.Bytes()
	size := bytes.Index(whole, []byte("meta")) - 4
	tests := []struct {
		name, damage string
		file         []byte
	}{
		{"whole", "", whole},
		{"meta longer than the file", short, patch(whole, "meta", -4, 0xff, 0xff, 0xff, 0xff)},
		{"meta to the end of the file", "", patch(whole, "meta", -4, 0, 0, 0, 0)},
		{"data to the end of the file", "", patch(whole, "mdat", -4, 0, 0, 0, 0)},
		{"items outside", short, patch(whole, "iloc", 16, 0x7f)},
		{"item table of impossible widths", garbled, patch(whole, "iloc", 8, 0xff, 0xff)},
		{"no item table", garbled, patch(whole, "iloc", 0, 'f', 'r', 'e', 'e')},
		{"no properties", empty, patch(whole, "iprp", 0, 'f', 'r', 'e', 'e')},
		{"no size", empty, patch(whole, "ispe", 8, 0, 0, 0, 0, 0, 0, 0, 0)},
		{"no meta", empty, patch(whole, "meta", 0, 'f', 'r', 'e', 'e')},
		{"ftyp alone", empty, whole[:size]},
		{"box shorter than its head", short, patch(whole, "meta", -4, 0, 0, 0, 4)},
		{"claims 65535 items", "", patch(whole, "iinf", 8, 0xff, 0xff)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if c := read(t, tt.file); c.Damage != tt.damage {
				t.Errorf("damage %q, want %q", c.Damage, tt.damage)
			}
		})
	}
}

func TestHEIFItemInsideItself(t *testing.T) {
	h := specimen.HEIF{Width: 40, Height: 30, Exif: said.Block(), Method: specimen.InItem, IlocVersion: 1}
	file := h.Bytes()
	// The holder of the Exif item is said to be the Exif item.
	at := bytes.LastIndex(file, []byte("iloc"))
	binary.BigEndian.PutUint16(file[at+8:], 2)
	if c := read(t, file); len(c.Exif.Main) != 0 || c.Width != 40 {
		t.Errorf("%d entries, width %d; want none, 40", len(c.Exif.Main), c.Width)
	}
}

func TestHEIFTakesTheExifOfThePicture(t *testing.T) {
	other := specimen.Exif{Main: []specimen.Tag{specimen.Text(0x010f, "Elm")}}.Block()
	both := specimen.HEIF{Width: 40, Height: 30, Exif: said.Block(), Other: other}
	if got := value(read(t, both.Bytes()).Exif.Main, 0x010f); got != maker {
		t.Errorf("maker %q, want that of the item that describes the picture, %q", got, maker)
	}
	both.Exif = []byte("nothing that can be read")
	if got := value(read(t, both.Bytes()).Exif.Main, 0x010f); got != "Elm" {
		t.Errorf("maker %q, want that of the only item that can be read, Elm", got)
	}
}

func TestHEIFExifHeaderOffTheMark(t *testing.T) {
	block := append([]byte("Exif\x00\x00"), said.Block()...)
	tests := map[string][]byte{
		"the name counted as block": block,
		"behind the name of a JPEG": append([]byte{0, 0}, block...),
		"a few bytes late":          append([]byte{0, 0, 0}, said.Block()...),
	}
	for name, b := range tests {
		c := read(t, specimen.HEIF{Width: 40, Height: 30, Exif: b}.Bytes())
		if got := value(c.Exif.Main, 0x010f); got != maker {
			t.Errorf("%s: maker %q, want %q", name, got, maker)
		}
	}
}

func TestHEIFLongBoxes(t *testing.T) {
	// A 64-bit length in front, as large files have it for mdat.
	free := append([]byte("\x00\x00\x00\x01free"), binary.BigEndian.AppendUint64(nil, 24)...)
	whole := specimen.HEIF{Width: 40, Height: 30}.Bytes()
	file := append(bytes.Clone(whole), append(free, make([]byte, 8)...)...)
	if c := read(t, file); c.State != container.Whole {
		t.Errorf("64-bit length: %v, want whole", c.State)
	}
	file = append(bytes.Clone(whole), "\x00\x00\x00\x01free\xff\xff\xff\xff\xff\xff\xff\xff"...)
	if c := read(t, file); c.State != container.Whole {
		t.Errorf("length above 2^63 behind the last item: %v, want whole", c.State)
	}
}

func TestHEIFItemsOfItemsAreBounded(t *testing.T) {
	// Each item is 256 pieces of the next, all beyond its end, so that nothing
	// comes out: what is copied must end it. The last item is a megabyte.
	wide := func(id, ref uint16) []byte {
		e := binary.BigEndian.AppendUint16(nil, id)
		e = append(e, 0, 2, 0, 0, 0, 0, 0, 0, 1, 0) // in items, base 0, 256 extents
		for range 256 {
			e = append(e, 0x7f, 0, 0, 0, 0, 0, 0, 1)
		}
		return e
	}
	leaf := append([]byte{0, 4, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0}, 0, 0x10, 0, 0)
	iloc := specimen.FullBox("iloc", 1, []byte{0x44, 0x40, 0, 3}, wide(2, 3), wide(3, 4), leaf)
	file := specimen.HEIF{Width: 40, Height: 30, Exif: said.Block(), Method: specimen.InItem, IlocVersion: 1}.Bytes()
	start := bytes.Index(file, []byte("iloc")) - 4
	end := start + int(binary.BigEndian.Uint32(file[start:]))
	refs := specimen.FullBox("iref", 0, specimen.Box("iloc", []byte{0, 2, 0, 1, 0, 3}), specimen.Box("iloc", []byte{0, 3, 0, 1, 0, 4}))
	meta := bytes.Index(file, []byte("meta")) - 4
	grown := append(append(append(bytes.Clone(file[:start]), iloc...), refs...), file[end:]...)
	binary.BigEndian.PutUint32(grown[meta:], binary.BigEndian.Uint32(file[meta:])+uint32(len(grown)-len(file)))
	grown = append(grown, specimen.Box("free", make([]byte, 2<<20))...)

	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	c := read(t, grown)
	runtime.ReadMemStats(&after)
	if n := after.TotalAlloc - before.TotalAlloc; n > 64<<20 {
		t.Errorf("allocated %d bytes for a file of %d", n, len(grown))
	}
	if c.Width != 40 || len(c.Exif.Main) != 0 {
		t.Errorf("width %d, %d entries; want 40, none", c.Width, len(c.Exif.Main))
	}
}
