//go:build unix

package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
)

// contest is one folder of photos and the two ways to work through it.
type contest struct {
	photos  string
	files   []string
	scratch string
	binary  string
	rounds  int
}

// hold runs both sides in turn and prints what they cost.
func (c contest) hold(ctx context.Context, w io.Writer) error {
	var ours, general []cost
	for round := range c.rounds + 1 {
		mine, err := c.takeIn(ctx, round)
		if err != nil {
			return err
		}
		tools, parts, err := c.useTools(ctx, round)
		if err != nil {
			return err
		}
		if round == 0 {
			fmt.Fprintf(w, "%d photos, %d processors; warm-up:\n", len(c.files), runtime.NumCPU())
			for _, p := range parts {
				fmt.Fprintf(w, "  %-14s %7.0f ms CPU a photo\n", p.name, p.cpu.Seconds()*1000/float64(len(c.files)))
			}
			continue
		}
		ours, general = append(ours, mine), append(general, tools)
	}
	table(w, len(c.files), ours, general)
	return nil
}

// takeIn takes the photos into a fresh book, so that nothing is a duplicate.
func (c contest) takeIn(ctx context.Context, round int) (cost, error) {
	book := filepath.Join(c.scratch, "book-"+strconv.Itoa(round))
	defer os.RemoveAll(book)
	if _, err := measure(ctx, c.binary, "init", book); err != nil {
		return cost{}, err
	}
	return measure(ctx, c.binary, "take", "--book", book, c.photos)
}

// useTools does the same work with general tools. Each program that takes many
// files gets them at once; the others are spread over the processors by xargs.
func (c contest) useTools(ctx context.Context, round int) (cost, []cost, error) {
	out := filepath.Join(c.scratch, "tools-"+strconv.Itoa(round))
	if err := os.MkdirAll(out, 0o755); err != nil {
		return cost{}, nil, err
	}
	defer os.RemoveAll(out)
	n := runtime.NumCPU()
	spread := func(command string) string {
		return fmt.Sprintf(`find "$PHOTOS" -iname '*.jpg' -print0 | xargs -0 -P %d -n 1 %s`, n, command)
	}
	batched := func(command string) string {
		return fmt.Sprintf(`find "$PHOTOS" -iname '*.jpg' -print0 | xargs -0 -P %d -n %d %s`, n, (len(c.files)+n-1)/n, command)
	}
	var sum cost
	var parts []cost
	for _, step := range []struct{ name, script string }{
		{"sha256sum", batched("sha256sum")},
		{"exiftool", batched("exiftool -j -fast")},
		{"preview 1600", spread(`vipsthumbnail --size 1600x1600 --export-profile srgb -o "$OUT/%s-l.jpg[Q=82,strip]"`)},
		{"preview 480", spread(`vipsthumbnail --size 480x480 --export-profile srgb -o "$OUT/%s-s.jpg[Q=82,strip]"`)},
		{"zbarimg", spread(`sh -c 'zbarimg -q "$0" || true'`)},
	} {
		part, err := measure(ctx, "env", "PHOTOS="+c.photos, "OUT="+out, "sh", "-c", step.script)
		if err != nil {
			return cost{}, nil, fmt.Errorf("%s: %w", step.name, err)
		}
		part.name = step.name
		parts = append(parts, part)
		sum = sum.and(part)
	}
	return sum, parts, nil
}
