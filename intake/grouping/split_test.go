package grouping_test

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"haulbook/intake/grouping"
)

// at are shots of one camera at the given seconds.
func at(seconds ...float64) []grouping.Shot {
	var shots []grouping.Shot
	for i, s := range seconds {
		taken := afternoon.Add(time.Duration(s * float64(time.Second)))
		shots = append(shots, grouping.Shot{Taken: taken, Camera: "telephone", Counter: i})
	}
	return shots
}

// with changes one shot of a copy.
func with(shots []grouping.Shot, i int, change func(*grouping.Shot)) []grouping.Shot {
	shots = slices.Clone(shots)
	change(&shots[i])
	return shots
}

func wantGroups(t *testing.T, shots []grouping.Shot, want ...[]int) {
	t.Helper()
	if got := grouping.Split(shots).Groups(); !reflect.DeepEqual(got, want) {
		t.Errorf("groups: got %v, want %v", got, want)
	}
}

// Three items of three photos, a minute apart.
var threeItems = at(0, 6, 13, 80, 85, 94, 160, 168, 173)

func TestSmallHauls(t *testing.T) {
	for _, c := range []struct {
		name  string
		shots []grouping.Shot
		want  [][]int
	}{
		{"no photo", nil, nil},
		{"one photo", at(0), [][]int{{0}}},
		{"two close together", at(0, 7), [][]int{{0, 1}}},
		{"two an hour apart", at(0, 3600), [][]int{{0}, {1}}},
		{"two days apart", at(0, 5, 172800), [][]int{{0, 1}, {2}}},
		{"five", at(0, 5, 100, 106, 112), [][]int{{0, 1}, {2, 3, 4}}},
		{"a burst", at(0, 0, 0, 1, 1, 90, 90, 91), [][]int{{0, 1, 2, 3, 4}, {5, 6, 7}}},
		{"all in one second", at(0, 0, 0, 0, 0, 0), [][]int{{0, 1, 2, 3, 4, 5}}},
		{"three items", threeItems, [][]int{{0, 1, 2}, {3, 4, 5}, {6, 7, 8}}},
	} {
		t.Run(c.name, func(t *testing.T) { wantGroups(t, c.shots, c.want...) })
	}
}

func TestHumansAreObeyed(t *testing.T) {
	cut := func(s *grouping.Shot) { s.Cut = grouping.CutHere }
	join := func(s *grouping.Shot) { s.Cut = grouping.JoinHere }
	wantGroups(t, with(threeItems, 1, cut), []int{0}, []int{1, 2}, []int{3, 4, 5}, []int{6, 7, 8})
	wantGroups(t, with(threeItems, 3, join), []int{0, 1, 2, 3, 4, 5}, []int{6, 7, 8})
	wantGroups(t, with(threeItems, 0, join), []int{0, 1, 2}, []int{3, 4, 5}, []int{6, 7, 8})

	r := grouping.Split(with(with(threeItems, 1, cut), 6, join))
	for k, b := range r.Before {
		said := k == 1 || k == 6
		if b.Human != said || said && b.Certainty != 1 {
			t.Errorf("boundary %d: got %+v, want human %v and then certain", k, b, said)
		}
	}
}

func TestItemsAreObeyed(t *testing.T) {
	item := func(id string) func(*grouping.Shot) { return func(s *grouping.Shot) { s.Item = id } }
	// The middle photo of the first item was attached elsewhere, by hand.
	wantGroups(t, with(threeItems, 1, item("x")), []int{0}, []int{1}, []int{2}, []int{3, 4, 5}, []int{6, 7, 8})
	// Two items that somebody joined into one.
	one := slices.Clone(threeItems)
	for i := range 6 {
		one[i].Item = "x"
	}
	wantGroups(t, one, []int{0, 1, 2, 3, 4, 5}, []int{6, 7, 8})
	// What already is an item outranks what was said about a boundary.
	one[3].Cut, one[6].Cut = grouping.CutHere, grouping.JoinHere
	wantGroups(t, one, []int{0, 1, 2, 3, 4, 5}, []int{6, 7, 8})
}

func TestDividersAreCertainAndInNoGroup(t *testing.T) {
	shots := with(at(0, 5, 9, 14, 18), 2, func(s *grouping.Shot) { s.Divider = true })
	wantGroups(t, shots, []int{0, 1}, []int{3, 4})
	shots[3].Cut = grouping.JoinHere
	wantGroups(t, shots, []int{0, 1}, []int{3, 4})
	for _, k := range []int{2, 3} {
		if b := grouping.Split(shots).Before[k]; !b.Cut || b.Certainty != 1 || b.Human {
			t.Errorf("boundary at the divider: got %+v, want a certain cut that no human made", b)
		}
	}
	only := with(at(0), 0, func(s *grouping.Shot) { s.Divider = true })
	wantGroups(t, only)
}

func TestTagsAreHardEvidence(t *testing.T) {
	shots := at(0, 6, 12, 18, 24, 30)
	shots[1].Tag, shots[4].Tag = "K4T", "9WZ"
	groups := grouping.Split(shots).Groups()
	for _, g := range groups {
		if slices.Contains(g, 1) && slices.Contains(g, 4) {
			t.Errorf("two tags in one group: %v", groups)
		}
	}
	// The same tag before and after a long look for the screwdriver.
	same := at(0, 6, 190, 196, 900, 904, 909, 1000, 1008)
	same[0].Tag, same[3].Tag = "K4T", "K4T"
	if got := grouping.Split(same).Groups()[0]; !reflect.DeepEqual(got, []int{0, 1, 2, 3}) {
		t.Errorf("group of a tag seen twice: got %v, want [0 1 2 3]", got)
	}
	// A human may know that the second tag stood in the background.
	shots = at(0, 6, 12)
	shots[0].Tag, shots[2].Tag = "K4T", "9WZ"
	shots[1].Cut, shots[2].Cut = grouping.JoinHere, grouping.JoinHere
	wantGroups(t, shots, []int{0, 1, 2})
}

// Whether tags are photographed first is the haul's own habit.
func TestTagHabitIsLearned(t *testing.T) {
	first, seen := at(), at()
	for i := range 12 {
		// Steady shooting: no gap tells where an item ends.
		for p := range 4 {
			s := at(float64(i*80 + p*20))[0]
			s.Counter = len(first)
			code := fmt.Sprintf("T%cQ", 'A'+i)
			a, b := s, s
			if p == 0 {
				a.Tag = code
			}
			if p == 2 {
				b.Tag = code
			}
			first, seen = append(first, a), append(seen, b)
		}
	}
	for k, b := range grouping.Split(first).Before {
		if want := k%4 == 0; b.Cut != want {
			t.Errorf("tags first, boundary %d: got %+v, want cut %v", k, b, want)
		}
	}
	if got := len(grouping.Split(seen).Groups()); got != 12 {
		t.Errorf("tags seen in the middle: got %d groups, want 12", got)
	}
}

// Tags that count up tell how many items without a readable tag lie between.
func TestUnreadTagsAreCounted(t *testing.T) {
	r := recipe{seed: 8, items: 30, within: 10, between: 25, spread: 0.4, tags: "first", unread: 0.35}
	s := r.invent()
	if got := len(grouping.Split(s.shots).Groups()); got < 29 || got > 31 {
		t.Errorf("groups of 30 numbered items: got %d", got)
	}
	r.random = true
	blind := r.invent()
	counted, guessed := s.exact(grouping.Split(s.shots).Groups()), blind.exact(grouping.Split(blind.shots).Groups())
	if counted <= guessed {
		t.Errorf("items exact: got %d with numbers, want more than the %d without", counted, guessed)
	}
}

// Plates photographed last close an item where gaps say little.
func TestPlatesClose(t *testing.T) {
	plain, closed := 0, 0
	for seed := range uint64(5) {
		s := recipe{seed: seed + 40, items: 30, within: 12, between: 36, spread: 0.6}.invent()
		plain += s.exact(grouping.Split(s.shots).Groups())
		for i := range s.shots {
			s.shots[i].Plate = i+1 == len(s.shots) || s.item[i+1] != s.item[i]
		}
		closed += s.exact(grouping.Split(s.shots).Groups())
	}
	if closed < plain+30 {
		t.Errorf("items exact of 150: got %d with plates, want many more than %d without", closed, plain)
	}
}

func TestNumberingMovesNothing(t *testing.T) {
	s := recipe{seed: 21, items: 30, within: 8, between: 40, spread: 0.7, interrupted: 0.03, tags: "seen", unread: 0.3, second: 0.3, skew: time.Hour}.invent()
	before := grouping.Split(s.shots)
	numbered := slices.Clone(s.shots)
	rnd := rand.New(rand.NewPCG(1, 1))
	for n, g := range before.Groups() {
		if rnd.IntN(2) == 0 {
			for _, i := range g {
				numbered[i].Item = fmt.Sprint("item", n)
			}
		}
	}
	after := grouping.Split(numbered)
	if !reflect.DeepEqual(before.Groups(), after.Groups()) {
		t.Error("groups changed when some were numbered")
	}
	if !reflect.DeepEqual(before.Shifts, after.Shifts) {
		t.Errorf("clocks: got %v, want %v as before numbering", after.Shifts, before.Shifts)
	}
}

func TestOneCutMovesNothingFarAway(t *testing.T) {
	s := recipe{seed: 22, items: 30, within: 8, between: 40, spread: 0.7, interrupted: 0.03}.invent()
	before := grouping.Split(s.shots)
	after := grouping.Split(with(s.shots, before.Order[1], func(s *grouping.Shot) { s.Cut = grouping.CutHere }))
	for k := 30; k < len(before.Before); k++ {
		if before.Before[k].Cut != after.Before[k].Cut {
			t.Errorf("boundary %d: got %+v after a cut at 1, want %+v", k, after.Before[k], before.Before[k])
		}
	}
}

func TestOrderOfInputDoesNotMatter(t *testing.T) {
	s := recipe{seed: 23, items: 25, within: 2, between: 20, spread: 0.8, tags: "seen", second: 0.4, skew: 90 * time.Second}.invent()
	want := named(s.shots, grouping.Split(s.shots).Groups())
	rnd := rand.New(rand.NewPCG(4, 2))
	for range 5 {
		shuffled := slices.Clone(s.shots)
		rnd.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
		if got := named(shuffled, grouping.Split(shuffled).Groups()); !reflect.DeepEqual(got, want) {
			t.Fatalf("groups of the shuffled shots: got %v, want %v", got, want)
		}
	}
}

// named tells groups by the counters of their shots.
func named(shots []grouping.Shot, groups [][]int) [][]int {
	out := make([][]int, len(groups))
	for g, members := range groups {
		for _, i := range members {
			out[g] = append(out[g], shots[i].Counter)
		}
	}
	return out
}

// A camera that fires by itself leaves no pause to cut at. Nobody knows where the
// items are then, and a few large groups are cut by hand sooner than many small
// ones are joined.
func TestSeriesWithoutPauseStaysInFewGroups(t *testing.T) {
	for _, interval := range []float64{0, 3} {
		var seconds []float64
		for i := range 1200 {
			seconds = append(seconds, float64(i)*interval)
		}
		if got := len(grouping.Split(at(seconds...)).Groups()); got > 5 {
			t.Errorf("1200 photos every %v s: got %d groups, want 5 at most", interval, got)
		}
	}
}

// Whatever is handed in, every photo is in one group, dividers in none, and what
// is hard is obeyed.
func TestAnyHaulIsSplitWhole(t *testing.T) {
	for seed := range uint64(150) {
		shots := anyHaul(rand.New(rand.NewPCG(seed, 77)))
		r := grouping.Split(shots)
		in := make([]int, len(shots))
		for _, g := range r.Groups() {
			for _, i := range g {
				in[i]++
				if shots[i].Item != shots[g[0]].Item {
					t.Fatalf("seed %d: items %q and %q in one group", seed, shots[i].Item, shots[g[0]].Item)
				}
			}
		}
		for i, s := range shots {
			if want := map[bool]int{false: 1, true: 0}[s.Divider]; in[i] != want {
				t.Fatalf("seed %d: shot %d is in %d groups, want %d", seed, i, in[i], want)
			}
		}
		for k, i := range r.Order {
			b := r.Before[k]
			if !(b.Certainty >= 0 && b.Certainty <= 1) {
				t.Fatalf("seed %d: certainty %v", seed, b.Certainty)
			}
			if k == 0 {
				if !b.Cut || b.Certainty != 1 {
					t.Fatalf("seed %d: the first boundary is %+v, want a certain cut", seed, b)
				}
				continue
			}
			before := shots[r.Order[k-1]]
			free := before.Item == "" && shots[i].Item == "" && !before.Divider && !shots[i].Divider
			if said := shots[i].Cut; free && said != grouping.Unsaid && b.Cut != (said == grouping.CutHere) {
				t.Fatalf("seed %d: boundary %d is %+v, a human said %v", seed, k, b, said)
			}
		}
	}
}

func anyHaul(rnd *rand.Rand) []grouping.Shot {
	shots := make([]grouping.Shot, rnd.IntN(60))
	now, scale := afternoon, []int{1, 30, 600, 100000}[rnd.IntN(4)]
	for i := range shots {
		now = now.Add(time.Duration(rnd.IntN(scale)*1000) * time.Millisecond)
		s := grouping.Shot{Taken: now, Camera: []string{"a", "b", "c"}[rnd.IntN(3)], Counter: rnd.IntN(9)}
		switch rnd.IntN(12) {
		case 0:
			s.Tag = fmt.Sprint("T", rnd.IntN(9))
		case 1:
			s.Item = fmt.Sprint("item", rnd.IntN(3))
		case 2:
			s.Divider = true
		case 3, 4, 5:
			s.Cut = grouping.Cut(1 + rnd.IntN(2))
		case 6:
			s.Plate = true
		case 7:
			s.Taken = s.Taken.AddDate(-26, 0, 0) // a camera whose battery was out
		}
		shots[i] = s
	}
	return shots
}
