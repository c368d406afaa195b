//go:build unix

// Command sidebyside measures what taking photos in costs beside what general
// tools need for the same work on the same files: exiftool for the metadata,
// vipsthumbnail for two previews, zbarimg for the codes, sha256sum for the
// hash, spread over the processors.
//
// It knows how to run programs and read their accounts from the system; it does
// not look into either side. It is for development only and installs nothing.
//
// It promises alternating runs, so that a machine that slows down slows both,
// and prints medians and the ratio pair by pair; single times mean little.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"haulbook/cmd/haulbook/drawn"
)

func main() {
	if err := run(context.Background(), os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "sidebyside:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, args []string) error {
	flags := flag.NewFlagSet("sidebyside", flag.ContinueOnError)
	photos := flags.String("photos", "", "folder of JPEGs; without it, invented ones are drawn")
	count := flags.Int("count", 24, "how many to draw")
	width := flags.Int("width", 4032, "long edge of drawn photos, 4032 is 12 megapixels")
	rounds := flags.Int("rounds", 3, "counted runs of each side, after one that only warms up")
	if err := flags.Parse(args); err != nil {
		return err
	}
	scratch, err := os.MkdirTemp("", "sidebyside-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(scratch)
	if *photos == "" {
		*photos = filepath.Join(scratch, "photos")
		if err := draw(*photos, *count, *width); err != nil {
			return err
		}
	}
	files, err := filepath.Glob(filepath.Join(*photos, "*.[jJ][pP][gG]"))
	if err != nil || len(files) == 0 {
		return fmt.Errorf("no JPEGs in %s", *photos)
	}
	binary := filepath.Join(scratch, "haulbook")
	if out, err := exec.CommandContext(ctx, "go", "build", "-o", binary, "haulbook/cmd/haulbook").CombinedOutput(); err != nil {
		return fmt.Errorf("build haulbook: %w\n%s", err, out)
	}
	c := contest{photos: *photos, files: files, scratch: scratch, binary: binary, rounds: *rounds}
	return c.hold(ctx, os.Stdout)
}

// draw invents a haul large enough and writes its whole photos.
func draw(dir string, count, width int) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	// A haul has about four photos a thing.
	haul, err := drawn.Plan(drawn.Options{Width: width, Things: count/4 + 2, Codes: []string{"0000000H", "7K3M9Q2H"}})
	if err != nil {
		return err
	}
	written := 0
	for i, p := range haul.Photos {
		if written == count || p.Damaged || !strings.HasSuffix(p.Name, ".JPG") {
			continue
		}
		data, err := haul.Draw(i)
		if err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(dir, p.Name), data, 0o644); err != nil {
			return err
		}
		written++
	}
	return nil
}
