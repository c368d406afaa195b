package metadata_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"haulbook/metadata"
)

// Bounds on one file, far above what any of them takes: a walk that never ends
// or believes a length field goes past them by orders of magnitude.
const (
	maxDuration = 2 * time.Second
	maxMemory   = 16 << 20
)

// readBounded reads a file and holds what it took against the bounds.
func readBounded(t *testing.T, name string, b []byte) (metadata.Info, error) {
	t.Helper()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	start := time.Now()
	info, err := metadata.Read(bytes.NewReader(b), int64(len(b)))
	metadata.Complete(bytes.NewReader(b), int64(len(b)))
	metadata.ReadVideo(bytes.NewReader(b), int64(len(b)))
	if _, err := metadata.PictureHash(bytes.NewReader(b), int64(len(b)), info.Format); err != nil {
		t.Errorf("%s: %v", name, err)
	}
	took := time.Since(start)
	runtime.ReadMemStats(&after)
	if took > maxDuration {
		t.Errorf("%s: took %v", name, took)
	}
	if n := after.TotalAlloc - before.TotalAlloc; n > maxMemory {
		t.Errorf("%s: allocated %d bytes for a file of %d", name, n, len(b))
	}
	return info, err
}

func TestMalformed(t *testing.T) {
	dir := corpusDir(t)
	rows := readTruth(t, filepath.Join(dir, "malformed_truth.tsv"))
	for _, row := range rows {
		file := row["path"]
		b := readFile(t, filepath.Join(dir, file))
		info, err := readBounded(t, file, b)
		if err != nil && !errors.Is(err, metadata.ErrNotPhoto) {
			t.Errorf("%s: error %v, want none or %v", file, err, metadata.ErrNotPhoto)
		}
		switch kind := row["kind"]; {
		case strings.Contains(kind, "wrong extension: JPEG"):
			if info.Format != metadata.FormatJPEG {
				t.Errorf("%s: format %q, want jpeg whatever the name", file, info.Format)
			}
		case strings.Contains(kind, "wrong extension: HEIC"):
			if info.Format != metadata.FormatHEIC {
				t.Errorf("%s: format %q, want heic whatever the name", file, info.Format)
			}
		case strings.Contains(kind, "wrong extension"), kind == "zero-byte", kind == "random bytes":
			if !errors.Is(err, metadata.ErrNotPhoto) {
				t.Errorf("%s: error %v, want %v", file, err, metadata.ErrNotPhoto)
			}
		case strings.Contains(kind, "truncated"):
			if err != nil || info.Damage == "" {
				t.Errorf("%s: error %v, damage %q; want a damaged photo", file, err, info.Damage)
			}
		}
	}
	t.Logf("%d files", len(rows))
}

// TestEveryFileCutAnywhere cuts the photos of the folder at many places: a file
// that lacks bytes is never passed off as whole, nor as another picture.
func TestEveryFileCutAnywhere(t *testing.T) {
	dir := corpusDir(t)
	cuts := 0
	for _, sub := range []string{"heic", "exif", "exif-synth"} {
		files, err := filepath.Glob(filepath.Join(dir, sub, "*"))
		if err != nil || len(files) == 0 {
			t.Fatalf("%s: %d files, error %v", sub, len(files), err)
		}
		for _, file := range files {
			b, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			format := metadata.Sniff(b)
			whole, err := metadata.PictureHash(bytes.NewReader(b), int64(len(b)), format)
			if err != nil {
				t.Fatal(err)
			}
			for part := 1; part < 16; part++ {
				cut := b[:len(b)*part/16]
				if sum, err := metadata.PictureHash(bytes.NewReader(cut), int64(len(cut)), format); err != nil || sum != [32]byte{} && sum != whole {
					t.Errorf("%s cut at %d: hash %x, want none or that of the whole (%v)", file, len(cut), sum, err)
				}
				info, err := metadata.Read(bytes.NewReader(cut), int64(len(cut)))
				if err != nil && !errors.Is(err, metadata.ErrNotPhoto) {
					t.Errorf("%s cut at %d: %v", file, len(cut), err)
				}
				short := metadata.Complete(bytes.NewReader(cut), int64(len(cut))) == metadata.Incomplete
				if err == nil && short && info.Damage == "" {
					t.Errorf("%s cut at %d: incomplete, but no damage told", file, len(cut))
				}
				cuts++
			}
		}
	}
	t.Logf("%d cuts", cuts)
}
