package grouping_test

import (
	"testing"
	"time"

	"haulbook/intake/grouping"
)

// A thousand photos are a long weekend of work; the bench recomputes them after
// every photo that arrives.
func BenchmarkSplit(b *testing.B) {
	afternoon := recipe{items: 235, within: 7, between: 45, spread: 0.5, interrupted: 0.01, pause: time.Hour}
	for name, change := range map[string]func(*recipe){
		"one camera":             func(*recipe) {},
		"tags first":             func(r *recipe) { r.tags, r.unread = "first", 0.2 },
		"two cameras, 9 h apart": func(r *recipe) { r.second, r.skew = 0.4, 9*time.Hour },
	} {
		r := afternoon
		change(&r)
		s := r.invent()
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				grouping.Split(s.shots)
			}
			b.ReportMetric(float64(len(s.shots)), "photos")
		})
	}
}
