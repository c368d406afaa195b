package main

import (
	"bytes"
	"context"
	"os"
	"slices"
	"strings"
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
const patience = 3 * time.Minute

// command runs one command in this process, without a terminal.
func command(t *testing.T, args ...string) (out, talk string, code int) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	var said, told bytes.Buffer
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
