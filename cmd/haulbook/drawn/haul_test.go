package drawn

import (
	"bytes"
	"image"
	_ "image/jpeg"
	_ "image/png"
	"maps"
	"os"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// testCodes have the shape of tag codes; this package does not look inside them.
var testCodes = []string{"7K3M9QXA", "2B4D6F8H", "Q1W2E3R4", "M5N6P7R8", "Z9Y8X7W6"}

const testAddress = "http://192.168.1.20:8417"

// smallHaul is drawn once for all tests that look at a whole afternoon.
var smallHaul = sync.OnceValues(func() (Haul, error) {
	return Invent(Options{Seed: 4, Width: 480, Codes: testCodes, Address: testAddress})
})

func small(t *testing.T) Haul {
	t.Helper()
	h, err := smallHaul()
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// tool finds a program of the outside world or skips; where the tools must be there, it fails.
func tool(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err == nil {
		return path
	}
	if os.Getenv("HAULBOOK_REQUIRE_TOOLS") == "1" {
		t.Fatalf("%s is not installed and HAULBOOK_REQUIRE_TOOLS=1 asks for it", name)
	}
	t.Skipf("%s is not installed: its second opinion is left out", name)
	return ""
}

func TestHaulHasWhatADemoNeeds(t *testing.T) {
	h := small(t)
	if got, want := len(h.Things), 12; got != want {
		t.Errorf("things: got %d, want %d", got, want)
	}
	if n := len(h.Photos); n < 45 || n > 60 {
		t.Errorf("photos: got %d, want about fifty", n)
	}
	if h.Folder == "" {
		t.Error("the haul has no folder")
	}
	roles, turns, cameras, formats := map[string]int{}, map[int]int{}, map[string]int{}, map[string]int{}
	damaged := 0
	for _, p := range h.Photos {
		roles[p.Role]++
		turns[p.shot.pose.turn]++
		cameras[p.Camera]++
		formats[p.Name[len(p.Name)-3:]]++
		if p.Damaged {
			damaged++
		}
	}
	if damaged != 1 {
		t.Errorf("damaged files: got %d, want 1", damaged)
	}
	if got, want := roles[Plate], len(h.Things); got != want {
		t.Errorf("plates: got %d, want one a thing: %d", got, want)
	}
	if got, want := roles[Tag], len(testCodes); got != want {
		t.Errorf("tags: got %d, want one a code: %d", got, want)
	}
	if roles[View] < 12 || roles[Detail] < 8 {
		t.Errorf("views and details: got %d and %d, want at least 12 and 8", roles[View], roles[Detail])
	}
	for _, o := range []int{0, 3, 6, 8} {
		if turns[o] == 0 {
			t.Errorf("no photo has orientation %d", o)
		}
	}
	if got, want := slices.Sorted(maps.Keys(cameras)), []string{"Lumora Pocket 9", "Veltrix C-310"}; !slices.Equal(got, want) {
		t.Errorf("cameras: got %q, want %q", got, want)
	}
	if formats["PNG"] != 1 || formats["JPG"] != len(h.Photos)-1 {
		t.Errorf("formats: got %v, want one PNG and JPGs", formats)
	}
}

func TestTimesOfAnAfternoon(t *testing.T) {
	for _, o := range []Options{{Seed: 1}, {Seed: 2, Codes: testCodes}, {Seed: 77, Things: 40}} {
		h, err := Plan(o)
		if err != nil {
			t.Fatal(err)
		}
		last := -2 // the thing of the photo before
		for i := 1; i < len(h.Photos); i++ {
			a, b := h.Photos[i-1], h.Photos[i]
			gap := b.Taken.Sub(a.Taken)
			lo, hi := 25*time.Second, 90*time.Second
			if a.Thing >= 0 {
				last = a.Thing
			}
			if b.Damaged || b.Thing == last {
				lo, hi = 4*time.Second, 9*time.Second
			}
			// The compact camera knows whole seconds only.
			if gap < lo-time.Second || gap > hi+time.Second {
				t.Errorf("seed %d: %s to %s: got %v, want %v to %v", o.Seed, a.Name, b.Name, gap, lo, hi)
			}
		}
	}
}

func TestNamesAreOnesOwnAndCountUp(t *testing.T) {
	h := small(t)
	last := map[string]string{}
	for _, p := range h.Photos {
		number := p.Name[:strings.IndexByte(p.Name, '.')]
		if number <= last[p.Camera] {
			t.Errorf("%s follows %s of the same camera", p.Name, last[p.Camera])
		}
		last[p.Camera] = number
		if want := map[string]string{"Lumora Pocket 9": "IMG_", "Veltrix C-310": "DSCN"}[p.Camera]; !strings.HasPrefix(p.Name, want) {
			t.Errorf("%s by %s: want a name with %s", p.Name, p.Camera, want)
		}
	}
}

func TestSerialsNeverRepeat(t *testing.T) {
	h, err := Plan(Options{Seed: 9, Things: mostThings})
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, th := range h.Things {
		if th.Serial == "" || th.Maker == "" || th.Model == "" || th.Name == "" || th.Kind == "" {
			t.Errorf("thing without a field: %+v", th)
		}
		if seen[th.Serial] {
			t.Errorf("serial %s given twice", th.Serial)
		}
		seen[th.Serial] = true
	}
}

func TestSameOptionsSameBytes(t *testing.T) {
	o := Options{Seed: 31, Width: 320, Things: 5, Codes: testCodes[:2]}
	a, err := Invent(o)
	if err != nil {
		t.Fatal(err)
	}
	i := 0
	for p, err := range o.Photos() {
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(p.Bytes, a.Photos[i].Bytes) || p.Name != a.Photos[i].Name {
			t.Errorf("%s: drawn alone and drawn among others differ", p.Name)
		}
		i++
	}
	if i != len(a.Photos) {
		t.Errorf("Photos gave %d, Invent %d", i, len(a.Photos))
	}
	o.Seed++
	b, err := Invent(o)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Equal(a.Photos[1].Bytes, b.Photos[1].Bytes) {
		t.Error("another seed drew the same bytes")
	}
}

func TestPlanIsTheHaulWithoutBytes(t *testing.T) {
	h := small(t)
	p, err := Plan(Options{Seed: 4, Width: 480, Codes: testCodes, Address: testAddress})
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(p, h, cmpopts.IgnoreFields(Photo{}, "Bytes", "shot"), cmpopts.IgnoreUnexported(Haul{}, Thing{}, Photo{})); d != "" {
		t.Errorf("plan and haul differ (-plan +haul):\n%s", d)
	}
}

func TestPhotosStopsWhenAsked(t *testing.T) {
	n := 0
	for _, err := range (Options{Width: 320}).Photos() {
		if err != nil {
			t.Fatal(err)
		}
		if n++; n == 2 {
			break
		}
	}
	if n != 2 {
		t.Errorf("got %d photos, want 2", n)
	}
}

func TestEveryPhotoDecodesButTheDamaged(t *testing.T) {
	for _, p := range small(t).Photos {
		img, format, err := image.Decode(bytes.NewReader(p.Bytes))
		if p.Damaged {
			if err == nil {
				t.Errorf("%s is cut off and decodes all the same", p.Name)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", p.Name, err)
			continue
		}
		if want := map[string]string{"JPG": "jpeg", "PNG": "png"}[p.Name[len(p.Name)-3:]]; format != want {
			t.Errorf("%s: got %s, want %s", p.Name, format, want)
		}
		// A camera stores its sensor's rows: lying, however it was held.
		if got, want := img.Bounds().Size(), image.Pt(480, 360); got != want {
			t.Errorf("%s: got %v, want %v", p.Name, got, want)
		}
	}
}

func TestCodesAreSpreadInOrder(t *testing.T) {
	for n := 0; n <= 14; n++ {
		codes := make([]string, n)
		for i := range codes {
			codes[i] = "CODE" + string(rune('A'+i))
		}
		h, err := Plan(Options{Codes: codes})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, p := range h.Photos {
			if p.Role == Tag {
				got = append(got, h.Things[p.Thing].Code)
			}
		}
		if want := codes[:min(n, 12)]; !slices.Equal(got, want) {
			t.Errorf("%d codes: got %q, want %q", n, got, want)
		}
	}
}

func TestOptionsOutOfRange(t *testing.T) {
	for name, o := range map[string]Options{
		"too narrow":    {Width: 20},
		"too wide":      {Width: 90000},
		"negative":      {Things: -1},
		"too many":      {Things: mostThings + 1},
		"empty code":    {Codes: []string{""}},
		"one character": {Codes: []string{"7"}},
		"endless code":  {Codes: []string{strings.Repeat("7", 50)}},
	} {
		t.Run(name, func(t *testing.T) {
			if _, err := Invent(o); err == nil || !strings.HasPrefix(err.Error(), "invent haul: ") {
				t.Errorf("got %v, want an error that says what is wrong", err)
			}
			for p, err := range o.Photos() {
				if err == nil {
					t.Errorf("got photo %s, want an error", p.Name)
				}
			}
		})
	}
	h, err := Plan(Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range []int{-1, len(h.Photos)} {
		if _, err := h.Draw(i); err == nil {
			t.Errorf("photo %d: want an error", i)
		}
	}
}

func TestEveryNumberOfThingsCanBeDrawn(t *testing.T) {
	for _, n := range []int{1, 2, 3, 13} {
		h, err := Invent(Options{Things: n, Width: leastWidth, Codes: testCodes})
		if err != nil {
			t.Fatalf("%d things: %v", n, err)
		}
		seen := map[int]bool{}
		for _, p := range h.Photos {
			seen[p.Thing] = true
			if len(p.Bytes) == 0 {
				t.Errorf("%d things: %s is empty", n, p.Name)
			}
		}
		for i := range n {
			if !seen[i] {
				t.Errorf("%d things: thing %d has no photo", n, i)
			}
		}
	}
}

func TestStartGivesTheZone(t *testing.T) {
	start := time.Date(2031, 1, 2, 23, 59, 30, 0, time.FixedZone("", -3*3600-1800))
	h, err := Plan(Options{Start: start})
	if err != nil {
		t.Fatal(err)
	}
	p := h.Photos[0]
	if got, want := p.Taken.Format("-07:00"), "-03:30"; got != want {
		t.Errorf("zone: got %s, want %s", got, want)
	}
	if p.Taken.Before(start) || p.Taken.After(start.Add(time.Minute)) {
		t.Errorf("first photo: got %v, want within a minute of %v", p.Taken, start)
	}
}
