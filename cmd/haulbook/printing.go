package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"

	"haulbook/intake"
	"haulbook/intake/sqlite"
	"haulbook/labels"
)

// printJob is one sheet of tags for things of this book, whoever asks for it:
// the tags command or the desk.
type printJob struct {
	Stock string
	DPI   int
	Skip  int
	Blank int           // fresh codes, tied to nothing yet
	Items []intake.Item // the things, in the order of the sheet
}

// sheet draws and proves the job's tags and returns the PDF with the codes on
// it. Nothing is marked as printed: that is for whoever has put the PDF where
// it can be printed.
func (b *book) sheet(ctx context.Context, by intake.By, job printJob, progress func(done, total int)) ([]byte, []intake.Code, error) {
	stock, err := labels.StockNamed(job.Stock)
	if err != nil {
		return nil, nil, err
	}
	if b.settings.Address == "" {
		return nil, nil, fmt.Errorf("tags need an address to carry first: haulbook init %s --address http://…: %w", b.dir, intake.ErrInvalid)
	}
	drawing := labels.Job{Stock: stock, DPI: job.DPI, Skip: job.Skip, Date: b.db.Now()}
	tags, codes, err := b.tags(ctx, by, job)
	if err != nil {
		return nil, nil, err
	}
	var pdf bytes.Buffer
	if err := drawing.WritePDF(ctx, &pdf, tags, progress); errors.Is(err, labels.ErrNoRoom) {
		return nil, nil, fmt.Errorf("%w: %w", err, intake.ErrInvalid)
	} else if err != nil {
		return nil, nil, err
	}
	return pdf.Bytes(), codes, nil
}

// tags makes what each label says: things first, blank tags after them. A thing
// keeps its code for good, so printing twice gives the same tag.
func (b *book) tags(ctx context.Context, by intake.By, job printJob) ([]labels.Tag, []intake.Code, error) {
	store := sqlite.Codes{DB: b.db}
	tags := make([]labels.Tag, 0, len(job.Items)+job.Blank)
	codes := make([]intake.Code, 0, cap(tags))
	for _, it := range job.Items {
		code, err := store.For(ctx, step(by, string(it.ID)), it.ID)
		if err != nil {
			return nil, nil, err
		}
		tag := b.tag(code)
		tag.Number, tag.Name = it.Number.String(), it.Title()
		tags, codes = append(tags, tag), append(codes, code)
	}
	if job.Blank > 0 {
		blank, err := store.Blank(ctx, step(by, "blank"), job.Blank)
		if err != nil {
			return nil, nil, err
		}
		for _, code := range blank {
			tags, codes = append(tags, b.tag(code)), append(codes, code)
		}
	}
	return tags, codes, nil
}

// step names one of the several changes that a single press of a button makes:
// each is its own operation, and pressing again repeats each of them once.
func step(by intake.By, name string) intake.By {
	if by.Op != "" {
		by.Op += "/" + name
	}
	return by
}

func (b *book) tag(code intake.Code) labels.Tag {
	return labels.Tag{URL: code.TagURL(b.settings.Address), Code: string(code), Return: b.settings.ReturnLine}
}

// printed notes that the codes are on paper, or at least in a file to print.
func (b *book) printed(ctx context.Context, by intake.By, job printJob, codes []intake.Code) error {
	prints := make([]sqlite.Print, 0, len(codes))
	for _, code := range codes {
		prints = append(prints, sqlite.Print{Code: code, Stock: job.Stock, Address: b.settings.Address})
	}
	return sqlite.Codes{DB: b.db}.Printed(ctx, step(by, "printed"), prints)
}

// writeSheet is sheet and printed in one, for a writer that is the paper.
func (b *book) writeSheet(ctx context.Context, by intake.By, job printJob, w io.Writer) error {
	pdf, codes, err := b.sheet(ctx, by, job, nil)
	if err != nil {
		return err
	}
	if _, err := w.Write(pdf); err != nil {
		return err
	}
	return b.printed(ctx, by, job, codes)
}
