package watch

import (
	"cmp"
	"io/fs"
	"slices"
	"time"
)

// stamp is what must stand still. The inode is left out: some network file systems number files anew at each mount.
type stamp struct {
	size     int64
	modified int64 // nanoseconds since 1970
}

func stampOf(info fs.FileInfo) stamp {
	return stamp{size: info.Size(), modified: info.ModTime().UnixNano()}
}

// candidate is a file that has not settled yet, or has settled without being complete.
type candidate struct {
	path    string
	stamp   stamp
	changed time.Time // when the change became known: the order of handing over
	since   time.Time // when the stamp was first seen as it is: what Settle and Patience count from
	look    time.Time // when to look next
}

// settling remembers the files of one run and which of them to look at next. It reads no clock and no disk.
type settling struct {
	quiet   time.Duration
	waiting map[string]*candidate
	// taken keeps the state each file was handed over in, for the whole run, even when the file is gone: a share that
	// drops out for a minute must not bring ten thousand files back as new.
	taken map[string]stamp
	queue []*candidate // due at the last refill, in order; some may have changed or gone since
	wake  time.Time    // no candidate outside the queue is due before; zero when none waits
}

func newSettling(quiet time.Duration) *settling {
	return &settling{quiet: quiet, waiting: map[string]*candidate{}, taken: map[string]stamp{}}
}

// observe notes what a file looks like at now; changed is when the change became known.
func (s *settling) observe(path string, seen stamp, changed, now time.Time) {
	c := s.waiting[path]
	if c == nil {
		if last, ok := s.taken[path]; ok && last == seen {
			return
		}
		// From here on what was taken does not count: a file that is rewritten and then given back its old time has
		// still been rewritten.
		c = &candidate{path: path}
		s.waiting[path] = c
	} else if c.stamp == seen {
		return
	}
	c.stamp, c.changed, c.since = seen, changed, now
	s.schedule(c, now.Add(s.quiet))
}

// schedule sets when to look at a waiting candidate next.
func (s *settling) schedule(c *candidate, look time.Time) {
	c.look = look
	if s.wake.IsZero() || look.Before(s.wake) {
		s.wake = look
	}
}

// due gives the candidate to look at now, nil if there is none. The caller settles its fate before asking again:
// observe, schedule, take or drop.
//
// The queue is worked off before it is filled again, so that ten thousand files due at once are sorted once. What
// becomes due meanwhile has settled later and comes later.
func (s *settling) due(now time.Time) *candidate {
	if len(s.queue) == 0 {
		s.refill(now)
	}
	for len(s.queue) > 0 {
		c := s.queue[0]
		s.queue = s.queue[1:]
		if s.waiting[c.path] == c && !c.look.After(now) {
			return c
		}
		if len(s.queue) == 0 {
			s.refill(now)
		}
	}
	return nil
}

func (s *settling) refill(now time.Time) {
	if s.wake.IsZero() || now.Before(s.wake) {
		return
	}
	s.queue, s.wake = nil, time.Time{}
	for _, c := range s.waiting {
		if c.look.After(now) {
			s.schedule(c, c.look)
		} else {
			s.queue = append(s.queue, c)
		}
	}
	slices.SortFunc(s.queue, func(a, b *candidate) int {
		return cmp.Or(a.changed.Compare(b.changed), cmp.Compare(a.path, b.path))
	})
}

// take closes a candidate that is handed over, or was in an earlier run.
func (s *settling) take(c *candidate) {
	delete(s.waiting, c.path)
	s.taken[c.path] = c.stamp
}

// drop forgets a candidate that cannot be looked at; if it still exists, the next scan finds it.
func (s *settling) drop(c *candidate) { delete(s.waiting, c.path) }
