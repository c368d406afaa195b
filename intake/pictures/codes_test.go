package pictures

import (
	"context"
	"image"
	"image/color"
	"image/draw"
	"math"
	"testing"

	"github.com/boombuler/barcode"
	"github.com/boombuler/barcode/code128"
	"github.com/boombuler/barcode/code39"
	"github.com/boombuler/barcode/datamatrix"

	"haulbook/intake"
)

// seenIn searches a drawn picture as Look would.
func seenIn(t *testing.T, img image.Image, turn int) []intake.SeenCode {
	t.Helper()
	f := frame{img: ycbcr(img), turn: turn}
	codes, err := seen(context.Background(), f, f.shrunk(middle))
	if err != nil {
		t.Fatal(err)
	}
	return codes
}

func texts(codes []intake.SeenCode) map[string]string {
	got := map[string]string{}
	for _, c := range codes {
		got[c.Text] = c.Symbology
	}
	return got
}

// rotated turns img by degrees about its middle, on its own ground.
func rotated(img image.Image, degrees float64) *image.RGBA {
	b := img.Bounds()
	out := image.NewRGBA(b)
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	cx, cy := float64(b.Dx())/2, float64(b.Dy())/2
	for y := range b.Dy() {
		for x := range b.Dx() {
			dx, dy := float64(x)-cx, float64(y)-cy
			sx, sy := int(math.Round(cx+dx*cos+dy*sin)), int(math.Round(cy-dx*sin+dy*cos))
			if (image.Point{sx, sy}).In(b) {
				out.Set(x, y, img.At(sx, sy))
			} else {
				out.Set(x, y, color.Gray{120})
			}
		}
	}
	return out
}

func TestQRIsReadAtManyScalesAndAngles(t *testing.T) {
	const text = "http://192.168.1.20:8417/T/7K3M9Q2D"
	for _, size := range []int{110, 180, 260, 420, 900} {
		for _, degrees := range []float64{0, 7, 30, 45, 90, 135, 180, 250} {
			img := scene(1600, 1200, 3)
			tagged(t, img, text, 800-size/2, 600-size/2, size)
			codes := seenIn(t, rotated(img, degrees), 1)
			if len(codes) != 1 || codes[0].Text != text || codes[0].Symbology != intake.SymbologyQR {
				t.Errorf("%d pixels at %g°: got %v", size, degrees, codes)
				continue
			}
			c := codes[0]
			// The quiet zone of skip2/go-qrcode is 4 modules on each side of 29.
			want := float64(size*size) / (1600 * 1200) * 29 * 29 / (37 * 37)
			if math.Abs(c.X-0.5) > 0.02 || math.Abs(c.Y-0.5) > 0.02 || c.Share < 0.7*want || c.Share > 1.4*want {
				t.Errorf("%d pixels at %g°: seen at %.3f, %.3f with share %.4f; want the middle and about %.4f", size, degrees, c.X, c.Y, c.Share, want)
			}
		}
	}
}

func TestSeveralCodesInOnePhoto(t *testing.T) {
	img := scene(2400, 1800, 4)
	tagged(t, img, "http://a.example/T/1", 100, 100, 400)
	tagged(t, img, "http://a.example/T/2", 1700, 1200, 300)
	tagged(t, img, "http://a.example/T/3", 1300, 200, 350)
	tagged(t, img, "http://a.example/T/3", 300, 1200, 350)
	drawBars(t, img, code128Of(t, "SN-0042917"), 900, 1000, 700, 120)
	want := map[string]string{
		"http://a.example/T/1": "qr", "http://a.example/T/2": "qr", "http://a.example/T/3": "qr", "SN-0042917": "code128",
	}
	codes := seenIn(t, img, 1)
	got := texts(codes)
	if len(codes) != len(want) {
		t.Errorf("got %v, want each text once: %v", codes, want)
	}
	for text, symbology := range want {
		if got[text] != symbology {
			t.Errorf("got %q for %s, want %s", got[text], text, symbology)
		}
	}
	for i := 1; i < len(codes); i++ {
		if codes[i].Share > codes[i-1].Share {
			t.Errorf("got %v, want the largest first", codes)
		}
	}
}

func code128Of(t *testing.T, text string) barcode.Barcode {
	t.Helper()
	code, err := code128.Encode(text)
	if err != nil {
		t.Fatal(err)
	}
	return code
}

// drawBars draws a code w × h pixels large with a light margin of 5 %, which for
// a usual linear code is the ten modules its standard asks for.
func drawBars(t *testing.T, img draw.Image, code barcode.Barcode, x, y, w, h int) {
	t.Helper()
	scaled, err := barcode.Scale(code, w, h)
	if err != nil {
		t.Fatal(err)
	}
	margin := w/14 + 10
	draw.Draw(img, image.Rect(x-margin, y-margin, x+w+margin, y+h+margin), image.White, image.Point{}, draw.Src)
	draw.Draw(img, image.Rect(x, y, x+w, y+h), scaled, image.Point{}, draw.Src)
}

func TestLinearCodes(t *testing.T) {
	code39Of, err := code39.Encode("TX-4471 B", false, false)
	if err != nil {
		t.Fatal(err)
	}
	full, err := code39.Encode("Ab-77", false, true)
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name string
		code barcode.Barcode
		want string
		as   string
	}{
		{"Code 128", code128Of(t, "Serial 00123-x"), "Serial 00123-x", intake.SymbologyCode128},
		{"Code 128 digits with leading zeros", code128Of(t, "00420077"), "00420077", intake.SymbologyCode128},
		{"Code 39", code39Of, "TX-4471 B", intake.SymbologyCode39},
		{"Code 39 with small letters", full, "Ab-77", intake.SymbologyCode39},
	}
	for _, tt := range tests {
		for _, degrees := range []float64{0, 5, 17, 33, 45, 62, 80, 90, 118, 180, 225, 270, 341} {
			img := scene(1600, 1200, 6)
			drawBars(t, img, tt.code, 450, 520, 700, 160)
			codes := seenIn(t, rotated(img, degrees), 1)
			if len(codes) != 1 || codes[0].Text != tt.want || codes[0].Symbology != tt.as {
				t.Errorf("%s at %g°: got %v, want %q", tt.name, degrees, codes, tt.want)
				continue
			}
			if c := codes[0]; math.Abs(c.X-0.5) > 0.03 || math.Abs(c.Y-0.5) > 0.03 {
				t.Errorf("%s at %g°: seen at %.3f, %.3f, want the middle", tt.name, degrees, c.X, c.Y)
			}
		}
	}
}

func TestDataMatrix(t *testing.T) {
	code, err := datamatrix.Encode("PN 7001-443/B")
	if err != nil {
		t.Fatal(err)
	}
	for _, size := range []int{160, 300, 500} {
		img := scene(1600, 1200, 8)
		drawBars(t, img, code, 900, 300, size, size)
		codes := seenIn(t, img, 1)
		if len(codes) != 1 || codes[0].Text != "PN 7001-443/B" || codes[0].Symbology != intake.SymbologyDataMatrix {
			t.Errorf("%d pixels: got %v", size, codes)
		}
	}
}

// TestPlaceIsOfTheUprightPicture: a code stored at the upper left is elsewhere
// once the picture is turned.
func TestPlaceIsOfTheUprightPicture(t *testing.T) {
	img := scene(1200, 900, 5)
	tagged(t, img, "http://a.example/T/1", 60, 60, 240)
	left, top := 180.0/1200, 180.0/900
	// Where jpegexiforient(1) says that the upper left corner is then seen.
	want := map[int]point{
		1: {left, top}, 2: {1 - left, top}, 3: {1 - left, 1 - top}, 4: {left, 1 - top},
		5: {top, left}, 6: {1 - top, left}, 7: {1 - top, 1 - left}, 8: {top, 1 - left},
	}
	for turn, at := range want {
		codes := seenIn(t, img, turn)
		if len(codes) != 1 || math.Abs(codes[0].X-at.x) > 0.02 || math.Abs(codes[0].Y-at.y) > 0.02 {
			t.Errorf("orientation %d: got %v, want it at %.2f, %.2f", turn, codes, at.x, at.y)
		}
	}
}

func TestLightOnDark(t *testing.T) {
	img := scene(1200, 900, 5)
	tagged(t, img, "http://a.example/T/1", 400, 300, 300)
	draw.Draw(img, image.Rect(100, 700, 900, 860), image.White, image.Point{}, draw.Src)
	for i := range img.Pix {
		if i%4 != 3 {
			img.Pix[i] = 255 - img.Pix[i]
		}
	}
	if got := texts(seenIn(t, img, 1)); got["http://a.example/T/1"] != intake.SymbologyQR {
		t.Errorf("got %v", got)
	}
}

// TestNothingIsReadWhereThereIsNoCode: a false serial costs more than a missed one.
func TestNothingIsReadWhereThereIsNoCode(t *testing.T) {
	blank := image.NewGray(image.Rect(0, 0, 1000, 700))
	stripes := image.NewGray(image.Rect(0, 0, 1400, 900))
	checks := image.NewGray(image.Rect(0, 0, 1400, 900))
	for y := range 900 {
		for x := range 1400 {
			if x/7%2 == 0 {
				stripes.SetGray(x, y, color.Gray{230})
			}
			if (x/9+y/9)%2 == 0 {
				checks.SetGray(x, y, color.Gray{230})
			}
		}
	}
	pictures := map[string]image.Image{"blank": blank, "stripes": stripes, "checks": checks}
	for seed := range uint64(8) {
		pictures["scene "+string('a'+rune(seed))] = scene(1600, 1200, 100+seed)
		pictures["noise "+string('a'+rune(seed))] = noise(1000, 800, seed)
	}
	for name, img := range pictures {
		if codes := seenIn(t, img, 1); len(codes) != 0 {
			t.Errorf("%s: read %v", name, codes)
		}
	}
}

// FuzzSearch: no picture may make the search panic or place a code outside.
func FuzzSearch(f *testing.F) {
	f.Add([]byte("a row of a picture, repeated"), uint8(60), uint8(80))
	f.Fuzz(func(t *testing.T, pix []byte, w, h uint8) {
		if len(pix) == 0 || w == 0 || h == 0 {
			return
		}
		p := newPlane(int(w), int(h))
		for i := range p.pix {
			p.pix[i] = pix[i%len(pix)] + byte(i/len(pix)*31)
		}
		finds, err := search(t.Context(), p, p)
		if err != nil {
			t.Fatal(err)
		}
		for _, one := range finds {
			c := placed(one, frame{turn: int(w % 9)})
			if c.X < 0 || c.X > 1 || c.Y < 0 || c.Y > 1 || c.Share < 0 || c.Share > 1 || c.Text == "" {
				t.Fatalf("%+v lies outside the picture", c)
			}
		}
	})
}
