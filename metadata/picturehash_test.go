package metadata_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"haulbook/metadata"
	"haulbook/metadata/container/specimen"
)

func hashFile(t *testing.T, path string) (sum [32]byte, f metadata.Format) {
	t.Helper()
	b := readFile(t, path)
	info, err := metadata.Read(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	sum, err = metadata.PictureHash(bytes.NewReader(b), int64(len(b)), info.Format)
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return sum, info.Format
}

// editTags has exiftool write into every file of a folder, in place, whatever it
// can: text, a turning, a position, a rating, a comment. It refuses some files.
func editTags(t *testing.T, dir string) {
	t.Helper()
	exiftool, err := exec.LookPath("exiftool")
	if err != nil {
		t.Skip("exiftool is not installed: install it to see that the hash of a picture outlives its edits")
	}
	// Its exit code tells of any file it could not write: the caller looks itself.
	out, err := exec.Command(exiftool, "-q", "-q", "-m", "-overwrite_original",
		"-Artist=somebody with a name that is longer than before", "-Orientation#=6", "-XMP:Rating=4",
		"-GPSLatitude=47.5", "-GPSLatitudeRef=N", "-ModifyDate=2031:01:01 00:00:00", "-UserComment=typed later", "-Comment=beside the picture",
		dir).CombinedOutput()
	if err != nil {
		t.Logf("exiftool: %v, %d lines of warnings", err, bytes.Count(out, []byte("\n")))
	}
}

// copyAll copies files into a folder under names of their own.
func copyAll(t *testing.T, dir string, files map[string][]byte) {
	t.Helper()
	for name, b := range files {
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

func TestPictureHashOutlivesEdits(t *testing.T) {
	files := map[string][]byte{
		"plain.jpg": specimen.JPEG(24, 16), "tagged.jpg": jpegWith(full),
		"plain.png": specimen.PNG(24, 16), "tagged.png": specimen.PNG(24, 16, specimen.Chunk("eXIf", full.Block())),
		"plain.webp": specimen.WebP(24, 16, nil), "tagged.webp": specimen.WebP(24, 16, full.Block()),
		"plain.tif": specimen.TIFF(24, 16, specimen.Exif{}), "tagged.tif": specimen.TIFF(24, 16, full),
	}
	dir := t.TempDir()
	copyAll(t, dir, files)
	editTags(t, dir)
	for name, before := range files {
		path := filepath.Join(dir, name)
		if bytes.Equal(readFile(t, path), before) {
			t.Errorf("%s: exiftool changed nothing", name)
		}
		got, format := hashFile(t, path)
		want, err := metadata.PictureHash(bytes.NewReader(before), int64(len(before)), format)
		if err != nil || got != want || got == [32]byte{} {
			t.Errorf("%s: %x, want %x as before the edit (%v)", name, got, want, err)
		}
	}
}

// unwritten lists photos that exiftool 12.57 garbles at times: into a HEIC that has
// no references it writes them in the middle of the table behind, in an order that
// changes from run to run, and cannot read the file afterwards itself.
var unwritten = map[string]bool{"heic_libheif__rgb_generic_compressed_brotli.heif": true}

// TestPictureHashOfRealPhotosOutlivesEdits does the same to every photo of a folder.
func TestPictureHashOfRealPhotosOutlivesEdits(t *testing.T) {
	corpus := corpusDir(t)
	dir := t.TempDir()
	originals := map[string][]byte{}
	for _, pattern := range []string{"exif/*", "exif-synth/*", "heic/*", "sessions/*/*", "hauls/*/*"} {
		paths, err := filepath.Glob(filepath.Join(corpus, filepath.FromSlash(pattern)))
		if err != nil || len(paths) == 0 {
			t.Fatalf("%s: %d files, error %v", pattern, len(paths), err)
		}
		for _, path := range paths {
			name, err := filepath.Rel(corpus, path)
			if err != nil {
				t.Fatal(err)
			}
			originals[strings.ReplaceAll(name, string(filepath.Separator), "_")] = readFile(t, path)
		}
	}
	copyAll(t, dir, originals)
	editTags(t, dir)
	changed, unknown := 0, map[metadata.Format]int{}
	for name, before := range originals {
		after, format := hashFile(t, filepath.Join(dir, name))
		want, err := metadata.PictureHash(bytes.NewReader(before), int64(len(before)), format)
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if want == [32]byte{} {
			unknown[format]++
			if format != metadata.FormatRaw {
				t.Errorf("%s: unknown, want a hash of every format but raw", name)
			}
			continue
		}
		if bytes.Equal(readFile(t, filepath.Join(dir, name)), before) {
			continue
		}
		changed++
		if unwritten[name] && after == [32]byte{} {
			continue
		}
		if after != want {
			t.Errorf("%s: %x, want %x as before the edit", name, after, want)
		}
	}
	if changed < len(originals)*3/4 {
		t.Errorf("%d of %d photos edited, want most", changed, len(originals))
	}
	t.Logf("%d photos edited of %d; unknown by format: %v", changed, len(originals), unknown)
}
