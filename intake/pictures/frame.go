package pictures

import (
	"image"
	"image/color"
)

// frame is a decoded photo: stored pixels in YCbCr whatever the format was, and
// how to turn them. Luma comes out of a JPEG as it is, and is all that the code
// search needs.
type frame struct {
	img  *image.YCbCr
	turn int // Exif orientation 1 to 8 still to be applied
}

func (f frame) luma() plane {
	return plane{pix: f.img.Y, stride: f.img.YStride, w: f.img.Rect.Dx(), h: f.img.Rect.Dy()}
}

func (f frame) chroma(pix []byte) plane {
	w, h := chromaSize(f.img.SubsampleRatio, f.img.Rect.Dx(), f.img.Rect.Dy())
	return plane{pix: pix, stride: f.img.CStride, w: w, h: h}
}

// chromaSize is the size of the chroma planes of a w × h picture at the origin.
func chromaSize(ratio image.YCbCrSubsampleRatio, w, h int) (int, int) {
	switch ratio {
	case image.YCbCrSubsampleRatio422:
		return (w + 1) / 2, h
	case image.YCbCrSubsampleRatio420:
		return (w + 1) / 2, (h + 1) / 2
	case image.YCbCrSubsampleRatio440:
		return w, (h + 1) / 2
	case image.YCbCrSubsampleRatio411:
		return (w + 3) / 4, h
	case image.YCbCrSubsampleRatio410:
		return (w + 3) / 4, (h + 1) / 2
	}
	return w, h
}

// ycbcr brings any decoded picture to YCbCr, without a copy where it is already.
// What is transparent is laid on white.
func ycbcr(img image.Image) *image.YCbCr {
	switch m := img.(type) {
	case *image.YCbCr:
		if m.Rect.Min == (image.Point{}) {
			return m
		}
	case *image.Gray:
		if m.Rect.Min == (image.Point{}) {
			return grey(m)
		}
	}
	b := img.Bounds()
	out := image.NewYCbCr(image.Rect(0, 0, b.Dx(), b.Dy()), image.YCbCrSubsampleRatio420)
	read := rowReader(img)
	// Two rows at a time, an odd width or height repeating its last pixel.
	width := (b.Dx() + 1) / 2 * 2
	above, below := make([]byte, 3*width), make([]byte, 3*width)
	for y := 0; y < b.Dy(); y += 2 {
		readPadded(read, y, b.Dx(), above)
		readPadded(read, min(y+1, b.Dy()-1), b.Dx(), below)
		putLuma(out, y, above)
		if y+1 < b.Dy() {
			putLuma(out, y+1, below)
		}
		putChroma(out, y/2, above, below)
	}
	return out
}

// grey shares the luma and adds a neutral chroma as small as the type allows.
func grey(m *image.Gray) *image.YCbCr {
	w, h := chromaSize(image.YCbCrSubsampleRatio410, m.Rect.Dx(), m.Rect.Dy())
	neutral := make([]byte, w*h)
	for i := range neutral {
		neutral[i] = 128
	}
	return &image.YCbCr{
		Y: m.Pix, Cb: neutral, Cr: neutral, YStride: m.Stride, CStride: w,
		SubsampleRatio: image.YCbCrSubsampleRatio410, Rect: m.Rect,
	}
}

func readPadded(read func(int, []byte), y, w int, dst []byte) {
	read(y, dst)
	if 3*w < len(dst) {
		copy(dst[3*w:], dst[3*w-3:3*w])
	}
}

func putLuma(out *image.YCbCr, y int, rgb []byte) {
	row := out.Y[y*out.YStride : y*out.YStride+out.Rect.Dx()]
	for x := range row {
		i := 3 * x
		row[x], _, _ = color.RGBToYCbCr(rgb[i], rgb[i+1], rgb[i+2])
	}
}

func putChroma(out *image.YCbCr, y int, above, below []byte) {
	for x := range out.CStride {
		i := 6 * x
		mean := func(c int) byte {
			return byte((uint32(above[i+c]) + uint32(above[i+3+c]) + uint32(below[i+c]) + uint32(below[i+3+c]) + 2) >> 2)
		}
		_, out.Cb[y*out.CStride+x], out.Cr[y*out.CStride+x] = color.RGBToYCbCr(mean(0), mean(1), mean(2))
	}
}

// rowReader gives a function that writes row y as RGB, three bytes a pixel. The
// common types have their own, because a colour for each pixel through an
// interface takes longer than decoding it.
func rowReader(img image.Image) func(y int, dst []byte) {
	b := img.Bounds()
	switch m := img.(type) {
	case *image.NRGBA:
		return func(y int, dst []byte) {
			row := m.Pix[y*m.Stride:]
			for x := range b.Dx() {
				putOnWhite(dst[3*x:], row[4*x:4*x+3], uint32(row[4*x+3]))
			}
		}
	case *image.RGBA:
		return func(y int, dst []byte) {
			row := m.Pix[y*m.Stride:]
			for x := range b.Dx() {
				// Already multiplied with alpha: what is missing is white.
				white := 255 - row[4*x+3]
				dst[3*x], dst[3*x+1], dst[3*x+2] = row[4*x]+white, row[4*x+1]+white, row[4*x+2]+white
			}
		}
	case *image.Paletted:
		colors := make([][3]byte, 256)
		for i, c := range m.Palette {
			putColor(colors[i][:], c)
		}
		return func(y int, dst []byte) {
			for x, i := range m.Pix[y*m.Stride:][:b.Dx()] {
				copy(dst[3*x:3*x+3], colors[i][:])
			}
		}
	}
	return func(y int, dst []byte) {
		for x := range b.Dx() {
			putColor(dst[3*x:], img.At(b.Min.X+x, b.Min.Y+y))
		}
	}
}

func putOnWhite(dst, rgb []byte, alpha uint32) {
	if alpha == 255 {
		copy(dst[:3], rgb)
		return
	}
	for i, v := range rgb {
		dst[i] = byte((uint32(v)*alpha + 255*(255-alpha) + 127) / 255)
	}
}

func putColor(dst []byte, c color.Color) {
	r, g, b, a := c.RGBA()
	white := 0xffff - a
	dst[0], dst[1], dst[2] = byte((r+white)>>8), byte((g+white)>>8), byte((b+white)>>8)
}
