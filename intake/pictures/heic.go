package pictures

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"io"
	"os"

	"haulbook/metadata"
)

// largeHEIC is what a worker decodes in full: above, the decoder would need more
// memory than a worker may have. 12 megapixels of eight bits take 0.2 GB, 33 of
// ten bits took 1.4 GB (measured).
const largeHEIC = 30_000_000

// developHEIC has a worker decode the picture, or the small one that the file
// holds beside it where the large one is too large or cannot be decoded. It
// returns how the pixels are still to be turned.
func (d *Darkroom) developHEIC(ctx context.Context, file *os.File, size int64) (image.Image, int, error) {
	// Whatever the header cannot say, the worker may still know.
	info, err := metadata.Read(file, size)
	if err != nil {
		info = metadata.Info{}
	}
	err = fmt.Errorf("%d × %d pixels are too many to decode here", info.Width, info.Height)
	if info.Width*info.Height <= largeHEIC {
		var img image.Image
		img, err = d.fromWorker(ctx, io.NewSectionReader(file, 0, size))
		if err == nil || ctx.Err() != nil {
			return img, 1, err
		}
	}
	if info.Thumbnail.Item == 0 {
		return nil, 0, err
	}
	img, smallErr := d.thumbnail(ctx, file, size, info.Thumbnail.Item)
	if smallErr != nil {
		return nil, 0, err
	}
	// The decoder turns what it draws as its boxes say; only what the small
	// picture's boxes leave out is left to do.
	if info.Thumbnail.Orientation == 1 {
		return img, info.Orientation, nil
	}
	return img, 1, nil
}

// thumbnail has a worker decode the small picture in a HEIC.
func (d *Darkroom) thumbnail(ctx context.Context, file *os.File, size int64, item uint32) (image.Image, error) {
	if size > maxHEIC {
		return nil, errors.New("the file is too long to look for a small picture")
	}
	whole := make([]byte, size)
	if _, err := file.ReadAt(whole, 0); err != nil && !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("read heic: %w", err)
	}
	alone := metadata.WithPrimary(whole, item)
	if alone == nil {
		return nil, errors.New("the small picture cannot be drawn alone")
	}
	return d.fromWorker(ctx, bytes.NewReader(alone))
}
