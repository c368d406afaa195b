package pictures

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"io"
	"os"
	"os/exec"
	"testing"
	"time"

	"haulbook/metadata"
)

// workerRole makes the test binary play the worker's process.
const workerRole = "PICTURES_TEST_WORKER"

func TestMain(m *testing.M) {
	ctx := context.Background()
	switch os.Getenv(workerRole) {
	case "serve":
		if err := ServeWorker(ctx, os.Stdin, os.Stdout); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	case "hang":
		io.Copy(io.Discard, os.Stdin)
		select {}
	case "lie":
		fmt.Print(workerMark + "\xff\xff\xff\xff\xff\xff\xff\xff")
	case "stop short":
		fmt.Print(workerMark + "\x00\x00\x01\x00\x00\x00\x01\x00only a few pixels")
	case "draw":
		img := ycbcr(corners(301, 203, red, green, blue, yellow))
		if err := writePicture(os.Stdout, img); err != nil {
			os.Exit(1)
		}
	case "draw the small one":
		// Stands for a decoder without the memory for more than 320 pixels.
		heic, err := io.ReadAll(os.Stdin)
		info, readErr := metadata.Read(bytes.NewReader(heic), int64(len(heic)))
		if errors.Join(err, readErr) != nil || info.Width != 320 {
			os.Exit(1)
		}
		if err := writePicture(os.Stdout, ycbcr(corners(320, 240, red, green, blue, yellow))); err != nil {
			os.Exit(1)
		}
	default:
		os.Exit(m.Run())
	}
}

// workerAs starts this binary again in a role.
func workerAs(t *testing.T, role string) func(context.Context) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	return func(ctx context.Context) *exec.Cmd {
		cmd := exec.CommandContext(ctx, self)
		cmd.Env = append(os.Environ(), workerRole+"="+role)
		return cmd
	}
}

func TestWorkerDraws(t *testing.T) {
	room := &Darkroom{Dir: t.TempDir(), Worker: workerAs(t, "draw")}
	// An orientation that the worker's decoder has applied is not applied again.
	p := photo("p.heic", metadata.FormatHEIC, 6)
	preview, err := room.Preview(context.Background(), written(t, "p.heic", []byte("anything")), p, Large)
	if err != nil {
		t.Fatal(err)
	}
	got := drawn(t, preview)
	if got.Bounds().Size() != (image.Point{301, 203}) {
		t.Errorf("got %v", got.Bounds())
	}
	wantCorners(t, "worker", got)
}

func TestWorkerThatFails(t *testing.T) {
	for _, role := range []string{"lie", "stop short", "serve"} {
		room := &Darkroom{Dir: t.TempDir(), Worker: workerAs(t, role)}
		p := photo("p.heic", metadata.FormatHEIC, 1)
		_, err := room.Look(context.Background(), written(t, "p.heic", []byte("no picture")), p)
		if !errors.Is(err, ErrNoPicture) {
			t.Errorf("%s: got %v, want ErrNoPicture", role, err)
		}
	}
	room := &Darkroom{Dir: t.TempDir(), Worker: func(ctx context.Context) *exec.Cmd {
		return exec.CommandContext(ctx, "/nonexistent/worker")
	}}
	if _, err := room.Look(context.Background(), written(t, "p.heic", nil), photo("p.heic", metadata.FormatHEIC, 1)); !errors.Is(err, ErrNoPicture) {
		t.Errorf("no such program: got %v, want ErrNoPicture", err)
	}
}

func TestSlowWorkerIsEnded(t *testing.T) {
	room := &Darkroom{Dir: t.TempDir(), Worker: workerAs(t, "hang"), WorkerTime: 200 * time.Millisecond}
	p := photo("p.heic", metadata.FormatHEIC, 1)
	path := written(t, "p.heic", []byte("x"))
	// The second look shows that the place for the one worker is free again.
	for range 2 {
		if _, err := room.Look(context.Background(), path, p); !errors.Is(err, ErrNoPicture) {
			t.Errorf("got %v, want ErrNoPicture", err)
		}
	}
	// A look given up by the caller is no fault of the photo.
	room = &Darkroom{Dir: t.TempDir(), Worker: workerAs(t, "hang")}
	ctx, cancel := context.WithTimeout(context.Background(), 200*time.Millisecond)
	defer cancel()
	if _, err := room.Look(ctx, path, p); !errors.Is(err, context.DeadlineExceeded) || errors.Is(err, ErrNoPicture) {
		t.Errorf("got %v, want the context's error alone", err)
	}
}

func TestServeWorkerRefuses(t *testing.T) {
	for name, in := range map[string]string{"nothing": "", "text": "no picture", "half a box": "\x00\x00\x00\x18ftypheic"} {
		var out bytes.Buffer
		if err := ServeWorker(context.Background(), bytes.NewReader([]byte(in)), &out); err == nil || out.Len() != 0 {
			t.Errorf("%s: got %v and %d bytes, want an error and none", name, err, out.Len())
		}
	}
}

func TestReadPictureTrustsNothing(t *testing.T) {
	var good bytes.Buffer
	if err := writePicture(&good, ycbcr(corners(33, 17, red, green, blue, yellow))); err != nil {
		t.Fatal(err)
	}
	img, err := readPicture(bytes.NewReader(good.Bytes()), 1000)
	if err != nil {
		t.Fatal(err)
	}
	wantCorners(t, "over the wire", img)
	for n := range good.Len() {
		if _, err := readPicture(bytes.NewReader(good.Bytes()[:n]), 1000); err == nil {
			t.Errorf("no error after %d of %d bytes", n, good.Len())
		}
	}
	if _, err := readPicture(bytes.NewReader(good.Bytes()), 500); err == nil {
		t.Error("more pixels than allowed were read")
	}
}
