package container_test

import (
	"bytes"
	"image"
	"os"
	"path/filepath"
	"testing"

	"github.com/gen2brain/heic"

	"haulbook/metadata/container"
	"haulbook/metadata/container/specimen"
)

// thumbed is a HEIC with thumbnails: two coded like the picture and a JPEG.
func thumbed() specimen.HEIF {
	return specimen.HEIF{
		Width: 4000, Height: 3000, Turns: [][]byte{specimen.Rotation(3)}, Exif: said.Block(),
		Parts: []specimen.Part{
			{Kind: "hvc1", Reference: "thmb", Width: 160, Height: 120, Data: []byte("small")},
			{Kind: "hvc1", Reference: "thmb", Width: 320, Height: 240, Turns: [][]byte{specimen.Rotation(3)}, Data: []byte("larger")},
			{Kind: "jpeg", Reference: "thmb", Width: 40, Height: 24, Turns: [][]byte{specimen.Rotation(3)}, Data: specimen.JPEG(40, 24)},
		},
	}
}

func TestThumbnail(t *testing.T) {
	file := thumbed().Bytes()
	c := read(t, file)
	if got, want := c.Thumbnail, (container.Thumbnail{Item: specimen.FirstPart + 1, Width: 320, Height: 240, Turn: 6}); got != want {
		t.Errorf("thumbnail %+v, want the larger, %+v", got, want)
	}
	if got := drawn(t, file, c.Embedded); got != image.Pt(40, 24) || c.Embedded.Orientation != 6 {
		t.Errorf("JPEG %+v, drawn %v; want 40x24 to be turned as its item says", c.Embedded, got)
	}
	if c.Width != 4000 || c.Damage != "" {
		t.Errorf("width %d, damage %q; want 4000, none", c.Width, c.Damage)
	}
	other := thumbed()
	for i := range other.Parts {
		other.Parts[i].Reference = "dimg"
	}
	if c := read(t, other.Bytes()); c.Thumbnail.Item != 0 || c.Embedded.Length != 0 {
		t.Errorf("parts of the picture: %+v, %+v; want none to be a thumbnail", c.Thumbnail, c.Embedded)
	}
}

func TestWithPrimary(t *testing.T) {
	file := thumbed().Bytes()
	before := bytes.Clone(file)
	changed := container.WithPrimary(file, specimen.FirstPart+1)
	if !bytes.Equal(file, before) {
		t.Error("the original was changed")
	}
	if c := read(t, changed); c.Width != 320 || c.Height != 240 || c.Turn != 6 {
		t.Errorf("%dx%d turned %d, want the thumbnail's 320x240 turned 6", c.Width, c.Height, c.Turn)
	}
	if back := container.WithPrimary(changed, 1); !bytes.Equal(back, file) {
		t.Error("there and back is not the same file")
	}
	noPrimary := thumbed()
	noPrimary.NoPrimary = true
	tests := []struct {
		name string
		file []byte
		item uint32
	}{
		{"no such item", file, 99},
		{"item 0", file, 0},
		{"no primary item named", noPrimary.Bytes(), specimen.FirstPart},
		{"number wider than its field", file, 1<<16 + 1},
		{"no room in the box", patch(file, "pitm", -4, 0, 0, 0, 13), specimen.FirstPart},
		{"JPEG", specimen.JPEG(8, 8), 1},
		{"nothing", nil, 1},
		{"cut", file[:60], 1},
	}
	for _, tt := range tests {
		if got := container.WithPrimary(tt.file, tt.item); got != nil {
			t.Errorf("%s: %d bytes, want nil", tt.name, len(got))
		}
	}
}

func FuzzWithPrimary(f *testing.F) {
	f.Add(thumbed().Bytes(), uint32(specimen.FirstPart))
	f.Add(specimen.Mini{Width: 300, Height: 200}.Bytes(), uint32(1))
	f.Fuzz(func(t *testing.T, file []byte, item uint32) {
		changed := container.WithPrimary(file, item)
		if changed == nil {
			return
		}
		differ := 0
		for i := range file {
			if file[i] != changed[i] {
				differ++
			}
		}
		if len(changed) != len(file) || differ > 4 {
			t.Errorf("%d bytes of %d differ, want at most an item's number", differ, len(file))
		}
	})
}

// TestThumbnailsOfPhonesAreDrawn has the decoder draw the thumbnail in the
// place of the picture, of every photo that has one.
func TestThumbnailsOfPhonesAreDrawn(t *testing.T) {
	dir := os.Getenv("HAULBOOK_CORPUS")
	if dir == "" {
		t.Skip("HAULBOOK_CORPUS is not set: point it at a folder with photos to draw the thumbnails of its HEICs")
	}
	files, err := filepath.Glob(filepath.Join(dir, "heic", "*.[hH]*"))
	if err != nil {
		t.Fatal(err)
	}
	count := 0
	for _, name := range files {
		file, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		thumb := read(t, file).Thumbnail
		if thumb.Item == 0 {
			continue
		}
		count++
		want := image.Pt(thumb.Width, thumb.Height)
		if thumb.Turn > 4 { // on its side: the decoder turns it
			want = image.Pt(thumb.Height, thumb.Width)
		}
		if filepath.Base(name) == "exiv2__Sony.HIF" {
			// The decoder fails on the stream of 1616x1080, as on the tiles of the full
			// picture; libheif 1.15 draws both. The camera's smaller one it can draw.
			thumb.Item, want = thumb.Item+1, image.Pt(320, 212)
		}
		m, err := heic.Decode(bytes.NewReader(container.WithPrimary(file, thumb.Item)))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if got := m.Bounds().Size(); got != want {
			t.Errorf("%s: drawn %v, want %v", name, got, want)
		}
	}
	if count < 3 {
		t.Errorf("%d photos have a thumbnail, want the folder's three", count)
	}
}
