package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"haulbook/cmd/haulbook/drawn"
)

// smallHaul is three things in fourteen photos, one of them cut off and one a
// PNG, drawn once for every script.
var smallHaul = sync.OnceValues(func() (drawn.Haul, error) {
	return drawn.Invent(drawn.Options{Seed: 1, Width: 320, Things: 3})
})

// TestScript tells the stories of testdata/script with the program as a process
// of its own. The haul lies ready in photos/swap, its damaged photo in cut.
func TestScript(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script", RequireExplicitExec: true, RequireUniqueNames: true,
		Setup: func(e *testscript.Env) error {
			haul, err := smallHaul()
			if err != nil {
				return err
			}
			return layOut(haul, filepath.Join(e.WorkDir, "photos", "swap"), filepath.Join(e.WorkDir, "cut"))
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"code": exitsWith, "alone": alone, "jsonfields": jsonFields, "pick": pick,
			"padded": padded, "lower": lower, "pages": pages, "pdftext": pdfText,
		},
	})
}

// layOut writes the sound photos of a drawn haul into one folder and the
// damaged ones into another.
func layOut(haul drawn.Haul, sound, damaged string) error {
	err := errors.Join(os.MkdirAll(sound, 0o755), os.MkdirAll(damaged, 0o755))
	for _, p := range haul.Photos {
		folder := sound
		if p.Damaged {
			folder = damaged
		}
		err = errors.Join(err, os.WriteFile(filepath.Join(folder, p.Name), p.Bytes, 0o644))
	}
	return err
}

// exitsWith CODE PROGRAM ARG… holds the exact exit code, where "!" only holds
// that there was one.
func exitsWith(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: code N PROGRAM ARG...")
	}
	err := ts.Exec(args[1], args[2:]...)
	var ended *exec.ExitError
	switch {
	case err == nil && args[0] == "0":
	case errors.As(err, &ended) && strconv.Itoa(ended.ExitCode()) == args[0]:
	default:
		ts.Fatalf("ended with %v, want exit code %s", err, args[0])
	}
}

// jsonFields FILE FIELD… holds that the JSON values in FILE have these fields
// and no others: "photos[].role" is a field of every element of a list. A new
// field is added to the script, a renamed one never passes.
func jsonFields(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: jsonfields FILE FIELD...")
	}
	got := map[string]bool{}
	for _, v := range jsonValues(ts, args[0]) {
		fieldsOf(v, "", got)
	}
	want := slices.Sorted(slices.Values(args[1:]))
	if have := slices.Sorted(maps.Keys(got)); !slices.Equal(have, want) {
		ts.Fatalf("fields\ngot  %s\nwant %s", strings.Join(have, " "), strings.Join(want, " "))
	}
}

// fieldsOf notes the path of every field below v.
func fieldsOf(v any, path string, fields map[string]bool) {
	switch v := v.(type) {
	case map[string]any:
		for name, inner := range v {
			at := strings.TrimPrefix(path+"."+name, ".")
			fields[at] = true
			fieldsOf(inner, at, fields)
		}
	case []any:
		for _, inner := range v {
			fieldsOf(inner, strings.TrimPrefix(path+"[]", "[]"), fields)
		}
	}
}

// pick NAME PATH sets an environment variable to a value of the JSON that was
// last printed: "1.group" is the second group's id.
func pick(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: pick NAME PATH")
	}
	values := jsonValues(ts, "stdout")
	if len(values) == 0 {
		ts.Fatalf("nothing was printed")
	}
	at := values[0]
	for step := range strings.SplitSeq(args[1], ".") {
		switch v := at.(type) {
		case map[string]any:
			at = v[step]
		case []any:
			i, err := strconv.Atoi(step)
			if err != nil || i >= len(v) {
				ts.Fatalf("%s: no element %s of %d", args[1], step, len(v))
			}
			at = v[i]
		}
	}
	if at == nil {
		ts.Fatalf("%s: nothing there", args[1])
	}
	ts.Setenv(args[0], fmt.Sprint(at))
}

// alone TEXT holds that the last command printed TEXT on one line and nothing
// else, so that a script can take it as it is.
func alone(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 1 {
		ts.Fatalf("usage: alone TEXT")
	}
	if got, want := ts.ReadFile("stdout"), args[0]+"\n"; (got == want) == neg {
		ts.Fatalf("printed %q, wanted %q to be all of it: %v", got, want, !neg)
	}
}

// padded NAME NUMBER writes a number as lists print it, "2026.7.14" as
// "2026.007.0014".
func padded(ts *testscript.TestScript, neg bool, args []string) {
	var year, haul, item int
	if n, err := fmt.Sscanf(args[1], "%d.%d.%d", &year, &haul, &item); n != 3 {
		ts.Fatalf("%s is no number: %v", args[1], err)
	}
	ts.Setenv(args[0], fmt.Sprintf("%d.%03d.%04d", year, haul, item))
}

// lower NAME CODE writes a code as somebody types it: small letters, the letter
// l for a 1 and o for a 0.
func lower(ts *testscript.TestScript, neg bool, args []string) {
	ts.Setenv(args[0], strings.NewReplacer("1", "l", "0", "o").Replace(strings.ToLower(args[1])))
}

// jsonValues reads one value, or one a line, from a file or "stdout".
func jsonValues(ts *testscript.TestScript, file string) (values []any) {
	d := json.NewDecoder(strings.NewReader(ts.ReadFile(file)))
	for {
		var v any
		err := d.Decode(&v)
		if errors.Is(err, io.EOF) {
			return values
		}
		ts.Check(err)
		values = append(values, v)
	}
}
