package container_test

import (
	"bytes"
	"compress/zlib"
	"encoding/hex"
	"fmt"
	"runtime"
	"strings"
	"testing"

	"haulbook/metadata/container"
	"haulbook/metadata/container/specimen"
)

func deflate(b []byte) []byte {
	var z bytes.Buffer
	w := zlib.NewWriter(&z)
	_, _ = w.Write(b) // into memory
	_ = w.Close()
	return z.Bytes()
}

// profile is the text of a raw profile: name, length, hex digits in lines of 72.
func profile(name string, b []byte) string {
	digits := hex.EncodeToString(b)
	var lines []string
	for len(digits) > 72 {
		lines, digits = append(lines, digits[:72]), digits[72:]
	}
	return fmt.Sprintf("\n%s\n%8d\n%s\n", name, len(b), strings.Join(append(lines, digits), "\n"))
}

func TestPNGFindsExif(t *testing.T) {
	block := said.Block()
	named := append([]byte("Exif\x00\x00"), block...)
	text := profile("exif", named)
	other := specimen.Exif{Main: []specimen.Tag{specimen.Text(0x010f, "Elm")}}.Block()
	tests := []struct {
		name   string
		chunks [][]byte
		want   string
	}{
		{"before the picture", [][]byte{specimen.Chunk("eXIf", block)}, maker},
		{"behind the picture", [][]byte{nil, specimen.Chunk("eXIf", block)}, maker},
		{"with the name of JPEG", [][]byte{specimen.Chunk("eXIf", named)}, maker},
		{"two, the first speaks", [][]byte{specimen.Chunk("eXIf", block), specimen.Chunk("eXIf", other)}, maker},
		{"hex text", [][]byte{specimen.Chunk("tEXt", []byte("Raw profile type exif\x00"+text))}, maker},
		{"hex text, packed", [][]byte{specimen.Chunk("zTXt", append([]byte("Raw profile type APP1\x00\x00"), deflate([]byte(text))...))}, maker},
		{"hex text, international", [][]byte{specimen.Chunk("iTXt", []byte("Raw profile type exif\x00\x00\x00\x00\x00"+text))}, maker},
		{"hex text, international, packed", [][]byte{specimen.Chunk("iTXt", append([]byte("Raw profile type exif\x00\x01\x00\x00\x00"), deflate([]byte(text))...))}, maker},
		{"chunk over hex text", [][]byte{specimen.Chunk("tEXt", []byte("Raw profile type exif\x00"+profile("exif", other))), specimen.Chunk("eXIf", block)}, maker},
		{"another profile", [][]byte{specimen.Chunk("tEXt", []byte("Raw profile type xmp\x00"+text))}, ""},
		{"hex text that is none", [][]byte{specimen.Chunk("tEXt", []byte("Raw profile type exif\x00\nexif\n 4\nzzzz"))}, ""},
		{"packed text that is none", [][]byte{specimen.Chunk("zTXt", []byte("Raw profile type exif\x00\x00junk"))}, ""},
		{"empty", [][]byte{specimen.Chunk("eXIf", nil)}, ""},
		{"none", nil, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := read(t, specimen.PNG(30, 20, tt.chunks...))
			if got := value(c.Exif.Main, 0x010f); got != tt.want {
				t.Errorf("maker %q, want %q", got, tt.want)
			}
			if c.Width != 30 || c.Height != 20 || c.Damage != "" {
				t.Errorf("%dx%d, damage %q; want 30x20, none", c.Width, c.Height, c.Damage)
			}
		})
	}
}

func TestPNGDoesNotUnpackBombs(t *testing.T) {
	bomb := deflate(make([]byte, 64<<20))
	file := specimen.PNG(8, 8, specimen.Chunk("zTXt", append([]byte("Raw profile type exif\x00\x00"), bomb...)))
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	c := read(t, file)
	runtime.ReadMemStats(&after)
	if n := after.TotalAlloc - before.TotalAlloc; n > 24<<20 {
		t.Errorf("allocated %d bytes for a file of %d", n, len(file))
	}
	if c.Damage != "" || c.State != container.Whole {
		t.Errorf("damage %q, state %v; want none, whole", c.Damage, c.State)
	}
}

func TestPNGDamage(t *testing.T) {
	whole := specimen.PNG(30, 20)
	empty := append(bytes.Clone(whole[:33]), whole[len(whole)-12:]...)
	flat := bytes.Clone(whole)
	clear(flat[16:20])
	garbled := bytes.Clone(whole)
	garbled[37] = 0
	tests := []struct {
		name, damage string
		file         []byte
		state        container.Completeness
	}{
		{"whole", "", whole, container.Whole},
		{"signature only", "the file ends before the picture does", whole[:8], container.Incomplete},
		{"without its end", "the file ends before the picture does", whole[:len(whole)-12], container.Incomplete},
		{"no picture data", "it holds no picture that can be found", empty, container.Whole},
		{"no width", "it holds no picture that can be found", flat, container.Whole},
		{"a chunk without a name", "its structure is garbled", garbled, container.Unknown},
		{"a chunk of 2 GB", "the file ends before the picture does", append(bytes.Clone(whole[:33]), "\x7f\xff\xff\xffeXIfMM"...), container.Incomplete},
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

func TestPNGUnpacksFewProfiles(t *testing.T) {
	bomb := specimen.Chunk("zTXt", append([]byte("Raw profile type exif\x00\x00"), deflate(make([]byte, 8<<20))...))
	file := specimen.PNG(8, 8, bytes.Repeat(bomb, 200))
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	read(t, file)
	runtime.ReadMemStats(&after)
	if n := after.TotalAlloc - before.TotalAlloc; n > 96<<20 {
		t.Errorf("allocated %d bytes for a file of %d", n, len(file))
	}
}
