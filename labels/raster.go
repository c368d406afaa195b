package labels

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// A raster is one label in printer dots, one bit each: what a printer of that
// resolution puts on paper. It is a canvas.
type raster struct {
	img    *image.Paletted // 0 white, 1 black; bounds in dots from the page's corner
	dot    float64         // mm
	pen    vector.Rasterizer
	shade  image.Alpha
	buffer sfnt.Buffer
}

// newRaster covers one label box of the page.
func newRaster(b box, dot float64) *raster {
	x, y := int(math.Round(b.x/dot)), int(math.Round(b.y/dot))
	r := image.Rect(x, y, x+int(math.Round(b.w/dot)), y+int(math.Round(b.h/dot)))
	return &raster{img: image.NewPaletted(r, color.Palette{color.White, color.Black}), dot: dot}
}

// cells fills modules dot by dot: no rounding, no half-covered dots, because the
// symbol was placed in dots to begin with.
func (r *raster) cells(g grid) {
	for _, s := range g.spans() {
		s = s.Add(g.at).Intersect(r.img.Rect)
		for y := s.Min.Y; y < s.Max.Y; y++ {
			row := r.img.Pix[r.img.PixOffset(s.Min.X, y):]
			for x := range s.Dx() {
				row[x] = 1
			}
		}
	}
}

// fill paints a shape, a dot black when at least half of it is covered.
func (r *raster) fill(s shape) {
	var b bounds
	for _, contour := range s {
		for _, p := range contour {
			b.add(p.x/r.dot, p.y/r.dot)
		}
	}
	origin, ok := r.begin(b)
	if !ok {
		return
	}
	for _, contour := range s {
		for i, p := range contour {
			x, y := float32(p.x/r.dot-origin.x), float32(p.y/r.dot-origin.y)
			if i == 0 {
				r.pen.MoveTo(x, y)
			} else {
				r.pen.LineTo(x, y)
			}
		}
		r.pen.ClosePath()
	}
	r.end(origin)
}

// write paints a line of text from the font's outlines, without hinting and
// without kerning, which is how a PDF viewer spaces what fpdf writes.
func (r *raster) write(l line) {
	em := l.size / r.dot
	x, base := l.x/r.dot, l.base/r.dot
	for _, c := range l.text {
		glyph, err := l.face.font.GlyphIndex(&r.buffer, c)
		if err == nil {
			r.glyph(l.face.font, glyph, em, x, base)
		}
		x += l.face.advance(&r.buffer, c) * em
	}
}

// glyph paints one outline with its origin at x and base, in dots.
func (r *raster) glyph(f *sfnt.Font, g sfnt.GlyphIndex, em, x, base float64) {
	segments, err := f.LoadGlyph(&r.buffer, g, fixed.Int26_6(math.Round(em*64)), nil)
	if err != nil {
		return
	}
	at := func(p fixed.Point26_6) point { return point{x + float64(p.X)/64, base + float64(p.Y)/64} }
	var b bounds
	for _, s := range segments {
		for _, p := range s.Args[:1+arguments(s.Op)] {
			q := at(p)
			b.add(q.x, q.y)
		}
	}
	origin, ok := r.begin(b)
	if !ok {
		return
	}
	put := func(p fixed.Point26_6) (float32, float32) {
		q := at(p)
		return float32(q.x - origin.x), float32(q.y - origin.y)
	}
	for _, s := range segments {
		ax, ay := put(s.Args[0])
		bx, by := put(s.Args[1])
		cx, cy := put(s.Args[2])
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			r.pen.ClosePath()
			r.pen.MoveTo(ax, ay)
		case sfnt.SegmentOpLineTo:
			r.pen.LineTo(ax, ay)
		case sfnt.SegmentOpQuadTo:
			r.pen.QuadTo(ax, ay, bx, by)
		case sfnt.SegmentOpCubeTo:
			r.pen.CubeTo(ax, ay, bx, by, cx, cy)
		}
	}
	r.pen.ClosePath()
	r.end(origin)
}

// arguments counts the points a segment has beyond its first.
func arguments(op sfnt.SegmentOp) int {
	switch op {
	case sfnt.SegmentOpQuadTo:
		return 1
	case sfnt.SegmentOpCubeTo:
		return 2
	}
	return 0
}

// bounds grows around points, so that the pen's scratch image is no larger than
// one letter or line; a label of its own for each would cost most of the run.
type bounds struct {
	x0, y0, x1, y1 float64
	any            bool
}

func (b *bounds) add(x, y float64) {
	if !b.any {
		*b = bounds{x, y, x, y, true}
		return
	}
	b.x0, b.y0, b.x1, b.y1 = min(b.x0, x), min(b.y0, y), max(b.x1, x), max(b.y1, y)
}

// begin readies the pen for a figure within bounds in dots, and returns the
// whole dot its coordinates count from.
func (r *raster) begin(b bounds) (point, bool) {
	const largest = 4096 // dots; a label is smaller
	x, y := math.Floor(b.x0), math.Floor(b.y0)
	w, h := int(math.Ceil(b.x1)-x), int(math.Ceil(b.y1)-y)
	if !b.any || w <= 0 || h <= 0 || w > largest || h > largest {
		return point{}, false
	}
	r.pen.Reset(w, h)
	return point{x, y}, true
}

// end puts the pen's figure into the image, cut off at half coverage: label
// printers know no grey, and what they would make of it is not ours to guess.
func (r *raster) end(origin point) {
	size := r.pen.Size()
	if n := size.X * size.Y; cap(r.shade.Pix) < n {
		r.shade.Pix = make([]uint8, n)
	}
	r.shade.Pix = r.shade.Pix[:size.X*size.Y]
	clear(r.shade.Pix)
	r.shade.Stride, r.shade.Rect = size.X, image.Rectangle{Max: size}
	r.pen.Draw(&r.shade, r.shade.Rect, image.Opaque, image.Point{})
	ox, oy := int(origin.x), int(origin.y)
	for y := range size.Y {
		for x, a := range r.shade.Pix[y*size.X : (y+1)*size.X] {
			if p := image.Pt(ox+x, oy+y); a >= 0x80 && p.In(r.img.Rect) {
				r.img.Pix[r.img.PixOffset(p.X, p.Y)] = 1
			}
		}
	}
}

// WritePNG writes one proven label, a bit a dot, with the resolution noted in
// the file so that it prints at its true size. Skip and Date play no part.
func (j Job) WritePNG(w io.Writer, t Tag) error {
	j.Skip = 0
	if err := j.check(); err != nil {
		return err
	}
	d, err := j.proven(t, 0)
	if err != nil {
		return fmt.Errorf("tag %s: %w", t.label(), err)
	}
	var b bytes.Buffer
	if err := png.Encode(&b, j.rasterise(d).img); err != nil {
		return fmt.Errorf("encode tag %s: %w", t.label(), err)
	}
	if _, err := w.Write(withResolution(b.Bytes(), j.dot())); err != nil {
		return fmt.Errorf("write tag %s: %w", t.label(), err)
	}
	return nil
}

// rasterise paints a composed label in the printer's own dots.
func (j Job) rasterise(d drawing) *raster {
	x, y, w, h := j.Stock.Cell(d.cell)
	r := newRaster(box{x, y, w, h}, j.dot())
	d.paint(r)
	return r
}

// withResolution adds the pHYs chunk (PNG, third edition, 11.3.4.3), which the
// encoder of the standard library leaves out.
func withResolution(file []byte, dot float64) []byte {
	const afterHeader = 8 + 25 // signature and IHDR chunk
	perMetre := uint32(math.Round(1000 / dot))
	chunk := binary.BigEndian.AppendUint32(nil, 9)
	chunk = append(chunk, "pHYs"...)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = append(chunk, 1)
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(chunk[4:]))
	out := append([]byte{}, file[:afterHeader]...)
	return append(append(out, chunk...), file[afterHeader:]...)
}
