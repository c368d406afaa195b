package watch

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

var midnight = time.Date(2026, 7, 1, 0, 0, 0, 0, time.UTC)

func after(seconds int) time.Time { return midnight.Add(time.Duration(seconds) * time.Second) }

// takeDue closes all that is due and gives the paths in order.
func takeDue(s *settling, now time.Time) string {
	var paths []string
	for c := s.due(now); c != nil; c = s.due(now) {
		paths = append(paths, c.path)
		s.take(c)
	}
	return strings.Join(paths, " ")
}

func TestSettlingOrder(t *testing.T) {
	s := newSettling(2 * time.Second)
	s.observe("z", stamp{size: 1}, after(0), after(1))
	s.observe("b", stamp{size: 1}, after(1), after(1))
	s.observe("a", stamp{size: 1}, after(1), after(1))
	s.observe("c", stamp{size: 1}, after(2), after(2))
	if got, want := takeDue(s, after(2)), ""; got != want {
		t.Errorf("before anything has settled: got %q, want %q", got, want)
	}
	if got, want := takeDue(s, after(9)), "z a b c"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if !s.wake.IsZero() {
		t.Errorf("wake = %v with nothing waiting, want none", s.wake)
	}
}

func TestSettlingRestartsOnChange(t *testing.T) {
	s := newSettling(2 * time.Second)
	s.observe("a", stamp{size: 1}, after(0), after(0))
	s.observe("a", stamp{size: 2}, after(1), after(1))
	s.observe("a", stamp{size: 2}, after(2), after(2)) // the same again is no change
	if got, want := takeDue(s, after(2)), ""; got != want {
		t.Errorf("two seconds after the first sight: got %q, want %q", got, want)
	}
	if got, want := takeDue(s, after(3)), "a"; got != want {
		t.Errorf("two seconds after the change: got %q, want %q", got, want)
	}
}

func TestSettlingTakesEachStateOnce(t *testing.T) {
	s := newSettling(2 * time.Second)
	steps := []struct {
		seen stamp
		want string
	}{
		{stamp{1, 1}, "a"},
		{stamp{1, 1}, ""},
		{stamp{2, 1}, "a"}, // another size
		{stamp{2, 1}, ""},
		{stamp{2, 3}, "a"}, // another time
		{stamp{1, 1}, "a"}, // as it once was, which is still a change
	}
	for i, step := range steps {
		s.observe("a", step.seen, after(10*i), after(10*i))
		if got := takeDue(s, after(10*i+5)); got != step.want {
			t.Errorf("step %d: got %q, want %q", i, got, step.want)
		}
	}
}

// A candidate that changes while it stands in the queue must not come out of it.
func TestSettlingChangeInQueue(t *testing.T) {
	s := newSettling(2 * time.Second)
	for _, path := range []string{"a", "b", "c"} {
		s.observe(path, stamp{size: 1}, after(0), after(0))
	}
	s.take(s.due(after(2)))
	s.observe("b", stamp{size: 2}, after(2), after(2))
	if got, want := takeDue(s, after(3)), "c"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := s.wake, after(4); !got.Equal(want) {
		t.Errorf("wake = %v, want %v", got, want)
	}
	if got, want := takeDue(s, after(4)), "b"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Against a model that is slow and plain: whatever is observed in whatever order, a path comes out exactly when its
// last change is as old as the settling time, and once for each change.
func TestSettlingModel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const quiet = 3
		s := newSettling(quiet * time.Second)
		last, seen := map[string]int{}, map[string]stamp{} // of what has not come out yet; of everything
		for now := range rapid.IntRange(1, 60).Draw(t, "seconds") {
			for range rapid.IntRange(0, 3).Draw(t, "observations") {
				path := rapid.SampledFrom([]string{"a", "b", "c", "d"}).Draw(t, "path")
				look := stamp{size: rapid.Int64Range(0, 1).Draw(t, "size"), modified: 1}
				if old, ok := seen[path]; !ok || old != look {
					seen[path], last[path] = look, now
				}
				s.observe(path, look, after(now), after(now))
			}
			got, want := takeDue(s, after(now)), modelDue(last, now-quiet)
			if got != want {
				t.Fatalf("at %d s: got %q, want %q", now, got, want)
			}
			if s.wake.IsZero() != (len(last) == 0) {
				t.Fatalf("at %d s: wake = %v with %d waiting", now, s.wake, len(last))
			}
		}
	})
}

// modelDue removes what last changed at or before until and gives it in order.
func modelDue(last map[string]int, until int) string {
	var paths []string
	for second := range until + 1 {
		for _, path := range []string{"a", "b", "c", "d"} {
			if at, ok := last[path]; ok && at == second {
				paths = append(paths, path)
				delete(last, path)
			}
		}
	}
	return strings.Join(paths, " ")
}

func TestTroublesAreToldOnce(t *testing.T) {
	var told []string
	tr := troubles{tell: func(err error) { told = append(told, err.Error()) }}
	scans := []struct {
		trouble string // about one folder; none when empty
		want    string
	}{
		{"missing", "missing"},
		{"missing", ""},
		{"unreadable", "unreadable"},
		{"", ""},
		{"unreadable", "unreadable"},
	}
	for i, scan := range scans {
		told = nil
		tr.begin()
		if scan.trouble != "" {
			tr.report("folder", fmt.Errorf("%s", scan.trouble))
		}
		tr.end()
		if got := strings.Join(told, " "); got != scan.want {
			t.Errorf("scan %d: got %q, want %q", i, got, scan.want)
		}
	}
}
