package sqlite

import (
	"crypto/sha256"
	"fmt"
	"sync"

	"haulbook/intake"
	"haulbook/intake/grouping"
)

// splitCache keeps the last split of each haul: pages ask far more often than
// photos arrive, and a split of a thousand photos takes its time.
type splitCache struct {
	mu     sync.Mutex
	byHaul map[intake.ID]cachedSplit
}

// cachedSplit answers only for exactly the shots it was computed from, so it can
// never be stale and needs no telling when the book changes.
type cachedSplit struct {
	shots  [sha256.Size]byte
	result grouping.Result
}

// split computes outside the lock: two pages that ask at once may both compute,
// which costs less than a page that waits for another haul's split.
func (s *splitCache) split(haul intake.ID, shots []grouping.Shot) grouping.Result {
	sum := sha256.New()
	for _, shot := range shots {
		fmt.Fprintf(sum, "%d %q %d %q %t %q %t %d\n", shot.Taken.UnixNano(), shot.Camera, shot.Counter, shot.Tag, shot.Plate, shot.Item, shot.Divider, shot.Cut)
	}
	key := [sha256.Size]byte(sum.Sum(nil))
	s.mu.Lock()
	cached, ok := s.byHaul[haul]
	s.mu.Unlock()
	if ok && cached.shots == key {
		return cached.result
	}
	result := grouping.Split(shots)
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.byHaul == nil {
		s.byHaul = map[intake.ID]cachedSplit{}
	}
	s.byHaul[haul] = cachedSplit{key, result}
	return result
}

// split does not remember what another split than the default said: a test may
// change its mind between two calls.
func (b Bench) split(haul intake.ID, shots []grouping.Shot) grouping.Result {
	if b.Split != nil {
		return b.Split(shots)
	}
	return b.DB.splits.split(haul, shots)
}
