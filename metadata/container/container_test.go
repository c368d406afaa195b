package container_test

import (
	"bytes"
	"errors"
	"testing"

	"haulbook/metadata/container"
	"haulbook/metadata/container/specimen"
)

// said is what the specimens' Exif blocks say; maker says it in one word.
var said = specimen.Exif{
	Main: []specimen.Tag{specimen.Text(0x010f, maker), specimen.Number(0x0112, 6)},
	Exif: []specimen.Tag{specimen.Text(0x9003, "2024:05:17 14:30:00"), specimen.Text(0xa431, "000123")},
	GPS:  []specimen.Tag{specimen.Text(1, "N"), specimen.Rationals(2, 47, 1, 30, 1, 0, 1)},
}

const maker = "Oak & Iron"

func read(t *testing.T, file []byte) container.Contents {
	t.Helper()
	c, err := container.Read(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// value gives the text of an entry, "" when there is none.
func value(entries []container.Entry, tag uint16) string {
	for _, e := range entries {
		if e.Tag == tag {
			return string(bytes.TrimRight(e.Value, "\x00"))
		}
	}
	return ""
}

// whole lists a file of every kind, all of the same size, all with said.
func whole() map[string][]byte {
	block := said.Block()
	big := said
	big.BigEndian = true
	heif := specimen.HEIF{Width: 48, Height: 32, Exif: block}
	idat, item := heif, heif
	idat.Method, idat.IlocVersion = specimen.InIdat, 1
	item.Method, item.IlocVersion = specimen.InItem, 2
	split, skip, avif := heif, heif, heif
	split.Split = true
	skip.Skip = []byte("Exif\x00\x00")
	avif.Brand = "avif"
	return map[string][]byte{
		"jpeg":               specimen.JPEG(48, 32, specimen.ExifSegment(block)),
		"jpeg big-endian":    specimen.JPEG(48, 32, specimen.ExifSegment(big.Block())),
		"png":                specimen.PNG(48, 32, specimen.Chunk("eXIf", block)),
		"webp":               specimen.WebP(48, 32, block),
		"webp with name":     specimen.WebP(48, 32, append([]byte("Exif\x00\x00"), block...)),
		"tiff":               specimen.TIFF(48, 32, said),
		"tiff big-endian":    specimen.TIFF(48, 32, big),
		"heic":               heif.Bytes(),
		"heic in idat":       idat.Bytes(),
		"heic in item":       item.Bytes(),
		"heic in two pieces": split.Bytes(),
		"heic with name":     skip.Bytes(),
		"avif":               avif.Bytes(),
		"raw":                specimen.RawBoxes(48, 32, said),
		"raw around jpeg":    specimen.RawAroundJPEG(specimen.JPEG(48, 32, specimen.ExifSegment(block))),
	}
}

func TestReadFindsSizeAndExif(t *testing.T) {
	for name, file := range whole() {
		t.Run(name, func(t *testing.T) {
			c := read(t, file)
			if c.Width != 48 || c.Height != 32 {
				t.Errorf("size %dx%d, want 48x32", c.Width, c.Height)
			}
			if c.Damage != "" {
				t.Errorf("damage %q, want none", c.Damage)
			}
			for tag, want := range map[uint16]string{0x010f: maker, 0x0112: "\x00\x06"} {
				if got := value(c.Exif.Main, tag); got != want {
					t.Errorf("main %#x %q, want %q", tag, got, want)
				}
			}
			for tag, want := range map[uint16]string{0x9003: "2024:05:17 14:30:00", 0xa431: "000123"} {
				if got := value(c.Exif.Exif, tag); got != want {
					t.Errorf("exif %#x %q, want %q", tag, got, want)
				}
			}
			if got, want := value(c.Exif.GPS, 2), "\x00\x00\x00\x2f\x00\x00\x00\x01\x00\x00\x00\x1e\x00\x00\x00\x01\x00\x00\x00\x00\x00\x00\x00\x01"; got != want {
				t.Errorf("latitude %x, want %x", got, want)
			}
		})
	}
}

func TestReadRefusesWhatIsNoPhoto(t *testing.T) {
	tests := map[string]string{
		"nothing":       "",
		"one byte":      "\xff",
		"text":          "a letter about a photo",
		"drawing":       "<svg xmlns='http://www.w3.org/2000/svg'/>",
		"archive":       "PK\x05\x06",
		"gif":           "GIF89a\x01\x00\x01\x00\x80",
		"film":          string(specimen.Box("ftyp", []byte("isom\x00\x00\x02\x00isomiso2avc1mp41"))),
		"wave":          "RIFF\x24\x00\x00\x00WAVEfmt ",
		"zeros":         string(make([]byte, 4096)),
		"junk in front": "junk" + string(specimen.JPEG(8, 8)),
	}
	for name, file := range tests {
		t.Run(name, func(t *testing.T) {
			_, err := container.Read(bytes.NewReader([]byte(file)), int64(len(file)))
			if !errors.Is(err, container.ErrNotPhoto) {
				t.Errorf("error %v, want %v", err, container.ErrNotPhoto)
			}
			if got := container.Sniff([]byte(file)); got != "" {
				t.Errorf("sniffed %q, want nothing", got)
			}
		})
	}
}

// failing is a disk that gives up behind some bytes.
type failing struct {
	b   []byte
	err error
}

func (f failing) ReadAt(p []byte, off int64) (int, error) {
	if off+int64(len(p)) > int64(len(f.b)) {
		return 0, f.err
	}
	return copy(p, f.b[off:]), nil
}

func TestReadPassesOnWhatTheDiskSays(t *testing.T) {
	disk := errors.New("the disk gave up")
	for _, kept := range []int{0, 512, 40 << 10} {
		file := append(specimen.JPEG(8, 8)[:300], make([]byte, 80<<10)...)
		_, err := container.Read(failing{file[:kept], disk}, int64(len(file)))
		if !errors.Is(err, disk) {
			t.Errorf("%d bytes readable: error %v, want %v", kept, err, disk)
		}
	}
	// The same inside of a part: a raw file's JPEG.
	file := specimen.RawAroundJPEG(append(specimen.JPEG(8, 8)[:300], make([]byte, 80<<10)...))
	if _, err := container.Read(failing{file[:40<<10], disk}, int64(len(file))); !errors.Is(err, disk) {
		t.Errorf("inside of a raw file: error %v, want %v", err, disk)
	}
}

func TestReadStopsAtTheRealEnd(t *testing.T) {
	file := specimen.JPEG(8, 8)
	c, err := container.Read(bytes.NewReader(file[:200]), int64(len(file)))
	if err != nil || c.State != container.Incomplete {
		t.Errorf("state %v, error %v; want incomplete, as the file became shorter", c.State, err)
	}
}

func TestComplete(t *testing.T) {
	for name, file := range whole() {
		t.Run(name, func(t *testing.T) {
			want := container.Whole
			if name == "raw around jpeg" { // nothing says how long the sensor data is
				want = container.Unknown
			}
			if got := container.Complete(bytes.NewReader(file), int64(len(file))); got != want {
				t.Errorf("whole file: %v, want %v", got, want)
			}
			// At whatever byte a copy has come to, it is never taken as whole.
			for n := range len(file) {
				got := container.Complete(bytes.NewReader(file[:n]), int64(n))
				if got == container.Whole {
					t.Fatalf("first %d of %d bytes: whole", n, len(file))
				}
				if n >= 64 && got != container.Incomplete && want == container.Whole {
					t.Fatalf("first %d of %d bytes: %v, want incomplete", n, len(file), got)
				}
			}
		})
	}
}

func TestCompleteAllowsBytesBehindTheEnd(t *testing.T) {
	for _, name := range []string{"jpeg", "png", "webp", "tiff", "heic"} {
		file := append(whole()[name], "\x00\x00\x00\x00 something a phone hung on"...)
		if got := container.Complete(bytes.NewReader(file), int64(len(file))); got != container.Whole {
			t.Errorf("%s: %v, want whole", name, got)
		}
		if c := read(t, file); c.Damage != "" {
			t.Errorf("%s: damage %q, want none", name, c.Damage)
		}
	}
}

func TestCompleteWaitsForContent(t *testing.T) {
	// A share that shows the full size before the content has come.
	for name, file := range whole() {
		blank := make([]byte, len(file))
		if got := container.Complete(bytes.NewReader(blank), int64(len(blank))); got != container.Incomplete {
			t.Errorf("%s as zeros: %v, want incomplete", name, got)
		}
	}
	half := specimen.JPEG(48, 32)
	clear(half[len(half)/2:])
	if got := container.Complete(bytes.NewReader(half), int64(len(half))); got != container.Incomplete {
		t.Errorf("jpeg with zeros from the middle on: %v, want incomplete", got)
	}
	// The boxes of a HEIC stand in front; what they promise may be zeros still.
	heic := specimen.HEIF{Width: 48, Height: 32, Exif: append(said.Block(), make([]byte, 2000)...)}.Bytes()
	if got := container.Complete(bytes.NewReader(heic), int64(len(heic))); got != container.Unknown {
		t.Errorf("heic that ends in zeros: %v, want unknown", got)
	}
	if c := read(t, heic); c.Damage != "" {
		t.Errorf("heic that ends in zeros: damage %q, want none", c.Damage)
	}
	text := []byte("no photo at all")
	if got := container.Complete(bytes.NewReader(text), int64(len(text))); got != container.Unknown {
		t.Errorf("text: %v, want unknown", got)
	}
}
