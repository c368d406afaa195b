package labels

import (
	"fmt"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/oned"
	"github.com/makiuchi-d/gozxing/qrcode"
)

// prove reads a label's codes back from its raster and compares them with what
// the tag should carry.
func prove(r *raster, t Tag) error {
	seen, err := newDots(r)
	if err != nil {
		return fmt.Errorf("prove: %w", err)
	}
	if err := readsAs("QR", qrcode.NewQRCodeReader(), seen, t.URL); err != nil {
		return err
	}
	if t.Linear {
		return readsAs("Code 128", oned.NewCode128Reader(), seen, t.Number)
	}
	return nil
}

// readsAs tries a reader, the second time with more patience.
func readsAs(kind string, reader gozxing.Reader, seen *dots, want string) error {
	bitmap, err := gozxing.NewBinaryBitmap(seen)
	if err != nil {
		return fmt.Errorf("prove: %w", err)
	}
	result, err := reader.DecodeWithoutHints(bitmap)
	if err != nil {
		result, err = reader.Decode(bitmap, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true})
	}
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
type dots struct{ matrix *gozxing.BitMatrix }

func newDots(r *raster) (*dots, error) {
	size := r.img.Rect.Size()
	m, err := gozxing.NewBitMatrix(size.X, size.Y)
	if err != nil {
		return nil, err
	}
	for y := range size.Y {
		for x, black := range r.img.Pix[y*r.img.Stride : y*r.img.Stride+size.X] {
			if black != 0 {
				m.Set(x, y)
			}
		}
	}
	return &dots{m}, nil
}

// The rest is gozxing.Binarizer.

func (d *dots) GetLuminanceSource() gozxing.LuminanceSource { return nil }

func (d *dots) GetBlackRow(y int, row *gozxing.BitArray) (*gozxing.BitArray, error) {
	return d.matrix.GetRow(y, row), nil
}

func (d *dots) GetBlackMatrix() (*gozxing.BitMatrix, error) { return d.matrix, nil }

func (d *dots) CreateBinarizer(gozxing.LuminanceSource) gozxing.Binarizer { return d }

func (d *dots) GetWidth() int { return d.matrix.GetWidth() }

func (d *dots) GetHeight() int { return d.matrix.GetHeight() }
