package main

import (
	"image"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/klippa-app/go-pdfium"
	"github.com/klippa-app/go-pdfium/references"
	"github.com/klippa-app/go-pdfium/requests"
	"github.com/klippa-app/go-pdfium/webassembly"
	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/rogpeppe/go-internal/testscript"

	"haulbook/labels"
)

// startViewer starts one PDF viewer for all tests: it compiles a large module
// and lives as long as the process.
var startViewer = sync.OnceValues(func() (pdfium.Pdfium, error) {
	pool, err := webassembly.Init(webassembly.Config{MinIdle: 1, MaxIdle: 1, MaxTotal: 1})
	if err != nil {
		return nil, err
	}
	return pool.GetInstance(time.Minute)
})

// viewing is held while the viewer works: it does one thing at a time.
var viewing sync.Mutex

// view opens a PDF, hands it to look, and closes it.
func view(file []byte, look func(pdfium.Pdfium, references.FPDF_DOCUMENT) error) error {
	viewing.Lock()
	defer viewing.Unlock()
	v, err := startViewer()
	if err != nil {
		return err
	}
	doc, err := v.OpenDocument(&requests.OpenDocument{File: &file})
	if err != nil {
		return err
	}
	defer v.FPDF_CloseDocument(&requests.FPDF_CloseDocument{Document: doc.Document})
	return look(v, doc.Document)
}

// pageCount returns how many pages a PDF has.
func pageCount(file []byte) (n int, err error) {
	err = view(file, func(v pdfium.Pdfium, doc references.FPDF_DOCUMENT) error {
		r, err := v.FPDF_GetPageCount(&requests.FPDF_GetPageCount{Document: doc})
		if err == nil {
			n = r.PageCount
		}
		return err
	})
	return n, err
}

// rasterised returns every page of a PDF as a printer of that resolution would
// see it.
func rasterised(t *testing.T, file []byte, dpi int) (pages []*image.Gray) {
	t.Helper()
	n, err := pageCount(file)
	if err != nil {
		t.Fatal(err)
	}
	err = view(file, func(v pdfium.Pdfium, doc references.FPDF_DOCUMENT) error {
		for i := range n {
			r, err := v.RenderPageInDPI(&requests.RenderPageInDPI{DPI: dpi, ImageFormat: requests.RenderImageFormatGrayscale,
				Page: requests.Page{ByIndex: &requests.PageByIndex{Document: doc, Index: i}}})
			if err != nil {
				return err
			}
			page := image.NewGray(r.Result.RenderedImage.Bounds())
			copyGray(page, r.Result.RenderedImage.(*image.Gray))
			r.Cleanup()
			pages = append(pages, page)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return pages
}

// copyGray copies what lies inside dst.
func copyGray(dst, src *image.Gray) {
	at := src.Rect.Min
	for y := range dst.Rect.Dy() {
		from := src.PixOffset(at.X, at.Y+y)
		copy(dst.Pix[y*dst.Stride:y*dst.Stride+dst.Rect.Dx()], src.Pix[from:])
	}
}

// label cuts label i of a stock out of its page, along the die-cut.
func label(stock labels.Stock, page *image.Gray, i int) *image.Gray {
	x, y, w, h := stock.Cell(i)
	// The viewer stretches a page to whole dots of its picture.
	dotX, dotY := stock.PageW/float64(page.Rect.Dx()), stock.PageH/float64(page.Rect.Dy())
	box := image.Rect(int(x/dotX), int(y/dotY), int((x+w)/dotX), int((y+h)/dotY)).Intersect(page.Rect)
	cut := image.NewGray(image.Rectangle{Max: box.Size()})
	copyGray(cut, page.SubImage(box).(*image.Gray))
	return cut
}

// scan reads the QR code of one label, "" where there is none.
func scan(t *testing.T, label *image.Gray) string {
	t.Helper()
	bitmap, err := gozxing.NewBinaryBitmapFromImage(label)
	if err != nil {
		t.Fatal(err)
	}
	r, err := qrcode.NewQRCodeReader().Decode(bitmap, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true})
	if err != nil {
		return ""
	}
	return r.GetText()
}

// pages FILE N holds that a PDF has N pages.
func pages(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: pages FILE N")
	}
	n, err := pageCount([]byte(ts.ReadFile(args[0])))
	ts.Check(err)
	if strconv.Itoa(n) != args[1] {
		ts.Fatalf("%s has %d pages, want %s", args[0], n, args[1])
	}
}

// pdfText FILE prints the words of a PDF as somebody searching it finds them.
func pdfText(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: pdftext FILE")
	}
	file := []byte(ts.ReadFile(args[0]))
	n, err := pageCount(file)
	ts.Check(err)
	ts.Check(view(file, func(v pdfium.Pdfium, doc references.FPDF_DOCUMENT) error {
		for i := range n {
			r, err := v.GetPageText(&requests.GetPageText{Page: requests.Page{ByIndex: &requests.PageByIndex{Document: doc, Index: i}}})
			if err != nil {
				return err
			}
			if _, err := ts.Stdout().Write([]byte(r.Text + "\n")); err != nil {
				return err
			}
		}
		return nil
	}))
}
