package pictures

import (
	"bufio"
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"io"
	"math"
	"runtime/debug"
	"runtime/metrics"
	"time"

	"github.com/gen2brain/heic"
)

// The worker reads one HEIC from its standard input and answers with one picture:
// the mark, width and height as 32-bit big-endian numbers, then the planes of a
// YCbCr 4:2:0 picture without padding, luma first. It says nothing else; a worker
// that ends early has not decoded.
const (
	workerMark = "HBPICT1\n"
	// maxHEIC is the longest file a worker reads. Phones write 1 to 10 MB.
	maxHEIC = 256 << 20
	// maxWorkerMemory ends a worker that swells: 12 megapixels take 0.2 GB, 50 of ten
	// bits each would take 2 GB (measured), which leaves nothing to the rest.
	maxWorkerMemory = 700 << 20
)

var errNoWorker = errors.New("heic is not decoded on this system")

// fromWorker has the HEIC on stdin decoded by a worker and ends it when it is too
// slow.
func (d *Darkroom) fromWorker(ctx context.Context, stdin io.Reader) (image.Image, error) {
	if d.Worker == nil {
		return nil, errNoWorker
	}
	if err := d.workers.Acquire(ctx, 1); err != nil {
		return nil, err
	}
	defer d.workers.Release(1)
	limited, cancel := context.WithTimeout(ctx, d.WorkerTime)
	defer cancel()
	cmd := d.Worker(limited)
	cmd.Stdin = stdin
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, fmt.Errorf("start the decoder: %w", err)
	}
	// Whatever inherited the pipe must not keep us waiting for longer than this.
	cmd.WaitDelay = 2 * time.Second
	if err := cmd.Start(); err != nil {
		return nil, fmt.Errorf("start the decoder: %w", err)
	}
	stop := context.AfterFunc(limited, func() { cmd.Process.Kill() })
	defer stop()
	img, err := readPicture(out, d.MaxPixels)
	if err != nil {
		cmd.Process.Kill() // it may still be writing to a reader that has gone
	}
	waited := cmd.Wait()
	switch {
	case err == nil:
		return img, nil
	case limited.Err() != nil:
		return nil, fmt.Errorf("decoding took longer than %v", d.WorkerTime)
	case errors.Is(err, io.EOF) && waited != nil:
		return nil, errors.New("the decoder finds no picture in it")
	}
	return nil, err
}

// readPicture reads what a worker wrote. It trusts no number in it.
func readPicture(r io.Reader, maxPixels int) (*image.YCbCr, error) {
	var head [len(workerMark) + 8]byte
	if _, err := io.ReadFull(r, head[:]); err != nil {
		return nil, err
	}
	w := int64(binary.BigEndian.Uint32(head[len(workerMark):]))
	h := int64(binary.BigEndian.Uint32(head[len(workerMark)+4:]))
	if string(head[:len(workerMark)]) != workerMark || w < 1 || h < 1 || w > math.MaxInt32 || h > int64(maxPixels)/w {
		return nil, errors.New("the decoder gave no usable picture")
	}
	img := image.NewYCbCr(image.Rect(0, 0, int(w), int(h)), image.YCbCrSubsampleRatio420)
	for _, pix := range [][]byte{img.Y, img.Cb, img.Cr} {
		if _, err := io.ReadFull(r, pix); err != nil {
			return nil, err
		}
	}
	return img, nil
}

// ServeWorker is the worker's side: it decodes the HEIC on stdin, writes the
// picture to stdout and returns. The process must end afterwards: the decoder
// keeps its memory. An error, which is also one for a decode that outgrows its
// memory or ctx, must make the process end at once, because the decode goes on.
func ServeWorker(ctx context.Context, stdin io.Reader, stdout io.Writer) error {
	encoded, err := io.ReadAll(io.LimitReader(stdin, maxHEIC+1))
	if err != nil {
		return fmt.Errorf("read heic: %w", err)
	}
	if len(encoded) > maxHEIC {
		return errors.New("read heic: it is longer than 256 MB")
	}
	// The decoder's memory is one slice that grows by copying: an eager collector
	// takes a third off the peak and costs no time that can be measured.
	defer debug.SetGCPercent(debug.SetGCPercent(20))
	type result struct {
		img *image.YCbCr
		err error
	}
	done := make(chan result, 1)
	go func() {
		img, err := decodeHEIC(encoded)
		done <- result{img, err}
	}()
	tick := time.NewTicker(10 * time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-tick.C:
			if held() > maxWorkerMemory {
				return errors.New("decode heic: it takes too much memory")
			}
		case r := <-done:
			if r.err != nil {
				return fmt.Errorf("decode heic: %w", r.err)
			}
			return writePicture(stdout, r.img)
		}
	}
}

// decodeHEIC never asks for the configuration first: the decoder's own can fail
// where decoding works.
func decodeHEIC(encoded []byte) (img *image.YCbCr, err error) {
	defer func() {
		if p := recover(); p != nil {
			img, err = nil, fmt.Errorf("the decoder gave up: %v", p)
		}
	}()
	decoded, err := heic.Decode(bytes.NewReader(encoded))
	if err != nil {
		return nil, err
	}
	return ycbcr(decoded), nil
}

// held is what this process has from the system.
func held() uint64 {
	samples := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
	metrics.Read(samples)
	return samples[0].Value.Uint64() - samples[1].Value.Uint64()
}

// writePicture answers with img at 4:2:0.
func writePicture(w io.Writer, img *image.YCbCr) error {
	f := frame{img: img}
	y := f.luma()
	cw, ch := chromaSize(image.YCbCrSubsampleRatio420, y.w, y.h)
	out := bufio.NewWriterSize(w, 1<<16)
	out.WriteString(workerMark)
	binary.Write(out, binary.BigEndian, [2]uint32{uint32(y.w), uint32(y.h)})
	for _, p := range []plane{y, shrunk(f.chroma(img.Cb), cw, ch), shrunk(f.chroma(img.Cr), cw, ch)} {
		for row := range p.h {
			out.Write(p.row(row)) // a failed write fails the flush
		}
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("hand over the picture: %w", err)
	}
	return nil
}
