package pictures

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"os"

	"golang.org/x/image/tiff"
	"golang.org/x/image/webp"

	"haulbook/intake"
	"haulbook/metadata"
)

// withFrame decodes the original at path and hands its pixels to use. The memory
// counts against the budget until use returns, after which nobody may hold them.
func (d *Darkroom) withFrame(ctx context.Context, path string, p intake.Photo, use func(frame) error) error {
	d.open()
	file, err := os.Open(path)
	if err != nil {
		return noPicture(err)
	}
	defer file.Close()
	stat, err := file.Stat()
	if err != nil {
		return noPicture(err)
	}
	need, err := d.admit(file, stat.Size(), p.Meta)
	if err != nil {
		return err
	}
	weight := min(need, d.Budget)
	if err := d.memory.Acquire(ctx, weight); err != nil {
		return err
	}
	defer d.memory.Release(weight)
	f, err := d.develop(ctx, file, stat.Size(), p.Meta)
	if err != nil {
		return err
	}
	return use(f)
}

// admit reads the header and refuses a picture that is too large, before any
// memory for its pixels is asked for. It returns the estimated need in bytes.
func (d *Darkroom) admit(file *os.File, size int64, meta metadata.Info) (int64, error) {
	c, err := costOf(file, size, meta)
	if err != nil {
		return 0, noPicture(err)
	}
	if int64(c.w)*int64(c.h) > int64(d.MaxPixels) || c.bytes > d.MaxBytes {
		return 0, noPicture(fmt.Errorf("%d × %d pixels are too many to decode here", c.w, c.h))
	}
	return c.bytes, nil
}

// develop decodes the whole file. Decoders work on bytes that nobody has checked,
// so a panic in one is a picture that cannot be drawn.
func (d *Darkroom) develop(ctx context.Context, file *os.File, size int64, meta metadata.Info) (f frame, err error) {
	defer func() {
		if p := recover(); p != nil {
			f, err = frame{}, noPicture(fmt.Errorf("the decoder gave up: %v", p))
		}
	}()
	var img image.Image
	switch meta.Format {
	case metadata.FormatJPEG:
		img, err = developJPEG(ctx, file, size)
	case metadata.FormatPNG:
		img, err = png.Decode(io.NewSectionReader(file, 0, size))
	case metadata.FormatWebP:
		img, err = webp.Decode(io.NewSectionReader(file, 0, size))
	case metadata.FormatTIFF:
		img, err = tiff.Decode(io.NewSectionReader(file, 0, size))
	case metadata.FormatHEIC:
		img, meta.Orientation, err = d.developHEIC(ctx, file, size)
	default:
		err = fmt.Errorf("%s is not decoded here", formatName(meta.Format))
	}
	if ctx.Err() != nil {
		return frame{}, ctx.Err()
	}
	if err != nil {
		return frame{}, noPicture(err)
	}
	if b := img.Bounds(); b.Empty() {
		return frame{}, noPicture(errors.New("it has no pixels"))
	}
	return frame{img: ycbcr(img), turn: meta.Orientation}, nil
}

func formatName(f metadata.Format) string {
	if f == "" {
		return "an unknown format"
	}
	return string(f)
}

// noPicture says why a photo cannot be drawn.
func noPicture(reason error) error { return fmt.Errorf("%w: %w", ErrNoPicture, reason) }

// developJPEG decodes a JPEG, and of a damaged one what can still be seen.
func developJPEG(ctx context.Context, file io.ReaderAt, size int64) (image.Image, error) {
	img, err := jpeg.Decode(io.NewSectionReader(file, 0, size))
	if err == nil {
		return img, nil
	}
	if size > maxMended {
		return nil, err
	}
	encoded := make([]byte, size)
	if _, readErr := file.ReadAt(encoded, 0); readErr != nil && !errors.Is(readErr, io.EOF) {
		return nil, readErr
	}
	if mended := mend(ctx, encoded); mended != nil {
		return mended, nil
	}
	return nil, err
}

// decodeJPEG is jpeg.Decode for bytes at hand.
func decodeJPEG(encoded []byte) (image.Image, error) { return jpeg.Decode(bytes.NewReader(encoded)) }
