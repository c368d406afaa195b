package desk_test

import (
	"bufio"
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"

	"haulbook/intake/desk"
)

// serving starts a real server, because a stream needs a connection. The
// client talks to it under its loopback address, so it is the keeper.
func serving(t *testing.T, version *atomic.Int64, broken *atomic.Bool) (*bench, *httptest.Server) {
	t.Helper()
	b := open(t, func(c *desk.Config) {
		c.Changed = func(context.Context) (int64, error) {
			if broken.Load() {
				return 0, errors.New("the book is away")
			}
			return version.Load(), nil
		}
	})
	s := httptest.NewServer(b)
	t.Cleanup(s.Close)
	t.Cleanup(b.Close) // runs first: the server waits for streams to end
	return b, s
}

func stream(t *testing.T, s *httptest.Server) *http.Response {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), "GET", s.URL+"/live", nil)
	if err != nil {
		t.Fatal(err)
	}
	answer, err := s.Client().Do(r)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { answer.Body.Close() })
	return answer
}

// nextVersion reads to the next event and returns its data.
func nextVersion(t *testing.T, lines *bufio.Scanner) string {
	t.Helper()
	for lines.Scan() {
		if data, ok := strings.CutPrefix(lines.Text(), "data: "); ok {
			return data
		}
	}
	t.Fatalf("the stream ended: %v", lines.Err())
	return ""
}

func TestLiveTellsChanges(t *testing.T) {
	var version atomic.Int64
	var broken atomic.Bool
	version.Store(7)
	_, s := serving(t, &version, &broken)
	answer := stream(t, s)
	if got := answer.Header.Get("Content-Type"); answer.StatusCode != 200 || got != "text/event-stream" {
		t.Fatalf("stream = %d %s", answer.StatusCode, got)
	}
	lines := bufio.NewScanner(answer.Body)
	if got := nextVersion(t, lines); got != "7" {
		t.Errorf("first version = %s, want 7", got)
	}
	// The poller's own first look tells 7 once more or already 8; then 8 comes.
	version.Store(8)
	for got := ""; got != "8"; {
		if got = nextVersion(t, lines); got != "7" && got != "8" {
			t.Fatalf("version = %s, want 7 or 8", got)
		}
	}
}

func TestLiveClientsAreBounded(t *testing.T) {
	var version atomic.Int64
	var broken atomic.Bool
	b, s := serving(t, &version, &broken)
	const most = 64
	open := make([]*http.Response, most)
	for i := range open {
		if open[i] = stream(t, s); open[i].StatusCode != 200 {
			t.Fatalf("client %d = %d", i, open[i].StatusCode)
		}
		nextVersion(t, bufio.NewScanner(open[i].Body))
	}
	if got := stream(t, s); got.StatusCode != http.StatusServiceUnavailable || got.Header.Get("Retry-After") == "" {
		t.Errorf("client 65 = %d, want 503 with Retry-After", got.StatusCode)
	}
	b.Close()
	b.Close() // a second time does nothing
	for _, answer := range open {
		lines := bufio.NewScanner(answer.Body)
		for lines.Scan() { // ends, because the desk closed
		}
	}
}

func TestLiveIsForKeepers(t *testing.T) {
	var version atomic.Int64
	var broken atomic.Bool
	b, s := serving(t, &version, &broken)
	status(t, b.send(t, "GET", "/live", "", stranger), 403)
	status(t, b.send(t, "GET", "/live", "", func(r *http.Request) { r.Host = "rebound.example" }), 421)
	broken.Store(true)
	if got := stream(t, s).StatusCode; got != 500 {
		t.Errorf("a book that is away = %d, want 500", got)
	}
	status(t, open(t).send(t, "GET", "/live", ""), 404) // a desk without Changed
}

func TestPagesCarryTheVersion(t *testing.T) {
	var version atomic.Int64
	var broken atomic.Bool
	version.Store(12)
	b, _ := serving(t, &version, &broken)
	contains(t, b.send(t, "GET", "/devices", "").Body.String(), `data-version="12"`)
	broken.Store(true)
	contains(t, b.send(t, "GET", "/devices", "").Body.String(), `data-version="0"`)
}
