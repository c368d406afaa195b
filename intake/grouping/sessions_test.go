package grouping_test

import (
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"haulbook/intake/grouping"
)

var update = flag.Bool("update", false, "write the invented sessions anew")

// invented are the sessions kept in testdata: what our generator made of these
// recipes. No real person's afternoon is in them.
var invented = map[string]recipe{
	"bare":    {seed: 1, items: 20, within: 8, between: 60, spread: 0.5, interrupted: 0.01, pause: 20 * time.Minute},
	"first":   {seed: 2, items: 20, within: 6, between: 40, spread: 0.5, interrupted: 0.02, tags: "first", unread: 0.2},
	"random":  {seed: 3, items: 20, within: 10, between: 50, spread: 0.6, tags: "first", unread: 0.1, random: true},
	"seen":    {seed: 4, items: 20, within: 7, between: 45, spread: 0.6, interrupted: 0.01, pause: time.Hour, tags: "seen", unread: 0.1},
	"two":     {seed: 5, items: 25, within: 9, between: 60, spread: 0.5, second: 0.4, skew: -41 * time.Minute},
	"twoseen": {seed: 6, items: 25, within: 6, between: 50, spread: 0.5, second: 0.3, skew: 9 * time.Hour, tags: "seen", unread: 0.2},
}

// TestSessionScores groups every session NNN.tsv of a folder and, where the
// sessions say which item a photo shows, prints how many items came out exactly.
//
// HAULBOOK_SESSIONS names the folder; without it the invented ones in testdata
// are used and must reach a bar. HAULBOOK_SESSIONS_OUT names a folder for the
// groups found, one NNN.groups a session with a line "file, tab, group" a photo.
func TestSessionScores(t *testing.T) {
	dir, bar := os.Getenv("HAULBOOK_SESSIONS"), 0.0
	if dir == "" {
		// Reached when written: 0.97. Sessions of other seeds scatter by 0.05.
		dir, bar = "testdata", 0.9
		writeInvented(t)
	}
	files, err := filepath.Glob(filepath.Join(dir, "*.tsv"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no session *.tsv in %s (%v)", dir, err)
	}
	var total score
	for _, file := range files {
		log, err := readSession(file)
		if err != nil {
			t.Error(err)
			continue
		}
		groups := grouping.Split(log.shots).Groups()
		if err := log.write(os.Getenv("HAULBOOK_SESSIONS_OUT"), groups); err != nil {
			t.Error(err)
		}
		if log.item != nil {
			s := log.score(groups)
			t.Logf("%s: %d of %d items exact", filepath.Base(file), s.exact, s.items)
			total.add(s)
		}
	}
	if total.items == 0 {
		t.Logf("%d sessions, none says which item a photo shows", len(files))
		return
	}
	exact := float64(total.exact) / float64(total.items)
	fmt.Printf("sessions: items exact %.3f pair F1 %.3f n %d\n", exact, total.pairF1(), total.sessions)
	if exact < bar {
		t.Errorf("items exact: got %.3f, want at least %.3f", exact, bar)
	}
}

// A sessionLog is a session as written to a file.
type sessionLog struct {
	name  string
	files []string
	shots []grouping.Shot
	item  []string // nil when the file does not tell
}

func readSession(path string) (sessionLog, error) {
	b, err := os.ReadFile(path)
	if err != nil {
		return sessionLog{}, err
	}
	rows := strings.Split(strings.TrimSpace(strings.ReplaceAll(string(b), "\r", "")), "\n")
	column := strings.Split(rows[0], "\t")
	log := sessionLog{name: strings.TrimSuffix(filepath.Base(path), ".tsv")}
	for i, row := range rows[1:] {
		cells := strings.Split(row, "\t")
		cell := func(name string) string {
			if c := slices.Index(column, name); c >= 0 && c < len(cells) {
				return cells[c]
			}
			return ""
		}
		taken, err := time.Parse("2006-01-02T15:04:05", cell("taken"))
		if err != nil {
			return log, fmt.Errorf("session %s line %d: %w", path, i+2, err)
		}
		log.files = append(log.files, cell("file"))
		log.shots = append(log.shots, grouping.Shot{
			Taken: taken, Camera: cell("camera"), Counter: counter(cell("file")), Tag: cell("tag"),
		})
		if slices.Contains(column, "item") {
			log.item = append(log.item, cell("item"))
		}
	}
	return log, nil
}

// counter is the number in a camera's file name.
func counter(file string) int {
	n, _ := strconv.Atoi(strings.TrimFunc(file, func(r rune) bool { return r < '0' || r > '9' }))
	return n
}

func (l sessionLog) write(dir string, groups [][]int) error {
	if dir == "" {
		return nil
	}
	group := make([]int, len(l.files))
	for g, members := range groups {
		for _, i := range members {
			group[i] = g + 1
		}
	}
	var out strings.Builder
	for i, file := range l.files {
		fmt.Fprintf(&out, "%s\t%d\n", file, group[i])
	}
	return os.WriteFile(filepath.Join(dir, l.name+".groups"), []byte(out.String()), 0o644)
}

// A score counts what came out right.
type score struct {
	sessions, items, exact    int
	together, proposed, right int // pairs of photos: of one item, of one group, of both
}

func (s *score) add(t score) {
	s.sessions++
	s.items += t.items
	s.exact += t.exact
	s.together += t.together
	s.proposed += t.proposed
	s.right += t.right
}

// pairF1 is the harmonic mean of precision and recall over pairs of photos.
func (s score) pairF1() float64 { return 2 * float64(s.right) / float64(s.together+s.proposed) }

func (l sessionLog) score(groups [][]int) score {
	var s score
	photos := make(map[string]int)
	for _, item := range l.item {
		photos[item]++
	}
	s.items = len(photos)
	for _, n := range photos {
		s.together += n * (n - 1) / 2
	}
	for _, g := range groups {
		s.proposed += len(g) * (len(g) - 1) / 2
		shown := make(map[string]int)
		for _, i := range g {
			shown[l.item[i]]++
		}
		for item, n := range shown {
			s.right += n * (n - 1) / 2
			if n == len(g) && n == photos[item] {
				s.exact++
			}
		}
	}
	return s
}

// writeInvented writes the invented sessions to testdata when asked to, and
// otherwise makes sure that they are still what the recipes give.
func writeInvented(t *testing.T) {
	t.Helper()
	for name, r := range invented {
		path := filepath.Join("testdata", name+".tsv")
		want := r.invent().table()
		if *update {
			if err := os.WriteFile(path, []byte(want), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		got, err := os.ReadFile(path)
		if errors.Is(err, fs.ErrNotExist) || err == nil && string(got) != want {
			t.Errorf("%s is not what its recipe gives; run with -update", path)
		} else if err != nil {
			t.Error(err)
		}
	}
}

// table is a session as the sessions' files have it.
func (s session) table() string {
	var out strings.Builder
	out.WriteString("file\tcamera\ttaken\ttag\titem\n")
	for i, shot := range s.shots {
		fmt.Fprintf(&out, "%s%04d.jpg\t%s\t%s\t%s\t%d\n",
			shot.Camera[:3], shot.Counter, shot.Camera, shot.Taken.Format("2006-01-02T15:04:05"), shot.Tag, s.item[i]+1)
	}
	return out.String()
}

// TestComposedHauls groups the composed hauls of the reference photos by the
// times their cameras would have written and the QR codes seen in them.
func TestComposedHauls(t *testing.T) {
	dir := os.Getenv("HAULBOOK_CORPUS")
	if dir == "" {
		t.Skip("HAULBOOK_CORPUS names no folder of reference photos with hauls_truth.tsv")
	}
	b, err := os.ReadFile(filepath.Join(dir, "hauls_truth.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	hauls := make(map[string]*sessionLog)
	for _, row := range strings.Split(strings.TrimSpace(string(b)), "\n")[1:] {
		c := strings.Split(row, "\t") // path haul item view views true_local_time camera skew orientation codes
		taken, err := time.Parse(time.RFC3339, c[5])
		if err != nil {
			t.Fatal(err)
		}
		skew, err := strconv.Atoi(c[7])
		if err != nil {
			t.Fatal(err)
		}
		// A QR is the owner's tag; a linear code is somebody's serial plate.
		var tag string
		if code, ok := strings.CutPrefix(c[9], "QR_CODE:"); ok {
			tag = code
		}
		h := hauls[c[1]]
		if h == nil {
			h = &sessionLog{name: c[1]}
			hauls[c[1]] = h
		}
		h.shots = append(h.shots, grouping.Shot{Taken: taken.Add(time.Duration(skew) * time.Second), Camera: c[6], Tag: tag, Plate: tag == "" && c[9] != ""})
		h.item = append(h.item, c[2])
	}
	var total score
	for name, h := range hauls {
		r := grouping.Split(h.shots)
		s := h.score(r.Groups())
		t.Logf("%s: %d of %d items exact, clocks %v", name, s.exact, s.items, r.Shifts)
		total.add(s)
	}
	// Reached when written: 0.92. The two items missed lie side by side, one has no
	// readable tag, and the pause inside is as long as the pause between.
	if got := float64(total.exact) / float64(total.items); got < 0.9 {
		t.Errorf("items exact: got %.3f, want at least 0.9", got)
	}
}
