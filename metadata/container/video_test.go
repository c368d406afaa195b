package container_test

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"haulbook/metadata/container"
	"haulbook/metadata/container/specimen"
)

const (
	keyContent = "com.apple.quicktime.content.identifier"
	keyCreated = "com.apple.quicktime.creationdate"
)

// pair is a film as phones write it beside a still.
func pair() specimen.Film {
	return specimen.Film{
		Made:  3798801000,
		Names: []string{"com.example.other", keyContent, keyCreated},
		Values: map[string]string{
			"com.example.other": "x", keyContent: "0C1F2E3D-4B5A-6978-8796-A5B4C3D2E1F0", keyCreated: "2024-05-17T14:30:00+0200",
		},
	}
}

func TestReadVideo(t *testing.T) {
	whole := container.Video{ContentID: pair().Values[keyContent], Created: pair().Values[keyCreated], Made: int64(pair().Made)}
	iso, wide, unnamed, without, old := pair(), pair(), pair(), pair(), pair()
	iso.ISO, iso.Brand = true, "mp42"
	wide.Wide = true
	unnamed.Names = nil
	without.Values = map[string]string{keyCreated: "2024"}
	old.Brand = "-"
	long := pair()
	long.Values[keyContent] = strings.Repeat("x", 1000)
	tests := []struct {
		name string
		file []byte
		want container.Video
	}{
		{"quicktime", pair().Bytes(), whole},
		{"mp4", iso.Bytes(), whole},
		{"times of eight bytes", wide.Bytes(), whole},
		{"no names", unnamed.Bytes(), container.Video{Made: whole.Made}},
		{"names without values", without.Bytes(), container.Video{Created: "2024", Made: whole.Made}},
		{"without a brand", old.Bytes(), whole},
		{"value too long to be one", long.Bytes(), container.Video{Created: whole.Created, Made: whole.Made}},
		{"names that do not add up", patch(pair().Bytes(), "keys", 12, 0xff), container.Video{Made: whole.Made}},
		{"value of a name that is not there", patch(pair().Bytes(), "ilst", 8, 0, 0, 0, 9), container.Video{ContentID: whole.ContentID, Created: whole.Created, Made: whole.Made}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := container.ReadVideo(bytes.NewReader(tt.file), int64(len(tt.file)))
			if err != nil || got != tt.want {
				t.Errorf("%+v, error %v; want %+v", got, err, tt.want)
			}
			if f := container.Sniff(tt.file); f != "" {
				t.Errorf("sniffed as a photo, %q", f)
			}
			if !container.SniffVideo(tt.file[:32]) {
				t.Error("not sniffed as a film")
			}
		})
	}
}

func TestNoVideo(t *testing.T) {
	film := pair().Bytes()
	for name, file := range map[string][]byte{
		"nothing":        nil,
		"text":           []byte("a note about a film"),
		"jpeg":           specimen.JPEG(8, 8),
		"heic":           specimen.HEIF{Width: 8, Height: 8}.Bytes(),
		"sequence":       specimen.Film{Brand: "msf1"}.Bytes(),
		"without a moov": film[:bytes.Index(film, []byte("moov"))-4],
	} {
		if v, err := container.ReadVideo(bytes.NewReader(file), int64(len(file))); !errors.Is(err, container.ErrNotVideo) || v != (container.Video{}) {
			t.Errorf("%s: %+v, error %v; want %v", name, v, err, container.ErrNotVideo)
		}
	}
	if _, err := container.Read(bytes.NewReader(film), int64(len(film))); !errors.Is(err, container.ErrNotPhoto) {
		t.Errorf("film read as a photo: error %v, want %v", err, container.ErrNotPhoto)
	}
}
