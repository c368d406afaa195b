package timing_test

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"haulbook/intake/timing"
	"haulbook/metadata"
)

// corpus is a folder with real photos and tables of what is true of them.
func corpus(t *testing.T) string {
	t.Helper()
	dir := os.Getenv("HAULBOOK_CORPUS")
	if dir == "" {
		t.Skip("HAULBOOK_CORPUS is not set: point it at a folder with photos and hauls_truth.tsv to resolve their times")
	}
	return dir
}

// takenBy reads what a photo says of its time.
func takenBy(t *testing.T, path string) metadata.Taken {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	info, err := metadata.Read(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return info.Taken
}

// TestCorpusHauls corrects cameras by the skew that hauls_truth.tsv gives and
// compares with the true local time there.
func TestCorpusHauls(t *testing.T) {
	dir := corpus(t)
	f, err := os.Open(filepath.Join(dir, "hauls_truth.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows := csv.NewReader(f)
	rows.Comma, rows.LazyQuotes = '\t', true
	table, err := rows.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column := map[string]int{}
	for i, name := range table[0] {
		column[name] = i
	}
	compared, skewed := 0, 0
	for _, row := range table[1:] {
		truth := row[column["true_local_time"]]
		at, err := time.Parse(time.RFC3339Nano, truth)
		skew, err2 := strconv.Atoi(row[column["camera_clock_skew_s"]])
		if err != nil || err2 != nil {
			continue // nothing true is known of the photo's time
		}
		taken := takenBy(t, filepath.Join(dir, row[column["path"]]))
		if taken.Wall.IsZero() {
			continue
		}
		got := timing.Resolve(timing.Known{
			Wall: taken.Wall, Offset: taken.Offset, Haul: at.Format("-07:00"), Correction: -time.Duration(skew) * time.Second,
		})
		// Cameras without parts of a second cut theirs off.
		if off := at.Sub(got.At); off < -time.Millisecond || off >= time.Second+time.Millisecond {
			t.Errorf("%s: got %s from %s, want %s", row[0], got.At, got.From, at.UTC())
		}
		compared++
		if skew != 0 {
			skewed++
		}
	}
	if compared < 50 || skewed == 0 {
		t.Errorf("%d photos compared, %d of them with a wrong clock: too few to mean anything", compared, skewed)
	}
}

// TestCorpusHours: the two readings of one hour by a camera that writes offsets,
// and an hour that did not exist by one that writes none (IANA tzdb, northamerica
// Rule US, europe Rule EU).
func TestCorpusHours(t *testing.T) {
	dir := corpus(t)
	for _, tt := range []struct{ file, haul, at, from, doubt string }{
		{"synth__dst_fold_0.jpg", "America/New_York", "2024-11-03T05:30:00Z", timing.FromOffset, ""},
		{"synth__dst_fold_1.jpg", "America/New_York", "2024-11-03T06:30:00Z", timing.FromOffset, ""},
		{"synth__dst_gap.jpg", "Europe/Berlin", "2024-03-31T01:30:00Z", timing.FromHaul, timing.NeverWas},
		{"synth__offset_garbage.jpg", "Europe/Berlin", "2024-07-04T16:30:00Z", timing.FromHaul, ""},
		{"synth__offset_only_modify.jpg", "", "", "", ""},
		{"synth__no_time.jpg", "Europe/Berlin", "", "", ""},
	} {
		taken := takenBy(t, filepath.Join(dir, "exif-synth", tt.file))
		got := timing.Resolve(timing.Known{Wall: taken.Wall, Offset: taken.Offset, Haul: tt.haul})
		if !got.At.Equal(utc(t, tt.at)) || got.From != tt.from || got.Doubt != tt.doubt {
			t.Errorf("%s: got %+v, want %+v", tt.file, got, tt)
		}
	}
}
