package watch

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// crowded makes a folder of 10,000 files in ten sub-folders.
func crowded(b *testing.B) string {
	b.Helper()
	dir := b.TempDir()
	for i := range 10_000 {
		path := filepath.Join(dir, fmt.Sprintf("haul %d", i%10), fmt.Sprintf("IMG_%05d.jpg", i))
		if i < 10 {
			must(b, os.Mkdir(filepath.Dir(path), 0o755))
		}
		must(b, os.WriteFile(path, nil, 0o644))
	}
	return dir
}

// BenchmarkScan is one scan that finds nothing new: what a run costs every Rescan.
func BenchmarkScan(b *testing.B) {
	for name, open := range map[string]opener{"events": openEvents, "scanning": noEvents} {
		b.Run(name, func(b *testing.B) {
			l := newLookout(Folder{Dir: crowded(b), open: open}.withDefaults())
			defer l.close()
			must(b, l.scan(b.Context()))
			if got, want := len(l.settling.waiting), 10_000; got != want {
				b.Fatalf("found %d files, want %d", got, want)
			}
			for b.Loop() {
				must(b, l.scan(b.Context()))
			}
		})
	}
}

// BenchmarkHandOver is the whole way of 10,000 files that were there at the start, but for the waiting.
func BenchmarkHandOver(b *testing.B) {
	f := Folder{Dir: crowded(b), Settle: time.Nanosecond, open: noEvents}.withDefaults()
	for b.Loop() {
		l := newLookout(f)
		must(b, l.attend(b.Context()))
		handed := 0
		for c := l.settling.due(time.Now()); c != nil; c = l.settling.due(time.Now()) {
			if _, settled := l.inspect(c, time.Now()); settled {
				handed++
			}
		}
		if got, want := handed, 10_000; got != want {
			b.Fatalf("handed over %d files, want %d", got, want)
		}
	}
}
