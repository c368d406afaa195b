package desk

import (
	"net/http"
	"net/netip"
	"sync"
	"time"
)

// Tries bounds how often codes may be guessed: so many misses a peer and so
// many altogether within a window. Only misses are counted, so that a visitor
// who scans a whole room of real tags is never held up.
type Tries struct {
	perPeer, total int
	window         time.Duration
	now            func() time.Time

	mu     sync.Mutex
	from   time.Time // start of the running window
	all    int
	misses map[netip.Prefix]int
}

// NewTries returns an empty count. now is the clock.
func NewTries(perPeer, total int, window time.Duration, now func() time.Time) *Tries {
	return &Tries{perPeer: perPeer, total: total, window: window, now: now, misses: make(map[netip.Prefix]int)}
}

// Wait returns how long the sender of r has to wait before another try, 0 when
// it may try now.
func (t *Tries) Wait(r *http.Request) time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.turn()
	if t.all < t.total && t.misses[peer(r)] < t.perPeer {
		return 0
	}
	return max(t.from.Add(t.window).Sub(t.now()), time.Second)
}

// Spend counts one miss. The map cannot outgrow total, because beyond it nobody
// tries.
func (t *Tries) Spend(r *http.Request) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.turn()
	t.all++
	if t.all <= t.total {
		t.misses[peer(r)]++
	}
}

// turn begins a new window when the old one is over.
func (t *Tries) turn() {
	if now := t.now(); now.Sub(t.from) >= t.window || now.Before(t.from) {
		t.from, t.all = now, 0
		clear(t.misses)
	}
}

// peer is who is counted as one: an IPv4 address or an IPv6 network of 64 bits,
// because one machine has all addresses of that. Headers that name another
// sender are not believed.
func peer(r *http.Request) netip.Prefix {
	from, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Prefix{}
	}
	addr, bits := from.Addr().Unmap().WithZone(""), 64
	if addr.Is4() {
		bits = 32
	}
	prefix, err := addr.Prefix(bits)
	if err != nil {
		return netip.Prefix{}
	}
	return prefix
}
