package metadata_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"haulbook/metadata"
)

// corpusDir is a folder of real photos with tables of what exiftool 12.57 reads
// in them. It is large and not ours to pass on, so it lies outside the project.
func corpusDir(t *testing.T) string {
	t.Helper()
	dir := os.Getenv("HAULBOOK_CORPUS")
	if dir == "" {
		t.Skip("HAULBOOK_CORPUS is not set: point it at a folder with photos and truth_exif.tsv to compare with exiftool")
	}
	return dir
}

// truthRow is one line of a table, by column name.
type truthRow map[string]string

// readTruth reads a tab-separated table with a header line and the escapes
// \\ \t \n \r \uXXXX.
func readTruth(t *testing.T, path string) []truthRow {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimRight(string(b), "\n"), "\n")
	names := strings.Split(lines[0], "\t")
	var rows []truthRow
	for _, line := range lines[1:] {
		row := truthRow{}
		for i, v := range strings.Split(line, "\t") {
			row[names[i]] = unescape(t, v)
		}
		rows = append(rows, row)
	}
	return rows
}

func unescape(t *testing.T, s string) string {
	t.Helper()
	if !strings.Contains(s, `\`) {
		return s
	}
	s, err := strconv.Unquote(`"` + strings.ReplaceAll(s, `"`, `\"`) + `"`)
	if err != nil {
		t.Fatalf("truth %q: %v", s, err)
	}
	return s
}

// exifValue gives a column when it comes from the Exif directories: values from
// XMP, IPTC and maker notes are no demand on us.
func (r truthRow) exifValue(column, origin string) string {
	for _, g := range strings.Fields(r["groups"]) {
		name, group, _ := strings.Cut(g, "=")
		if name == origin && group != "IFD0" && group != "ExifIFD" && group != "GPS" {
			return ""
		}
	}
	return r[column]
}

// bodySerial is tag 0xA431: exiftool calls it SerialNumber where it stands in
// the Exif directory, and calls the maker notes' own numbers so as well.
func (r truthRow) bodySerial() string {
	if strings.Contains(r["groups"], "SerialNumber=ExifIFD") {
		return r["SerialNumber"]
	}
	return r.exifValue("BodySerialNumber", "BodySerialNumber")
}

// facts is what is compared, as text.
func (r truthRow) facts() map[string]string {
	orientation := r.exifValue("Orientation", "Orientation")
	if n, _ := strconv.Atoi(orientation); n < 1 || n > 8 {
		orientation = ""
	}
	return map[string]string{
		"DateTimeOriginal":   strings.TrimSpace(r.exifValue("DateTimeOriginal", "DateTimeOriginal")),
		"SubSecTimeOriginal": strings.TrimSpace(r.exifValue("SubSecTimeOriginal", "SubSecTimeOriginal")),
		"OffsetTimeOriginal": strings.TrimSpace(r.exifValue("OffsetTimeOriginal", "OffsetTimeOriginal")),
		"Make":               strings.TrimSpace(r.exifValue("Make", "Make")),
		"Model":              strings.TrimSpace(r.exifValue("Model", "Model")),
		"BodySerialNumber":   strings.TrimSpace(r.bodySerial()),
		"Orientation":        orientation,
		"GPSLatitude":        roundDegrees(r.exifValue("GPSLatitude", "GPSLatitude")),
		"GPSLongitude":       roundDegrees(r.exifValue("GPSLongitude", "GPSLatitude")),
		"GPSTime":            r.gpsTime(),
		"width":              strings.TrimPrefix(r["width"], "0"),
		"height":             strings.TrimPrefix(r["height"], "0"),
	}
}

// gpsTime puts the two GPS columns together where both are a date and a time.
func (r truthRow) gpsTime() string {
	text := strings.TrimSpace(r["GPSDateStamp"]) + " " + r["GPSTimeStamp"]
	at, err := time.Parse("2006:01:02 15:04:05.999999999", text)
	if err != nil {
		return ""
	}
	return at.Round(time.Millisecond).Format("2006:01:02 15:04:05.999")
}

// roundDegrees rounds to a tenth of a metre: exiftool prints 15 digits, the last
// of which are the printer's.
func roundDegrees(s string) string {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(v, 0) {
		return ""
	}
	return fmt.Sprintf("%.6f", v)
}

func infoFacts(info metadata.Info) map[string]string {
	number := func(n int) string {
		if n == 0 {
			return ""
		}
		return strconv.Itoa(n)
	}
	facts := map[string]string{
		"DateTimeOriginal":   strings.TrimSpace(info.Taken.Raw),
		"SubSecTimeOriginal": strings.TrimSpace(info.Taken.RawSubSec),
		"OffsetTimeOriginal": strings.TrimSpace(info.Taken.RawOffset),
		"Make":               info.Make,
		"Model":              info.Model,
		"BodySerialNumber":   info.BodySerial,
		"Orientation":        number(info.ExifOrientation),
		"width":              number(info.Width),
		"height":             number(info.Height),
		"GPSLatitude":        "",
		"GPSLongitude":       "",
		"GPSTime":            "",
	}
	if !info.GPSTime.IsZero() {
		facts["GPSTime"] = info.GPSTime.Format("2006:01:02 15:04:05.999")
	}
	if info.Taken.From == "CreateDate" {
		facts["DateTimeOriginal"], facts["SubSecTimeOriginal"] = "", ""
	}
	if p := info.Position; p != nil {
		facts["GPSLatitude"] = fmt.Sprintf("%.6f", p.Latitude)
		facts["GPSLongitude"] = fmt.Sprintf("%.6f", p.Longitude)
	}
	return facts
}

// explained lists the differences from exiftool that are meant: a pattern for
// the file, a blank, the fact.
var explained = map[string]string{
	"exif/meimages__rw2_Issue_419.rw2 damage":          "cut down to 368 bytes: exiftool warns as well",
	"exif/exiv2__*-pruned.CR3 damage":                  "the sensor data was cut out",
	"exif/exiv2__exiv2-bug1199.webp width":             "exiftool names the thumbnail's width; the picture chunk says 1200",
	"exif/exiv2__exiv2-bug1199.webp height":            "as its width",
	"exif/exiftool__*Raw.cr2 width":                    "exiftool names the small third page; the first is the photo",
	"exif/exiftool__*Raw.cr2 height":                   "as its width",
	"exif/exiftool__*Raw.cr3 width":                    "exiftool names the sensor with its margins; the main directory says 6000",
	"exif/exiftool__*Raw.cr3 height":                   "as its width",
	"exif/exiftool__DNG.dng width":                     "exiftool names the full-size preview; the sensor page is larger",
	"exif/exiftool__DNG.dng height":                    "as its width",
	"heic/libheif__lightning_mini.heif width":          "exiftool 12.57 does not know the short form of meta",
	"heic/libheif__lightning_mini.heif height":         "as its width",
	"exif/exifr__png_png_with_exif_and_gps.png width":  "exiftool lets XMP speak; IHDR says 1",
	"exif/exifr__png_png_with_exif_and_gps.png height": "as its width",
	"exif/exiv2__FurnaceCreekInn.jpg GPSTime":          "its date has the time behind it, which is taken off",
	"exif-synth/synth__hostile_3.jpg Model":            "control characters are dropped",
	"exif-synth/synth__hostile_5.jpg Model":            "control characters are dropped",
	"exif-synth/synth__hostile_6.jpg Model":            "characters that turn the text are dropped",
	"exif-synth/synth__gps_only_lat.jpg GPSLatitude":   "half a position is none",
}

// explanation finds the pattern that covers a file's fact, "" for none.
func explanation(t *testing.T, file, fact string) string {
	t.Helper()
	for pattern := range explained {
		match, err := path.Match(pattern, file+" "+fact)
		if err != nil {
			t.Fatal(err)
		}
		if match {
			return pattern
		}
	}
	return ""
}

func TestCorpus(t *testing.T) {
	dir := corpusDir(t)
	compared, agreed, used := map[string]int{}, map[string]int{}, map[string]bool{}
	check := func(file, fact, got, want string) {
		t.Helper()
		if got == "" && want == "" {
			return // agreeing on nothing would gild the count
		}
		compared[fact]++
		if got == want {
			agreed[fact]++
			return
		}
		pattern := explanation(t, file, fact)
		if pattern == "" {
			t.Errorf("%s: %s %q, want %q", file, fact, got, want)
		}
		used[pattern] = true
	}
	for _, row := range readTruth(t, filepath.Join(dir, "truth_exif.tsv")) {
		file := row["path"]
		if strings.HasPrefix(file, "malformed/") {
			continue
		}
		b := readFile(t, filepath.Join(dir, file))
		info, err := metadata.Read(bytes.NewReader(b), int64(len(b)))
		if err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		check(file, "damage", info.Damage, "")
		complete := metadata.Complete(bytes.NewReader(b), int64(len(b)))
		// A raw file need not say how long it is.
		if complete != metadata.Whole && info.Format != metadata.FormatRaw {
			t.Errorf("%s: complete %v, want %v", file, complete, metadata.Whole)
		}
		got := infoFacts(info)
		for fact, want := range row.facts() {
			check(file, fact, got[fact], want)
		}
	}
	total, same := 0, 0
	for fact, n := range compared {
		t.Logf("%-20s %4d of %4d agree", fact, agreed[fact], n)
		total, same = total+n, same+agreed[fact]
	}
	if same*1000 < total*995 {
		t.Errorf("%d of %d facts agree, want 99.5 %%", same, total)
	}
	// An explanation whose file is in the folder must still be needed.
	for pattern := range explained {
		name, _, _ := strings.Cut(pattern, " ")
		if files, err := filepath.Glob(filepath.Join(dir, name)); err != nil || len(files) > 0 && !used[pattern] {
			t.Errorf("%s: explained, but no difference (%v)", pattern, err)
		}
	}
}

func readFile(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}
