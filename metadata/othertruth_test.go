package metadata_test

import (
	"bytes"
	"encoding/json"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"haulbook/metadata"
)

func readInfo(t *testing.T, path string) metadata.Info {
	t.Helper()
	b := readFile(t, path)
	info, err := metadata.Read(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return info
}

// TestExpectedOfTheDecoder compares with the values that the decoder's authors
// expect of their own sample photos: a truth that exiftool had no part in.
func TestExpectedOfTheDecoder(t *testing.T) {
	dir := corpusDir(t)
	compared := 0
	for _, row := range readTruth(t, filepath.Join(dir, "goexif_expected.tsv")) {
		info := readInfo(t, filepath.Join(dir, row["path"]))
		got := ""
		switch row["field"] {
		case "Make":
			got = info.Make
		case "Model":
			got = info.Model
		case "DateTimeOriginal":
			got = info.Taken.Raw
		case "SubSecTimeOriginal":
			got = info.Taken.RawSubSec
		case "Orientation":
			got = strconv.Itoa(info.ExifOrientation)
		default:
			continue
		}
		var value any
		if err := json.Unmarshal([]byte(row["expected_json"]), &value); err != nil {
			t.Fatalf("%s %s: %v", row["path"], row["field"], err)
		}
		want := strings.TrimSpace(strings.Trim(row["expected_json"], `"`))
		if s, ok := value.(string); ok {
			want = strings.TrimSpace(s)
		}
		compared++
		if strings.TrimSpace(got) != want {
			t.Errorf("%s: %s %q, want %q", row["path"], row["field"], got, want)
		}
	}
	if compared < 100 {
		t.Errorf("%d facts compared, want the table's hundred and more", compared)
	}
	t.Logf("%d facts", compared)
}

// TestWritten compares with what was written into drawn photos on purpose.
func TestWritten(t *testing.T) {
	dir := corpusDir(t)
	written := map[string]map[string]string{}
	for _, row := range readTruth(t, filepath.Join(dir, "synth_truth.tsv")) {
		if row["tag"] == "(none)" {
			continue
		}
		if written[row["path"]] == nil {
			written[row["path"]] = map[string]string{}
		}
		written[row["path"]][row["tag"]] = row["value"]
	}
	for file, want := range written {
		info := readInfo(t, filepath.Join(dir, file))
		from, raw, subSec := "DateTimeOriginal", want["DateTimeOriginal"], want["SubSecTimeOriginal"]
		if raw == "" {
			from, raw, subSec = "CreateDate", want["CreateDate"], want["SubSecTimeDigitized"]
		}
		if raw == "" {
			from = ""
		}
		if got := info.Taken; got.Raw != raw || got.RawSubSec != subSec || got.From != from {
			t.Errorf("%s: taken %q %q from %q, want %q %q from %q", file, got.Raw, got.RawSubSec, got.From, raw, subSec, from)
		}
		if got, want := wallText(info.Taken), raw+pointed(subSec); got != want {
			t.Errorf("%s: wall %q, want %q", file, got, want)
		}
		offset := want["OffsetTimeOriginal"]
		if strings.Contains(file, "garbage") || strings.Contains(file, "blank") {
			offset = ""
		}
		if info.Taken.Offset != offset {
			t.Errorf("%s: offset %q, want %q", file, info.Taken.Offset, offset)
		}
		if serial := strings.TrimSpace(want["SerialNumber"]); info.BodySerial != serial {
			t.Errorf("%s: serial %q, want %q", file, info.BodySerial, serial)
		}
	}
	t.Logf("%d photos", len(written))
}

// wallText is the wall clock in Exif's form with all digits of the second.
func wallText(taken metadata.Taken) string {
	if taken.Wall.IsZero() {
		return ""
	}
	return taken.Wall.Format("2006:01:02 15:04:05.999999999")
}

// pointed is a part of a second behind its point, without zeros at the end.
func pointed(subSec string) string {
	s := strings.TrimRight(strings.TrimSpace(subSec), "0")
	if s == "" {
		return ""
	}
	return "." + s
}

// TestWallOfEveryPhoto parses the times of the truth by the standard library.
func TestWallOfEveryPhoto(t *testing.T) {
	dir := corpusDir(t)
	known, unknown := 0, 0
	for _, row := range readTruth(t, filepath.Join(dir, "truth_exif.tsv")) {
		raw := row.exifValue("DateTimeOriginal", "DateTimeOriginal")
		if strings.HasPrefix(row["path"], "malformed/") || raw == "" {
			continue
		}
		taken := readInfo(t, filepath.Join(dir, row["path"])).Taken
		wall, err := time.Parse("2006:01:02 15:04:05", raw)
		if err != nil {
			unknown++
			if !taken.Wall.IsZero() {
				t.Errorf("%s: %q gave %v, want unknown", row["path"], raw, taken.Wall)
			}
			continue
		}
		known++
		if got := taken.Wall.Truncate(time.Second); !got.Equal(wall) || taken.Wall.Location() != time.UTC {
			t.Errorf("%s: %q gave %v, want %v", row["path"], raw, taken.Wall, wall)
		}
	}
	t.Logf("%d known, %d unknown", known, unknown)
}
