package drawn

import (
	"bytes"
	"image"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/oned"
	"github.com/makiuchi-d/gozxing/qrcode"
)

// fullSize draws, at the size a demo uses, the photos that fit.
func fullSize(t *testing.T, seed uint64, fits func(Haul, Photo) bool) (h Haul) {
	t.Helper()
	h, err := Plan(Options{Seed: seed, Codes: testCodes, Address: testAddress})
	if err != nil {
		t.Fatal(err)
	}
	var kept []Photo
	for i, p := range h.Photos {
		if !fits(h, p) {
			continue
		}
		if p.Bytes, err = h.Draw(i); err != nil {
			t.Fatal(err)
		}
		kept = append(kept, p)
	}
	h.Photos = kept
	return h
}

func tags(_ Haul, p Photo) bool { return p.Role == Tag }

func barredPlates(h Haul, p Photo) bool { return p.Role == Plate && h.Things[p.Thing].style == barred }

func bitmap(t *testing.T, p Photo) *gozxing.BinaryBitmap {
	t.Helper()
	img, _, err := image.Decode(bytes.NewReader(p.Bytes))
	if err != nil {
		t.Fatal(err)
	}
	bmp, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		t.Fatal(err)
	}
	return bmp
}

var harder = map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true}

func TestTagsDecode(t *testing.T) {
	h := fullSize(t, 1, tags)
	if got, want := len(h.Photos), len(testCodes); got != want {
		t.Fatalf("tag photos: got %d, want %d", got, want)
	}
	for _, p := range h.Photos {
		r, err := qrcode.NewQRCodeReader().Decode(bitmap(t, p), harder)
		if err != nil {
			t.Errorf("%s: %v", p.Name, err)
			continue
		}
		if got, want := r.GetText(), testAddress+"/T/"+h.Things[p.Thing].Code; got != want {
			t.Errorf("%s: got %q, want %q", p.Name, got, want)
		}
	}
}

func TestBarsOnPlatesDecode(t *testing.T) {
	h := fullSize(t, 1, barredPlates)
	if len(h.Photos) == 0 {
		t.Fatal("no plate has bars")
	}
	for _, p := range h.Photos {
		r, err := oned.NewCode128Reader().Decode(bitmap(t, p), harder)
		if err != nil {
			t.Errorf("%s: %v", p.Name, err)
			continue
		}
		if got, want := r.GetText(), h.Things[p.Thing].Serial; got != want {
			t.Errorf("%s: got %q, want %q", p.Name, got, want)
		}
	}
}

func TestZbarReadsTagsAndBars(t *testing.T) {
	zbar := tool(t, "zbarimg")
	for _, seed := range []uint64{1, 2} {
		h := fullSize(t, seed, func(h Haul, p Photo) bool { return tags(h, p) || barredPlates(h, p) })
		for _, p := range h.Photos {
			file := filepath.Join(t.TempDir(), p.Name)
			if err := os.WriteFile(file, p.Bytes, 0o600); err != nil {
				t.Fatal(err)
			}
			out, err := exec.Command(zbar, "-q", file).Output()
			if err != nil {
				t.Errorf("seed %d, %s (%s): zbarimg: %v", seed, p.Name, p.Role, err)
				continue
			}
			th := h.Things[p.Thing]
			want := "CODE-128:" + th.Serial
			if p.Role == Tag {
				want = "QR-Code:" + testAddress + "/T/" + th.Code
			}
			if got := strings.TrimSpace(string(out)); got != want {
				t.Errorf("seed %d, %s: got %q, want %q", seed, p.Name, got, want)
			}
		}
	}
}

func TestTagURL(t *testing.T) {
	for address, want := range map[string]string{
		"http://192.168.1.20:8417":  "http://192.168.1.20:8417/T/7K3M9QXA",
		"http://192.168.1.20:8417/": "http://192.168.1.20:8417/T/7K3M9QXA",
	} {
		if got := tagURL(address, "7K3M9QXA"); got != want {
			t.Errorf("%s: got %q, want %q", address, got, want)
		}
	}
}

func TestTagTooLongForAQR(t *testing.T) {
	h, err := Plan(Options{Address: "http://" + strings.Repeat("long", 1000), Codes: testCodes[:1]})
	if err != nil {
		t.Fatal(err)
	}
	i := indexOf(h, func(p Photo) bool { return p.Role == Tag })
	if _, err := h.Draw(i); err == nil {
		t.Error("an address of 4,000 characters fits no QR, want an error")
	}
}

// A plate is read by a person: all of it in the picture, letters of a size that can be read.
func TestPlatesAreWhollyInThePicture(t *testing.T) {
	for seed := uint64(0); seed < 20; seed++ {
		h, err := Plan(Options{Seed: seed, Things: 12})
		if err != nil {
			t.Fatal(err)
		}
		for i, p := range h.Photos {
			if p.Role != Plate {
				continue
			}
			w, hh := 1600.0, 1200.0
			if p.shot.pose.turn >= 5 {
				w, hh = hh, w
			}
			th := h.Things[p.Thing]
			m := catalogue()[th.plan].modelOf(th, p.shot.pose.under)
			sp := m.spots["plate"]
			f := &m.solids[sp.solid].faces[sp.face]
			v := look(newCanvas(int(w), int(hh)), closeUp(f, sp, throw(h.seed, uint64(1000+i)), w, hh))
			pan := v.panel(f)
			for _, q := range pan.seen(rect(sp.x-plateW/2, sp.y-plateH/2, plateW, plateH), 0) {
				if q.x < 5 || q.y < 5 || q.x > w-5 || q.y > hh-5 {
					t.Errorf("seed %d, %s of %s: a corner of the plate is at %.0f, %.0f", seed, p.Name, th.Model, q.x, q.y)
				}
			}
			if sp.x < plateW/2 || sp.x > pan.w-plateW/2 || sp.y < plateH/2 || sp.y > pan.h-plateH/2 {
				t.Errorf("%s: the plate hangs over its face of %.0f×%.0f mm", th.Model, pan.w, pan.h)
			}
			// The smallest line is 5 mm high; 25 pixels are read with ease.
			if px := pan.px(sp.x, sp.y) * 5; px < 25 {
				t.Errorf("%s: the smallest line is %.0f pixels high", th.Model, px)
			}
		}
	}
}
