package pictures

import (
	"image"
	"testing"

	"github.com/makiuchi-d/gozxing"
)

// TestBinarizedAgreesWithGozxing: the method is that of gozxing's HybridBinarizer,
// an independent implementation, and must give the same bits on any picture.
func TestBinarizedAgreesWithGozxing(t *testing.T) {
	shadow := image.NewGray(image.Rect(0, 0, 333, 201))
	for i := range shadow.Pix {
		x, y := i%333, i/333
		shadow.Pix[i] = byte((x/9+y/9)%2*90 + x*140/333)
	}
	for name, img := range map[string]image.Image{
		"photo": scene(640, 480, 3), "odd size": scene(403, 307, 4), "noise": noise(200, 161, 5),
		"shadow across squares": shadow, "smallest": scene(40, 40, 6),
	} {
		f := frame{img: ycbcr(img)}.shrunk(1000) // contiguous luma
		p := averaged(f.luma(), f.luma().w, f.luma().h)
		source, err := gozxing.NewPlanarYUVLuminanceSource(p.pix, p.w, p.h, 0, 0, p.w, p.h, false)
		if err != nil {
			t.Fatal(err)
		}
		want, err := gozxing.NewHybridBinarizer(source).GetBlackMatrix()
		if err != nil {
			t.Fatal(err)
		}
		got := binarized(p)
		// Where the size is no multiple of eight, gozxing lays its last blocks over
		// the ones before, and pixels there are dark when either says so.
		for y := range p.h / block * block {
			for x := range p.w / block * block {
				overlaid := p.w%block != 0 && x >= p.w-block || p.h%block != 0 && y >= p.h-block
				if !overlaid && got.Get(x, y) != want.Get(x, y) {
					t.Fatalf("%s: %d, %d is %v, want %v", name, x, y, got.Get(x, y), want.Get(x, y))
				}
			}
		}
	}
	if binarized(newPlane(39, 400)) != nil {
		t.Error("a strip was binarized, which is too small for blocks")
	}
}
