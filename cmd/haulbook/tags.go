package main

import (
	"errors"
	"fmt"
	"strings"

	"haulbook/intake"
	"haulbook/intake/sqlite"
	"haulbook/labels"
)

type tagsCommand struct {
	bookFlag
	Stock   string   `required:"" help:"Label paper by its sizes, e.g. a4-3x8, letter-3x10, roll-62x29."`
	DPI     int      `name:"dpi" default:"300" enum:"203,300,600" help:"Resolution of the printer: ${enum}."`
	Skip    int      `help:"Labels already used on the first sheet."`
	Blank   int      `help:"Also print this many tags that are tied to nothing yet."`
	Out     string   `placeholder:"FILE" help:"Where the PDF goes; without it tags-DATE.pdf, - for standard output."`
	Numbers []string `arg:"" optional:"" name:"number" help:"Whose tags; without any, the items that have no printed tag."`
}

// Run draws, proves, writes, and only then notes the tags as printed.
func (c *tagsCommand) Run(s *streams) error {
	if _, err := labels.StockNamed(c.Stock); err != nil {
		return &usageError{problem: err.Error()}
	}
	if c.Skip < 0 || c.Blank < 0 {
		return &usageError{problem: "--skip and --blank count labels and cannot be negative"}
	}
	b, err := c.open(s)
	if err != nil {
		return err
	}
	defer b.close()
	job := printJob{Stock: c.Stock, DPI: c.DPI, Skip: c.Skip, Blank: c.Blank}
	if job.Items, err = c.items(s, b); err != nil {
		return err
	}
	if len(job.Items)+job.Blank == 0 {
		s.say("no item waits for a printed tag; name numbers to print them again, or --blank for empty ones")
		return nil
	}
	s.say("tags carry %s", b.settings.Address)
	by := commandLine()
	step := progress(s, len(job.Items)+job.Blank)
	pdf, codes, err := b.sheet(s.ctx, by, job, func(int, int) { step() })
	if err != nil {
		return err
	}
	if err := c.write(s, pdf); err != nil {
		return err
	}
	return b.printed(s.ctx, by, job, codes)
}

// items resolves the numbers that were named, or lists what has no tag yet.
func (c *tagsCommand) items(s *streams, b *book) ([]intake.Item, error) {
	if len(c.Numbers) == 0 && c.Blank > 0 {
		return nil, nil
	}
	if len(c.Numbers) == 0 {
		return sqlite.Codes{DB: b.db}.Untagged(s.ctx)
	}
	var items []intake.Item
	var problems []error
	for _, n := range c.Numbers {
		it, err := sqlite.Items{DB: b.db}.Item(s.ctx, n)
		if err != nil {
			problems = append(problems, err)
			continue
		}
		items = append(items, it)
	}
	return items, errors.Join(problems...)
}

func (c *tagsCommand) write(s *streams, pdf []byte) error {
	out := c.Out
	if out == "-" {
		_, err := s.out.Write(pdf)
		return err
	}
	if out == "" {
		out = "tags-" + s.now().Format("2006-01-02") + ".pdf"
	}
	if !strings.EqualFold(out[max(0, len(out)-4):], ".pdf") {
		s.say("%s holds a PDF whatever its name says", out)
	}
	if err := writeDurably(out, pdf); err != nil {
		return err
	}
	s.say("print at 100 %%, with no fitting to the page")
	_, err := fmt.Fprintln(s.out, out)
	return err
}
