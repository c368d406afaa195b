package pictures

import (
	"errors"
	"image"
	"testing"

	"haulbook/metadata"
	"haulbook/metadata/container/specimen"
)

// heicWith builds a HEIC of a size, with a small picture of 320 × 240 beside it
// unless small is false. Its bytes of picture are none a decoder would draw.
func heicWith(width, height int, small bool, turns ...[]byte) []byte {
	h := specimen.HEIF{Width: width, Height: height, Turns: turns}
	if small {
		h.Parts = []specimen.Part{{Kind: "hvc1", Reference: "thmb", Width: 320, Height: 240, Data: []byte("small")}}
	}
	return h.Bytes()
}

func TestSmallPictureStandsInForALargeHEIC(t *testing.T) {
	tests := []struct {
		name string
		heic []byte
		size image.Point
	}{
		{"too large to decode in full", heicWith(8640, 5760, true), image.Point{320, 240}},
		{"the decoder fails on the full one", heicWith(4032, 3024, true), image.Point{320, 240}},
		// ISO/IEC 23008-12: irot turns against the clock. The small picture has no box
		// of its own, so the turn of the large one is still to be done.
		{"still to be turned", heicWith(8640, 5760, true, specimen.Rotation(3)), image.Point{240, 320}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			room := &Darkroom{Dir: t.TempDir(), Worker: workerAs(t, "draw the small one")}
			preview, err := room.Preview(t.Context(), written(t, "p.heic", tt.heic), photo("p.heic", metadata.FormatHEIC, 1), Large)
			if err != nil {
				t.Fatal(err)
			}
			if got := drawn(t, preview).Bounds().Size(); got != tt.size {
				t.Errorf("drawn at %v, want %v", got, tt.size)
			}
		})
	}
}

func TestLargeHEICWithoutASmallPictureIsRefused(t *testing.T) {
	for name, heic := range map[string][]byte{"too large": heicWith(8640, 5760, false), "not decoded": heicWith(4032, 3024, false)} {
		room := &Darkroom{Dir: t.TempDir(), Worker: workerAs(t, "draw the small one")}
		_, err := room.Preview(t.Context(), written(t, "p.heic", heic), photo("p.heic", metadata.FormatHEIC, 1), Large)
		if !errors.Is(err, ErrNoPicture) {
			t.Errorf("%s: got %v, want ErrNoPicture", name, err)
		}
	}
}
