package container_test

import (
	"bytes"
	"encoding/binary"
	"testing"

	"haulbook/metadata/container"
	"haulbook/metadata/container/specimen"
)

// riff is a WebP file of these chunks.
func riff(chunks ...[]byte) []byte {
	file := append([]byte("RIFF\x00\x00\x00\x00WEBP"), bytes.Join(chunks, nil)...)
	binary.LittleEndian.PutUint32(file[4:], uint32(len(file)-8))
	return file
}

func TestWebPSize(t *testing.T) {
	// The heads are written after RFC 6386, 9.1 and RFC 9649, 2.7.1 and 3.4.
	lossy := specimen.RIFFChunk("VP8 ", []byte("\x10\x02\x00\x9d\x01\x2a\x40\x01\xf0\x40rest")) // 320, 240 scaled
	lossless := specimen.RIFFChunk("VP8L", []byte{0x2f, 0x3f, 0xc1, 0x3b, 0x00})                // 320, 240
	head := specimen.RIFFChunk("VP8X", []byte{0x10, 0, 0, 0, 0xff, 0x0f, 0, 0xff, 0x07, 0})     // 4096, 2048
	frame := specimen.RIFFChunk("ANMF", make([]byte, 24))
	tests := []struct {
		name          string
		file          []byte
		width, height int
		damage        string
	}{
		{"lossy", riff(lossy), 320, 240, ""},
		{"lossless", riff(lossless), 320, 240, ""},
		{"extended, the picture knows better", riff(head, lossy), 320, 240, ""},
		{"film, the canvas counts", riff(head, frame), 4096, 2048, ""},
		{"odd chunk before", riff(specimen.RIFFChunk("ICCP", []byte("odd")), lossless), 320, 240, ""},
		{"head without a picture", riff(head), 4096, 2048, "it holds no picture that can be found"},
		{"nothing", riff(), 0, 0, "it holds no picture that can be found"},
		{"picture without a start code", riff(specimen.RIFFChunk("VP8 ", make([]byte, 12))), 0, 0, "it holds no picture that can be found"},
		{"chunk longer than the file", riff(lossless, []byte("EXIF\xff\xff\xff\xff")), 320, 240, "its structure is garbled"},
		{"cut", riff(head, lossy)[:36], 4096, 2048, "the file ends before the picture does"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := read(t, tt.file)
			if c.Width != tt.width || c.Height != tt.height || c.Damage != tt.damage {
				t.Errorf("%dx%d, damage %q; want %dx%d, %q", c.Width, c.Height, c.Damage, tt.width, tt.height, tt.damage)
			}
		})
	}
}

func TestWebPLength(t *testing.T) {
	file := specimen.WebP(32, 16, nil)
	for claim, want := range map[uint32]container.Completeness{
		uint32(len(file) - 8): container.Whole,
		uint32(len(file) - 7): container.Incomplete,
		1<<32 - 1:             container.Incomplete,
	} {
		binary.LittleEndian.PutUint32(file[4:], claim)
		if got := container.Complete(bytes.NewReader(file), int64(len(file))); got != want {
			t.Errorf("length %d in a file of %d: %v, want %v", claim, len(file), got, want)
		}
	}
}
