package grouping_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"haulbook/intake/grouping"
)

// A session is the shots of one invented haul with the item each one shows.
type session struct {
	shots []grouping.Shot
	item  []int
}

// A recipe says how a haul is invented: a person photographing one thing after
// another. The numbers are our own idea of such an afternoon; no source.
type recipe struct {
	seed            uint64
	items           int
	within, between float64       // median seconds inside an item and between items
	spread          float64       // of both, as the sigma of the logarithm
	interrupted     float64       // share of gaps inside an item that last minutes
	pause           time.Duration // one long pause halfway
	tags            string        // "", "first" or "seen"
	unread          float64       // share of tags nobody could read
	random          bool          // codes are random instead of counting up
	second          float64       // share of an item's later photos taken by a second camera
	whole           bool          // the second camera takes whole items instead
	skew            time.Duration // what the second camera's clock is behind
}

var afternoon = time.Date(2026, 5, 9, 13, 0, 0, 0, time.UTC)

func (r recipe) invent() session {
	rnd := rand.New(rand.NewPCG(r.seed, 14))
	draw := func(median float64) time.Duration {
		return time.Duration(median*math.Exp(r.spread*rnd.NormFloat64())*1000) * time.Millisecond
	}
	var s session
	now := afternoon
	for item := range r.items {
		photos := 1 + int(rnd.ExpFloat64()*4)
		tagged, readable := -1, rnd.Float64() >= r.unread
		switch r.tags {
		case "first":
			photos, tagged = photos+1, 0
		case "seen":
			tagged = rnd.IntN(photos)
		}
		code := fmt.Sprintf("2031.2.%d", item+1)
		if r.random {
			code = fmt.Sprintf("T%cK%dX%c", 'A'+rune(rnd.IntN(20)), rnd.IntN(1000), 'B'+rune(rnd.IntN(20)))
		}
		second := r.whole && rnd.Float64() < r.second
		for p := range photos {
			shot := grouping.Shot{Camera: "telephone", Counter: len(s.shots)}
			if p == tagged && readable {
				shot.Tag = code
			}
			at := now
			if second || !r.whole && p > 0 && rnd.Float64() < r.second {
				shot.Camera, at = "reflex", now.Add(-r.skew)
			}
			shot.Taken = at.Truncate(time.Second)
			s.shots, s.item = append(s.shots, shot), append(s.item, item)
			if now = now.Add(draw(r.within)); rnd.Float64() < r.interrupted {
				now = now.Add(time.Duration(1+rnd.IntN(240)) * time.Second)
			}
		}
		now = now.Add(draw(r.between))
		if item == r.items/2 {
			now = now.Add(r.pause)
		}
	}
	return s
}

// exact counts the items whose photos are exactly one group.
func (s session) exact(groups [][]int) int {
	size := make(map[int]int)
	for _, i := range s.item {
		size[i]++
	}
	right := 0
	for _, g := range groups {
		same := 0
		for _, i := range g {
			if s.item[i] == s.item[g[0]] {
				same++
			}
		}
		if same == len(g) && size[s.item[g[0]]] == len(g) {
			right++
		}
	}
	return right
}
