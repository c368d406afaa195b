package container_test

import (
	"bytes"
	"testing"

	"haulbook/metadata/container"
	"haulbook/metadata/container/specimen"
)

// exifOf is an Exif segment that says one maker.
func exifOf(name string) []byte {
	e := specimen.Exif{Main: []specimen.Tag{specimen.Text(0x010f, name)}}
	return specimen.ExifSegment(e.Block())
}

func TestJPEGFindsExifAnywhere(t *testing.T) {
	xmp := specimen.Segment(0xe1, []byte("http://ns.adobe.com/xap/1.0/\x00<x:xmpmeta/>"))
	comment := specimen.Segment(0xfe, bytes.Repeat([]byte("note "), 2000))
	odd := append([]byte("\x00\x01EXIF\x00\x00"), said.Block()...)
	long := specimen.Exif{Main: []specimen.Tag{specimen.Text(0x0110, string(bytes.Repeat([]byte("n"), 60000))), specimen.Text(0x010f, maker)}}
	block := long.Block()
	half := len(block) / 2
	tests := []struct {
		name     string
		segments [][]byte
		want     string
	}{
		{"first", [][]byte{exifOf(maker)}, maker},
		{"behind XMP", [][]byte{xmp, exifOf(maker)}, maker},
		{"behind many comments", [][]byte{bytes.Repeat(comment, 200), exifOf(maker)}, maker},
		{"behind fill bytes", [][]byte{bytes.Repeat([]byte{0xff}, 3000), exifOf(maker)}, maker},
		{"behind junk that is no marker", [][]byte{comment, []byte("stray bytes"), exifOf(maker)}, maker},
		{"odd name", [][]byte{specimen.Segment(0xe1, odd)}, maker},
		{"two, the first speaks", [][]byte{exifOf(maker), exifOf("Elm")}, maker},
		{"empty, then one", [][]byte{specimen.Segment(0xe1, []byte("Exif\x00\x00")), exifOf(maker)}, maker},
		{"in two segments", [][]byte{specimen.ExifSegment(block[:half]), specimen.ExifSegment(block[half:])}, maker},
		{"none", nil, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := read(t, specimen.JPEG(40, 24, tt.segments...))
			if got := value(c.Exif.Main, 0x010f); got != tt.want {
				t.Errorf("maker %q, want %q", got, tt.want)
			}
			if c.Width != 40 || c.Height != 24 || c.Damage != "" {
				t.Errorf("%dx%d, damage %q; want 40x24, none", c.Width, c.Height, c.Damage)
			}
		})
	}
}

func TestJPEGDamage(t *testing.T) {
	const short, empty = "the file ends before the picture does", "it holds no picture that can be found"
	whole := specimen.JPEG(40, 24, exifOf(maker))
	preview := specimen.JPEG(40, 24, specimen.Segment(0xe2, specimen.JPEG(8, 8)))
	second := append(bytes.Clone(whole), whole...)
	tests := []struct {
		name, damage string
		file         []byte
		state        container.Completeness
	}{
		{"whole", "", whole, container.Whole},
		{"no end marker", short, whole[:len(whole)-2], container.Incomplete},
		{"half an end marker", short, whole[:len(whole)-1], container.Incomplete},
		{"start and end only", empty, []byte("\xff\xd8\xff\xd9"), container.Whole},
		{"start only", short, []byte("\xff\xd8"), container.Incomplete},
		{"two files in one", "", second, container.Whole},
		{"segment without length", short, append([]byte("\xff\xd8\xff\xe1\x00\x00"), make([]byte, 90)...), container.Incomplete},
		// The end marker of a preview inside a segment is not the photo's.
		{"preview inside, cut", short, preview[:len(preview)-40], container.Incomplete},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := read(t, tt.file)
			if c.Damage != tt.damage || c.State != tt.state {
				t.Errorf("damage %q, state %v; want %q, %v", c.Damage, c.State, tt.damage, tt.state)
			}
		})
	}
}

func TestJPEGKeepsExifOfACutFile(t *testing.T) {
	file := specimen.JPEG(40, 24, specimen.ExifSegment(said.Block()))
	c := read(t, file[:len(said.Block())+20])
	if got := value(c.Exif.Exif, 0x9003); got != "2024:05:17 14:30:00" {
		t.Errorf("time %q, want it kept", got)
	}
}

func TestJPEGScanCrossesPages(t *testing.T) {
	// Stuffed zeros and restarts at every position around the reader's pages.
	for shift := range 4 {
		scan := append(bytes.Repeat([]byte{0x11}, 32<<10-40+shift), bytes.Repeat([]byte{0xff, 0x00, 0xff, 0xd3, 0xff, 0xff}, 12000)...)
		file := append([]byte("\xff\xd8"), specimen.Segment(0xc0, []byte{8, 0, 24, 0, 40, 1, 1, 0x11, 0})...)
		file = append(file, specimen.Segment(0xda, []byte{1, 1, 0, 0, 63, 0})...)
		file = append(file, scan...)
		if c := read(t, file); c.State != container.Incomplete {
			t.Errorf("shift %d, no end: %v, want incomplete", shift, c.State)
		}
		file = append(file, 0xff, 0xd9)
		if c := read(t, file); c.State != container.Whole || c.Width != 40 || c.Height != 24 {
			t.Errorf("shift %d: %v, %dx%d; want whole, 40x24", shift, c.State, c.Width, c.Height)
		}
	}
}

func TestJPEGWalkIsBounded(t *testing.T) {
	// Millions of markers and none that ends it.
	for _, unit := range []string{"\xff\xfe\x00\x02", "\xff\xfe\x00\x00", "\xff\x00", "\xff\xff", "\xff\xda\x00\x02"} {
		file := append([]byte("\xff\xd8\xff"), bytes.Repeat([]byte(unit), 2<<20)...)
		if c := read(t, file); c.State != container.Incomplete {
			t.Errorf("%x over and over: %v, want incomplete", unit, c.State)
		}
	}
}
