package desk

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"sync"
	"time"
)

// liveHeader marks a page that refreshes itself in the background.
const liveHeader = "X-Desk-Live"

const (
	liveEvery     = 400 * time.Millisecond // between two looks at the book
	liveHeartbeat = 15 * time.Second       // keeps idle connections from being dropped
	liveClients   = 64                     // pages open at a time
	liveWrite     = 10 * time.Second       // a client slower than this is dropped
)

// live tells open pages that the book has changed. One poller serves them all
// and runs only while there is a page to tell.
type live struct {
	changed func(context.Context) (int64, error)
	log     *slog.Logger
	every   time.Duration

	mu      sync.Mutex
	clients map[chan int64]struct{}
	stop    context.CancelFunc // of the running poller, nil when none runs
	closed  chan struct{}
	once    sync.Once
}

func newLive(changed func(context.Context) (int64, error), log *slog.Logger) *live {
	return &live{
		changed: changed, log: log, every: liveEvery,
		clients: make(map[chan int64]struct{}), closed: make(chan struct{}),
	}
}

func (l *live) close() { l.once.Do(func() { close(l.closed) }) }

// join adds a client. The channel holds one version, the newest.
func (l *live) join() (chan int64, bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.clients) >= liveClients {
		return nil, false
	}
	c := make(chan int64, 1)
	l.clients[c] = struct{}{}
	if l.stop == nil {
		ctx, stop := context.WithCancel(context.Background())
		l.stop = stop
		go l.poll(ctx)
	}
	return c, true
}

func (l *live) leave(c chan int64) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.clients, c)
	if len(l.clients) == 0 && l.stop != nil {
		l.stop()
		l.stop = nil
	}
}

// poll looks at the book until its context ends. A book that cannot be looked
// at is logged once until it can be again.
func (l *live) poll(ctx context.Context) {
	tick := time.NewTicker(l.every)
	defer tick.Stop()
	known, failing := int64(-1), false
	for {
		version, err := l.changed(ctx)
		switch {
		case ctx.Err() != nil:
			return
		case err != nil && !failing:
			l.log.Error("look for changes of the book", "err", err)
		case err == nil && version != known:
			known = version
			l.tell(version)
		}
		failing = err != nil
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// tell replaces what a slow client has not read yet: only the newest counts.
func (l *live) tell(version int64) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for c := range l.clients {
		select {
		case <-c:
		default:
		}
		c <- version // room for one, and only tell sends
	}
}

// serve streams "changed" events (Server-sent events, HTML Living Standard,
// section 9.2) until the browser or the desk goes away.
func (l *live) serve(w http.ResponseWriter, r *http.Request) error {
	if l.changed == nil {
		return &Refusal{Status: http.StatusNotFound, Title: "No live changes", Text: "This desk does not tell pages of changes."}
	}
	version, err := l.changed(r.Context())
	if err != nil {
		return fmt.Errorf("watch the book: %w", err)
	}
	c, ok := l.join()
	if !ok {
		return &Refusal{
			Status: http.StatusServiceUnavailable, Title: "Too many open pages", RetryAfter: time.Minute,
			Text: "Pages still work; they only do not refresh by themselves.",
		}
	}
	defer l.leave(c)
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("Cache-Control", "no-store")
	// Said at once, because the book may have changed since the page was made.
	if err := send(w, fmt.Sprintf("retry: 2000\nevent: changed\ndata: %d\n\n", version)); err != nil {
		return nil // the browser went away
	}
	beat := time.NewTicker(liveHeartbeat)
	defer beat.Stop()
	for {
		message := ": still here\n\n"
		select {
		case <-r.Context().Done():
			return nil
		case <-l.closed:
			return nil
		case version := <-c:
			message = fmt.Sprintf("event: changed\ndata: %d\n\n", version)
		case <-beat.C:
		}
		if err := send(w, message); err != nil {
			return nil
		}
	}
}

// send writes one message at once. The server's own write timeout counts from
// the start of a request, so each message gets its own.
func send(w http.ResponseWriter, message string) error {
	rc := http.NewResponseController(w)
	rc.SetWriteDeadline(time.Now().Add(liveWrite)) // not every writer has one
	if _, err := w.Write([]byte(message)); err != nil {
		return err
	}
	return rc.Flush()
}
