package timing

import (
	"archive/zip"
	"errors"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the rules must not depend on the machine

	"haulbook/intake"
)

// TestOffsetsInUse goes through every zone of the tzdb that comes with Go, from
// 2000 on, and compares with what nearestInUse can give.
func TestOffsetsInUse(t *testing.T) {
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Skipf("no go command to say where the zones are, so the offsets are not compared with tzdb: %v", err)
	}
	archive, err := zip.OpenReader(filepath.Join(strings.TrimSpace(string(root)), "lib", "time", "zoneinfo.zip"))
	if err != nil {
		t.Skipf("this Go comes without its zones, so the offsets are not compared with tzdb: %v", err)
	}
	defer archive.Close()
	used := map[time.Duration]string{}
	for _, f := range archive.File {
		loc, ok := load(f.Name)
		if !ok {
			continue // a folder, or Factory
		}
		for at := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC); at.Year() < 2030; {
			_, seconds := at.In(loc).Zone()
			used[time.Duration(seconds)*time.Second] = f.Name
			_, end := at.In(loc).ZoneBounds()
			if end.IsZero() {
				break
			}
			at = end
		}
	}
	// As of tzdb 2025c these are 44; few would mean that nothing was read.
	if len(used) < 40 {
		t.Fatalf("only %d offsets found in tzdb", len(used))
	}
	for offset, zone := range used {
		if got := nearestInUse(offset); got != offset {
			t.Errorf("%s has %s, taken for %s", zone, formatOffset(offset), formatOffset(got))
		}
	}
	for d := -16 * time.Hour; d <= 16*time.Hour; d += time.Minute {
		got := nearestInUse(d)
		if _, ok := used[got]; !ok {
			t.Errorf("%v: got %s, which no zone of tzdb has", d, formatOffset(got))
		}
		for offset := range used {
			if (d - offset).Abs() < (d - got).Abs() {
				t.Errorf("%v: got %s, %s is nearer", d, formatOffset(got), formatOffset(offset))
			}
		}
	}
}

func TestOffsets(t *testing.T) {
	for _, tt := range []struct {
		text string
		want time.Duration
		ok   bool
	}{
		{"+02:00", 2 * time.Hour, true},
		{"-03:30", -3*time.Hour - 30*time.Minute, true},
		{"+05:45", 5*time.Hour + 45*time.Minute, true},
		{"+14:00", 14 * time.Hour, true},
		{"-12:00", -12 * time.Hour, true},
		{"+00:00", 0, true},
		{"-00:00", 0, true},
		{"+14:01", 0, false},
		{"-12:01", 0, false},
		{"+25:99", 0, false},
		{"+02:60", 0, false},
		{"   :  ", 0, false},
		{"+0200", 0, false},
		{"+2:00", 0, false},
		{"02:00", 0, false},
		{"Z", 0, false},
		{"", 0, false},
	} {
		got, ok := parseOffset(tt.text)
		if ok != tt.ok || ok && got != tt.want {
			t.Errorf("%q: got %v, %v, want %v, %v", tt.text, got, ok, tt.want, tt.ok)
		}
		if again := formatOffset(got); ok && again != strings.Replace(tt.text, "-00:00", "+00:00", 1) {
			t.Errorf("%q written again: got %q", tt.text, again)
		}
	}
	if !slices.IsSorted(oddMinutes) {
		t.Error("the offsets are not in order, so one may be twice")
	}
}

func TestCheckZone(t *testing.T) {
	for _, name := range []string{"", "Europe/Berlin", "America/Argentina/Buenos_Aires", "UTC", "Etc/GMT+5", "+02:00", "-09:30"} {
		if err := CheckZone(name); err != nil {
			t.Errorf("%q: got %v, want none", name, err)
		}
	}
	for _, name := range []string{
		"Local", "localtime", "posixrules", "Factory", "right/Europe/Berlin", "posix/Europe/Berlin", "Europe", "Europe/Nowhere",
		"../../etc/passwd", "/etc/localtime", "+15:00", "CET-1CEST", "Europe/Berlin\x00", strings.Repeat("x", 5000),
	} {
		err := CheckZone(name)
		var field *intake.FieldError
		if !errors.As(err, &field) || field.Field != "zone" || !strings.Contains(field.Problem, "Europe/Berlin") {
			t.Errorf("%.50q: got %v, want a word on the field zone", name, err)
		} else if len(field.Problem) > 200 {
			t.Errorf("%.50q: the sentence has %d bytes", name, len(field.Problem))
		}
	}
}
