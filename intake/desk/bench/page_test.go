package bench_test

import (
	"net/http"
	"strings"
	"testing"

	"haulbook/cmd/haulbook/drawn"
	"haulbook/intake"
	"haulbook/intake/sqlite"
)

func TestEmptyBenchSaysWhatToDo(t *testing.T) {
	s := openStand(t)
	s.get("/bench").want(200, "Nothing waits for its plate", "<code>/home/ada/inbox</code>", `href="/tags"`)
	s.take(drawn.Options{Things: 1}, "", 0)
	// The page that was open learns of it without being led away.
	s.get("/bench", live).want(200, "1 group waits", `href="/bench"`)
	if got := s.get("/bench"); got.to != s.group(0) {
		t.Errorf("the bench leads to %q, want the first group %q", got.to, s.group(0))
	}
}

func TestStrangersSeeNothing(t *testing.T) {
	s := fullStand(t)
	from := func(r *http.Request) { r.RemoteAddr, r.Host = "192.168.1.77:4000", "192.168.1.20:8417" }
	for _, path := range []string{"/bench", s.group(0), "/bench/twins?serial=1"} {
		s.get(path, from).want(403).lacks("Millbrook", "data-show")
	}
}

func TestGroupPage(t *testing.T) {
	s := fullStand(t)
	page := s.get(s.group(1)).want(200,
		"Millbrook swap meet", "haul 2026.1", "0 of 5 read", "2026.1.1", "given on saving",
		`form="plate" formaction="/bench/cut"`, "Save, next group", "this group", `rel="stylesheet"`)
	ids, roles := page.film()
	if got, want := len(ids), len(s.byThing[1]); got != want {
		t.Errorf("%d photos in the film, want %d", got, want)
	}
	// The plate is the last photo of a thing (common practice, no source), and
	// stands large at once.
	last := ids[len(ids)-1]
	if roles[len(roles)-1] != "plate" || !strings.Contains(page.body, `id="stage-img" src="/photos/`+last+`/large"`) {
		t.Errorf("roles %v, and the plate %s is not on the stage", roles, last)
	}
	if got := page.value("plate"); got != last {
		t.Errorf("the form names %q as the plate, want %q", got, last)
	}
	if got := page.focus(); got != "name" {
		t.Errorf("focus on %q, want name", got)
	}
	s.get(s.group(1)+"?photo="+ids[0]).want(200, `id="stage-img" src="/photos/`+ids[0]+`/large"`)
	s.get(s.group(1)+"?photo=nonsense").want(200, `id="stage-img" src="/photos/`+last+`/large"`)
}

// TestEnterSaves: the default button of a form is its first submit button in
// tree order (HTML Living Standard, implicit submission), and buttons tied to
// it from outside count. Enter must find the one that saves.
func TestEnterSaves(t *testing.T) {
	s := fullStand(t)
	body := s.get(s.group(1)).want(200).body
	save := strings.Index(body, `id="save"`)
	for _, other := range []string{`form="plate"`, `formaction=`} {
		if at := strings.Index(body, other); at < save {
			t.Errorf("a button with %s stands before the one that saves", other)
		}
	}
	if form := strings.Index(body, `id="plate"`); form < 0 || save < form || strings.Count(body[form:save], "<button") != 1 {
		t.Error("another button comes first in the plate form")
	}
}

func TestNoSuchGroup(t *testing.T) {
	s := fullStand(t)
	for path, status := range map[string]int{
		"/bench/nonsense":              400,
		"/bench/000000000000-00000000": 404,
		"/bench/..%2f..%2fetc":         400,
	} {
		s.get(path).want(status)
		s.post(path+"/read", "name", "x").want(status)
	}
}

// TestHostileWords: whatever was typed or named comes back as text.
func TestHostileWords(t *testing.T) {
	const evil = `"><script>alert(1)</script><b onclick='x'>&amp; \ {{.}} ` + "\u202eUHM \u200f עברית"
	s := openStand(t)
	s.take(drawn.Options{Things: 2}, evil, 0)
	page := s.get(s.group(0)).want(200).lacks("<script>alert", "<b onclick")
	if !strings.Contains(page.text(), "alert(1)") {
		t.Error("the haul's name is missing")
	}
	s.follow(s.post(s.group(0)+"/read", "name", evil, "maker", evil, "model", evil, "serial", evil)).
		want(200, "Undo").lacks("<script>alert", "<b onclick")
	items, err := s.items.List(t.Context(), intake.Number{}, 1)
	if err != nil || len(items) != 1 {
		t.Fatalf("%d items, error %v", len(items), err)
	}
	if want := strings.TrimSpace(evil); items[0].Maker != want || items[0].Serial != want {
		t.Errorf("kept maker %q and serial %q, want %q", items[0].Maker, items[0].Serial, want)
	}
	// It comes back as an earlier word, as a twin and as a number's title.
	s.post(s.group(1)+"/read", "serial", evil).want(200, "The same thing twice?").lacks("<script>alert", "<b onclick")
	s.get("/bench/twins?serial=" + "%22%3E%3Cscript%3Ealert(1)").want(200).lacks("<script>alert")
	s.get(s.group(1) + "?name=%22%3E%3Cscript%3Ealert(1)").want(200).lacks("<script>alert")
	s.get(s.group(1) + "?from=%22%3E%3Cscript%3Ealert(1)").want(200).lacks("<script>alert")
}

func TestTooLongIsSaidAtTheField(t *testing.T) {
	s := fullStand(t)
	long := strings.Repeat("ß", 10_000)
	page := s.post(s.group(1)+"/read", "name", "Plotter", "maker", long, "serial", "7-11").
		want(400, "is 10000 characters long, 500 fit", `class="field wrong"`, `aria-describedby="why-maker"`)
	if page.value("maker") != long || page.value("name") != "Plotter" || page.value("serial") != "7-11" {
		t.Error("what was typed is not in the form any more")
	}
	if got := page.focus(); got != "maker" {
		t.Errorf("focus on %q, want maker", got)
	}
	if n, err := s.store.Next(t.Context(), ""); err != nil || n.Item != 1 {
		t.Errorf("next number %v, error %v; want none given", n, err)
	}
	s.post(s.group(1)+"/read", "name", "bad \xff bytes").want(400, "has bytes that are not text")
}

// TestUndatedPhoto waits alone at the end, can be read, and can join nothing.
func TestUndatedPhoto(t *testing.T) {
	s := fullStand(t)
	h, err := drawn.Plan(drawn.Options{Width: 160, Seed: 5})
	if err != nil {
		t.Fatal(err)
	}
	data, err := h.Draw(3)
	if err != nil {
		t.Fatal(err)
	}
	photo := s.arrive("Millbrook swap meet", "scan.jpg", withoutTime(t, data)).Photo
	if !photo.Taken().IsZero() {
		t.Fatal("the photo has a time")
	}
	groups, err := s.store.Groups(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	last := groups[len(groups)-1]
	if !last.Undated {
		t.Fatal("the undated photo does not wait behind the others")
	}
	page := s.get("/bench/"+last.ID()).want(200, "stands alone", "no time", `id="join" form="plate" formaction="/bench/join" name="before" value="" disabled`)
	if ids, _ := page.film(); len(ids) != 1 || ids[0] != photo.ID.String() {
		t.Errorf("film %v, want only %s", ids, photo.ID)
	}
	s.follow(s.post("/bench/cut", "photo", photo.ID.String())).want(200, "That cannot be done here")
	s.follow(s.post("/bench/"+last.ID()+"/read", "name", "Slide")).want(200, "given to Slide.")
}

// TestForgottenPhoto: a group that loses a photo is a moved one.
func TestForgottenPhoto(t *testing.T) {
	s := fullStand(t)
	old := s.group(2)
	if err := (sqlite.Photos{DB: s.db}).Forget(t.Context(), keeper, s.byThing[2][0]); err != nil {
		t.Fatal(err)
	}
	s.get(old).want(409, "Changed meanwhile")
	if ids, _ := s.get(s.group(2)).want(200).film(); len(ids) != len(s.byThing[2])-1 {
		t.Errorf("%d photos left", len(ids))
	}
}
