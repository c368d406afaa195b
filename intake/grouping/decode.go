package grouping

// boundaryWorth is what a boundary expected to be right is worth against a group
// expected to be exactly right.
const boundaryWorth = 0.1

// decode picks the split and gives the probability of a boundary before each
// shot. It picks the split with the most groups expected to be exactly right,
// not the most probable split: among thousands of splits that differ in one
// doubtful photo the most probable one has no merit of its own, and each group
// that is right is one the human need not touch. Where no group has a chance to
// be right, the boundaries expected to be right decide.
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
	cuts, probability = make([]bool, n), make([]float64, n)
	joined := make([]float64, n+1) // joins expected to be right before each shot
	for k := range probability {
		probability[k] = s.cut(k)
		joined[k+1] = joined[k] + 1 - probability[k]
	}
	best, from := make([]float64, n+1), make([]int, n+1)
	for j := 1; j <= n; j++ {
		best[j] = -1
		for _, c := range ending[j] {
			right := probability[c.from] + joined[j] - joined[c.from+1]
			if v := best[c.from] + c.posterior + boundaryWorth*right; best[c.from] >= 0 && v > best[j] {
				best[j], from[j] = v, c.from
			}
		}
	}
	for j := n; j > 0; j = from[j] {
		cuts[from[j]] = true
	}
	return cuts, probability
}
