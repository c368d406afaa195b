package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"haulbook/intake"
	"haulbook/intake/sqlite"
)

type showCommand struct {
	bookFlag
	JSON bool   `name:"json" help:"A JSON object."`
	Ref  string `arg:"" name:"number|code|url" help:"A number, a tag's code, or the address a tag carries."`
}

// Run prints one record.
func (c *showCommand) Run(s *streams) error {
	b, err := c.open(s)
	if err != nil {
		return err
	}
	defer b.close()
	it, err := sqlite.Items{DB: b.db}.Item(s.ctx, c.Ref)
	if err != nil {
		return err
	}
	if c.JSON {
		return json.NewEncoder(s.out).Encode(shownOf(it))
	}
	printItem(s.out, it)
	return nil
}

func printItem(w io.Writer, it intake.Item) {
	fmt.Fprintf(w, "%s  %s\n", orUnknown(it.Number.String(), "not numbered"), it.Title())
	for _, line := range []struct{ label, text string }{
		{"maker", it.Maker}, {"model", it.Model}, {"serial", it.Serial},
		{"haul", strings.TrimSpace(it.Haul.Number.String() + " " + it.Haul.Name)},
		{"place", it.Place}, {"code", string(it.Code())},
	} {
		fmt.Fprintf(w, "  %-7s %s\n", line.label, orUnknown(line.text, "unknown"))
	}
	fmt.Fprintf(w, "  %-7s %s\n", "photos", plural(len(it.Photos), "photo"))
	for _, p := range it.Parts {
		fmt.Fprintf(w, "  %-7s %s  %s\n", "part", p.Number, p.Title())
	}
}

func orUnknown(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}
