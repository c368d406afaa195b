package main

import (
	"encoding/json"
	"fmt"

	"haulbook/intake/sqlite"
)

type groupsCommand struct {
	bookFlag
	JSON bool `name:"json" help:"A JSON array."`
}

// Run lists the groups that wait, in shooting order.
func (c *groupsCommand) Run(s *streams) error {
	b, err := c.open(s)
	if err != nil {
		return err
	}
	defer b.close()
	groups, err := sqlite.Bench{DB: b.db}.Groups(s.ctx, "")
	if err != nil {
		return err
	}
	list := make([]waiting, 0, len(groups))
	for _, g := range groups {
		list = append(list, waitingOf(g))
	}
	if c.JSON {
		return json.NewEncoder(s.out).Encode(list)
	}
	for _, w := range list {
		fmt.Fprintf(s.out, "%s  %s  %2d photos  %3.0f %%  %s\n", w.Group, w.HaulNumber, len(w.Photos), 100*w.Certainty, w.Code)
	}
	if len(list) == 0 {
		s.say("nothing waits for a plate reading")
	}
	return nil
}
