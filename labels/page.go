package labels

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"sync"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/sync/errgroup"
)

// WritePDF draws the tags, proves each at the printer's resolution, and only
// then writes the whole file; on any error nothing is written. The error of a
// tag names its place in the list and its number.
//
// The work is spread over the processor's cores and stops when ctx ends.
// progress, when not nil, is told how many tags are proven so far, from one
// goroutine at a time.
func (j Job) WritePDF(ctx context.Context, w io.Writer, tags []Tag, progress func(done, total int)) error {
	if err := j.check(); err != nil {
		return err
	}
	if len(tags) == 0 {
		return errors.New("there are no tags to print")
	}
	drawings, err := j.all(ctx, tags, progress)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := j.assemble(ctx, &b, drawings); err != nil {
		return fmt.Errorf("assemble %d tags: %w", len(tags), err)
	}
	if _, err := w.Write(b.Bytes()); err != nil {
		return fmt.Errorf("write %d tags: %w", len(tags), err)
	}
	return nil
}

// all composes and proves every tag. Of several refusals the first in the
// list is reported, whichever core came first: what has begun is finished.
func (j Job) all(ctx context.Context, tags []Tag, progress func(done, total int)) ([]drawing, error) {
	drawings := make([]drawing, len(tags))
	refused := make([]error, len(tags))
	g, stop := errgroup.WithContext(ctx)
	g.SetLimit(runtime.GOMAXPROCS(0))
	var mu sync.Mutex
	done := 0
	for i := range tags {
		if stop.Err() != nil {
			break
		}
		g.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			if drawings[i], refused[i] = j.proven(tags[i], j.Skip+i); refused[i] != nil {
				refused[i] = fmt.Errorf("tag %d of %d, %s: %w", i+1, len(tags), tags[i].label(), refused[i])
				return refused[i]
			}
			mu.Lock()
			defer mu.Unlock()
			done++
			if progress != nil {
				progress(done, len(tags))
			}
			return nil
		})
	}
	err := g.Wait()
	for _, r := range refused {
		if r != nil {
			return nil, r
		}
	}
	if err == nil {
		err = ctx.Err()
	}
	return drawings, err
}

// A page is the PDF as a canvas. Positions arrive in millimetres and dots and
// leave in points with two decimals: exact for 300 and 600 dpi, where a dot is
// 0.24 and 0.12 points, and within 1.5 % of a dot for 203.
type page struct {
	pdf *fpdf.Fpdf
	dot float64
}

// assemble paints proven drawings into a PDF whose bytes depend on nothing but
// them and the job.
func (j Job) assemble(ctx context.Context, w io.Writer, drawings []drawing) error {
	faces, err := loadFaces()
	if err != nil {
		return fmt.Errorf("load the fonts: %w", err)
	}
	date := j.Date
	if date.IsZero() {
		date = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	pdf := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm",
		Size: fpdf.SizeType{Wd: j.Stock.PageW, Ht: j.Stock.PageH}})
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(date)
	pdf.SetModificationDate(date)
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetMargins(0, 0, 0)
	pdf.SetTitle("Tags", true)
	// fpdf has no call for viewer preferences but writes the language as it is
	// given: without this, print dialogs shrink the sheet to their own margins
	// and every label moves. The rest of fpdf's line becomes a PDF comment.
	pdf.SetLang("en) /ViewerPreferences << /PrintScaling /None >> %")
	for _, f := range faces.all() {
		// fpdf cuts fonts down in place: given the compiled-in bytes it would
		// spoil them for the next job and for the raster.
		pdf.AddUTF8FontFromBytes(f.family, f.style, bytes.Clone(f.ttf))
	}
	p := page{pdf: pdf, dot: j.dot()}
	sheet := -1
	for _, d := range drawings {
		if err := ctx.Err(); err != nil {
			return err
		}
		if n := d.cell / j.Stock.PerPage(); n != sheet {
			pdf.AddPage()
			sheet = n
		}
		d.paint(p)
	}
	return pdf.Output(w)
}

// cells draws a code as one path. Outer edges are drawn in by a twentieth of a
// dot: some print systems blacken every dot that a shape touches, and PDF
// numbers are rounded, so that an edge exactly on a dot could spill over it.
func (p page) cells(g grid) {
	in := p.dot / 20
	x, y := float64(g.at.X)*p.dot, float64(g.at.Y)*p.dot
	for _, s := range g.spans() {
		p.rectangle(x+float64(s.Min.X)*p.dot+in, y+float64(s.Min.Y)*p.dot+in,
			x+float64(s.Max.X)*p.dot-in, y+float64(s.Max.Y)*p.dot-in)
	}
	for _, s := range g.joints() {
		p.rectangle(x+float64(s.Min.X)*p.dot+in, y+float64(s.Min.Y)*p.dot-2*in,
			x+float64(s.Max.X)*p.dot-in, y+float64(s.Max.Y)*p.dot+2*in)
	}
	p.pdf.DrawPath("F")
}

// rectangle adds a box to the path. Corners are written as absolute positions;
// fpdf's own rectangles round position and size, and the errors add up.
func (p page) rectangle(x0, y0, x1, y1 float64) {
	p.pdf.MoveTo(x0, y0)
	p.pdf.LineTo(x1, y0)
	p.pdf.LineTo(x1, y1)
	p.pdf.LineTo(x0, y1)
	p.pdf.ClosePath()
}

// fill writes all contours as one path, so that holes stay holes.
func (p page) fill(s shape) {
	for _, contour := range s {
		for i, at := range contour {
			if i == 0 {
				p.pdf.MoveTo(at.x, at.y)
			} else {
				p.pdf.LineTo(at.x, at.y)
			}
		}
		p.pdf.ClosePath()
	}
	p.pdf.DrawPath("F")
}

// write sets one line. Its text has been cleaned: fpdf panics on runes above
// U+FFFF and draws nothing for letters a font lacks.
func (p page) write(l line) {
	p.pdf.SetFont(l.face.family, l.face.style, l.size/mmPerPoint)
	p.pdf.Text(l.x, l.base, l.text)
}
