package pictures

import (
	"errors"
	"image"
	"image/color"
	"image/png"
	"io"

	"golang.org/x/image/tiff"
	"golang.org/x/image/webp"

	"haulbook/metadata"
)

// cost is what decoding a picture takes: its size in pixels and an estimate of
// the memory in bytes, with all that lives at the same time as the pixels.
type cost struct {
	w, h  int
	bytes int64
}

// costOf reads no more than a header.
func costOf(r io.ReaderAt, size int64, meta metadata.Info) (cost, error) {
	section := io.NewSectionReader(r, 0, size)
	var config image.Config
	var err error
	switch meta.Format {
	case metadata.FormatJPEG:
		return costOfJPEG(r, size)
	case metadata.FormatPNG:
		config, err = png.DecodeConfig(section)
	case metadata.FormatWebP:
		config, err = webp.DecodeConfig(section)
	case metadata.FormatTIFF:
		config, err = tiff.DecodeConfig(section)
	case metadata.FormatHEIC:
		// The worker's memory is its own; ours is the picture that it sends. Where the
		// file does not say its size it may be a large one.
		c := cost{meta.Width, meta.Height, 2 * int64(meta.Width) * int64(meta.Height)}
		if c.bytes == 0 {
			c.bytes = 100_000_000
		}
		return c, nil
	default:
		return cost{1, 1, 1}, nil
	}
	if err != nil {
		return cost{}, err
	}
	if config.Width <= 0 || config.Height <= 0 {
		return cost{}, errors.New("it has no pixels")
	}
	pixels := int64(config.Width) * int64(config.Height)
	return cost{config.Width, config.Height, pixels * perPixel(config.ColorModel)}, nil
}

// perPixel is what a pixel of a decoded PNG, WebP or TIFF takes, doubled because
// interlacing, compression and alpha each have a second copy for a while, and
// with the YCbCr that is made of it.
func perPixel(model color.Model) int64 {
	switch model {
	case color.GrayModel, color.YCbCrModel:
		return 2*2 + 2
	case color.Gray16Model, color.NYCbCrAModel:
		return 2*3 + 2
	case color.RGBA64Model, color.NRGBA64Model:
		return 2*8 + 2
	}
	if _, ok := model.(color.Palette); ok {
		return 2*1 + 2
	}
	return 2*4 + 2
}

// costOfJPEG walks the markers to the frame header. The standard library's own
// DecodeConfig would give the size but neither the subsampling nor whether the
// file is progressive, which needs four bytes more for each sample.
func costOfJPEG(r io.ReaderAt, size int64) (cost, error) {
	at, err := findFrame(r, size)
	if err != nil {
		return cost{}, err
	}
	var header [10 + 3*4]byte
	if n, _ := r.ReadAt(header[:], at); n < 10+3 {
		return cost{}, errors.New("the file ends in its frame header")
	}
	c := cost{
		h: int(header[5])<<8 | int(header[6]),
		w: int(header[7])<<8 | int(header[8]),
	}
	if c.w == 0 || c.h == 0 {
		return cost{}, errors.New("it has no pixels")
	}
	components := min(int(header[9]), 4)
	var samples, most int64 = 0, 1
	for i := range components {
		factor := header[11+3*i]
		each := int64(factor>>4) * int64(factor&15)
		samples, most = samples+each, max(most, each)
	}
	// Rounding up to whole blocks of at most 32 pixels counts for thin pictures.
	pixels := int64(c.w+31) * int64(c.h+31)
	c.bytes = pixels * samples / most
	if header[1] == 0xc2 {
		c.bytes *= 5
	}
	if components == 4 {
		c.bytes += pixels * 6
	}
	return c, nil
}

// findFrame returns where the SOF marker of a JPEG begins.
func findFrame(r io.ReaderAt, size int64) (int64, error) {
	var b [4]byte
	junk := 0
	for at := int64(2); at+4 <= size && junk < 1<<16; {
		if _, err := r.ReadAt(b[:], at); err != nil {
			return 0, err
		}
		switch {
		case b[0] != 0xff || b[1] == 0xff || b[1] == 0:
			// Fill bytes, and junk that decoders step over as well: a little of it.
			at++
			junk++
		case isFrame(b[1]):
			return at, nil
		case b[1] == 0xda || b[1] == 0xd9:
			return 0, errors.New("the picture has no frame header")
		case b[1] == 0x01 || 0xd0 <= b[1] && b[1] <= 0xd8:
			at += 2
		default:
			at += 2 + (int64(b[2])<<8 | int64(b[3]))
		}
	}
	return 0, errors.New("the file ends before the picture begins")
}

// isFrame reports whether a marker is one of SOF0 to SOF15 (ITU-T T.81, table
// B.1), among which sit DHT, JPG and DAC.
func isFrame(marker byte) bool {
	return 0xc0 <= marker && marker <= 0xcf && marker != 0xc4 && marker != 0xc8 && marker != 0xcc
}
