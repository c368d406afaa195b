package pictures

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/jpeg"
	"os"
	"path/filepath"
	"strconv"

	"haulbook/intake"
)

// qualities are tried in turn until a preview is small enough. Most photos stop
// at the first; noise and foliage go on. The last is taken whatever it weighs.
var qualities = [...]int{82, 70, 55}

// bytesAllowed is what a preview of each size may weigh: a page of fifty small
// ones has to arrive on a phone over a weak network.
func (s Size) bytesAllowed() int {
	switch s {
	case Small:
		return 40_000
	case Large:
		return 400_000
	}
	return 1_500_000
}

// folder is where the previews of a photo lie: spread by the first byte of the
// hash, as the originals are, so that no folder grows beyond what tools can list.
func (d *Darkroom) folder(id intake.PhotoID) string {
	return filepath.Join(d.Dir, id.String()[:2])
}

func (d *Darkroom) path(id intake.PhotoID, size Size) string {
	return filepath.Join(d.folder(id), id.String()+"-"+strconv.Itoa(int(size))+".jpg")
}

// draw makes one preview of f and returns f at its size, for a smaller one.
// Shrinking comes before turning: it gives the same and is cheaper. The encoder writes no segment but what decoding
// needs, so that nothing of the original's metadata can come along.
func (d *Darkroom) draw(ctx context.Context, id intake.PhotoID, f frame, size Size) (frame, error) {
	f = f.shrunk(int(size))
	picture := f.upright()
	var encoded bytes.Buffer
	for _, quality := range qualities {
		encoded.Reset()
		if err := jpeg.Encode(&encoded, picture, &jpeg.Options{Quality: quality}); err != nil {
			return f, fmt.Errorf("encode preview: %w", err)
		}
		if encoded.Len() <= size.bytesAllowed() {
			break
		}
	}
	if err := ctx.Err(); err != nil {
		return f, err
	}
	return f, d.shelve(id, size, encoded.Bytes())
}

// shelve puts a preview in place in one step. It is not synced: after a power
// cut a preview may be gone, and is drawn again; a short one is never renamed.
func (d *Darkroom) shelve(id intake.PhotoID, size Size, encoded []byte) error {
	if err := os.MkdirAll(d.folder(id), 0o777); err != nil {
		return fmt.Errorf("keep preview: %w", err)
	}
	path := d.path(id, size)
	part, err := os.CreateTemp(d.folder(id), filepath.Base(path)+".*.part")
	if err != nil {
		return fmt.Errorf("keep preview: %w", err)
	}
	defer os.Remove(part.Name()) // after the rename there is nothing to remove
	_, err = part.Write(encoded)
	if closed := part.Close(); err == nil {
		err = closed
	}
	if err == nil {
		err = os.Rename(part.Name(), path)
	}
	if err != nil {
		return fmt.Errorf("keep preview: %w", err)
	}
	return nil
}

// fit returns the size of a w × h picture whose long edge is at most long.
func fit(w, h, long int) (int, int) {
	edge := max(w, h)
	if edge <= long {
		return w, h
	}
	return max(1, (w*long+edge/2)/edge), max(1, (h*long+edge/2)/edge)
}

// shrunk returns f with a long edge of at most long, as 4:2:0.
func (f frame) shrunk(long int) frame {
	b := f.img.Rect
	if max(b.Dx(), b.Dy()) <= long && f.img.SubsampleRatio == image.YCbCrSubsampleRatio420 {
		return f
	}
	w, h := fit(b.Dx(), b.Dy(), long)
	return frame{turn: f.turn, img: joined(
		shrunk(f.luma(), w, h),
		shrunk(f.chroma(f.img.Cb), (w+1)/2, (h+1)/2),
		shrunk(f.chroma(f.img.Cr), (w+1)/2, (h+1)/2),
	)}
}

// upright returns the picture of f turned as it should be seen; f is 4:2:0.
func (f frame) upright() *image.YCbCr {
	return joined(turned(f.luma(), f.turn), turned(f.chroma(f.img.Cb), f.turn), turned(f.chroma(f.img.Cr), f.turn))
}

// joined makes a 4:2:0 picture of its planes.
func joined(y, cb, cr plane) *image.YCbCr {
	return &image.YCbCr{
		Y: y.pix, Cb: cb.pix, Cr: cr.pix,
		YStride: y.stride, CStride: cb.stride,
		SubsampleRatio: image.YCbCrSubsampleRatio420,
		Rect:           image.Rect(0, 0, y.w, y.h),
	}
}
