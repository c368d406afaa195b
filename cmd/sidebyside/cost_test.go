//go:build unix

package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func TestMeasureReadsTheSystemsAccount(t *testing.T) {
	c, err := measure(t.Context(), "sh", "-c", "i=0; while [ $i -lt 20000 ]; do i=$((i+1)); done")
	if err != nil || c.cpu <= 0 || c.wall <= 0 || c.peak < 100<<10 {
		t.Errorf("measure = %+v, %v; want time and memory of a real process", c, err)
	}
	if _, err := measure(t.Context(), "sh", "-c", "echo went wrong >&2; exit 3"); err == nil || !strings.Contains(err.Error(), "went wrong") {
		t.Errorf("measure of a failing command = %v, want what it said", err)
	}
}

func TestTablePrintsMediansAndRatios(t *testing.T) {
	run := func(cpu, wall int) cost {
		return cost{cpu: time.Duration(cpu) * time.Second, wall: time.Duration(wall) * time.Second, peak: 100 << 20}
	}
	var out bytes.Buffer
	table(&out, 10, []cost{run(1, 1), run(2, 1), run(9, 1)}, []cost{run(4, 2), run(8, 2), run(36, 2)})
	for _, want := range []string{"200          800     4.0×", "100          200     2.0×", "peak memory, MiB                100          100"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("table lacks %q:\n%s", want, out.String())
		}
	}
}

func TestDrawWritesWholeJPEGsOnly(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "photos")
	if err := draw(dir, 3, 200); err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 3 {
		t.Fatalf("%d files, %v; want 3", len(entries), err)
	}
	for _, e := range entries {
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil || !bytes.HasSuffix(data, []byte{0xff, 0xd9}) {
			t.Errorf("%s is not a whole JPEG: %v", e.Name(), err)
		}
	}
}
