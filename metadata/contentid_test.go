package metadata_test

import (
	"bytes"
	"errors"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"haulbook/metadata"
	"haulbook/metadata/container/specimen"
)

const pairID = "0C1F2E3D-4B5A-6978-8796-A5B4C3D2E1F0"

func TestContentIDOfStill(t *testing.T) {
	noted := func(note specimen.Tag) specimen.Exif {
		return specimen.Exif{Main: full.Main, Exif: append([]specimen.Tag{note}, full.Exif...)}
	}
	damaged := specimen.PhoneNote(pairID)
	damaged.Text = damaged.Text[:40]
	foreign := specimen.PhoneNote(pairID)
	foreign.Text = strings.Replace(foreign.Text, "Apple", "Maple", 1)
	tests := []struct {
		name string
		note specimen.Tag
		want string
	}{
		{"as phones write it", specimen.PhoneNote(pairID), pairID},
		{"small letters", specimen.PhoneNote(strings.ToLower(pairID)), pairID},
		{"empty", specimen.PhoneNote(""), ""},
		{"too long to be one", specimen.PhoneNote(strings.Repeat("x", 129)), ""},
		{"with control characters", specimen.PhoneNote("0C1F\x1b2E3D"), "0C1F2E3D"},
		{"note cut short", damaged, ""},
		{"note of another form", foreign, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := noted(tt.note)
			heif := specimen.HEIF{Width: 8, Height: 8, Exif: e.Block()}
			for format, file := range map[string][]byte{"jpeg": jpegWith(e), "heic": heif.Bytes()} {
				info := read(t, file)
				if info.ContentID != tt.want || info.Make != "Oak & Iron" {
					t.Errorf("%s: %q of %q, want %q", format, info.ContentID, info.Make, tt.want)
				}
			}
		})
	}
}

func TestReadVideo(t *testing.T) {
	const content, created = "com.apple.quicktime.content.identifier", "com.apple.quicktime.creationdate"
	// 1904-01-01 to 2024-05-17 12:30:00 UTC, ISO/IEC 14496-12, 8.2.2.
	made := time.Date(2024, 5, 17, 12, 30, 0, 0, time.UTC)
	film := func(date string) []byte {
		return specimen.Film{
			Made: uint64(made.Sub(time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)) / time.Second), Names: []string{content, created},
			Values: map[string]string{content: strings.ToLower(pairID), created: date},
		}.Bytes()
	}
	wall := time.Date(2024, 5, 17, 14, 30, 0, 0, time.UTC)
	tests := []struct {
		date string
		want metadata.Taken
	}{
		{"2024-05-17T14:30:00+0200", metadata.Taken{RawOffset: "+0200", Wall: wall, Offset: "+02:00", From: "creationdate"}},
		{"2024-05-17T14:30:00+02:00", metadata.Taken{RawOffset: "+02:00", Wall: wall, Offset: "+02:00", From: "creationdate"}},
		{"2024-05-17T14:30:00Z", metadata.Taken{RawOffset: "Z", Wall: wall, Offset: "+00:00", From: "creationdate"}},
		{"2024-05-17T14:30:00", metadata.Taken{Wall: wall, From: "creationdate"}},
		{"2024-05-17T14:30:00.250-0330", metadata.Taken{RawSubSec: "250", RawOffset: "-0330", Wall: wall.Add(250 * time.Millisecond), Offset: "-03:30", From: "creationdate"}},
		{"2024-02-30T14:30:00Z", metadata.Taken{}},
		{"yesterday", metadata.Taken{}},
		{"", metadata.Taken{}},
	}
	for _, tt := range tests {
		t.Run(tt.date, func(t *testing.T) {
			file := film(tt.date)
			v, err := metadata.ReadVideo(bytes.NewReader(file), int64(len(file)))
			if err != nil {
				t.Fatal(err)
			}
			tt.want.Raw = tt.date
			if want := (metadata.Video{ContentID: pairID, Taken: tt.want, Made: made}); v != want {
				t.Errorf("got  %+v\nwant %+v", v, want)
			}
			if _, err := metadata.Read(bytes.NewReader(file), int64(len(file))); !errors.Is(err, metadata.ErrNotPhoto) {
				t.Errorf("read as a photo: error %v, want %v", err, metadata.ErrNotPhoto)
			}
		})
	}
}

func TestReadVideoErrors(t *testing.T) {
	for name, file := range map[string][]byte{"nothing": nil, "text": []byte("a note"), "photo": jpegWith(full)} {
		if _, err := metadata.ReadVideo(bytes.NewReader(file), int64(len(file))); !errors.Is(err, metadata.ErrNotVideo) {
			t.Errorf("%s: error %v, want %v", name, err, metadata.ErrNotVideo)
		}
	}
	closed := errors.New("the card was pulled out")
	if _, err := metadata.ReadVideo(brokenDisk{closed}, 1<<20); !errors.Is(err, closed) || errors.Is(err, metadata.ErrNotVideo) {
		t.Errorf("error %v, want %v", err, closed)
	}
}

// TestFilmAsExiftoolReadsIt has exiftool read the film of these tests, so that it
// is not our own idea of one.
func TestFilmAsExiftoolReadsIt(t *testing.T) {
	exiftool, err := exec.LookPath("exiftool")
	if err != nil {
		t.Skip("exiftool is not installed: install it to have it read the films and maker notes of these tests")
	}
	dir := t.TempDir()
	copyAll(t, dir, map[string][]byte{
		"film.mov": specimen.Film{
			Made: 3798801000, Names: []string{"com.apple.quicktime.content.identifier", "com.apple.quicktime.creationdate"},
			Values: map[string]string{"com.apple.quicktime.content.identifier": pairID, "com.apple.quicktime.creationdate": "2024-05-17T14:30:00+0200"},
		}.Bytes(),
		"still.jpg": jpegWith(specimen.Exif{Main: []specimen.Tag{specimen.Text(0x010f, "Apple")}, Exif: []specimen.Tag{specimen.PhoneNote(pairID)}}),
	})
	// MediaGroupUUID is what exiftool called tag 0x0011 of this note before 12.58.
	for name, want := range map[string]string{"film.mov": pairID + " 2024:05:17 14:30:00+02:00", "still.jpg": pairID} {
		out, err := exec.Command(exiftool, "-m", "-p", "$ContentIdentifier$MediaGroupUUID $CreationDate", filepath.Join(dir, name)).Output()
		if got := strings.TrimSpace(string(out)); err != nil || got != want {
			t.Errorf("%s: exiftool reads %q, want %q (%v)", name, got, want, err)
		}
	}
}

// TestContentIDOfRealPhotos compares with exiftool, which knows maker notes.
func TestContentIDOfRealPhotos(t *testing.T) {
	dir := corpusDir(t)
	exiftool, err := exec.LookPath("exiftool")
	if err != nil {
		t.Skip("exiftool is not installed: install it to compare the identifiers of real photos")
	}
	// Its exit code tells of photos it warns about.
	out, _ := exec.Command(exiftool, "-q", "-q", "-m", "-r", "-if", "$MakerNotes:MediaGroupUUID or $MakerNotes:ContentIdentifier",
		"-p", "$Directory/$FileName|$MakerNotes:ContentIdentifier$MakerNotes:MediaGroupUUID",
		filepath.Join(dir, "exif"), filepath.Join(dir, "heic")).Output()
	want := map[string]string{}
	for line := range strings.Lines(string(out)) {
		path, id, _ := strings.Cut(strings.TrimSpace(line), "|")
		want[path] = strings.ToUpper(id)
	}
	for _, sub := range []string{"exif", "heic"} {
		files, err := filepath.Glob(filepath.Join(dir, sub, "*"))
		if err != nil || len(files) == 0 {
			t.Fatalf("%s: %d files, error %v", sub, len(files), err)
		}
		for _, path := range files {
			if got := readInfo(t, path).ContentID; got != want[path] {
				t.Errorf("%s: %q, want %q", path, got, want[path])
			}
		}
	}
	t.Logf("%d photos have one", len(want))
}
