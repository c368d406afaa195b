package main

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"os"
	"runtime"
	"sync"
	"time"

	"haulbook/intake"
	"haulbook/intake/sqlite"
	"haulbook/metadata"
	"haulbook/watch"
)

type runCommand struct {
	bookFlag
	Listen string   `default:":8417" placeholder:"ADDR" help:"Where the desk answers."`
	Inbox  []string `placeholder:"DIR" help:"Folders to watch as well as the book's own inboxes."`
}

// Run watches and serves until it is told to stop.
func (c *runCommand) Run(s *streams) error {
	b, err := c.open(s)
	if err != nil {
		return err
	}
	defer b.close()
	l, err := listen(c.Listen)
	if err != nil {
		return err
	}
	s.say("the desk: http://localhost:%s/ on this machine, %s for paired phones", port(l), orUnknown(b.settings.Address, "no address chosen yet"))
	inboxes := append(b.settings.inboxes(b.dir), c.Inbox...)
	for _, dir := range inboxes {
		s.say("watching %s", dir)
	}
	return work(s, b, l, inboxes, watch.Folder{})
}

// work runs the inboxes and the desk side by side. Whichever fails stops the
// other; an interrupt stops both and is no error.
func work(s *streams, b *book, l net.Listener, inboxes []string, pace watch.Folder) error {
	ctx, stop := context.WithCancelCause(s.ctx)
	defer stop(nil)
	var running sync.WaitGroup
	begin := func(task func(context.Context) error) {
		running.Go(func() {
			if err := task(ctx); err != nil && ctx.Err() == nil {
				stop(err)
			}
		})
	}
	in := &intakeLine{streams: s, book: b, receiver: b.receiver(s)}
	in.places = make(chan struct{}, runtime.GOMAXPROCS(0))
	begin(in.finishLooks)
	for _, dir := range inboxes {
		begin(func(ctx context.Context) error { return in.watch(ctx, dir, pace) })
	}
	begin(func(ctx context.Context) error { return serveDesk(ctx, s, b, l, inboxes) })
	running.Wait()
	in.busy.Wait()
	if cause := context.Cause(ctx); s.ctx.Err() == nil && !errors.Is(cause, context.Canceled) {
		return cause
	}
	return nil
}

// intakeLine takes settled files in, as many at a time as there are processors.
type intakeLine struct {
	streams  *streams
	book     *book
	receiver *intake.Receiver
	places   chan struct{}
	busy     sync.WaitGroup
}

// watch hands every file of one inbox to the line, and remembers files of
// earlier runs by their arrival row so that they are not hashed again.
func (l *intakeLine) watch(ctx context.Context, dir string, pace watch.Folder) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		l.streams.say("inbox %s: %v", dir, err)
	}
	pace.Dir = dir
	pace.Complete = complete
	pace.Known = func(path string, size int64, modified time.Time) bool {
		_, known, err := sqlite.Photos{DB: l.book.db}.Known(ctx, path, size, modified)
		return err == nil && known
	}
	pace.Problem = func(err error) { l.streams.say("inbox %s: %v", dir, err) }
	return pace.Run(ctx, func(ctx context.Context, f watch.File) error {
		select {
		case l.places <- struct{}{}:
		case <-ctx.Done():
			return ctx.Err()
		}
		l.busy.Go(func() {
			defer func() { <-l.places }()
			l.take(ctx, intake.Arrival{Path: f.Path, Haul: haulNameFor(f.Sub)})
		})
		return nil
	})
}

// take reports what is wrong and goes on: the watcher hands a failed file over
// again at the next start, and nothing of it is half done.
func (l *intakeLine) take(ctx context.Context, a intake.Arrival) {
	done, err := l.receiver.Receive(ctx, intake.By{Person: "inbox", Device: "inbox"}, a)
	switch {
	case ctx.Err() != nil:
	case err != nil:
		l.streams.say("%s: %v; it will be tried again at the next start", a.Path, err)
	case done.Outcome == intake.Unreadable, done.Photo.Meta.Damage != "" && done.Outcome == intake.Added:
		l.streams.say("%s: %s", a.Path, done.Reason)
	}
}

// finishLooks looks at the photos whose look a killed process did not finish.
func (l *intakeLine) finishLooks(ctx context.Context) error {
	pending, err := sqlite.Photos{DB: l.book.db}.Pending(ctx)
	if err != nil {
		return err
	}
	for _, p := range pending {
		if _, err := l.receiver.LookAgain(ctx, p); err != nil {
			return err
		}
	}
	return nil
}

// complete asks the file's own structure whether its end has arrived. What is
// no photo is complete: waiting would not make it one.
func complete(path string, size int64) bool {
	f, err := os.Open(path)
	if err != nil {
		return true
	}
	defer f.Close()
	return metadata.Complete(f, size) != metadata.Incomplete
}

// logger is where the desk logs what it cannot show.
func logger(s *streams) *slog.Logger {
	return slog.New(slog.NewTextHandler(s.talk, &slog.HandlerOptions{Level: slog.LevelWarn}))
}
