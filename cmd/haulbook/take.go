package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"sync"

	"github.com/schollz/progressbar/v3"

	"haulbook/intake"
	"haulbook/watch"
)

type takeCommand struct {
	bookFlag
	Haul  string   `placeholder:"NAME" help:"Haul the photos belong to. Without it: the sub-folder's name, or the book's open haul."`
	JSON  bool     `name:"json" help:"One JSON object a file instead of a line."`
	Paths []string `arg:"" name:"path" help:"Photos, or folders of photos."`
}

// Run takes every path in once, over all processors, and reports in the order
// the files were found.
func (c *takeCommand) Run(s *streams) error {
	b, err := c.open(s)
	if err != nil {
		return err
	}
	defer b.close()
	files, problems := c.find(s.ctx)
	if s.ctx.Err() != nil {
		return s.ctx.Err()
	}
	for _, problem := range problems {
		s.say("%v", problem)
	}
	report := takeReport{streams: s, asJSON: c.JSON, bad: len(problems)}
	if err := takeAll(s, b, files, report.tell); err != nil {
		return err
	}
	report.sum(len(files))
	if report.bad > 0 {
		return errPartly
	}
	return nil
}

// find lists what there is to take. A path that cannot be read is a problem of
// its own and keeps the others from nothing.
func (c *takeCommand) find(ctx context.Context) (files []intake.Arrival, problems []error) {
	for _, path := range c.Paths {
		stat, err := os.Stat(path)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			problems = append(problems, fmt.Errorf("%s: there is no such file or folder", path))
		case err != nil:
			problems = append(problems, err)
		case stat.IsDir():
			err = watch.Walk(ctx, path, func(f watch.File) error {
				files = append(files, c.arrival(f.Path, f.Sub))
				return nil
			})
			if err != nil {
				problems = append(problems, err)
			}
		default:
			files = append(files, c.arrival(path, ""))
		}
	}
	return files, problems
}

func (c *takeCommand) arrival(path, sub string) intake.Arrival {
	if abs, err := filepath.Abs(path); err == nil {
		path = abs
	}
	if c.Haul != "" {
		return intake.Arrival{Path: path, Haul: c.Haul}
	}
	return intake.Arrival{Path: path, Haul: haulNameFor(sub)}
}

// takeAll receives files on every processor and calls tell in their order. It
// stops at the first error that is not the file's own fault.
func takeAll(s *streams, b *book, files []intake.Arrival, tell func(intake.Arrival) error) error {
	ctx, cancel := context.WithCancelCause(s.ctx)
	defer cancel(nil)
	receiver, by := b.receiver(s), commandLine()
	results := make([]chan intake.Arrival, len(files))
	for i := range results {
		results[i] = make(chan intake.Arrival, 1)
	}
	var next sync.Mutex
	at := 0
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for {
				next.Lock()
				i := at
				at++
				next.Unlock()
				if i >= len(files) || ctx.Err() != nil {
					return
				}
				done, err := receiver.Receive(ctx, by, files[i])
				if err != nil {
					cancel(err)
					return
				}
				results[i] <- done
			}
		})
	}
	err := tellInOrder(ctx, results, tell, progress(s, len(files)))
	if err != nil {
		cancel(err)
	}
	workers.Wait()
	if cause := context.Cause(ctx); cause != nil {
		return cause
	}
	return err
}

func tellInOrder(ctx context.Context, results []chan intake.Arrival, tell func(intake.Arrival) error, step func()) error {
	for i := range results {
		select {
		case a := <-results[i]:
			if err := tell(a); err != nil {
				return err
			}
			step()
		case <-ctx.Done():
			return context.Cause(ctx)
		}
	}
	return nil
}

// progress draws a bar where somebody is looking at a terminal, and nothing in
// a pipe or a log.
func progress(s *streams, total int) (step func()) {
	talk, ok := s.talk.(*os.File)
	if !ok || total < 10 {
		return func() {}
	}
	if stat, err := talk.Stat(); err != nil || stat.Mode()&os.ModeCharDevice == 0 {
		return func() {}
	}
	bar := progressbar.NewOptions(total, progressbar.OptionSetWriter(talk), progressbar.OptionShowCount(), progressbar.OptionClearOnFinish())
	return func() { bar.Add(1) }
}

// takeReport prints what became of each file and counts.
type takeReport struct {
	streams *streams
	asJSON  bool
	bad     int
	counts  map[intake.Outcome]int
}

func (r *takeReport) tell(a intake.Arrival) error {
	if r.counts == nil {
		r.counts = map[intake.Outcome]int{}
	}
	r.counts[a.Outcome]++
	if a.Outcome == intake.Unreadable || a.Photo.Meta.Damage != "" {
		r.bad++
		r.streams.say("%s: %s", a.Path, a.Reason)
	}
	if r.asJSON {
		return json.NewEncoder(r.streams.out).Encode(readingOf(a))
	}
	_, err := fmt.Fprintf(r.streams.out, "%-10s %s\n", a.Outcome, a.Path)
	return err
}

func (r *takeReport) sum(files int) {
	line := plural(files, "file")
	for _, o := range []intake.Outcome{intake.Added, intake.Duplicate, intake.Version, intake.Ignored, intake.Unreadable} {
		if n := r.counts[o]; n > 0 {
			line += fmt.Sprintf(", %d %s", n, o)
		}
	}
	r.streams.say("%s", line)
}
