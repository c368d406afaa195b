package labels

import (
	"fmt"
	"image"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/oned"
	"github.com/makiuchi-d/gozxing/qrcode"
)

// proven composes a label and proves it. Where the decoder misses a symbol,
// which happens to one in two hundred because something in the data looks like
// a finder pattern, the label is drawn anew with the next symbol: other
// decoders would find the first one, but weak ones, and this one when it reads
// photos of tags, would not. A label without another symbol to turn to is let
// through when the symbol reads in a frame of its own.
func (j Job) proven(t Tag, cell int) (drawing, error) {
	first, err := j.compose(t, cell)
	if err != nil {
		return drawing{}, err
	}
	const most = 6 // symbols tried; three missed in a row is one tag in millions
	d := first
	var avoid []candidate
	for range most {
		if prove(j.rasterise(d), t) == nil {
			return d, nil
		}
		avoid = append(avoid, d.symbol.candidate())
		if d, err = j.layOut(t, cell, avoid...); err != nil {
			break
		}
	}
	r := j.rasterise(first)
	if err := proveAlone(r, first, t); err != nil {
		return drawing{}, err
	}
	return first, nil
}

// prove finds a label's codes in its raster, reads them and compares them with
// what the tag should carry.
func prove(r *raster, t Tag) error {
	seen, err := newDots(r.img, r.img.Rect)
	if err != nil {
		return fmt.Errorf("prove: %w", err)
	}
	if err := readsAs("QR", qrcode.NewQRCodeReader(), seen, t.URL, nil); err != nil {
		return err
	}
	return proveBars(seen, t)
}

// proveAlone reads the QR where it is known to stand, without looking for it.
func proveAlone(r *raster, d drawing, t Tag) error {
	side := len(d.code.rows) * d.code.dotW
	frame := image.Rectangle{Min: d.code.at, Max: d.code.at.Add(image.Pt(side, side))}
	seen, err := newDots(r.img, frame.Inset(-d.code.dotW).Intersect(r.img.Rect))
	if err != nil {
		return fmt.Errorf("prove: %w", err)
	}
	pure := map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_PURE_BARCODE: true}
	if err := readsAs("QR", qrcode.NewQRCodeReader(), seen, t.URL, pure); err != nil {
		return err
	}
	if seen, err = newDots(r.img, r.img.Rect); err != nil {
		return fmt.Errorf("prove: %w", err)
	}
	return proveBars(seen, t)
}

// proveBars reads the Code 128 of a tag that has one.
func proveBars(seen *dots, t Tag) error {
	if !t.Linear {
		return nil
	}
	return readsAs("Code 128", oned.NewCode128Reader(), seen, t.Number,
		map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true})
}

// readsAs reads one code and compares it.
func readsAs(kind string, reader gozxing.Reader, seen *dots, want string, hints map[gozxing.DecodeHintType]any) error {
	bitmap, err := gozxing.NewBinaryBitmap(seen)
	if err != nil {
		return fmt.Errorf("prove: %w", err)
	}
	result, err := reader.Decode(bitmap, hints)
	if err != nil {
		return fmt.Errorf("the %s code %w: no code found in the drawn label", kind, ErrUnread)
	}
	if got := result.GetText(); got != want {
		return fmt.Errorf("the %s code %w: it says %q instead of %q", kind, ErrUnread, excerpt(got), excerpt(want))
	}
	return nil
}

// dots offers a raster to the decoder as it is. The printed label has one bit a
// dot, so there is nothing to guess a threshold for; gozxing's own binarizers
// would spend most of the proof on that.
type dots struct {
	matrix *gozxing.BitMatrix
	source gozxing.LuminanceSource // only asked whether it can be turned: it cannot
}

// newDots takes a part of a raster.
func newDots(img *image.Paletted, part image.Rectangle) (*dots, error) {
	size := part.Size()
	m, err := gozxing.NewBitMatrix(size.X, size.Y)
	if err != nil {
		return nil, err
	}
	for y := range size.Y {
		from := img.PixOffset(part.Min.X, part.Min.Y+y)
		for x, black := range img.Pix[from : from+size.X] {
			if black != 0 {
				m.Set(x, y)
			}
		}
	}
	source, err := gozxing.NewPlanarYUVLuminanceSource(nil, size.X, size.Y, 0, 0, size.X, size.Y, false)
	return &dots{m, source}, err
}

// The rest is gozxing.Binarizer.

func (d *dots) GetLuminanceSource() gozxing.LuminanceSource { return d.source }

func (d *dots) GetBlackRow(y int, row *gozxing.BitArray) (*gozxing.BitArray, error) {
	return d.matrix.GetRow(y, row), nil
}

func (d *dots) GetBlackMatrix() (*gozxing.BitMatrix, error) { return d.matrix, nil }

func (d *dots) CreateBinarizer(gozxing.LuminanceSource) gozxing.Binarizer { return d }

func (d *dots) GetWidth() int { return d.matrix.GetWidth() }

func (d *dots) GetHeight() int { return d.matrix.GetHeight() }
