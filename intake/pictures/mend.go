package pictures

import (
	"bytes"
	"context"
	"image"
	"slices"
)

// maxMended is the largest damaged JPEG worth several decodes.
const maxMended = 64 << 20

// mend draws what can still be seen of a JPEG that does not decode: of a baseline
// file the rows before the damage, with grey below; of a progressive one the scans
// before it, so that the whole is there but less sharp. Nil means nothing useful.
// The decoder gives no part of a picture, so the largest good part is found by
// halving, with at most some nine decodes.
func mend(ctx context.Context, encoded []byte) image.Image {
	at, err := findFrame(bytes.NewReader(encoded), int64(len(encoded)))
	if err != nil || int(at)+9 > len(encoded) {
		return nil
	}
	if encoded[at+1] == 0xc2 {
		return mendScans(ctx, encoded, int(at))
	}
	return mendRows(ctx, encoded, int(at))
}

// mendRows asks for a lower picture, by writing another height into the frame
// header at, until the decoder is content. The picture keeps its own height.
func mendRows(ctx context.Context, encoded []byte, at int) image.Image {
	if ends := scanEnds(encoded, at); len(ends) > 0 {
		encoded = encoded[:ends[0]] // a marker made by the damage stops the decoder too
	}
	encoded = append(slices.Clone(encoded), 0xff, 0xd9)
	height := int(encoded[at+5])<<8 | int(encoded[at+6])
	units := (height + 15) / 16
	best := largest(ctx, units, func(k int) image.Image {
		h := min(k*16, height)
		encoded[at+5], encoded[at+6] = byte(h>>8), byte(h)
		img, err := decodeJPEG(encoded)
		if err != nil {
			return nil
		}
		return img
	})
	// A sliver tells nobody anything.
	if best == nil || best.Bounds().Dy() < height/16 {
		return nil
	}
	return extended(ycbcr(best), height)
}

// extended gives a picture more rows, in grey.
func extended(m *image.YCbCr, height int) *image.YCbCr {
	out := image.NewYCbCr(image.Rect(0, 0, m.Rect.Dx(), height), m.SubsampleRatio)
	for _, pix := range [][]byte{out.Y, out.Cb, out.Cr} {
		for i := range pix {
			pix[i] = 128
		}
	}
	for y := range m.Rect.Dy() {
		copy(out.Y[y*out.YStride:(y+1)*out.YStride], m.Y[y*m.YStride:])
	}
	w, h := chromaSize(m.SubsampleRatio, m.Rect.Dx(), m.Rect.Dy())
	for y := range h {
		copy(out.Cb[y*out.CStride:y*out.CStride+w], m.Cb[y*m.CStride:])
		copy(out.Cr[y*out.CStride:y*out.CStride+w], m.Cr[y*m.CStride:])
	}
	return out
}

// mendScans cuts a progressive file after one of its scans.
func mendScans(ctx context.Context, encoded []byte, at int) image.Image {
	ends := scanEnds(encoded, at)
	return largest(ctx, len(ends), func(k int) image.Image {
		whole := append(slices.Clone(encoded[:ends[k-1]]), 0xff, 0xd9)
		img, err := decodeJPEG(whole)
		if err != nil {
			return nil
		}
		return img
	})
}

// scanEnds lists where the entropy-coded data of each scan ends: at a marker that
// is neither a stuffed zero nor a restart.
func scanEnds(encoded []byte, at int) []int {
	var ends []int
	inScan := false
	for at+4 <= len(encoded) && len(ends) < 1000 {
		if encoded[at] != 0xff || encoded[at+1] == 0 || encoded[at+1] == 0xff || 0xd0 <= encoded[at+1] && encoded[at+1] <= 0xd7 {
			at++
			continue
		}
		if inScan {
			ends = append(ends, at)
		}
		if encoded[at+1] == 0xd9 {
			break
		}
		inScan = encoded[at+1] == 0xda
		at += 2 + int(encoded[at+2])<<8 + int(encoded[at+3])
	}
	return ends
}

// largest returns what try makes of the largest k from 1 to n for which it makes
// anything, taking for granted that a smaller k is no worse.
func largest(ctx context.Context, n int, try func(k int) image.Image) image.Image {
	var best image.Image
	good, bad := 0, n+1
	for k := n; good+1 < bad && ctx.Err() == nil; k = (good + bad) / 2 {
		if img := try(k); img != nil {
			best, good = img, k
		} else {
			bad = k
		}
	}
	return best
}
