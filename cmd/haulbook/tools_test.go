package main

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"strings"
	"testing"
)

// needTool finds an outside program. Without it the test is skipped with a
// sentence; where HAULBOOK_REQUIRE_TOOLS=1 says that nothing may be, it fails.
func needTool(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err == nil {
		return path
	}
	if os.Getenv("HAULBOOK_REQUIRE_TOOLS") == "1" {
		t.Fatalf("%s is not installed and HAULBOOK_REQUIRE_TOOLS=1 asks for it", name)
	}
	t.Skipf("%s is not installed: what it would have seen was not checked", name)
	return ""
}

// toolSays runs an outside program and returns the lines it printed.
func toolSays(t *testing.T, path string, args ...string) []string {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	var out, talk bytes.Buffer
	c := exec.CommandContext(ctx, path, args...)
	c.Stdout, c.Stderr = &out, &talk
	if err := c.Run(); err != nil {
		t.Fatalf("%s %s: %v\n%s", path, strings.Join(args, " "), err, talk.String())
	}
	return strings.Split(strings.TrimSpace(out.String()), "\n")
}
