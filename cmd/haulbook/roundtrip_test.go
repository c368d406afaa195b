package main

import (
	"encoding/json"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"haulbook/cmd/haulbook/drawn"
	"haulbook/labels"
)

// fullBook is a book whose haul is taken in and read as far as its groups show
// one thing each, with the numbers in the order they were given.
type fullBook struct {
	dir     string
	numbers []string
	things  map[string]drawn.Thing // by number
}

// readHaul goes the whole way by the program's own commands: init, take, groups,
// plate. What a plate says is what was drawn on it.
func readHaul(t *testing.T) fullBook {
	t.Helper()
	haul, err := drawn.Invent(drawn.Options{Seed: 3, Width: 320})
	if err != nil {
		t.Fatal(err)
	}
	b := fullBook{dir: filepath.Join(t.TempDir(), "book"), things: map[string]drawn.Thing{}}
	card := t.TempDir()
	if err := layOut(haul, filepath.Join(card, haul.Folder), filepath.Join(card, haul.Folder)); err != nil {
		t.Fatal(err)
	}
	done(t, "init", b.dir, "--address", "http://192.168.1.20:8417", "--return", "Found? Write to the keeper.")
	command(t, "take", "--book", b.dir, card)
	thingOf := map[string]int{}
	for _, p := range haul.Photos {
		thingOf[p.Name] = p.Thing
	}
	for _, g := range groupsOf(t, b.dir) {
		thing := thingOf[g.Photos[0].File]
		for _, p := range g.Photos {
			if thingOf[p.File] != thing {
				thing = -1
			}
		}
		if thing < 0 {
			continue
		}
		truth := haul.Things[thing]
		number := strings.TrimSpace(done(t, "plate", "--book", b.dir, g.Group,
			"--name", truth.Name, "--maker", truth.Maker, "--model", truth.Model, "--serial", truth.Serial))
		b.numbers, b.things[number] = append(b.numbers, number), truth
	}
	if len(b.numbers) < 8 {
		t.Fatalf("only %d of %d things were read", len(b.numbers), len(haul.Things))
	}
	return b
}

// groupsOf lists what waits, as scripts see it.
func groupsOf(t *testing.T, book string) (groups []waiting) {
	t.Helper()
	if err := json.Unmarshal([]byte(done(t, "groups", "--book", book, "--json")), &groups); err != nil {
		t.Fatal(err)
	}
	return groups
}

// papers are the stocks and printers of the round trip: a European sheet, an
// American one, and a roll.
var papers = []struct {
	stock string
	dpi   int
}{{"a4-3x8", 203}, {"a4-3x8", 300}, {"letter-3x10", 203}, {"letter-3x10", 300}, {"roll-62x29", 203}, {"roll-62x29", 300}}

// TestRoundTrip is the job itself: photos become groups, groups numbers, numbers
// paper, and whoever scans the paper is at the thing again.
func TestRoundTrip(t *testing.T) {
	b := readHaul(t)
	desk := openDesk(t, b.dir)
	for _, p := range papers {
		t.Run(fmt.Sprintf("%s at %d", p.stock, p.dpi), func(t *testing.T) {
			pages := rasterised(t, b.print(t, p.stock, p.dpi), p.dpi)
			for i, cut := range b.labels(t, p.stock, pages) {
				b.leadsTo(t, desk, scan(t, cut), b.numbers[i])
			}
		})
	}
}

// TestRoundTripByOutsideReaders is the same with two programs that share no
// code with us: poppler draws the page, zbar reads each label.
func TestRoundTripByOutsideReaders(t *testing.T) {
	poppler, zbar := needTool(t, "pdftoppm"), needTool(t, "zbarimg")
	b := readHaul(t)
	desk := openDesk(t, b.dir)
	for _, p := range papers {
		t.Run(fmt.Sprintf("%s at %d", p.stock, p.dpi), func(t *testing.T) {
			dir := t.TempDir()
			file := filepath.Join(dir, "tags.pdf")
			if err := os.WriteFile(file, b.print(t, p.stock, p.dpi), 0o644); err != nil {
				t.Fatal(err)
			}
			toolSays(t, poppler, "-r", fmt.Sprint(p.dpi), "-gray", "-png", file, filepath.Join(dir, "page"))
			drawnPages, err := filepath.Glob(filepath.Join(dir, "page*.png")) // in the order of their numbers, which poppler pads
			if err != nil {
				t.Fatal(err)
			}
			var pages []*image.Gray
			for _, name := range drawnPages {
				pages = append(pages, readPNG(t, name))
			}
			files := []string{"--raw", "-q"}
			for i, cut := range b.labels(t, p.stock, pages) {
				files = append(files, writePNG(t, filepath.Join(dir, fmt.Sprintf("label-%02d.png", i)), cut))
			}
			read := toolSays(t, zbar, files...)
			if len(read) != len(b.numbers) {
				t.Fatalf("read %d codes, want %d: %q", len(read), len(b.numbers), read)
			}
			for i, text := range read {
				b.leadsTo(t, desk, text, b.numbers[i])
			}
		})
	}
}

// print makes the PDF of every number's tag by the tags command.
func (b fullBook) print(t *testing.T, stock string, dpi int) []byte {
	t.Helper()
	file := filepath.Join(t.TempDir(), "tags.pdf")
	done(t, append([]string{"tags", "--book", b.dir, "--stock", stock, "--dpi", fmt.Sprint(dpi), "--out", file}, b.numbers...)...)
	pdf, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return pdf
}

// labels cuts every number's label out of the pages.
func (b fullBook) labels(t *testing.T, stock string, pages []*image.Gray) (cuts []*image.Gray) {
	t.Helper()
	s, err := labels.StockNamed(stock)
	if err != nil {
		t.Fatal(err)
	}
	if want := (len(b.numbers) + s.PerPage() - 1) / s.PerPage(); len(pages) != want {
		t.Fatalf("%d pages, want %d", len(pages), want)
	}
	for i := range b.numbers {
		cuts = append(cuts, label(s, pages[i/s.PerPage()], i))
	}
	return cuts
}

// leadsTo holds that what a label was read as opens one thing: by the show
// command, and at the desk as a phone would ask for it.
func (b fullBook) leadsTo(t *testing.T, desk, read, number string) {
	t.Helper()
	address, err := url.Parse(read)
	if err != nil || read == "" {
		t.Errorf("%s: its label reads as %q: %v", number, read, err)
		return
	}
	code := strings.TrimPrefix(address.Path, "/T/")
	for _, ref := range []string{read, code} {
		var got shown
		if err := json.Unmarshal([]byte(done(t, "show", "--book", b.dir, "--json", ref)), &got); err != nil {
			t.Fatal(err)
		}
		if got.Number != number || got.Serial != b.things[number].Serial || got.Name != b.things[number].Name {
			t.Errorf("show %s: got %s %s %q, want %s %s %q", ref, got.Number, got.Name, got.Serial, number, b.things[number].Name, b.things[number].Serial)
		}
	}
	for _, path := range []string{address.Path, "/t/" + code} {
		landed, page := follow(t, desk+path)
		if landed != desk+"/items/"+number {
			t.Errorf("GET %s leads to %s, want %s", path, landed, desk+"/items/"+number)
		}
		if !strings.Contains(page, number) {
			t.Errorf("GET %s: the page it leads to does not say %s", path, number)
		}
	}
}

// follow opens an address that must answer 303 and returns where it led and the
// page there.
func follow(t *testing.T, address string) (landed, page string) {
	t.Helper()
	hops := []int{}
	client := http.Client{Timeout: patience, CheckRedirect: func(r *http.Request, _ []*http.Request) error {
		hops = append(hops, r.Response.StatusCode)
		return nil
	}}
	answer, err := client.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	if fmt.Sprint(hops) != "[303]" || answer.StatusCode != http.StatusOK {
		t.Errorf("GET %s: redirected %v, then %d; want one 303, then 200", address, hops, answer.StatusCode)
	}
	return answer.Request.URL.String(), string(body)
}

func readPNG(t *testing.T, name string) *image.Gray {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	picture, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	gray := image.NewGray(picture.Bounds())
	draw.Draw(gray, gray.Rect, picture, gray.Rect.Min, draw.Src)
	return gray
}

func writePNG(t *testing.T, name string, picture image.Image) string {
	t.Helper()
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := png.Encode(f, picture); err != nil {
		t.Fatal(err)
	}
	return name
}
