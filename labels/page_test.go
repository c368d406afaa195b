package labels

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

var update = flag.Bool("update", false, "write the golden files anew")

// run makes n tags of mixed kinds that fit every large stock.
func run(n int) []Tag {
	tags := make([]Tag, n)
	for i := range tags {
		tags[i] = tagFor(hostile[i%len(hostile)], i)
	}
	return tags
}

// The bytes of a job are pinned: a new library or a changed layout shows here,
// and is looked at before -update accepts it.
func TestPDFBytesArePinned(t *testing.T) {
	date := time.Date(2026, 5, 9, 14, 2, 31, 0, time.UTC)
	var got strings.Builder
	for _, name := range []string{"a4-3x8", "letter-3x10", "roll-62x29"} {
		for _, dpi := range []int{203, 300, 600} {
			j := Job{Stock: named(t, name), DPI: dpi, Date: date}
			first, second := pdf(t, j, run(12)), pdf(t, j, run(12))
			if !bytes.Equal(first, second) {
				t.Errorf("%s at %d: two runs differ", name, dpi)
			}
			fmt.Fprintf(&got, "%s %d %x\n", name, dpi, sha256.Sum256(first))
		}
	}
	golden := filepath.Join("testdata", "pdf.sha256")
	if *update {
		if err := os.WriteFile(golden, []byte(got.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if got.String() != string(want) {
		t.Errorf("the PDFs changed; look at them, then run with -update\ngot:\n%s\nwant:\n%s", got.String(), want)
	}
}

// pdf runs a job or ends the test.
func pdf(t testing.TB, j Job, tags []Tag) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := j.WritePDF(context.Background(), &b, tags, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestNothingIsWrittenOnFailure(t *testing.T) {
	good := run(30)
	unfit := run(30)
	unfit[17].Number = strings.Repeat("9", 200)
	unfit[23].URL = ""
	cancelled, cancel := context.WithCancel(context.Background())
	cancel()
	for _, c := range []struct {
		name string
		ctx  context.Context
		job  Job
		tags []Tag
		want string
	}{
		{"no tags", context.Background(), Job{Stock: named(t, "a4-3x8")}, nil, "no tags to print"},
		{"one of many", context.Background(), Job{Stock: named(t, "a4-3x8")}, unfit, "tag 18 of 30, 9999"},
		{"resolution", context.Background(), Job{Stock: named(t, "a4-3x8"), DPI: 72}, good, "203, 300 or 600 dpi"},
		{"skip too far", context.Background(), Job{Stock: named(t, "a4-3x8"), Skip: 24}, good, "0 to 23 can be skipped"},
		{"skip backwards", context.Background(), Job{Stock: named(t, "a4-3x8"), Skip: -1}, good, "0 to 23 can be skipped"},
		{"no stock", context.Background(), Job{}, good, "columns"},
		{"cancelled", cancelled, Job{Stock: named(t, "a4-3x8")}, good, "context canceled"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var b bytes.Buffer
			err := c.job.WritePDF(c.ctx, &b, c.tags, nil)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want a sentence with %q", err, c.want)
			}
			if b.Len() != 0 {
				t.Errorf("%d bytes were written", b.Len())
			}
		})
	}
}

func TestCancelledWhileProving(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	var b bytes.Buffer
	err := Job{Stock: named(t, "a4-3x8")}.WritePDF(ctx, &b, run(500), func(done, _ int) {
		if done == 5 {
			cancel()
		}
	})
	if !errors.Is(err, context.Canceled) || b.Len() != 0 {
		t.Errorf("got %v and %d bytes, want a cancelled job and nothing written", err, b.Len())
	}
}

func TestProgressCountsEachTagOnce(t *testing.T) {
	var seen []int
	var b bytes.Buffer
	err := Job{Stock: named(t, "roll-62x29")}.WritePDF(context.Background(), &b, run(20), func(done, total int) {
		if total != 20 {
			t.Errorf("got a total of %d, want 20", total)
		}
		seen = append(seen, done)
	})
	if err != nil {
		t.Fatal(err)
	}
	for i, n := range seen {
		if n != i+1 {
			t.Fatalf("got %v, want 1 to 20", seen)
		}
	}
	if len(seen) != 20 {
		t.Errorf("got %d calls, want 20", len(seen))
	}
}

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errors.New("no space left") }

func TestWriterErrorsComeBack(t *testing.T) {
	j := Job{Stock: named(t, "roll-62x29")}
	if err := j.WritePDF(context.Background(), fullDisk{}, run(1), nil); err == nil || !strings.Contains(err.Error(), "no space left") {
		t.Errorf("PDF: got %v", err)
	}
	if err := j.WritePNG(fullDisk{}, run(1)[0]); err == nil || !strings.Contains(err.Error(), "no space left") {
		t.Errorf("PNG: got %v", err)
	}
}

// BenchmarkSheet draws and proves a whole sheet, as a printer run does.
func BenchmarkSheet(b *testing.B) {
	for _, name := range []string{"a4-3x8", "letter-3x10"} {
		for _, dpi := range []int{300, 600} {
			b.Run(fmt.Sprintf("%s-%d", name, dpi), func(b *testing.B) {
				j := Job{Stock: named(b, name), DPI: dpi}
				tags := run(j.Stock.PerPage())
				for b.Loop() {
					pdf(b, j, tags)
				}
				b.ReportMetric(float64(b.Elapsed().Microseconds())/1000/float64(b.N*len(tags)), "ms/tag")
			})
		}
	}
}

// BenchmarkThousand is an afternoon's tags in one file.
func BenchmarkThousand(b *testing.B) {
	j := Job{Stock: named(b, "a4-3x8"), DPI: 300}
	tags := run(1000)
	for b.Loop() {
		pdf(b, j, tags)
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/1000/float64(b.N*len(tags)), "ms/tag")
}
