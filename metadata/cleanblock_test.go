package metadata

import (
	"bytes"
	"encoding/binary"
	"testing"

	"github.com/rwcarlsen/goexif/exif"

	"haulbook/metadata/container"
)

func textEntry(tag uint16, s string) container.Entry {
	return container.Entry{Tag: tag, Type: typeASCII, Count: uint32(len(s) + 1), Value: append([]byte(s), 0)}
}

func TestCleanBlockIsReadByTheDecoder(t *testing.T) {
	block := cleanBlock(container.Directories{
		Main: []container.Entry{textEntry(idModel, "Pinhole 3"), textEntry(idMake, "Oak")},
		Exif: []container.Entry{textEntry(idOriginal, "2024:05:17 14:30:00")},
		GPS:  []container.Entry{textEntry(1, "N")},
	})
	x, err := exif.Decode(bytes.NewReader(block))
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[exif.FieldName]string{
		exif.Make: "Oak", exif.Model: "Pinhole 3", exif.DateTimeOriginal: "2024:05:17 14:30:00", exif.GPSLatitudeRef: "N",
	} {
		tag, err := x.Get(name)
		if err != nil {
			t.Fatal(err)
		}
		if got := textOf(tag); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
	// TIFF 6.0, section 2: entries in ascending order, values on even bytes.
	last := uint16(0)
	for i := range int(binary.BigEndian.Uint16(block[8:])) {
		tag := binary.BigEndian.Uint16(block[10+12*i:])
		if tag <= last {
			t.Errorf("entry %d: tag %#x behind %#x", i, tag, last)
		}
		last = tag
	}
}

func TestCleanBlockMendsTypes(t *testing.T) {
	tests := []struct {
		name  string
		entry container.Entry
		want  string
	}{
		{"text as UTF-8 (Exif 3.0)", container.Entry{Tag: idMake, Type: typeUTF8, Count: 4, Value: []byte("Oak\x00")}, "Oak"},
		{"text as undefined bytes", container.Entry{Tag: idMake, Type: typeUndefined, Count: 4, Value: []byte("Oak\x00")}, "Oak"},
		{"text as bytes", container.Entry{Tag: idMake, Type: 1, Count: 3, Value: []byte("Oak")}, "Oak"},
		{"text as numbers", container.Entry{Tag: idMake, Type: typeShort, Count: 1, Value: []byte{0, 7}}, ""},
		{"type of the future", container.Entry{Tag: idMake, Type: 200, Count: 1, Value: []byte{7}}, ""},
	}
	for _, tt := range tests {
		if got := decode(container.Directories{Main: []container.Entry{tt.entry}}).text(idMake); got != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
	long := container.Entry{Tag: idOrientation, Type: typeLong8, Count: 1, Value: []byte{0, 0, 0, 0, 0, 0, 0, 8}}
	if got := decode(container.Directories{Main: []container.Entry{long}}).integer(idOrientation); got != 8 {
		t.Errorf("orientation of eight bytes: %d, want 8", got)
	}
}

func TestNothingToSay(t *testing.T) {
	if got := cleanBlock(container.Directories{}); got != nil {
		t.Errorf("block %x, want none", got)
	}
	got := decode(container.Directories{})
	if got.text(idMake) != "" || got.integer(idOrientation) != 0 || got.position() != nil || got.taken() != (Taken{}) {
		t.Errorf("%+v, want nothing", got)
	}
}

func TestBlockTheDecoderRefuses(t *testing.T) {
	// No container gives such an entry; if one did, the photo has no tags, no more.
	lie := container.Entry{Tag: 0x0103, Type: typeShort, Count: 0, Value: []byte{0, 1}}
	got := decode(container.Directories{Main: []container.Entry{lie, textEntry(idMake, "Oak")}})
	if got.text(idMake) != "" {
		t.Errorf("maker %q, want none: the decoder gave the block up", got.text(idMake))
	}
}
