package pictures

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/jpeg"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"haulbook/intake"
	"haulbook/metadata"
)

// TestHardPhotos scores the search beside two other readers on photos that are
// hard on purpose, the same files for all three. It takes minutes, so it runs only
// when HAULBOOK_HARD is set: to 1, or to a folder that keeps the drawn photos.
func TestHardPhotos(t *testing.T) {
	dir := os.Getenv("HAULBOOK_HARD")
	switch dir {
	case "":
		t.Skip("HAULBOOK_HARD is not set, so the photos that take minutes to draw are not tried")
	case "1":
		dir = t.TempDir()
	}
	readers := map[string][]string{
		"zbarimg":     {"--quiet", "--raw"},
		"ZXingReader": {"-1"},
	}
	for name := range readers {
		if _, err := exec.LookPath(name); err != nil {
			t.Errorf("%s is not installed: there is nothing to compare with", name)
			delete(readers, name)
		}
	}
	rates, total := map[string]int{}, map[string]int{}
	room := &Darkroom{Dir: t.TempDir()}
	for _, shot := range hardShots() {
		path := filepath.Join(dir, shot.name()+".jpg")
		shot.write(t, path)
		total[shot.trouble]++
		tally := func(reader string, read bool) {
			if read {
				rates[reader]++
				rates[reader+" "+shot.trouble]++
			}
		}
		codes, err := room.Look(context.Background(), path, intake.Photo{ID: idOf(path), Meta: metadata.Info{Format: metadata.FormatJPEG}})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range codes {
			if c.Text != shot.text() {
				t.Errorf("%s: read %q, which is not there", shot.name(), c.Text)
			}
		}
		read := len(codes) > 0
		tally("haulbook", read)
		said := shot.name()
		if !read {
			said += " missed"
		}
		for name, args := range readers {
			seen := otherReads(t, name, args, path, shot.text())
			tally(name, seen)
			said += fmt.Sprint(" ", name, ":", seen)
		}
		t.Log(said)
	}
	shots := len(hardShots())
	for _, name := range []string{"haulbook", "ZXingReader", "zbarimg"} {
		t.Logf("%s: %d of %d", name, rates[name], shots)
		for trouble, n := range total {
			t.Logf("  %s: %d of %d", trouble, rates[name+" "+trouble], n)
		}
	}
	if rates["haulbook"] <= rates["ZXingReader"] {
		t.Errorf("haulbook reads %d and ZXingReader %d of %d, want more", rates["haulbook"], rates["ZXingReader"], shots)
	}
}

// otherReads asks another program. What it read is kept beside the photo, so that
// in a kept folder only our own search is run again.
func otherReads(t *testing.T, name string, args []string, path, text string) bool {
	t.Helper()
	kept := path + "." + name
	said, err := os.ReadFile(kept)
	if err != nil {
		var out bytes.Buffer
		cmd := exec.Command(name, append(args, path)...)
		cmd.Stdout = &out
		_ = cmd.Run() // a status of failure means that nothing was found
		said = out.Bytes()
		if err := os.WriteFile(kept, said, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return strings.Contains(string(said), text)
}

// write draws the photo unless it is there already.
func (s hardShot) write(t *testing.T, path string) {
	t.Helper()
	if _, err := os.Stat(path); err == nil {
		return
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, s.draw(t), &jpeg.Options{Quality: 88}); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, out.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
}

// TestHardPhotosAreTheSameEveryTime: rates of two days must be of the same photos.
func TestHardPhotosAreTheSameEveryTime(t *testing.T) {
	shots := hardShots()
	if len(shots) != 168 {
		t.Errorf("%d photos, want 168", len(shots))
	}
	small := func() *image.Gray { return shots[5].drawn(t, 600, 450) }
	if !bytes.Equal(small().Pix, small().Pix) {
		t.Error("the same shot is drawn in two ways")
	}
}
