package container_test

import (
	"bytes"
	"encoding/binary"
	"runtime"
	"testing"

	"haulbook/metadata/container"
	"haulbook/metadata/container/specimen"
)

func TestTIFFLeavesBadEntriesOut(t *testing.T) {
	const far = 0xfffffff0
	good := specimen.Text(0x0110, "Typewriter 7")
	tests := []struct {
		name string
		bad  specimen.Tag
	}{
		{"no values", specimen.Tag{ID: 0x010f, Type: specimen.ASCII}},
		{"count of all ones", specimen.Tag{ID: 0x010f, Type: specimen.ASCII, Text: "Elm\x00", ClaimCount: 1<<32 - 1}},
		// 8 bytes × 0x20000001 is 8 in 32 bits: the size that kills careless readers.
		{"size over 32 bits", specimen.Tag{ID: 0x010f, Type: 12, Numbers: []uint32{1, 2}, ClaimCount: 0x20000001}},
		{"offset outside", specimen.Tag{ID: 0x010f, Type: specimen.ASCII, Text: "Elm & Sons\x00", ClaimOffset: far}},
		{"offset at the end", specimen.Tag{ID: 0x010f, Type: specimen.ASCII, Text: "Elm & Sons\x00", ClaimOffset: 1 << 20}},
		{"type 0", specimen.Tag{ID: 0x010f, Type: 0, Numbers: []uint32{1}}},
		{"type 99", specimen.Tag{ID: 0x010f, Type: 99, Numbers: []uint32{1}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := specimen.Exif{Main: []specimen.Tag{tt.bad, good}, Exif: said.Exif}
			c := read(t, specimen.JPEG(8, 8, specimen.ExifSegment(e.Block())))
			if len(c.Exif.Main) != 1 || value(c.Exif.Main, 0x0110) != "Typewriter 7" {
				t.Errorf("main %v, want the model alone", c.Exif.Main)
			}
			if got := value(c.Exif.Exif, 0xa431); got != "000123" {
				t.Errorf("serial %q, want 000123", got)
			}
		})
	}
}

func TestTIFFPointers(t *testing.T) {
	block := func(typ uint16, at uint32) []byte {
		e := specimen.Exif{Main: []specimen.Tag{
			specimen.Text(0x010f, maker),
			specimen.Text(0xa431, "not to be found twice"),
			{ID: 0x8769, Type: typ, Numbers: []uint32{at}},
		}}
		b := e.Block()
		inner := specimen.Exif{Main: []specimen.Tag{specimen.Number(0xa431, 7)}}.Block()
		return append(b, inner[specimen.MainOffset:]...)
	}
	behind := uint32(len(block(specimen.Long, 0)) - 18)
	tests := []struct {
		name string
		typ  uint16
		at   uint32
		want int
	}{
		{"long", specimen.Long, behind, 1},
		{"signed, as some write it", specimen.SLong, behind, 1},
		{"IFD", 13, behind, 1},
		{"text is no pointer", specimen.ASCII, behind, 0},
		{"bytes are no pointer", specimen.Byte, behind, 0},
		{"to the main directory: a loop", specimen.Long, specimen.MainOffset, 0},
		{"to the header", specimen.Long, 0, 0},
		{"outside", specimen.Long, 1 << 30, 0},
		{"to the last byte", specimen.Long, behind + 17, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := read(t, specimen.JPEG(8, 8, specimen.ExifSegment(block(tt.typ, tt.at))))
			if got := len(c.Exif.Exif); got != tt.want {
				t.Errorf("%d entries, want %d", got, tt.want)
			}
			if got := value(c.Exif.Main, 0x010f); got != maker {
				t.Errorf("maker %q, want %q", got, maker)
			}
		})
	}
}

func TestTIFFChainsEnd(t *testing.T) {
	loop := specimen.TIFF(12, 10, specimen.Exif{Next: specimen.MainOffset})
	if c := read(t, loop); c.Width != 12 || c.Height != 10 || c.Damage != "" {
		t.Errorf("chain to itself: %dx%d, damage %q; want 12x10, none", c.Width, c.Height, c.Damage)
	}
	outside := specimen.TIFF(12, 10, specimen.Exif{Next: 1 << 31})
	if c := read(t, outside); c.Width != 12 || c.Damage != "" || c.State != container.Unknown {
		t.Errorf("chain outside: width %d, damage %q, %v; want 12, none, unknown", c.Width, c.Damage, c.State)
	}
	// 3000 directories, each pointing to the next.
	file := []byte("II*\x00\x08\x00\x00\x00")
	for range 3000 {
		at := uint32(len(file))
		file = append(file, 1, 0, 0x12, 1, 3, 0, 1, 0, 0, 0, 6, 0, 0, 0)
		file = binary.LittleEndian.AppendUint32(file, at+18)
	}
	c := read(t, file)
	if got := value(c.Exif.Main, 0x0112); got != "\x00\x06" {
		t.Errorf("long chain: orientation %q, want 6", got)
	}
}

func TestTIFFDirectoryThatIsCutKeepsWhatIsThere(t *testing.T) {
	block := said.Block()
	block[specimen.MainOffset], block[specimen.MainOffset+1] = 0xff, 0xff // 65535 entries
	c := read(t, specimen.JPEG(8, 8, specimen.ExifSegment(block)))
	if got := value(c.Exif.Main, 0x010f); got != maker {
		t.Errorf("maker %q, want %q", got, maker)
	}
}

// bigTIFF is a BigTIFF of one page with a maker, after the published layout:
// header of 16 bytes, counts and offsets of eight.
func bigTIFF(order binary.AppendByteOrder, width, height uint64) []byte {
	head := "II+\x00\x08\x00\x00\x00"
	if order == binary.AppendByteOrder(binary.BigEndian) {
		head = "MM\x00+\x00\x08\x00\x00"
	}
	file := order.AppendUint64([]byte(head), 16)
	const entries, entryLen = 5, 20
	strip := uint64(16 + 8 + entries*entryLen + 8)
	long := func(id uint16, v uint64) {
		file = order.AppendUint16(file, id)
		file = order.AppendUint16(file, 16)
		file = order.AppendUint64(file, 1)
		file = order.AppendUint64(file, v)
	}
	file = order.AppendUint64(file, entries)
	long(0x0100, width)
	long(0x0101, height)
	file = order.AppendUint16(file, 0x010f)
	file = order.AppendUint16(file, 2)
	file = order.AppendUint64(file, 8)
	file = append(file, "Oakwood\x00"...)
	long(0x0111, strip)
	long(0x0117, width*height)
	file = order.AppendUint64(file, 0)
	return append(file, make([]byte, width*height)...)
}

func TestBigTIFF(t *testing.T) {
	for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
		file := bigTIFF(order, 20, 10)
		c := read(t, file)
		if c.Format != container.TIFF || c.Width != 20 || c.Height != 10 || c.State != container.Whole {
			t.Errorf("%v: %q %dx%d %v, want tiff 20x10 whole", order, c.Format, c.Width, c.Height, c.State)
		}
		if got := value(c.Exif.Main, 0x010f); got != "Oakwood" {
			t.Errorf("%v: maker %q, want Oakwood", order, got)
		}
		if c := read(t, file[:len(file)-1]); c.State != container.Incomplete {
			t.Errorf("%v: a byte less: %v, want incomplete", order, c.State)
		}
	}
}

func TestBigTIFFCountsThatRunOver(t *testing.T) {
	// 2^61 values of eight bytes are none in 64 bits.
	file := bigTIFF(binary.LittleEndian, 20, 10)
	for _, count := range []uint64{1 << 61, 1<<61 + 1, 1 << 63, 1<<64 - 1, 0} {
		bad := bytes.Clone(file)
		at := bytes.Index(bad, []byte{0x0f, 0x01, 2, 0})
		bad[at+2] = 16
		binary.LittleEndian.PutUint64(bad[at+4:], count)
		if c := read(t, bad); len(c.Exif.Main) != 0 || c.Width != 20 {
			t.Errorf("count %#x: %v, width %d; want no entry, 20", count, c.Exif.Main, c.Width)
		}
	}
}

func TestRawIsSeenInTheDirectories(t *testing.T) {
	tests := []struct {
		name string
		tag  specimen.Tag
		want container.Format
	}{
		{"sensor pattern", specimen.Number(0x0106, 32803), container.Raw},
		{"a maker's own compression", specimen.Number(0x0103, 34713), container.Raw},
		{"version of the open raw format", specimen.Tag{ID: 0xc612, Type: specimen.Byte, Numbers: []uint32{1, 4, 0, 0}}, container.Raw},
		{"nothing", specimen.Text(0x010f, maker), container.TIFF},
	}
	for _, tt := range tests {
		file := specimen.TIFF(12, 10, specimen.Exif{Main: []specimen.Tag{tt.tag}})
		if got := read(t, file).Format; got != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
		if got := container.Sniff(file); got != container.TIFF {
			t.Errorf("%s: sniffed %q, want tiff", tt.name, got)
		}
	}
}

func TestRawTakesTheLargestPage(t *testing.T) {
	// A small preview in front, the sensor's page as a sub-directory.
	sub := specimen.Exif{Main: []specimen.Tag{
		specimen.Number(0x0100, 4000), specimen.Number(0x0101, 3000), specimen.Number(0x0106, 32803),
	}}.Block()[specimen.MainOffset:]
	file := specimen.TIFF(16, 12, specimen.Exif{Main: []specimen.Tag{
		{ID: 0x00fe, Type: specimen.Long, Numbers: []uint32{1}},
		{ID: 0x014a, Type: specimen.Long, Numbers: []uint32{0}},
	}})
	at := bytes.Index(file, []byte{0x4a, 0x01, 4, 0, 1, 0, 0, 0})
	binary.LittleEndian.PutUint32(file[at+8:], uint32(len(file)))
	c := read(t, append(file, sub...))
	if c.Format != container.Raw || c.Width != 4000 || c.Height != 3000 {
		t.Errorf("%q %dx%d, want raw 4000x3000", c.Format, c.Width, c.Height)
	}
}

func TestRawBetweenBorders(t *testing.T) {
	inner := specimen.JPEG(16, 16, specimen.ExifSegment(said.Block()))
	e := specimen.Exif{Main: []specimen.Tag{
		specimen.Number(4, 8), specimen.Number(5, 10), specimen.Number(6, 3008), specimen.Number(7, 4010),
		{ID: 0x002e, Type: specimen.Undefined, Text: string(inner)},
		{ID: 0x0111, Type: specimen.Long, Numbers: []uint32{1<<32 - 1}}, // a place holder
	}}
	file := e.Block()
	file[2] = 0x55
	c := read(t, file)
	if c.Format != container.Raw || c.Width != 4000 || c.Height != 3000 || c.Damage != "" {
		t.Errorf("%q %dx%d, damage %q; want raw 4000x3000, none", c.Format, c.Width, c.Height, c.Damage)
	}
	if got := value(c.Exif.Exif, 0x9003); got != "2024:05:17 14:30:00" {
		t.Errorf("time %q, want that of the preview", got)
	}
}

func TestTIFFDirectoriesThatOverlapAreBounded(t *testing.T) {
	// 60 sub-directories of 65535 entries each, all over the same bytes.
	file := []byte("II*\x00\x08\x00\x00\x00\x01\x00\x4a\x01\x04\x00\x3c\x00\x00\x00\x1a\x00\x00\x00\x00\x00\x00\x00")
	for i := range uint32(60) {
		file = binary.LittleEndian.AppendUint32(file, 400+12*i)
	}
	file = append(file, make([]byte, 400-len(file))...)
	file = append(file, bytes.Repeat([]byte("\xff\xff\x01\x00\x01\x00\x01\x00\x00\x00\x00\x00"), 66000)...)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	read(t, file)
	runtime.ReadMemStats(&after)
	if n := after.TotalAlloc - before.TotalAlloc; n > 32<<20 {
		t.Errorf("allocated %d bytes for a file of %d", n, len(file))
	}
}
