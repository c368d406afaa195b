package pictures

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"runtime"
	"testing"

	"haulbook/metadata"
)

// frameHeader builds the beginning of a JPEG up to a frame header (ITU-T T.81,
// B.2.2) with these sampling factors.
func frameHeader(marker byte, w, h int, factors ...byte) []byte {
	out := []byte{0xff, 0xd8, 0xff, 0xe0, 0, 4, 0, 0, 0xff, marker, 0, byte(8 + 3*len(factors)), 8}
	out = binary.BigEndian.AppendUint16(out, uint16(h))
	out = binary.BigEndian.AppendUint16(out, uint16(w))
	out = append(out, byte(len(factors)))
	for i, f := range factors {
		out = append(out, byte(i+1), f, 0)
	}
	return append(out, make([]byte, 32)...)
}

// pngHeader builds a PNG with nothing but a header chunk.
func pngHeader(w, h uint32, depth, colors byte) []byte {
	chunk := append([]byte("IHDR"), binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, w), h)...)
	chunk = append(chunk, depth, colors, 0, 0, 0)
	out := append([]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\x0d"), chunk...)
	out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(chunk))
	return append(out, "\x00\x00\x00\x00IDAT"...)
}

// tiffHeader builds a TIFF that announces an uncompressed RGB picture.
func tiffHeader(w, h uint32) []byte {
	out := []byte("II*\x00\x08\x00\x00\x00\x09\x00")
	for _, e := range [][3]uint32{{256, 4, w}, {257, 4, h}, {258, 3, 8}, {259, 3, 1}, {262, 3, 1}, {273, 4, 8}, {277, 3, 1}, {278, 4, h}, {279, 4, 1}} {
		out = binary.LittleEndian.AppendUint16(out, uint16(e[0]))
		out = binary.LittleEndian.AppendUint16(out, uint16(e[1]))
		out = binary.LittleEndian.AppendUint32(out, 1)
		out = binary.LittleEndian.AppendUint32(out, e[2])
	}
	return append(out, 0, 0, 0, 0)
}

// TestBombsAreRefusedBeforeDecoding: a few bytes that announce a huge picture.
func TestBombsAreRefusedBeforeDecoding(t *testing.T) {
	tests := map[string]struct {
		format metadata.Format
		bytes  []byte
	}{
		"65535 × 65535 JPEG":       {metadata.FormatJPEG, frameHeader(0xc0, 65535, 65535, 0x22, 0x11, 0x11)},
		"progressive JPEG, 110 MP": {metadata.FormatJPEG, frameHeader(0xc2, 11000, 10000, 0x11, 0x11, 0x11)},
		"four-channel JPEG":        {metadata.FormatJPEG, frameHeader(0xc2, 6500, 6500, 0x11, 0x11, 0x11, 0x11)},
		"PNG of 4 billion pixels":  {metadata.FormatPNG, pngHeader(65536, 65535, 8, 2)},
		"sixteen-bit PNG, 81 MP":   {metadata.FormatPNG, pngHeader(9000, 9000, 16, 6)},
		"TIFF, 40000 × 40000":      {metadata.FormatTIFF, tiffHeader(40000, 40000)},
		"WebP, 16383 × 16383":      {metadata.FormatWebP, append([]byte("RIFF\x20\x00\x00\x00WEBPVP8L\x10\x00\x00\x00\x2f\xfe\xbf\xff\x0f"), make([]byte, 16)...)},
		"WebP frame, 300 MP":       {metadata.FormatWebP, []byte("RIFF\x16\x00\x00\x00WEBPVP8X\x0a\x00\x00\x00\x00\x00\x00\x00\xff\x4f\x00\xff\x3f\x00")},
	}
	for name, tt := range tests {
		room := &Darkroom{Dir: t.TempDir()}
		path := written(t, "bomb", tt.bytes)
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := room.Look(context.Background(), path, photo("bomb", tt.format, 1))
		runtime.ReadMemStats(&after)
		if !errors.Is(err, ErrNoPicture) {
			t.Errorf("%s: got %v, want ErrNoPicture", name, err)
		}
		if used := after.TotalAlloc - before.TotalAlloc; used > 1<<20 {
			t.Errorf("%s: took %d bytes", name, used)
		}
	}
}

func TestCostOfJPEG(t *testing.T) {
	tests := []struct {
		name   string
		header []byte
		want   int64 // bytes for 4000 × 3000, by hand
	}{
		{"grey", frameHeader(0xc0, 4000, 3000, 0x11), 12_000_000},
		{"4:2:0", frameHeader(0xc0, 4000, 3000, 0x22, 0x11, 0x11), 18_000_000},
		{"4:2:2", frameHeader(0xc1, 4000, 3000, 0x21, 0x11, 0x11), 24_000_000},
		{"4:4:4", frameHeader(0xc0, 4000, 3000, 0x11, 0x11, 0x11), 36_000_000},
		{"progressive 4:2:0", frameHeader(0xc2, 4000, 3000, 0x22, 0x11, 0x11), 90_000_000},
	}
	for _, tt := range tests {
		got, err := costOf(bytes.NewReader(tt.header), int64(len(tt.header)), metadata.Info{Format: metadata.FormatJPEG})
		if err != nil || got.w != 4000 || got.h != 3000 || got.bytes < tt.want || got.bytes > tt.want*103/100 {
			t.Errorf("%s: got %+v, %v; want about %d bytes", tt.name, got, err, tt.want)
		}
	}
}

// TestJunkBeforeTheFrame: a header must not take forever to find.
func TestJunkBeforeTheFrame(t *testing.T) {
	header := frameHeader(0xc0, 40, 30, 0x11)
	little := bytes.Join([][]byte{header[:2], make([]byte, 100), header[2:]}, nil)
	if _, err := costOf(bytes.NewReader(little), int64(len(little)), metadata.Info{Format: metadata.FormatJPEG}); err != nil {
		t.Errorf("a little junk: %v", err)
	}
	much := bytes.Join([][]byte{header[:2], make([]byte, 1<<20), header[2:]}, nil)
	if got, err := costOf(bytes.NewReader(much), int64(len(much)), metadata.Info{Format: metadata.FormatJPEG}); err == nil {
		t.Errorf("a megabyte of junk: got %+v, want an error", got)
	}
}

func FuzzCost(f *testing.F) {
	f.Add(frameHeader(0xc2, 400, 300, 0x22, 0x11, 0x11))
	f.Add(pngHeader(10, 10, 8, 2))
	f.Add(tiffHeader(10, 10))
	f.Fuzz(func(t *testing.T, data []byte) {
		for _, format := range []metadata.Format{metadata.FormatJPEG, metadata.FormatPNG, metadata.FormatWebP, metadata.FormatTIFF} {
			c, err := costOf(bytes.NewReader(data), int64(len(data)), metadata.Info{Format: format})
			if err == nil && (c.w <= 0 || c.h <= 0 || c.bytes < 0) {
				t.Errorf("%s: %+v without an error", format, c)
			}
		}
	})
}
