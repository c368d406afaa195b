package drawn

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"hash/crc32"
	"image"
	"image/jpeg"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rwcarlsen/goexif/exif"
	"github.com/rwcarlsen/goexif/tiff"
)

// text reads a tag the way goexif has it, "" when it is not there.
func text(x *exif.Exif, f exif.FieldName) string {
	tag, err := x.Get(f)
	if err != nil {
		return ""
	}
	s, _ := tag.StringVal()
	return s
}

// newer reads the tags goexif does not know from the Exif IFD itself.
func newer(t *testing.T, x *exif.Exif, id uint16) string {
	t.Helper()
	ptr, err := x.Get(exif.ExifIFDPointer)
	if err != nil {
		t.Fatal(err)
	}
	at, err := ptr.Int(0)
	if err != nil {
		t.Fatal(err)
	}
	r := bytes.NewReader(x.Raw)
	if _, err := r.Seek(int64(at), 0); err != nil {
		t.Fatal(err)
	}
	dir, _, err := tiff.DecodeDir(r, binary.LittleEndian)
	if err != nil {
		t.Fatal(err)
	}
	for _, tag := range dir.Tags {
		if tag.Id == id {
			s, _ := tag.StringVal()
			return s
		}
	}
	return ""
}

func checkTruth(t *testing.T, p Photo, x *exif.Exif) {
	t.Helper()
	check := func(what, got, want string) {
		t.Helper()
		if got != want {
			t.Errorf("%s: %s: got %q, want %q", p.Name, what, got, want)
		}
	}
	phone := strings.HasPrefix(p.Camera, "Lumora")
	check("camera", text(x, exif.Make)+" "+text(x, exif.Model), p.Camera)
	check("time", text(x, exif.DateTimeOriginal), p.Taken.Format("2006:01:02 15:04:05"))
	subSec, offset, serial := "", "", "31074415"
	if phone {
		subSec, offset, serial = p.Taken.Format(".000")[1:], "+02:00", ""
	}
	check("sub-seconds", text(x, exif.SubSecTimeOriginal), subSec)
	check("offset", newer(t, x, tagOffset), offset)
	check("body serial", newer(t, x, tagBodySerial), serial)
	o, err := x.Get(exif.Orientation)
	if err != nil {
		t.Fatalf("%s: %v", p.Name, err)
	}
	if got, _ := o.Int(0); got != max(1, p.shot.pose.turn) {
		t.Errorf("%s: orientation: got %d, want %d", p.Name, got, max(1, p.shot.pose.turn))
	}
}

// An independent library reads back what was written, from the damaged file too.
func TestEXIFOfEveryPhoto(t *testing.T) {
	for _, p := range small(t).Photos {
		raw := p.Bytes
		if strings.HasSuffix(p.Name, ".PNG") {
			raw = exifChunk(t, raw)
		}
		x, err := exif.Decode(bytes.NewReader(raw))
		if err != nil {
			t.Errorf("%s: %v", p.Name, err)
			continue
		}
		checkTruth(t, p, x)
	}
}

// exifChunk walks a PNG's chunks and checks their sums on the way
// (PNG third edition, 5.3 and 5.5).
func exifChunk(t *testing.T, png []byte) []byte {
	t.Helper()
	var found []byte
	for b := png[8:]; len(b) >= 12; {
		n := int(binary.BigEndian.Uint32(b))
		if got, want := crc32.ChecksumIEEE(b[4:8+n]), binary.BigEndian.Uint32(b[8+n:]); got != want {
			t.Errorf("chunk %s: sum %08x, want %08x", b[4:8], got, want)
		}
		if string(b[4:8]) == "eXIf" {
			found = b[8 : 8+n]
		}
		b = b[12+n:]
	}
	if found == nil {
		t.Fatal("no eXIf chunk")
	}
	return found
}

func TestExiftoolAgrees(t *testing.T) {
	exiftool := tool(t, "exiftool")
	dir := t.TempDir()
	h := small(t)
	for _, p := range h.Photos {
		if err := os.WriteFile(filepath.Join(dir, p.Name), p.Bytes, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	// It leaves with 1 when one file has no end; what it says is judged below.
	out, err := exec.Command(exiftool, "-j", "-n", "-Make", "-Model", "-Orientation", "-DateTimeOriginal",
		"-SubSecTimeOriginal", "-OffsetTimeOriginal", "-SerialNumber", "-Warning", "-Error", dir).Output()
	if len(out) == 0 {
		t.Fatal(err)
	}
	var rows []map[string]any
	if err := json.Unmarshal(out, &rows); err != nil {
		t.Fatal(err)
	}
	by := map[string]map[string]any{}
	for _, r := range rows {
		by[filepath.Base(r["SourceFile"].(string))] = r
	}
	for _, p := range h.Photos {
		r := by[p.Name]
		if r["Warning"] != nil && !p.Damaged || r["Error"] != nil {
			t.Errorf("%s: exiftool says %v %v", p.Name, r["Warning"], r["Error"])
		}
		k := cameras()[p.shot.kit]
		want := map[string]any{"Make": k.maker, "Model": k.model, "Orientation": float64(max(1, p.shot.pose.turn)),
			"DateTimeOriginal": p.Taken.Format("2006:01:02 15:04:05")}
		if k.phone {
			want["OffsetTimeOriginal"] = "+02:00"
		} else {
			want["SerialNumber"] = 31074415.0
		}
		for f, w := range want {
			if r[f] != w {
				t.Errorf("%s: %s: got %v, want %v", p.Name, f, r[f], w)
			}
		}
	}
}

func blank(t *testing.T) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 8, 8)), nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestWithEXIFLeavesOutWhatIsEmpty(t *testing.T) {
	b, err := WithEXIF(blank(t), EXIF{Model: "Box"})
	if err != nil {
		t.Fatal(err)
	}
	x, err := exif.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	if got := text(x, exif.Model); got != "Box" {
		t.Errorf("model: got %q", got)
	}
	for _, f := range []exif.FieldName{exif.Make, exif.Orientation, exif.DateTimeOriginal, exif.SubSecTimeOriginal} {
		if _, err := x.Get(f); err == nil {
			t.Errorf("%s is there, though it was empty", f)
		}
	}
}

func TestWithEXIFKeepsThePixels(t *testing.T) {
	plain := blank(t)
	b, err := WithEXIF(plain, EXIF{Make: "M", Model: "a longer model name", Taken: time.Unix(0, 0), SubSec: "1", Orientation: 8})
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasSuffix(b, plain[2:]) {
		t.Error("the bytes after the start of the JPEG changed")
	}
	if _, err := jpeg.Decode(bytes.NewReader(b)); err != nil {
		t.Error(err)
	}
}

func TestWithEXIFRefuses(t *testing.T) {
	once, err := WithEXIF(blank(t), EXIF{Make: "M"})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		file []byte
		e    EXIF
	}{
		{"nothing", nil, EXIF{}},
		{"a PNG", []byte("\x89PNG\r\n\x1a\n"), EXIF{}},
		{"EXIF twice", once, EXIF{}},
		{"a line break in the maker", blank(t), EXIF{Make: "a\nb"}},
		{"an accent, which ASCII lacks", blank(t), EXIF{Model: "é"}},
		{"orientation 9", blank(t), EXIF{Orientation: 9}},
		{"orientation -1", blank(t), EXIF{Orientation: -1}},
		{"a name longer than a segment", blank(t), EXIF{Make: strings.Repeat("m", 1<<16)}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := WithEXIF(c.file, c.e); err == nil || !strings.HasPrefix(err.Error(), "write exif: ") {
				t.Errorf("got %v, want an error that says what is wrong", err)
			}
		})
	}
	if _, err := pngWithEXIF(once, EXIF{}); err == nil {
		t.Error("a JPEG passed for a PNG")
	}
	if _, err := pngWithEXIF([]byte("\x89PNG\r\n\x1a\n0123456789012345678901234"), EXIF{Orientation: 10}); err == nil {
		t.Error("orientation 10 was written into a PNG")
	}
}

// Whatever is accepted must be readable by the independent library.
func FuzzWithEXIF(f *testing.F) {
	f.Add("Lumora", "Pocket 9", "", "417", "+02:00", 6, int64(1778328123))
	f.Add("", "", "", "", "", 0, int64(0))
	f.Add("M", "MM", "MMM", "0", "Z", 1, int64(-1))
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 8, 8)), nil); err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, maker, model, serial, sub, offset string, o int, at int64) {
		taken := time.Unix(at%(1<<36), 0).UTC()
		out, err := WithEXIF(b.Bytes(), EXIF{maker, model, serial, o, taken, sub, offset})
		if err != nil {
			return
		}
		x, err := exif.Decode(bytes.NewReader(out))
		if err != nil {
			t.Fatal(err)
		}
		if got := text(x, exif.Model); got != model {
			t.Errorf("model: got %q, want %q", got, model)
		}
		if got := newer(t, x, tagBodySerial); got != serial {
			t.Errorf("serial: got %q, want %q", got, serial)
		}
	})
}
