package container_test

import (
	"testing"

	"haulbook/metadata/container"
	"haulbook/metadata/container/specimen"
)

func TestMini(t *testing.T) {
	block := specimen.Exif{Main: []specimen.Tag{specimen.Text(0x010f, maker)}}.Block()
	tests := []struct {
		name  string
		mini  specimen.Mini
		maker string
		state container.Completeness
	}{
		{"small", specimen.Mini{Width: 100, Height: 80}, "", container.Whole},
		{"large", specimen.Mini{Width: 4000, Height: 3000, Orientation: 6}, "", container.Whole},
		{"with Exif", specimen.Mini{Width: 4000, Height: 3000, Exif: block}, maker, container.Whole},
		{"with settings", specimen.Mini{Width: 300, Height: 200, Settings: []byte("how to decode"), Exif: block}, maker, container.Whole},
		{"with alpha", specimen.Mini{Width: 300, Height: 200, Alpha: true, Exif: block}, maker, container.Whole},
		{"with colours", specimen.Mini{Width: 300, Height: 200, Colours: true, Exif: block}, maker, container.Whole},
		{"avif", specimen.Mini{Brand: "avif", Width: 300, Height: 200, Orientation: 3, Exif: block}, maker, container.Whole},
		{"draft, small", specimen.Mini{Draft: true, Width: 100, Height: 80, Exif: block}, maker, container.Whole},
		{"draft, large", specimen.Mini{Draft: true, Width: 4000, Height: 3000, Orientation: 8, Exif: block}, maker, container.Whole},
		{"light levels: size alone", specimen.Mini{Width: 4000, Height: 3000, Orientation: 5, HDR: true, Exif: block}, "", container.Whole},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			file := tt.mini.Bytes()
			c := read(t, file)
			if c.Width != tt.mini.Width || c.Height != tt.mini.Height || c.Turn != max(tt.mini.Orientation, 1) {
				t.Errorf("%dx%d turned %d, want %dx%d turned %d", c.Width, c.Height, c.Turn, tt.mini.Width, tt.mini.Height, max(tt.mini.Orientation, 1))
			}
			if got := value(c.Exif.Main, 0x010f); got != tt.maker {
				t.Errorf("maker %q, want %q", got, tt.maker)
			}
			if c.State != tt.state || c.Damage != "" {
				t.Errorf("%v, damage %q; want %v, none", c.State, c.Damage, tt.state)
			}
			want := container.HEIC
			if tt.mini.Brand == "avif" {
				want = container.AVIF
			}
			if c.Format != want {
				t.Errorf("format %q, want %q", c.Format, want)
			}
			if cut := read(t, file[:len(file)-1]); cut.State == container.Whole {
				t.Error("cut by a byte: whole, want not")
			}
		})
	}
}

func TestMiniCutInItsHead(t *testing.T) {
	file := specimen.Mini{Width: 4000, Height: 3000}.Bytes()
	for n := 24; n < 32; n++ { // within the bits
		c := read(t, file[:n])
		if c.State != container.Incomplete || c.Damage == "" {
			t.Errorf("%d bytes: %v, damage %q; want incomplete", n, c.State, c.Damage)
		}
	}
}

func TestFilmGivesTheSize(t *testing.T) {
	// A sequence without a still: its size stands in its largest track (ISO/IEC
	// 14496-12, 8.3.2).
	for _, wide := range []bool{false, true} {
		film := specimen.Film{Brand: "msf1", Width: 640, Height: 480, Wide: wide}
		file := film.Bytes()
		if c := read(t, file); c.Width != 640 || c.Height != 480 || c.Damage != "" || c.State != container.Whole {
			t.Errorf("%dx%d, damage %q, %v; want 640x480, whole", c.Width, c.Height, c.Damage, c.State)
		}
		if c := read(t, file[:len(file)-30]); c.State != container.Incomplete {
			t.Errorf("cut: %v, want incomplete", c.State)
		}
	}
	// The still counts where there is one.
	both := append(specimen.HEIF{Width: 40, Height: 30}.Bytes(), specimen.Film{Width: 640, Height: 480}.Movie()...)
	if c := read(t, both); c.Width != 40 || c.Height != 30 {
		t.Errorf("%dx%d, want the still's 40x30", c.Width, c.Height)
	}
}
