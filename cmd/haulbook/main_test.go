package main

import (
	"bytes"
	"context"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// TestMain makes this test binary the program as well: scripts and the test
// that kills it run "haulbook" as a process of its own. A picture worker is
// started under the binary's own name and known by its word.
func TestMain(m *testing.M) {
	if slices.Contains(os.Args[1:], "picture-worker") {
		main()
	}
	testscript.Main(m, map[string]func(){"haulbook": main})
}

// patience is how long one command may take before a test gives it up: long,
// because other tests share the processors, and never reached when all is well.
const patience = 5 * time.Minute

// command runs one command in this process, without a terminal.
func command(t *testing.T, args ...string) (out, talk string, code int) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	var said, told transcript
	code = run(ctx, args, strings.NewReader(""), &said, &told)
	if ctx.Err() != nil {
		t.Fatalf("haulbook %s did not end within %v:\n%s", strings.Join(args, " "), patience, told.String())
	}
	return said.String(), told.String(), code
}

// done runs a command that must end well and returns what it printed.
func done(t *testing.T, args ...string) string {
	t.Helper()
	out, talk, code := command(t, args...)
	if code != exitDone {
		t.Fatalf("haulbook %s: exit code %d, want %d\n%s", strings.Join(args, " "), code, exitDone, talk)
	}
	return out
}

// transcript keeps what a command prints, from several goroutines at once.
type transcript struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (w *transcript) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.text.Write(p)
}

func (w *transcript) String() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.text.String()
}

// openDesk serves a book as haulbook run does, on a port that the system picks,
// until the test ends. It returns the desk's address.
func openDesk(t *testing.T, book string) string {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	serves, ended := make(chan string, 1), make(chan int, 1)
	var out, talk transcript
	s := &streams{ctx: ctx, in: strings.NewReader(""), out: &out, talk: &talk, now: time.Now, serves: func(a string) { serves <- a }}
	go func() { ended <- runWith(s, []string{"run", "--book", book, "--listen", "127.0.0.1:0"}) }()
	t.Cleanup(func() {
		stop()
		if code := <-ended; code != exitDone {
			t.Errorf("run: exit code %d after it was stopped, want %d\n%s", code, exitDone, talk.String())
		}
	})
	select {
	case address := <-serves:
		return address
	case code := <-ended:
		ended <- code
		t.Fatalf("run: ended with %d before it served\n%s", code, talk.String())
	case <-time.After(patience):
		t.Fatalf("run: no desk within %v\n%s", patience, talk.String())
	}
	return ""
}

func TestExitCodes(t *testing.T) {
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	book := t.TempDir()
	done(t, "init", book)
	tests := []struct {
		name string
		ctx  context.Context
		args []string
		want int
		says string
	}{
		{"no words at all ask for help", t.Context(), nil, exitDone, ""},
		{"help", t.Context(), []string{"--help"}, exitDone, ""},
		{"help of a command", t.Context(), []string{"tags", "--help"}, exitDone, ""},
		{"no such command", t.Context(), []string{"scribble"}, exitUsage, "scribble"},
		{"no such flag", t.Context(), []string{"groups", "--book", book, "--loud"}, exitUsage, "--loud"},
		{"a flag without its value", t.Context(), []string{"groups", "--book"}, exitUsage, "--book"},
		{"a folder that is no book", t.Context(), []string{"groups", "--book", t.TempDir()}, exitError, "is no book"},
		{"stopped", ended, []string{"take", "--book", book, t.TempDir()}, exitError, "run the same command again"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var out, talk bytes.Buffer
			if got := run(tt.ctx, tt.args, strings.NewReader(""), &out, &talk); got != tt.want {
				t.Errorf("exit code %d, want %d\n%s", got, tt.want, talk.String())
			}
			if !strings.Contains(talk.String(), tt.says) {
				t.Errorf("said %q, want it to name %q", talk.String(), tt.says)
			}
			if tt.want == exitDone && !strings.Contains(out.String(), "Exit codes: 0 done, 1 error, 2 usage, 3 partly done.") {
				t.Errorf("help without the exit codes:\n%s", out.String())
			}
		})
	}
}
