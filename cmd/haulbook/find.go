package main

import (
	"encoding/json"
	"fmt"
	"strings"

	"haulbook/intake/sqlite"
)

type findCommand struct {
	bookFlag
	JSON  bool     `name:"json" help:"A JSON array."`
	Words []string `arg:"" help:"Words in any order, a serial in any look-alike spelling, a number or a code."`
}

// findLimit is how many results one search prints.
const findLimit = 200

// Run prints what fits, one line an item.
func (c *findCommand) Run(s *streams) error {
	b, err := c.open(s)
	if err != nil {
		return err
	}
	defer b.close()
	items, err := sqlite.Items{DB: b.db}.Find(s.ctx, strings.Join(c.Words, " "), findLimit)
	if err != nil {
		return err
	}
	list := make([]shown, 0, len(items))
	for _, it := range items {
		list = append(list, shownOf(it))
	}
	if c.JSON {
		return json.NewEncoder(s.out).Encode(list)
	}
	for _, it := range items {
		fmt.Fprintf(s.out, "%-12s %s  %s %s  %s\n", it.Number, it.Title(), it.Maker, it.Model, it.Serial)
	}
	if len(items) == 0 {
		s.say("nothing in the book fits %q", strings.Join(c.Words, " "))
	}
	return nil
}
