package pictures

import (
	"bufio"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"haulbook/intake"
	"haulbook/metadata"
)

// corpus returns the folder of test photos, which is no part of this project.
func corpus(t *testing.T) string {
	t.Helper()
	dir := os.Getenv("HAULBOOK_CORPUS")
	if dir == "" {
		t.Skip("HAULBOOK_CORPUS names no folder of test photos, so real photos are not tried")
	}
	return dir
}

// table reads a tab-separated table with a header line, a map for each row.
func table(t *testing.T, path string) []map[string]string {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var rows []map[string]string
	var header []string
	lines := bufio.NewScanner(file)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		fields := strings.Split(lines.Text(), "\t")
		if header == nil {
			header = fields
			continue
		}
		row := map[string]string{}
		for i, name := range header {
			row[name] = unescaped.Replace(fields[i])
		}
		rows = append(rows, row)
	}
	if err := lines.Err(); err != nil {
		t.Fatal(err)
	}
	return rows
}

var unescaped = strings.NewReplacer(`\\`, `\`, `\t`, "\t", `\n`, "\n", `\r`, "\r", `\u001d`, "\x1d")

var symbologies = map[string]string{"QR_CODE": intake.SymbologyQR, "CODE_128": intake.SymbologyCode128, "CODE_39": intake.SymbologyCode39}

// photoAt reads the metadata of a file as the receiver would.
func photoAt(t *testing.T, path string) intake.Photo {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	stat, err := file.Stat()
	if err != nil {
		t.Fatal(err)
	}
	info, err := metadata.Read(file, stat.Size())
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return intake.Photo{ID: idOf(path), Name: filepath.Base(path), Meta: info}
}

func TestCorpusCodes(t *testing.T) {
	dir := corpus(t)
	room := &Darkroom{Dir: t.TempDir()}
	hits, all := map[string]int{}, map[string]int{}
	for _, row := range table(t, filepath.Join(dir, "codes_truth.tsv")) {
		path := filepath.Join(dir, row["path"])
		start := time.Now()
		got, err := room.Look(context.Background(), path, photoAt(t, path))
		if err != nil {
			t.Errorf("%s: %v", row["path"], err)
			continue
		}
		took := time.Since(start)
		all[row["symbology"]]++
		ok := len(got) == 0 && row["symbology"] == "NONE"
		for _, code := range got {
			if code.Symbology != symbologies[row["symbology"]] || code.Text != row["expected_text"] {
				t.Errorf("%s: read %q as %s, which is not there: want %q", row["path"], code.Text, code.Symbology, row["expected_text"])
				ok = false
				break
			}
			ok = true
		}
		if ok {
			hits[row["symbology"]]++
		} else {
			t.Logf("%s: missed %s %q (%v)", row["path"], row["symbology"], row["expected_text"], took)
		}
	}
	t.Log(hits, all)
}

func TestCorpusHauls(t *testing.T) {
	dir := corpus(t)
	room := &Darkroom{Dir: t.TempDir()}
	hits, all := 0, 0
	for _, row := range table(t, filepath.Join(dir, "hauls_truth.tsv")) {
		path := filepath.Join(dir, row["path"])
		got, err := room.Look(context.Background(), path, photoAt(t, path))
		if err != nil {
			t.Errorf("%s: %v", row["path"], err)
			continue
		}
		for want := range strings.SplitSeq(row["codes"], " ") {
			if want == "" {
				continue
			}
			all++
			name, text, _ := strings.Cut(want, ":")
			found := false
			for _, c := range got {
				found = found || c.Symbology == symbologies[name] && c.Text == text
			}
			if found {
				hits++
			} else {
				t.Logf("%s: missed %s", row["path"], want)
			}
		}
		for _, c := range got {
			if !strings.Contains(row["codes"], c.Text) {
				t.Errorf("%s: read %q, which is not there: %s", row["path"], c.Text, row["codes"])
			}
		}
	}
	t.Log(hits, all)
}
