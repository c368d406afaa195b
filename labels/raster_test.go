package labels

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"image/png"
	"math"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

func TestPNGIsOneLabelInDots(t *testing.T) {
	for _, c := range []struct {
		stock string
		dpi   int
		w, h  int // label size in dots, arithmetic
	}{
		{"roll-62x29", 203, 496, 232}, {"roll-62x29", 300, 732, 343}, {"roll-62x29", 600, 1465, 685},
		{"a4-3x8", 300, 827, 437}, {"letter-3x10", 300, 788, 300},
	} {
		j := Job{Stock: named(t, c.stock), DPI: c.dpi}
		var b bytes.Buffer
		if err := j.WritePNG(&b, tagFor(hostile[0], 3)); err != nil {
			t.Fatal(err)
		}
		img, err := png.Decode(bytes.NewReader(b.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		if got, want := img.Bounds().Size(), image.Pt(c.w, c.h); got != want {
			t.Errorf("%s at %d: got %v dots, want %v", c.stock, c.dpi, got, want)
		}
		// One bit a dot: bit depth follows width and height in IHDR (PNG, 11.2.1).
		if depth := b.Bytes()[8+8+8]; depth != 1 {
			t.Errorf("got %d bits a dot, want 1", depth)
		}
		at := bytes.Index(b.Bytes(), []byte("pHYs"))
		if at < 0 {
			t.Fatal("the resolution is not noted")
		}
		perMetre := binary.BigEndian.Uint32(b.Bytes()[at+4:])
		if want := float64(c.dpi) / 0.0254; math.Abs(float64(perMetre)-want) > 0.5 {
			t.Errorf("got %d dots a metre, want %.1f", perMetre, want)
		}
		// Read with the decoder's own idea of black and white, not ours.
		bitmap, err := gozxing.NewBinaryBitmapFromImage(img)
		if err != nil {
			t.Fatal(err)
		}
		r, err := qrcode.NewQRCodeReader().DecodeWithoutHints(bitmap)
		if err != nil || r.GetText() != "http://192.168.1.20:8417/T/7K3M9Q03" {
			t.Errorf("%s at %d: got %v, %v", c.stock, c.dpi, r, err)
		}
	}
}

// Every black dot of every label lies inside the printable inset.
func TestNothingIsPrintedOutside(t *testing.T) {
	for _, s := range append(Stocks(), uprightStock(), squareStock()) {
		j := Job{Stock: s, DPI: 300}
		insetX, insetY := s.inset()
		for i, tag := range hostile {
			cell := i % s.PerPage()
			d, err := j.layOut(tagFor(tag, i), cell)
			if errors.Is(err, ErrNoRoom) {
				continue
			} else if err != nil {
				t.Fatal(err)
			}
			// A canvas larger than the label shows what would fall off it.
			x, y, w, h := s.Cell(cell)
			r := newRaster(box{x - 5, y - 5, w + 10, h + 10}, j.dot())
			d.paint(r)
			in := image.Rect(int((x+insetX)/j.dot())-1, int((y+insetY)/j.dot())-1,
				int((x+w-insetX)/j.dot())+2, int((y+h-insetY)/j.dot())+2)
			if black := blackBox(r.img, r.img.Rect); !black.In(in) {
				t.Errorf("%s, tag %d: black in %v, allowed %v", s.Name, i, black, in)
			}
		}
	}
}

// blackBox bounds the black dots of a part of an image.
func blackBox(img image.Image, part image.Rectangle) image.Rectangle {
	var b image.Rectangle
	for y := part.Min.Y; y < part.Max.Y; y++ {
		for x := part.Min.X; x < part.Max.X; x++ {
			if grey, _, _, _ := img.At(x, y).RGBA(); grey < 0x8000 {
				b = b.Union(image.Rect(x, y, x+1, y+1))
			}
		}
	}
	return b
}

func TestProofNoticesDamage(t *testing.T) {
	j := Job{Stock: named(t, "a4-3x8")}
	tag := tagFor(Tag{Number: "2026.7.14", Linear: true}, 1)
	d, err := j.layOut(tag, 4)
	if err != nil {
		t.Fatal(err)
	}
	r := j.rasterise(d)
	if err := prove(r, tag); err != nil {
		t.Fatalf("an undamaged label: %v", err)
	}
	for name, c := range map[string]struct {
		part box
		want string
	}{
		"finder pattern blotted": {part(d.code.box(j.dot()), 0, 0, 0.3, 0.3), "QR"},
		"a third blotted":        {part(d.code.box(j.dot()), 0, 0.3, 1, 0.35), "QR"},
		"bars blotted":           {part(d.bars.box(j.dot()), 0.3, 0, 0.2, 1), "Code 128"},
	} {
		t.Run(name, func(t *testing.T) {
			r := j.rasterise(d)
			r.fill(shape{{{c.part.x, c.part.y}, {c.part.x + c.part.w, c.part.y},
				{c.part.x + c.part.w, c.part.y + c.part.h}, {c.part.x, c.part.y + c.part.h}}})
			err := prove(r, tag)
			if !errors.Is(err, ErrUnread) || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want that the %s does not read", err, c.want)
			}
		})
	}
}

// part cuts a share out of a box.
func part(b box, x, y, w, h float64) box {
	return box{b.x + x*b.w, b.y + y*b.h, w * b.w, h * b.h}
}

func TestProofNoticesWrongText(t *testing.T) {
	j := Job{Stock: named(t, "a4-3x8")}
	tag := tagFor(Tag{Number: "2026.7.14", Linear: true}, 1)
	d, err := j.layOut(tag, 0)
	if err != nil {
		t.Fatal(err)
	}
	r := j.rasterise(d)
	other := tag
	other.URL = strings.Replace(tag.URL, "7K3M", "7K3N", 1)
	if err := prove(r, other); !errors.Is(err, ErrUnread) || !strings.Contains(err.Error(), "instead of") {
		t.Errorf("got %v, want that it says something else", err)
	}
	other = tag
	other.Number = "2026.7.15"
	if err := prove(r, other); !errors.Is(err, ErrUnread) {
		t.Errorf("got %v, want that the bars say something else", err)
	}
}

// awkward codes make symbols, version 3 at level Q or 2 at L, in which the
// decoder takes data for a finder pattern; zxing-cpp and zbar read them.
var awkward = []string{"8AFR04J9", "BQ9G9VZ7", "799JPQD5"}

// A symbol the decoder misses is replaced, not refused: every tag of a run must
// come out of the printer.
func TestAwkwardSymbolsAreReplaced(t *testing.T) {
	lowered := 0
	for _, s := range Stocks() {
		for _, code := range awkward {
			tag := Tag{URL: "http://192.168.1.20:8417/T/" + code, Number: "2026.7.14", Code: code}
			j := Job{Stock: s, DPI: 300}
			plan, err := j.Plan(tag)
			if err != nil {
				t.Fatal(err)
			}
			d, err := j.proven(tag, 0)
			if err != nil {
				t.Errorf("%s on %s: %v", code, s.Name, err)
				continue
			}
			checkShape(t, j, d)
			if d.symbol != plan {
				lowered++
				if err := prove(j.rasterise(d), tag); err != nil {
					t.Errorf("%s on %s was replaced by a symbol that does not read: %v", code, s.Name, err)
				}
			}
		}
	}
	if lowered == 0 {
		t.Error("no symbol was replaced, so this test shows nothing")
	}
}

// Nobody's code is refused: many invented codes on the stocks that leave the
// decoder least choice.
func TestNoCodeIsRefused(t *testing.T) {
	const alphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ" // Crockford's base 32
	seed := uint32(1)
	for _, name := range []string{"a4-3x8", "letter-4x20"} {
		j := Job{Stock: named(t, name), DPI: 300}
		for range 300 {
			code := make([]byte, 8)
			for i := range code {
				seed = seed*1664525 + 1013904223
				code[i] = alphabet[seed>>27]
			}
			tag := Tag{URL: "http://192.168.1.20:8417/T/" + string(code), Number: "2026.7.14"}
			if _, err := j.proven(tag, 0); err != nil {
				t.Errorf("%s on %s: %v", code, name, err)
			}
		}
	}
}
