package grouping

// decode picks the split and gives the probability of a boundary before each
// shot. It picks the split with the most groups expected to be exactly right,
// not the most probable split: among thousands of splits that differ in one
// doubtful photo the most probable one has no merit of its own, and each group
// that is right is one the human need not touch.
//
// Source: J. Goodman, Parsing Algorithms and Metrics, ACL 1996, labelled recall:
// maximise the sum of the posteriors of the parts by dynamic programming.
func (s *sweep) decode() (cuts []bool, probability []float64) {
	n := len(s.gap)
	type candidate struct {
		from      int
		posterior float64
	}
	ending := make([][]candidate, n+1)
	s.backward(func(g segment, posterior float64) {
		ending[g.end] = append(ending[g.end], candidate{g.from, posterior})
	})
	best, from := make([]float64, n+1), make([]int, n+1)
	for j := 1; j <= n; j++ {
		best[j], from[j] = -1, j-1
		for _, c := range ending[j] {
			if v := best[c.from] + c.posterior; best[c.from] >= 0 && v > best[j] {
				best[j], from[j] = v, c.from
			}
		}
	}
	cuts, probability = make([]bool, n), make([]float64, n)
	for j := n; j > 0; j = from[j] {
		cuts[from[j]] = true
	}
	for k := range probability {
		probability[k] = s.cut(k)
	}
	return cuts, probability
}
