package labels

import (
	"fmt"
	"image"
	"math"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/klippa-app/go-pdfium"
	"github.com/klippa-app/go-pdfium/references"
	"github.com/klippa-app/go-pdfium/requests"
	"github.com/klippa-app/go-pdfium/webassembly"
	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/oned"
	"github.com/makiuchi-d/gozxing/qrcode"
)

// startViewer starts one PDF viewer for all tests of this package: it compiles
// a large module and lives as long as the process.
var startViewer = sync.OnceValues(func() (pdfium.Pdfium, error) {
	pool, err := webassembly.Init(webassembly.Config{MinIdle: 1, MaxIdle: 1, MaxTotal: 1})
	if err != nil {
		return nil, err
	}
	return pool.GetInstance(time.Minute)
})

// viewer opens a PDF.
func viewer(t *testing.T, file []byte) (pdfium.Pdfium, references.FPDF_DOCUMENT) {
	t.Helper()
	v, err := startViewer()
	if err != nil {
		t.Fatal(err)
	}
	doc, err := v.OpenDocument(&requests.OpenDocument{File: &file})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { v.FPDF_CloseDocument(&requests.FPDF_CloseDocument{Document: doc.Document}) })
	return v, doc.Document
}

// rendered gives one page at a resolution as a picture of our own.
func rendered(t *testing.T, v pdfium.Pdfium, doc references.FPDF_DOCUMENT, page, dpi int) *image.Gray {
	t.Helper()
	r, err := v.RenderPageInDPI(&requests.RenderPageInDPI{DPI: dpi, ImageFormat: requests.RenderImageFormatGrayscale,
		Page: requests.Page{ByIndex: &requests.PageByIndex{Document: doc, Index: page}}})
	if err != nil {
		t.Fatal(err)
	}
	defer r.Cleanup()
	shot := r.Result.RenderedImage.(*image.Gray)
	own := image.NewGray(shot.Rect)
	for y := shot.Rect.Min.Y; y < shot.Rect.Max.Y; y++ {
		copy(own.Pix[own.PixOffset(0, y):], shot.Pix[shot.PixOffset(0, y):shot.PixOffset(0, y)+shot.Rect.Dx()])
	}
	return own
}

// The printed page is looked at with eyes that are not ours: a PDF viewer
// draws it, each label is cut out by the stock's geometry, a decoder reads its
// codes, and their black edges are where the plan says, to a tenth of a
// millimetre.
func TestPrintedPagesReadBack(t *testing.T) {
	for _, c := range []struct {
		stock string
		dpi   int
		skip  int
	}{
		{"a4-3x8", 203, 0}, {"a4-3x8", 300, 20}, {"a4-3x7", 300, 0}, {"a4-5x13", 203, 0},
		{"letter-3x10", 203, 5}, {"letter-3x10", 300, 0}, {"letter-4x20", 300, 0},
		{"roll-62x29", 203, 0}, {"roll-62x29", 300, 0},
	} {
		t.Run(fmt.Sprintf("%s at %d", c.stock, c.dpi), func(t *testing.T) {
			j := Job{Stock: named(t, c.stock), DPI: c.dpi, Skip: c.skip}
			var tags []Tag
			for _, tag := range run(12) {
				if _, err := j.Plan(tag); err == nil {
					tags = append(tags, tag)
				}
			}
			if len(tags) < 8 {
				t.Fatalf("only %d of 12 tags fit", len(tags))
			}
			v, doc := viewer(t, pdf(t, j, tags))
			last := (c.skip + len(tags) - 1) / j.Stock.PerPage()
			for page := range last + 1 {
				shot := rendered(t, v, doc, page, c.dpi)
				for i, tag := range tags {
					if (c.skip+i)/j.Stock.PerPage() == page {
						checkPrinted(t, j, shot, tag, c.skip+i)
					}
				}
			}
		})
	}
}

// checkPrinted reads one label from a picture of its page.
func checkPrinted(t *testing.T, j Job, shot *image.Gray, tag Tag, cell int) {
	t.Helper()
	x, y, w, h := j.Stock.Cell(cell)
	// The viewer stretches a page to whole dots of its picture.
	dotX, dotY := j.Stock.PageW/float64(shot.Rect.Dx()), j.Stock.PageH/float64(shot.Rect.Dy())
	cut := image.Rect(int(x/dotX), int(y/dotY), int((x+w)/dotX), int((y+h)/dotY)).Intersect(shot.Rect)
	label := image.NewGray(image.Rectangle{Max: cut.Size()})
	for row := range cut.Dy() {
		from := shot.PixOffset(cut.Min.X, cut.Min.Y+row)
		copy(label.Pix[row*label.Stride:], shot.Pix[from:from+cut.Dx()])
	}
	readers := map[string]gozxing.Reader{tag.URL: qrcode.NewQRCodeReader()}
	if tag.Linear {
		readers[tag.Number] = oned.NewCode128Reader()
	}
	for want, reader := range readers {
		bitmap, err := gozxing.NewBinaryBitmapFromImage(label)
		if err != nil {
			t.Fatal(err)
		}
		r, err := reader.Decode(bitmap, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true})
		if err != nil {
			t.Errorf("label %d: %s does not read: %v", cell, want, err)
		} else if r.GetText() != want {
			t.Errorf("label %d: got %q, want %q", cell, r.GetText(), want)
		}
	}
	d, err := j.proven(tag, cell)
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range d.grids() {
		want := g.box(j.dot())
		around := image.Rect(g.at.X-2*g.dotW, g.at.Y-3, g.at.X+(len(g.rows[0])+2)*g.dotW, g.at.Y+len(g.rows)*g.dotH+3)
		got := blackBox(shot, around.Intersect(shot.Rect))
		for _, e := range [][2]float64{
			{float64(got.Min.X) * dotX, want.x}, {float64(got.Min.Y) * dotY, want.y},
			{float64(got.Max.X) * dotX, want.x + want.w}, {float64(got.Max.Y) * dotY, want.y + want.h},
		} {
			if math.Abs(e[0]-e[1]) > 0.1 {
				t.Errorf("label %d: a code's edge is at %.3f mm, planned at %.3f", cell, e[0], e[1])
			}
		}
	}
}

// The raster that was proven and the page that is printed agree: every dot of a
// code and its quiet zone, and the amount of black in all. Viewers put letters
// on dots of their own choice, so single dots of text are not compared.
func TestProofAndPageAgree(t *testing.T) {
	j := Job{Stock: named(t, "a4-3x7"), DPI: 300}
	// A hair below whole dots, a page is drawn by the viewer without stretching.
	j.Stock.PageW, j.Stock.PageH = 2480*j.dot()-0.003, 3507*j.dot()-0.003
	tags := run(12)
	v, doc := viewer(t, pdf(t, j, tags))
	shot := rendered(t, v, doc, 0, 300)
	for i, tag := range tags {
		d, err := j.proven(tag, i)
		if err != nil {
			t.Fatal(err)
		}
		r := j.rasterise(d)
		onPage := func(x, y int) bool { return shot.GrayAt(x, y).Y < 0x80 }
		for _, g := range d.grids() {
			area := image.Rectangle{Min: g.at, Max: g.at.Add(image.Pt(len(g.rows[0])*g.dotW, len(g.rows)*g.dotH))}
			area = image.Rect(area.Min.X-2*g.dotW, area.Min.Y, area.Max.X+2*g.dotW, area.Max.Y)
			differ := 0
			for y := area.Min.Y; y < area.Max.Y; y++ {
				for x := area.Min.X; x < area.Max.X; x++ {
					if onPage(x, y) != (r.img.ColorIndexAt(x, y) == 1) {
						differ++
					}
				}
			}
			if differ > 0 {
				t.Errorf("label %d: %d dots of a code differ", i, differ)
			}
		}
		proof, page := 0, 0
		for y := r.img.Rect.Min.Y; y < r.img.Rect.Max.Y; y++ {
			for x := r.img.Rect.Min.X; x < r.img.Rect.Max.X; x++ {
				proof += int(r.img.ColorIndexAt(x, y))
				if onPage(x, y) {
					page++
				}
			}
		}
		if math.Abs(float64(page-proof)) > 0.03*float64(proof) {
			t.Errorf("label %d: %d black dots were proven, %d are on the page", i, proof, page)
		}
	}
}

func TestPrintDialogsAreAskedNotToScale(t *testing.T) {
	v, doc := viewer(t, pdf(t, Job{Stock: named(t, "roll-62x29")}, run(1)))
	r, err := v.FPDF_VIEWERREF_GetPrintScaling(&requests.FPDF_VIEWERREF_GetPrintScaling{Document: doc})
	if err != nil {
		t.Fatal(err)
	}
	if r.PreferPrintScaling {
		t.Error("the PDF does not ask for its true size")
	}
}

func TestTextCanBeSearchedInThePDF(t *testing.T) {
	tags := []Tag{tagFor(Tag{Number: "2026.7.14", Name: `Ѝ disk (a\b) «Ёж»`, Return: "Mill Lane"}, 5)}
	v, doc := viewer(t, pdf(t, Job{Stock: named(t, "a4-3x8")}, tags))
	r, err := v.GetPageText(&requests.GetPageText{Page: requests.Page{ByIndex: &requests.PageByIndex{Document: doc}}})
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"2026.7.14", "7K3M 9Q05", `Ѝ disk (a\b) «Ёж»`, "Mill Lane"} {
		if !strings.Contains(r.Text, want) {
			t.Errorf("the page says %q, without %q", r.Text, want)
		}
	}
}
