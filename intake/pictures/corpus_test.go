package pictures

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"image"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"haulbook/intake"
	"haulbook/metadata"
)

// corpus returns the folder of test photos, which is no part of this project.
func corpus(t *testing.T) string {
	t.Helper()
	dir := os.Getenv("HAULBOOK_CORPUS")
	if dir == "" {
		t.Skip("HAULBOOK_CORPUS names no folder of test photos, so real photos are not tried")
	}
	return dir
}

// table reads a tab-separated table with a header line, a map for each row.
func table(t *testing.T, path string) []map[string]string {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var rows []map[string]string
	var header []string
	lines := bufio.NewScanner(file)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		fields := strings.Split(lines.Text(), "\t")
		if header == nil {
			header = fields
			continue
		}
		row := map[string]string{}
		for i, name := range header {
			row[name] = unescaped.Replace(fields[i])
		}
		rows = append(rows, row)
	}
	if err := lines.Err(); err != nil {
		t.Fatal(err)
	}
	return rows
}

var unescaped = strings.NewReplacer(`\\`, `\`, `\t`, "\t", `\n`, "\n", `\r`, "\r", `\u001d`, "\x1d")

var symbologies = map[string]string{"QR_CODE": intake.SymbologyQR, "CODE_128": intake.SymbologyCode128, "CODE_39": intake.SymbologyCode39}

// photoAt reads the metadata of a file as the receiver would.
func photoAt(t *testing.T, path string) intake.Photo {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	stat, err := file.Stat()
	if err != nil {
		t.Fatal(err)
	}
	info, err := metadata.Read(file, stat.Size())
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return intake.Photo{ID: idOf(path), Name: filepath.Base(path), Meta: info}
}

// alsoThere are codes that a photo shows beside the one its truth table names: two
// other readers, zbarimg and ZXingReader, find them too. The last is the same code
// as Code 39 spells it; its pharmaceutical reading is not ours.
var alsoThere = map[string]string{
	"codes/zxing__code39-3__08.jpg":          "001EC9476B0A",
	"codes/zxing__qrcode-2__16.png":          "[内側QRコード]\r\n\r\n*ダブルQR*\r\nhttp://d-qr.net/ex/",
	"codes/zxingcpp__code39-1__code32-1.png": "3PRM8N",
}

func TestCorpusCodes(t *testing.T) {
	dir := corpus(t)
	room := &Darkroom{Dir: t.TempDir()}
	hits := map[string]int{}
	for _, row := range table(t, filepath.Join(dir, "codes_truth.tsv")) {
		path := filepath.Join(dir, row["path"])
		got, err := room.Look(context.Background(), path, photoAt(t, path))
		if err != nil {
			t.Errorf("%s: %v", row["path"], err)
			continue
		}
		hit := false
		for _, code := range got {
			switch {
			case code.Symbology == symbologies[row["symbology"]] && code.Text == row["expected_text"]:
				hit = true
			case code.Text != alsoThere[row["path"]]:
				t.Errorf("%s: read %q as %s, which is not there", row["path"], code.Text, code.Symbology)
			}
		}
		if hit {
			hits[row["symbology"]]++
		} else if row["symbology"] != "NONE" {
			t.Logf("%s: missed %s %.40q", row["path"], row["symbology"], row["expected_text"])
		}
	}
	t.Log(hits)
	for symbology, want := range map[string]int{"QR_CODE": 93, "CODE_128": 26, "CODE_39": 18} {
		if hits[symbology] < want {
			t.Errorf("read %d of %s, want at least %d", hits[symbology], symbology, want)
		}
	}
}

func TestCorpusHauls(t *testing.T) {
	dir := corpus(t)
	room := &Darkroom{Dir: t.TempDir()}
	hits := 0
	for _, row := range table(t, filepath.Join(dir, "hauls_truth.tsv")) {
		path := filepath.Join(dir, row["path"])
		got, err := room.Look(context.Background(), path, photoAt(t, path))
		if err != nil {
			t.Errorf("%s: %v", row["path"], err)
			continue
		}
		name, text, _ := strings.Cut(row["codes"], ":")
		for _, c := range got {
			if c.Symbology != symbologies[name] || c.Text != text {
				t.Errorf("%s: read %q as %s, want %q", row["path"], c.Text, c.Symbology, row["codes"])
				continue
			}
			hits++
		}
	}
	if hits < 28 {
		t.Errorf("read %d codes of 28", hits)
	}
}

// TestCorpusOrientation: the drawn pictures are red, green, blue and yellow
// clockwise from the upper left once turned; the eight photos are one scene.
func TestCorpusOrientation(t *testing.T) {
	dir := corpus(t)
	room := &Darkroom{Dir: t.TempDir()}
	preview := func(name string) image.Image {
		path := filepath.Join(dir, name)
		at, err := room.Preview(context.Background(), path, photoAt(t, path), Small)
		if err != nil {
			t.Fatal(err)
		}
		return drawn(t, at)
	}
	first := preview("exif/orient__Landscape_1.jpg")
	for i := 1; i <= 8; i++ {
		wantCorners(t, fmt.Sprint("drawn ", i), preview(fmt.Sprintf("exif-synth/synth__orient_%d.jpg", i)))
		if off := difference(first, preview(fmt.Sprintf("exif/orient__Landscape_%d.jpg", i))); off > 12 {
			t.Errorf("photo %d differs from the first by %.1f grey levels", i, off)
		}
	}
}

// difference is the mean difference in grey between two pictures, or 255 when
// they differ in size.
func difference(a, b image.Image) float64 {
	if a.Bounds() != b.Bounds() {
		return 255
	}
	p, q := frame{img: ycbcr(a)}.luma(), frame{img: ycbcr(b)}.luma()
	sum := 0.0
	for y := range p.h {
		for x := range p.w {
			sum += math.Abs(float64(p.row(y)[x]) - float64(q.row(y)[x]))
		}
	}
	return sum / float64(p.w*p.h)
}

// TestCorpusHEIC draws every real HEIC through the worker. Those of a codec that
// the decoder lacks must say so; the others must have the shape that the turning
// in the file gives them.
func TestCorpusHEIC(t *testing.T) {
	dir := corpus(t)
	paths, err := filepath.Glob(filepath.Join(dir, "heic", "*"))
	if err != nil {
		t.Fatal(err)
	}
	room := &Darkroom{Dir: t.TempDir(), Worker: workerAs(t, "serve")}
	count, refused := 0, 0
	for _, path := range paths {
		p := photoAt(t, path)
		preview, err := room.Preview(context.Background(), path, p, Small)
		if errors.Is(err, ErrNoPicture) {
			refused++
			// AVIF, AV1 or uncompressed pixels in a HEIF box: no HEVC to decode. The
			// rainbow has HEVC that this decoder does not take. Above largeHEIC nothing is
			// decoded in full, and these four have no small picture that can be.
			hevc := p.Meta.Format == metadata.FormatHEIC && !strings.HasPrefix(p.Name, "libheif__")
			if hevc && p.Meta.Width*p.Meta.Height <= largeHEIC {
				t.Errorf("%s: %v", p.Name, err)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", p.Name, err)
			continue
		}
		count++
		b := drawn(t, preview).Bounds()
		w, h := p.Meta.Width, p.Meta.Height
		if p.Meta.Orientation >= 5 {
			w, h = h, w
		}
		if (w > h) != (b.Dx() > b.Dy()) {
			t.Errorf("%s: %d × %d with orientation %d became %v", p.Name, p.Meta.Width, p.Meta.Height, p.Meta.Orientation, b.Size())
		}
	}
	// Ten hold HEVC that this decoder takes, four of them are too large.
	if count < 6 {
		t.Errorf("%d drawn and %d refused, want six drawn", count, refused)
	}
}

// TestCorpusMalformed: no panic, no hang, no swelling, on files made to do that.
func TestCorpusMalformed(t *testing.T) {
	dir := corpus(t)
	paths, err := filepath.Glob(filepath.Join(dir, "malformed", "*"))
	if err != nil {
		t.Fatal(err)
	}
	room := &Darkroom{Dir: t.TempDir()}
	drawnCount := 0
	for _, path := range paths {
		bytes, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		p := photo(filepath.Base(path), metadata.Sniff(bytes[:min(64, len(bytes))]), 1)
		ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err = room.Look(ctx, path, p)
		runtime.ReadMemStats(&after)
		if err == nil {
			drawnCount++
		} else if !errors.Is(err, ErrNoPicture) { // nor the deadline
			t.Errorf("%s: %v, want ErrNoPicture", p.Name, err)
		}
		// What is allocated in all, for several decodes of a damaged file too.
		if used := after.TotalAlloc - before.TotalAlloc; used > 600<<20 {
			t.Errorf("%s: took %d MB", p.Name, used>>20)
		}
		cancel()
	}
	t.Log(drawnCount, "drawn of", len(paths))
}
