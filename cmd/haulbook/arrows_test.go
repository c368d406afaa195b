package main

import (
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// layers says which of our packages each package may import, "*" for all. It is
// the picture of DEVELOPERS.md as a table: a new arrow changes both.
var layers = map[string][]string{
	"haulbook/cmd/haulbook":       {"*"},
	"haulbook/cmd/haulbook/drawn": {},
	"haulbook/cmd/sidebyside":     {"haulbook/cmd/haulbook/drawn"},
	"haulbook/metadata/container": {},
	// small files for tests, right and wrong ones
	"haulbook/metadata/container/specimen": {},
	"haulbook/metadata":                    {"haulbook/metadata/container"},
	"haulbook/labels":                      {},
	"haulbook/watch":                       {},
	"haulbook/intake":                      {"haulbook/metadata"},
	// pure: values in, values out
	"haulbook/intake/grouping": {"haulbook/intake"},
	"haulbook/intake/timing":   {"haulbook/intake", "haulbook/metadata"},
	// adapters: pure packages and intake, never one another
	"haulbook/intake/sqlite":    {"haulbook/intake", "haulbook/intake/grouping", "haulbook/intake/timing", "haulbook/metadata"},
	"haulbook/intake/originals": {"haulbook/intake"},
	"haulbook/intake/pictures":  {"haulbook/intake", "haulbook/metadata"},
	"haulbook/intake/desk":      {"haulbook/intake"},
	// pages of one area each stand on the frame
	"haulbook/intake/desk/today": {"haulbook/intake", "haulbook/intake/desk"},
	"haulbook/intake/desk/bench": {"haulbook/intake", "haulbook/intake/desk"},
	"haulbook/intake/desk/items": {"haulbook/intake", "haulbook/intake/desk"},
	"haulbook/intake/desk/tags":  {"haulbook/intake", "haulbook/intake/desk"},
}

func TestArrows(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", `{{.ImportPath}} {{join .Imports " "}}`, "haulbook/...").CombinedOutput()
	if err != nil {
		t.Fatalf("go list: %v\n%s", err, out)
	}
	listed := 0
	for line := range strings.Lines(string(out)) {
		words := strings.Fields(line)
		allowed, ok := layers[words[0]]
		if !ok {
			t.Errorf("%s stands in no layer: give it a place in the picture of DEVELOPERS.md and in this table", words[0])
			continue
		}
		listed++
		for _, imported := range words[1:] {
			if strings.HasPrefix(imported, "haulbook/") && !slices.Contains(allowed, "*") && !slices.Contains(allowed, imported) {
				t.Errorf("%s imports %s: no such arrow in the picture of DEVELOPERS.md", words[0], imported)
			}
		}
	}
	if listed != len(layers) {
		t.Errorf("%d packages found, the table has %d: a package that is gone leaves the table too", listed, len(layers))
	}
}

// TestDomainKnowsNoMachinery: the nouns import no database, no HTTP, no PDF.
func TestDomainKnowsNoMachinery(t *testing.T) {
	out, err := exec.Command("go", "list", "-deps", "haulbook/intake", "haulbook/intake/grouping").CombinedOutput()
	if err != nil {
		t.Fatalf("go list: %v\n%s", err, out)
	}
	for _, banned := range []string{"net/http", "database/sql", "modernc.org/sqlite", "codeberg.org/go-pdf/fpdf", "html/template"} {
		if slices.Contains(strings.Fields(string(out)), banned) {
			t.Errorf("the domain depends on %s", banned)
		}
	}
}

// TestTopLevel holds the fixed folders: everything else nests.
func TestTopLevel(t *testing.T) {
	entries, err := os.ReadDir("../..")
	if err != nil {
		t.Fatal(err)
	}
	fixed := []string{"cmd", "intake", "labels", "metadata", "watch", "testdata", "go.mod", "go.sum", "README.md", "DEVELOPERS.md"}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") && !slices.Contains(fixed, e.Name()) {
			t.Errorf("%s is not of the fixed top level", e.Name())
		}
	}
}
