package desk_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"haulbook/intake/desk"
)

func from(peer string) *http.Request {
	r := httptest.NewRequest("GET", "/", nil)
	r.RemoteAddr = peer
	return r
}

func TestTries(t *testing.T) {
	now := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	tries := desk.NewTries(2, 5, 10*time.Minute, func() time.Time { return now })
	a, b := from("192.168.1.2:1"), from("192.168.1.3:1")
	tries.Spend(a)
	if got := tries.Wait(a); got != 0 {
		t.Errorf("after one miss of two, wait = %v", got)
	}
	tries.Spend(from("192.168.1.2:999")) // another port of the same peer
	now = now.Add(time.Minute)
	if got, want := tries.Wait(a), 9*time.Minute; got != want {
		t.Errorf("after two misses, wait = %v, want %v", got, want)
	}
	if got := tries.Wait(b); got != 0 {
		t.Errorf("another peer waits %v", got)
	}
	for i := range 3 {
		tries.Spend(from(fmt.Sprintf("10.0.0.%d:1", i)))
	}
	if tries.Wait(b) == 0 {
		t.Error("five misses altogether hold nobody up")
	}
	now = now.Add(9 * time.Minute)
	if got := tries.Wait(a); got != 0 {
		t.Errorf("in the next window, wait = %v", got)
	}
}

// TestPeersThatAreOne: an IPv6 machine owns 64 bits of addresses, and a header
// can claim anything.
func TestPeersThatAreOne(t *testing.T) {
	now := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	tests := []struct {
		name string
		a, b string
		same bool
	}{
		{"two ports", "192.168.1.2:1", "192.168.1.2:2", true},
		{"mapped", "192.168.1.2:1", "[::ffff:192.168.1.2]:1", true},
		{"two hosts", "192.168.1.2:1", "192.168.1.3:1", false},
		{"one network of 64 bits", "[fd00:1:2:3::1]:1", "[fd00:1:2:3:ffff::9]:1", true},
		{"zone", "[fe80::1%eth0]:1", "[fe80::2%eth1]:1", true},
		{"two networks", "[fd00:1:2:3::1]:1", "[fd00:1:2:4::1]:1", false},
		{"unreadable", "", "@", true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tries := desk.NewTries(1, 100, time.Minute, func() time.Time { return now })
			tries.Spend(from(tt.a))
			r := from(tt.b)
			r.Header.Set("X-Forwarded-For", "203.0.113.9")
			if got := tries.Wait(r) > 0; got != tt.same {
				t.Errorf("held up = %t, want %t", got, tt.same)
			}
		})
	}
}
