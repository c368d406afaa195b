package main

import (
	"errors"
	"fmt"

	"haulbook/intake"
	"haulbook/intake/sqlite"
)

type plateCommand struct {
	bookFlag
	Group  string `arg:"" help:"The group, as the groups command lists it."`
	Name   string `help:"What it is."`
	Maker  string `help:"Who made it."`
	Model  string `help:"Its model, as the plate says."`
	Serial string `help:"Its serial, exactly as read; ? for what cannot be read."`
}

// Run enters the reading and prints the number, alone on its line.
func (c *plateCommand) Run(s *streams) error {
	b, err := c.open(s)
	if err != nil {
		return err
	}
	defer b.close()
	reading := intake.Reading{Name: c.Name, Maker: c.Maker, Model: c.Model, Serial: c.Serial}
	it, err := sqlite.Bench{DB: b.db}.Read(s.ctx, commandLine(), c.Group, reading)
	if errors.Is(err, intake.ErrConflict) {
		return fmt.Errorf("%w; haulbook groups lists the groups as they are now", err)
	} else if err != nil {
		return err
	}
	_, err = fmt.Fprintln(s.out, it.Number)
	return err
}
