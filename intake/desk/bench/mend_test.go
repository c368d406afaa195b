package bench_test

import (
	"slices"
	"strings"
	"testing"

	"haulbook/intake"
	"haulbook/intake/sqlite"
)

// typed are words in the form while something else is done.
var typed = []string{"name", "Half a name", "maker", "Orrel & Dane", "model", "", "serial", "0B8?"}

func (a answer) wantTyped() answer {
	a.t.Helper()
	for i := 0; i < len(typed); i += 2 {
		if got := a.value(typed[i]); got != typed[i+1] {
			a.t.Errorf("%s holds %q, want %q", typed[i], got, typed[i+1])
		}
	}
	return a
}

func (s *stand) photos(thing int) []string {
	var ids []string
	for _, id := range s.byThing[thing] {
		ids = append(ids, id.String())
	}
	return ids
}

// TestSplitGoesOnWithTheFirstHalf, because numbers follow shooting order; the
// words stay, and undo makes the group whole again.
func TestSplitGoesOnWithTheFirstHalf(t *testing.T) {
	s := fullStand(t)
	whole, photos := s.group(0), s.photos(0)
	page := s.follow(s.post("/bench/cut", append(typed, "photo", photos[2])...)).want(200, "A new thing begins there.", "Undo").wantTyped()
	if ids, _ := page.film(); !slices.Equal(ids, photos[:2]) {
		t.Errorf("film %v, want %v", ids, photos[:2])
	}
	page = s.follow(s.get(s.undo(page))).want(200).wantTyped()
	if ids, _ := page.film(); !slices.Equal(ids, photos) || s.group(0) != whole {
		t.Errorf("film %v after undo, want %v", ids, photos)
	}
}

func TestJoin(t *testing.T) {
	s := fullStand(t)
	page := s.get(s.group(1)).want(200)
	for _, boundary := range []struct {
		name   string
		before string
		things []int
	}{
		{"to the group before", s.photos(1)[0], []int{0, 1}},
		{"to the group behind", s.photos(2)[0], []int{1, 2}},
	} {
		t.Run(boundary.name, func(t *testing.T) {
			page.want(200, `formaction="/bench/join" name="before" value="`+boundary.before+`"`)
			joined := s.follow(s.post("/bench/join", append(typed, "photo", s.photos(1)[2], "before", boundary.before)...)).
				want(200, "Joined: this is one thing.").wantTyped()
			want := append(s.photos(boundary.things[0]), s.photos(boundary.things[1])...)
			if ids, _ := joined.film(); !slices.Equal(ids, want) {
				t.Errorf("film %v, want %v", ids, want)
			}
			s.undo(joined)
		})
	}
}

// TestSplittingTwiceIsOneSplit: the same form sent again changes nothing more,
// and the id of saving is still unused after it.
func TestSplittingTwiceIsOneSplit(t *testing.T) {
	s := fullStand(t)
	cut := []string{"op", "page-1", "photo", s.photos(1)[1]}
	s.post("/bench/cut", cut...).want(303)
	s.post("/bench/cut", cut...).want(303)
	changes, err := s.history.Of(t.Context(), "photo", s.photos(1)[1])
	if err != nil {
		t.Fatal(err)
	}
	splits := slices.DeleteFunc(changes, func(c intake.Change) bool { return !strings.HasPrefix(c.By.Op, "cut-") })
	if len(splits) != 1 || !strings.HasSuffix(splits[0].By.Op, "-page-1") {
		t.Errorf("splits %+v, want 1 under the form's operation", splits)
	}
	s.follow(s.post(s.group(1)+"/read", "op", "page-1", "name", "First half")).want(200, "given to First half.")
}

// TestDoubtfulBoundary is marked in the ribbon, asked about at its group, and
// settled by either answer.
func TestDoubtfulBoundary(t *testing.T) {
	for _, answer := range []struct {
		name, act string
		groups    int
	}{
		{"keep apart", "/bench/cut", 5},
		{"one thing", "/bench/join", 4},
	} {
		t.Run(answer.name, func(t *testing.T) {
			s := fullStand(t)
			s.unsure[2] = true
			if got := strings.Count(s.get(s.group(1)).want(200).lacks("Keep apart").body, `class="knot" href="`+s.group(2)+`"`); got != 1 {
				t.Fatalf("%d marks in the ribbon, want 1", got)
			}
			s.get(s.group(2)).want(200, "62 % sure", "Keep apart", `formaction="/bench/cut" name="before" value="`+s.photos(2)[0]+`"`)
			s.follow(s.post(answer.act, "before", s.photos(2)[0], "photo", s.photos(2)[1])).want(200, "Undo").
				lacks(`class="knot"`, "62 %", "Keep apart")
			if groups, err := s.store.Groups(t.Context(), ""); err != nil || len(groups) != answer.groups {
				t.Errorf("%d groups, error %v; want %d", len(groups), err, answer.groups)
			}
		})
	}
}

// TestBoundariesOfNumberedGroupsStand: what got its number is never regrouped.
func TestBoundariesOfNumberedGroupsStand(t *testing.T) {
	s := fullStand(t)
	s.post(s.group(1)+"/read", plate(s.things[1])...).want(303)
	page := s.get(s.group(2)).want(200, `name="before" value="" disabled`)
	page.lacks(`name="before" value="` + s.photos(2)[0])
	before := s.group(2)
	s.follow(s.post("/bench/join", append(typed, "before", s.photos(2)[0])...)).want(200, "That cannot be done here").wantTyped()
	s.follow(s.post("/bench/cut", "photo", s.photos(1)[1])).want(200, "That cannot be done here")
	if s.group(2) != before {
		t.Error("the group changed")
	}
}

func TestRoles(t *testing.T) {
	s := fullStand(t)
	photo := s.photos(1)[0]
	page := s.follow(s.post("/bench/role", append(typed, "photo", photo, "role", "plate")...)).
		want(200, "This photo shows the plate.", `id="stage-img" src="/photos/`+photo+`/large"`, `value="plate" aria-pressed="true"`).wantTyped()
	if _, roles := page.film(); roles[0] != "plate" || page.value("plate") != photo {
		t.Errorf("roles %v, the form's plate %q", roles, page.value("plate"))
	}
	page = s.follow(s.get(s.undo(page))).want(200).wantTyped()
	if _, roles := page.film(); roles[0] != "view" {
		t.Errorf("roles %v after undo, want a view first", roles)
	}
	s.post("/bench/role", "photo", photo, "role", "hat").want(400, "none of view, detail, plate and tag")
	s.post("/bench/role", "photo", "nonsense", "role", "plate").want(400)
	s.post("/bench/role", "photo", strings.Repeat("ab", 32), "role", "plate").want(404)
}

// TestPlateOnStageIsThePlateRead: a thing may have two plates.
func TestPlateOnStageIsThePlateRead(t *testing.T) {
	s := fullStand(t)
	photos := s.photos(1)
	s.post("/bench/role", "photo", photos[0], "role", "plate").want(303)
	s.post("/bench/role", "photo", photos[2], "role", "plate").want(303)
	for _, shown := range []string{photos[0], photos[2]} {
		if got := s.get(s.group(1) + "?photo=" + shown).want(200).value("plate"); got != shown {
			t.Errorf("with %.6s on the stage the plate is %.6s", shown, got)
		}
	}
}

func TestLeaveOut(t *testing.T) {
	s := fullStand(t)
	photos := s.photos(1)
	page := s.follow(s.post("/bench/leave-out", append(typed, "photo", photos[0])...)).
		want(200, "Left out. The photo stays in the book.").wantTyped()
	if ids, _ := page.film(); !slices.Equal(ids, photos[1:]) {
		t.Errorf("film %v, want %v", ids, photos[1:])
	}
	p, err := sqlite.Photos{DB: s.db}.Photo(t.Context(), s.byThing[1][0])
	if err != nil || p.Purpose != intake.LeftOut || p.Gone {
		t.Errorf("purpose %q, gone %t, error %v", p.Purpose, p.Gone, err)
	}
	page = s.follow(s.get(s.undo(page))).want(200).wantTyped()
	if ids, _ := page.film(); !slices.Equal(ids, photos) {
		t.Errorf("film %v after undo, want %v", ids, photos)
	}
	// The only photo of a group takes the group along; the bench goes on.
	if got, want := s.post("/bench/leave-out", "photo", s.photos(-1)[0]).to, s.group(0); got != want {
		t.Errorf("leads to %q, want %q", got, want)
	}
}

// TestWordsTooLongToCarry are dropped rather than making an address that no
// browser opens.
func TestWordsTooLongToCarry(t *testing.T) {
	s := fullStand(t)
	got := s.post("/bench/cut", "photo", s.photos(1)[1], "name", strings.Repeat("x", 9000)).want(303)
	if len(got.to) > 200 {
		t.Errorf("an address of %d bytes", len(got.to))
	}
}

// TestBoundaryInTheAddress: a button may name its photo there too.
func TestBoundaryInTheAddress(t *testing.T) {
	s := fullStand(t)
	s.follow(s.post("/bench/cut?before="+s.photos(1)[1])).want(200, "A new thing begins there.")
	s.follow(s.post("/bench/join?before="+s.photos(1)[1])).want(200, "Joined")
	s.post("/bench/cut").want(400)
}
