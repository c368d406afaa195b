package container_test

import (
	"bytes"
	"testing"

	"haulbook/metadata/container"
	"haulbook/metadata/container/specimen"
)

func TestRawBoxes(t *testing.T) {
	const short, empty = "the file ends before the picture does", "it holds no picture that can be found"
	whole := specimen.RawBoxes(6000, 4000, said)
	data := bytes.Index(whole, []byte("mdat")) - 4
	tests := []struct {
		name, damage string
		file         []byte
		width        int
	}{
		{"whole", "", whole, 6000},
		{"without sensor data", short, whole[:data], 6000},
		{"cut in the sensor data", short, whole[:len(whole)-1], 6000},
		{"cut in the directories", short, whole[:data-40], 6000},
		{"main directory that is none", empty, patch(whole, "CMT1", 4, 'X', 'X'), 0},
		{"another maker's boxes", empty, patch(whole, "uuid", 4, 0, 0, 0, 0), 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := read(t, tt.file)
			if c.Format != container.Raw || c.Width != tt.width || c.Damage != tt.damage {
				t.Errorf("%q, width %d, damage %q; want raw, %d, %q", c.Format, c.Width, c.Damage, tt.width, tt.damage)
			}
		})
	}
}

func TestRawBoxesOneBadDirectoryCostsItself(t *testing.T) {
	c := read(t, patch(specimen.RawBoxes(6000, 4000, said), "CMT2", 4, 'X', 'X'))
	if len(c.Exif.Exif) != 0 || value(c.Exif.Main, 0x010f) != maker || len(c.Exif.GPS) != 2 {
		t.Errorf("%d, %q, %d; want no times, the maker, the position", len(c.Exif.Exif), value(c.Exif.Main, 0x010f), len(c.Exif.GPS))
	}
}

func TestRawAroundJPEG(t *testing.T) {
	const short, empty = "the file ends before the picture does", "it holds no picture that can be found"
	inner := specimen.JPEG(40, 24, specimen.ExifSegment(said.Block()))
	whole := specimen.RawAroundJPEG(inner)
	elsewhere := bytes.Clone(whole)
	elsewhere[87]++ // the JPEG is said to begin a byte later
	far := bytes.Clone(whole)
	far[84] = 0x7f
	tests := []struct {
		name, damage, maker string
		file                []byte
	}{
		{"whole", "", maker, whole},
		{"cut in the JPEG", short, maker, whole[:160+len(inner)-10]},
		{"head alone", short, "", whole[:90]},
		{"less than a head", short, "", whole[:40]},
		{"no JPEG where it should be", empty, "", elsewhere},
		{"JPEG outside", short, "", far},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := read(t, tt.file)
			if got := value(c.Exif.Main, 0x010f); got != tt.maker || c.Damage != tt.damage || c.Format != container.Raw {
				t.Errorf("%q, maker %q, damage %q; want raw, %q, %q", c.Format, got, c.Damage, tt.maker, tt.damage)
			}
		})
	}
}

func TestSniffTIFF(t *testing.T) {
	tests := []struct {
		head string
		want container.Format
	}{
		{"II*\x00\x08\x00\x00\x00", container.TIFF},
		{"MM\x00*\x00\x00\x00\x08", container.TIFF},
		{"II+\x00\x08\x00\x00\x00", container.TIFF},
		{"MM\x00+\x00\x08\x00\x00", container.TIFF},
		{"II*\x00\x10\x00\x00\x00CR\x02\x00", container.Raw},
		{"IIU\x00\x18\x00\x00\x00", container.Raw},
		{"IIRO\x08\x00\x00\x00", container.Raw},
		{"MMOR\x00\x00\x00\x08", container.Raw},
		{"II+\x00\x04\x00\x00\x00", ""}, // offsets of four bytes: no BigTIFF
		{"II\x00*\x08\x00\x00\x00", ""}, // the order contradicts the number
		{"XX*\x00\x08\x00\x00\x00", ""},
		{"II*\x00", ""},
		{"MM", ""},
	}
	for _, tt := range tests {
		if got := container.Sniff([]byte(tt.head)); got != tt.want {
			t.Errorf("%q: %q, want %q", tt.head, got, tt.want)
		}
	}
}
