//go:build unix

package main

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"io"
	"os/exec"
	"runtime"
	"slices"
	"syscall"
	"time"
)

// cost is what a program and all it started took.
type cost struct {
	name string
	cpu  time.Duration // user and system
	wall time.Duration
	peak int64 // bytes resident, of the largest single process
}

// and adds work done one after the other.
func (c cost) and(d cost) cost {
	return cost{name: c.name, cpu: c.cpu + d.cpu, wall: c.wall + d.wall, peak: max(c.peak, d.peak)}
}

// measure runs a command to its end and reads the system's own account of it,
// children that were waited for included.
func measure(ctx context.Context, name string, args ...string) (cost, error) {
	command := exec.CommandContext(ctx, name, args...)
	var talk bytes.Buffer
	command.Stderr = &talk
	start := time.Now()
	err := command.Run()
	wall := time.Since(start)
	if err != nil {
		return cost{}, fmt.Errorf("%s: %w\n%s", name, err, talk.Bytes())
	}
	usage, ok := command.ProcessState.SysUsage().(*syscall.Rusage)
	if !ok {
		return cost{}, fmt.Errorf("%s: the system keeps no account of it", name)
	}
	peak := int64(usage.Maxrss)
	if runtime.GOOS != "darwin" { // counted in kilobytes everywhere else
		peak *= 1024
	}
	state := command.ProcessState
	return cost{name: name, cpu: state.UserTime() + state.SystemTime(), wall: wall, peak: peak}, nil
}

// table prints medians a photo, and the ratio of each pair of runs.
func table(w io.Writer, photos int, ours, general []cost) {
	milli := func(c cost, what func(cost) time.Duration) float64 {
		return what(c).Seconds() * 1000 / float64(photos)
	}
	fmt.Fprintf(w, "%-22s %12s %12s %8s\n", "median a photo", "haulbook", "tools", "ratio")
	for _, row := range []struct {
		name string
		of   func(cost) time.Duration
	}{{"CPU, ms", func(c cost) time.Duration { return c.cpu }}, {"wall, ms", func(c cost) time.Duration { return c.wall }}} {
		var a, b, ratios []float64
		for i := range ours {
			x, y := milli(ours[i], row.of), milli(general[i], row.of)
			a, b, ratios = append(a, x), append(b, y), append(ratios, y/x)
		}
		fmt.Fprintf(w, "%-22s %12.0f %12.0f %7.1f×\n", row.name, median(a), median(b), median(ratios))
	}
	peak := func(c cost) int64 { return c.peak }
	fmt.Fprintf(w, "%-22s %12d %12d\n", "peak memory, MiB", highest(ours, peak)>>20, highest(general, peak)>>20)
}

func median[T cmp.Ordered](values []T) T {
	sorted := slices.Sorted(slices.Values(values))
	return sorted[len(sorted)/2]
}

func highest(costs []cost, of func(cost) int64) int64 {
	var top int64
	for _, c := range costs {
		top = max(top, of(c))
	}
	return top
}
