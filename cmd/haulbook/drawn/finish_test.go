package drawn

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"os/exec"
	"strings"
	"testing"
)

// Where row 0 and column 0 of the stored picture lie as seen: Exif 2.32,
// tag 0x0112 (CIPA DC-008-2019, 4.6.4 A).
func TestSidewaysStoresAsExifSays(t *testing.T) {
	red, green, blue, white := color.RGBA{255, 0, 0, 255}, color.RGBA{0, 255, 0, 255}, color.RGBA{0, 0, 255, 255}, color.RGBA{255, 255, 255, 255}
	up := image.NewRGBA(image.Rect(0, 0, 5, 3))
	up.SetRGBA(0, 0, red)   // top left
	up.SetRGBA(4, 0, green) // top right
	up.SetRGBA(0, 2, blue)  // bottom left
	up.SetRGBA(4, 2, white) // bottom right
	for _, c := range []struct {
		o                        int
		origin, rowEnd, colEnd   color.RGBA // stored (0,0), end of row 0, end of column 0
		size                     image.Point
		rowZeroIs, columnZeroIs_ string
	}{
		{1, red, green, blue, image.Pt(5, 3), "top", "left"},
		{3, white, blue, green, image.Pt(5, 3), "bottom", "right"},
		{6, green, white, red, image.Pt(3, 5), "right", "top"},
		{8, blue, red, white, image.Pt(3, 5), "left", "bottom"},
	} {
		got := sideways(up, c.o)
		if got.Rect.Size() != c.size {
			t.Fatalf("orientation %d: got %v, want %v", c.o, got.Rect.Size(), c.size)
		}
		for _, p := range []struct {
			x, y int
			want color.RGBA
		}{{0, 0, c.origin}, {c.size.X - 1, 0, c.rowEnd}, {0, c.size.Y - 1, c.colEnd}} {
			if g := got.RGBAAt(p.x, p.y); g != p.want {
				t.Errorf("orientation %d: (%d, %d): got %v, want %v", c.o, p.x, p.y, g, p.want)
			}
		}
	}
}

// upright turns a stored picture as a viewer does, written anew from the
// standard and not from the code under test.
func upright(img image.Image, o int) func(x, y int) color.Color {
	w, h := img.Bounds().Dx(), img.Bounds().Dy()
	return func(x, y int) color.Color {
		switch o {
		case 3:
			return img.At(w-1-x, h-1-y)
		case 6:
			return img.At(y, h-1-x)
		case 8:
			return img.At(w-1-y, x)
		}
		return img.At(x, y)
	}
}

// Whoever obeys the orientation sees a cool wall above a warm table.
func TestTurnedPhotosStandUpright(t *testing.T) {
	h := small(t)
	checked := map[int]bool{}
	for i, p := range h.Photos {
		if p.Role != View || p.Damaged {
			continue
		}
		img, _, err := image.Decode(bytes.NewReader(p.Bytes))
		if err != nil {
			t.Fatal(err)
		}
		o := max(1, p.shot.pose.turn)
		see := upright(img, o)
		want, err := h.picture(i)
		if err != nil {
			t.Fatal(err)
		}
		w, hh := want.Rect.Dx(), want.Rect.Dy()
		warmth := func(x, y int) int { r, _, b, _ := see(x, y).RGBA(); return int(r>>8) - int(b>>8) }
		if top, low := warmth(6, 6), warmth(6, hh-6); low < top+25 {
			t.Errorf("%s, orientation %d: warmth %d above, %d below: not upright", p.Name, o, top, low)
		}
		var off float64
		for y := 5; y < hh; y += 10 {
			for x := 5; x < w; x += 10 {
				r, _, _, _ := see(x, y).RGBA()
				off += math.Abs(float64(r>>8) - float64(want.RGBAAt(x, y).R))
			}
		}
		if off /= float64(w*hh) / 100; off > 6 {
			t.Errorf("%s, orientation %d: differs from what was drawn by %.1f a pixel", p.Name, o, off)
		}
		checked[o] = true
	}
	for _, o := range []int{1, 3, 6, 8} {
		if !checked[o] {
			t.Errorf("no view with orientation %d was looked at", o)
		}
	}
}

func TestFilmsDiffer(t *testing.T) {
	grey := func(f film) (warm, corner, grain float64) {
		c := newCanvas(200, 150)
		c.fill(flat(rgb{150, 150, 150}), rect(0, 0, 200, 150))
		f.develop(c.img, 42)
		var r, b, sum, square float64
		for y := 50; y < 70; y++ {
			for x := 70; x < 100; x++ {
				p := c.img.RGBAAt(x, y)
				r, b = r+float64(p.R), b+float64(p.B)
				sum, square = sum+float64(p.G), square+float64(p.G)*float64(p.G)
			}
		}
		n := 600.0
		return (r - b) / n, float64(c.img.RGBAAt(199, 149).G) - sum/n, math.Sqrt(square/n - sum*sum/n/n)
	}
	k := cameras()
	pw, pc, pg := grey(k[phone].film)
	cw, cc, cg := grey(k[compact].film)
	if pw <= 2 || cw >= -2 {
		t.Errorf("the phone should be warm and the compact cool: got %.1f and %.1f", pw, cw)
	}
	if pc > -10 || cc > pc {
		t.Errorf("corners: phone %.0f, compact %.0f; want dark, the compact's darker", pc, cc)
	}
	if pg < 0.5 || cg <= pg || cg > 8 {
		t.Errorf("grain: phone %.1f, compact %.1f; want some, the compact's more", pg, cg)
	}
}

func TestDiceRepeat(t *testing.T) {
	a, b, c := throw(1, 2), throw(1, 2), throw(1, 3)
	same := true
	for range 20 {
		x, y, z := a.between(2, 5), b.between(2, 5), c.between(2, 5)
		if x != y || x < 2 || x >= 5 {
			t.Fatalf("got %v and %v", x, y)
		}
		same = same && x == z
	}
	if same {
		t.Error("another number gave the same throws")
	}
	if s := a.serial("A9-AAAA"); len(s) != 7 || s[0] != 'A' || s[2] != '-' {
		t.Errorf("serial: got %q", s)
	}
}

// The demo binary must not drag the book in through its pictures.
func TestImportsNoneOfOurPackages(t *testing.T) {
	out, err := exec.Command("go", "list", "-deps", ".").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range strings.Fields(string(out)) {
		if strings.HasPrefix(p, "haulbook/") && p != "haulbook/cmd/haulbook/drawn" {
			t.Errorf("imports %s", p)
		}
		if p == "net/http" || p == "net" {
			t.Errorf("imports %s, though it needs no network", p)
		}
	}
}

// Photos of a size nobody takes are drawn as well.
func TestOddWidths(t *testing.T) {
	for _, w := range []int{leastWidth, 333, 2500} {
		h, err := Plan(Options{Width: w})
		if err != nil {
			t.Fatal(err)
		}
		i := indexOf(h, func(p Photo) bool { return p.shot.pose.turn == 6 })
		b, err := h.Draw(i)
		if err != nil {
			t.Fatal(err)
		}
		c, err := jpeg.DecodeConfig(bytes.NewReader(b))
		if err != nil || c.Width != w || c.Height != w*3/4 {
			t.Errorf("width %d: got %d×%d, %v", w, c.Width, c.Height, err)
		}
	}
}
