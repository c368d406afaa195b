package labels

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"strings"
	"testing"
)

// tool finds an outside program. Without it the test is skipped, unless the
// environment demands that nothing is.
func tool(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err == nil {
		return path
	}
	if os.Getenv("HAULBOOK_REQUIRE_TOOLS") == "1" {
		t.Fatalf("%s is not installed and HAULBOOK_REQUIRE_TOOLS=1 demands it", name)
	}
	t.Skipf("%s is not installed; with it this test reads the tags by a reader that shares no code with us", name)
	return ""
}

// output runs a program and returns the lines it prints.
func output(t *testing.T, path string, args ...string) []string {
	t.Helper()
	var out, talk bytes.Buffer
	c := exec.Command(path, args...)
	c.Stdout, c.Stderr = &out, &talk
	if err := c.Run(); err != nil {
		t.Fatalf("%s %s: %v\n%s", filepath.Base(path), strings.Join(args, " "), err, talk.String())
	}
	return strings.Split(strings.TrimSpace(out.String()), "\n")
}

// A printed page, rasterised by poppler and read by zbar: every code on it and
// no other.
func TestOutsideReadersSeeEveryTagOnAPage(t *testing.T) {
	poppler, zbar := tool(t, "pdftoppm"), tool(t, "zbarimg")
	for _, c := range []struct {
		stock string
		dpi   int
	}{{"a4-3x8", 300}, {"a4-3x8", 203}, {"letter-3x10", 300}, {"letter-3x10", 203}, {"a4-3x7", 300}} {
		t.Run(fmt.Sprintf("%s at %d", c.stock, c.dpi), func(t *testing.T) {
			j := Job{Stock: named(t, c.stock), DPI: c.dpi}
			var tags []Tag
			var want []string
			for i := range j.Stock.PerPage() {
				tag := tagFor(hostile[i%len(hostile)], i)
				tags, want = append(tags, tag), append(want, tag.URL)
				if tag.Linear {
					tags[i].Number = fmt.Sprintf("2026.7.%d", 30+i) // zbar reports equal codes once
					want = append(want, tags[i].Number)
				}
			}
			dir := t.TempDir()
			file := filepath.Join(dir, "tags.pdf")
			if err := os.WriteFile(file, pdf(t, j, tags), 0o644); err != nil {
				t.Fatal(err)
			}
			output(t, poppler, "-r", fmt.Sprint(c.dpi), "-gray", "-png", "-singlefile", file, filepath.Join(dir, "page"))
			got := output(t, zbar, "--raw", "-q", filepath.Join(dir, "page.png"))
			sort.Strings(got)
			sort.Strings(want)
			if fmt.Sprint(got) != fmt.Sprint(want) {
				t.Errorf("got %d codes, want %d\ngot  %q\nwant %q", len(got), len(want), got, want)
			}
		})
	}
}

// One label as a PNG, read by zxing-cpp, on every stock and printer it fits.
func TestOutsideReadersSeeEachLabel(t *testing.T) {
	zxing := tool(t, "ZXingReader")
	for _, s := range Stocks() {
		for _, dpi := range []int{203, 300, 600} {
			if s.Name == "letter-4x20" && dpi == 203 {
				continue // refused, see TestRefusals
			}
			tag := tagFor(hostile[0], 42)
			var b bytes.Buffer
			if err := (Job{Stock: s, DPI: dpi}).WritePNG(&b, tag); err != nil {
				t.Fatal(err)
			}
			file := filepath.Join(t.TempDir(), "tag.png")
			if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
			got := strings.Join(output(t, zxing, "-format", "QRCode", file), "\n")
			if !strings.Contains(got, `"`+tag.URL+`"`) {
				t.Errorf("%s at %d: got %q, want %q", s.Name, dpi, got, tag.URL)
			}
		}
	}
}
