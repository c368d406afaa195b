package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"time"

	"haulbook/cmd/haulbook/drawn"
	"haulbook/intake"
	"haulbook/intake/desk"
	"haulbook/intake/sqlite"
	"haulbook/watch"
)

type demoCommand struct {
	Dir    string        `name:"book" placeholder:"DIR" help:"Where the demo's book goes; without it, a new folder among the temporary ones."`
	Listen string        `default:":8417" placeholder:"ADDR" help:"Where the desk answers."`
	Pace   time.Duration `default:"350ms" hidden:"" help:"Between two photos."`
	told   func(*book)   // tests: called when the story is told and the desk waits
	width  int           // tests: of the photos; as drawn when 0
}

// Help says what will happen.
func (demoCommand) Help() string {
	return "Invents a dozen old machines and the fifty photos somebody took of them at a swap meet. The photos land\n" +
		"in the inbox one by one and go through the real pipeline; a few plates are read, numbers given and tags\n" +
		"printed; then the desk stays open for you to read the rest. Everything lies in one folder that you can delete."
}

// Run tells the whole job once and then serves the desk until it is stopped.
func (c *demoCommand) Run(s *streams) error {
	l, err := c.listener(s)
	if err != nil {
		return err
	}
	if c.Dir == "" {
		if c.Dir, err = os.MkdirTemp("", "haulbook-demo-"); err != nil {
			return err
		}
	}
	_, notYet := os.Stat(filepath.Join(c.Dir, settingsFile))
	returnLine := "Found me? Please write to the keeper."
	if err := initBook(s, c.Dir, demoAddress(l), &returnLine); err != nil {
		return err
	}
	b, err := openBook(s, c.Dir)
	if err != nil {
		return err
	}
	defer b.close()
	ctx, stop := context.WithCancelCause(s.ctx)
	defer stop(nil)
	story := make(chan struct{})
	go func() {
		defer close(story)
		if !errors.Is(notYet, fs.ErrNotExist) {
			s.say("this book was here before: opening it as it is")
		} else if err := c.tell(ctx, s, b); err != nil && ctx.Err() == nil {
			stop(err)
			return
		}
		c.invite(s, b, l)
	}()
	within := *s
	within.ctx = ctx
	err = work(&within, b, l, b.settings.inboxes(b.dir), watch.Folder{Settle: 300 * time.Millisecond, Patience: 3 * time.Second})
	<-story
	if cause := context.Cause(ctx); err == nil && s.ctx.Err() == nil && cause != nil {
		return cause
	}
	return err
}

// listener takes the usual port, or any other when a newcomer already has
// something there and asked for nothing else.
func (c *demoCommand) listener(s *streams) (net.Listener, error) {
	l, err := listen(c.Listen)
	if err != nil && c.Listen == ":8417" {
		s.say("%v", err)
		return listen(":0")
	}
	return l, err
}

// demoAddress is what the demo's tags carry: this machine as a phone in the
// same house reaches it, or itself where there is no network.
func demoAddress(l net.Listener) string {
	host := "localhost"
	at, _ := l.Addr().(*net.TCPAddr)
	if addresses := desk.NetworkAddresses(); len(addresses) > 0 && (at == nil || !at.IP.IsLoopback()) {
		host = addresses[0].String()
	}
	return "http://" + net.JoinHostPort(host, port(l))
}

// tell is the story: tags made ahead, photos arriving, plates read, tags printed.
func (c *demoCommand) tell(ctx context.Context, s *streams, b *book) error {
	by := intake.By{Person: "demo", Device: "demo"}
	s.say("\n1. Tags are printed ahead, tied to nothing yet, and laid beside some of the things.")
	ahead := printJob{Stock: "a4-3x8", DPI: 300, Blank: 4}
	if err := c.print(ctx, s, b, by, ahead, "tags-printed-ahead.pdf"); err != nil {
		return err
	}
	codes, err := c.blankCodes(ctx, b)
	if err != nil {
		return err
	}
	haul, err := drawn.Plan(drawn.Options{Width: c.width, Address: b.settings.Address, Codes: codes})
	if err != nil {
		return err
	}
	folder := filepath.Join(b.dir, "inbox", haul.Folder)
	s.say("\n2. %d photos from a phone and a camera land in\n   %s", len(haul.Photos), folder)
	truth, err := c.shoot(ctx, b, haul, folder)
	if err != nil {
		return err
	}
	if err := c.settled(ctx, b, len(haul.Photos)); err != nil {
		return err
	}
	s.say("\n3. The photos fell into groups by their times and tags. Five plates are read; each gets its number:")
	if err := c.readPlates(ctx, s, b, by, truth, haul.Things); err != nil {
		return err
	}
	s.say("\n4. Their tags are drawn, each read back before it is written:")
	items, err := sqlite.Codes{DB: b.db}.Untagged(ctx)
	if err != nil {
		return err
	}
	return c.print(ctx, s, b, by, printJob{Stock: "a4-3x8", DPI: 300, Items: items}, "tags-of-the-haul.pdf")
}

// blankCodes lists the codes that wait to be used, as the tag photos show them.
func (c *demoCommand) blankCodes(ctx context.Context, b *book) ([]string, error) {
	blank, err := sqlite.Codes{DB: b.db}.Unused(ctx)
	if err != nil {
		return nil, err
	}
	codes := make([]string, 0, len(blank))
	for _, code := range blank {
		codes = append(codes, string(code))
	}
	return codes, nil
}

func (c *demoCommand) print(ctx context.Context, s *streams, b *book, by intake.By, job printJob, name string) error {
	pdf, codes, err := b.sheet(ctx, by, job, nil)
	if err != nil {
		return err
	}
	path := filepath.Join(b.dir, name)
	if err := writeDurably(path, pdf); err != nil {
		return err
	}
	s.say("   %s", path)
	return b.printed(ctx, by, job, codes)
}

// shoot copies the photos into the inbox one by one, as a card reader or a sync
// would, under a temporary name first. It returns which thing each file shows.
func (c *demoCommand) shoot(ctx context.Context, b *book, haul drawn.Haul, folder string) (map[string]int, error) {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return nil, err
	}
	thingOf := map[string]int{}
	tick := time.NewTicker(max(c.Pace, time.Millisecond))
	defer tick.Stop()
	for i, p := range haul.Photos {
		data, err := haul.Draw(i)
		if err != nil {
			return nil, err
		}
		path := filepath.Join(folder, p.Name)
		if err := os.WriteFile(path+".part", data, 0o644); err != nil {
			return nil, err
		}
		if err := os.Rename(path+".part", path); err != nil {
			return nil, err
		}
		thingOf[p.Name] = p.Thing
		select {
		case <-tick.C:
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
	return thingOf, nil
}

// settled waits until every file of the haul is a photo of the book, or known
// to be none.
func (c *demoCommand) settled(ctx context.Context, b *book, files int) error {
	tick := time.NewTicker(200 * time.Millisecond)
	defer tick.Stop()
	for {
		stats, err := sqlite.Photos{DB: b.db}.Stats(ctx)
		if err != nil {
			return err
		}
		if stats.Photos+stats.Unreadable >= files && stats.Pending == 0 {
			return nil
		}
		select {
		case <-tick.C:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// platesRead is how many plates the demo reads itself; the rest is left for the
// newcomer.
const platesRead = 5

// readPlates enters the first plates as a person at the bench would, and only
// where the group shows one thing.
func (c *demoCommand) readPlates(ctx context.Context, s *streams, b *book, by intake.By, thingOf map[string]int, things []drawn.Thing) error {
	bench := sqlite.Bench{DB: b.db}
	groups, err := bench.Groups(ctx, "")
	if err != nil {
		return err
	}
	read := 0
	for _, g := range groups {
		thing, ok := onlyThing(g, thingOf)
		if !ok || read == platesRead {
			continue
		}
		t := things[thing]
		it, err := bench.Read(ctx, by, g.ID(), intake.Reading{
			Name: t.Name, Maker: t.Maker, Model: t.Model, Serial: t.Serial, Plate: g.PlatePhoto(),
		})
		if err != nil {
			return err
		}
		read++
		s.say("   %-10s %s, %s %s, serial %s", it.Number, it.Title(), it.Maker, it.Model, it.Serial)
	}
	return nil
}

func onlyThing(g intake.Group, thingOf map[string]int) (int, bool) {
	thing, known := thingOf[g.Photos[0].Name]
	for _, p := range g.Photos {
		if other, ok := thingOf[p.Name]; !ok || other != thing {
			return 0, false
		}
	}
	return thing, known && thing >= 0
}

// invite says what to do now, and opens the desk where somebody is looking.
func (c *demoCommand) invite(s *streams, b *book, l net.Listener) {
	if s.ctx.Err() != nil {
		return
	}
	address := "http://localhost:" + port(l) + "/"
	s.say("\n5. Your turn. The desk is open:")
	fmt.Fprintln(s.out, address)
	items, err := sqlite.Items{DB: b.db}.List(s.ctx, intake.Number{}, 1)
	if err == nil && len(items) > 0 && items[0].Code() != "" {
		s.say("   Scanning the tag of %s opens %s", items[0].Number, items[0].Code().TagURL(b.settings.Address))
	}
	s.say("   Read the other plates on the bench, print their tags, pair a phone under Devices.")
	s.say("   All of it lies in %s; Ctrl-C ends the demo.", b.dir)
	if talk, ok := s.talk.(*os.File); ok && c.told == nil {
		if stat, err := talk.Stat(); err == nil && stat.Mode()&os.ModeCharDevice != 0 {
			openBrowser(address)
		}
	}
	if c.told != nil {
		c.told(b)
	}
}

// openBrowser asks the system to show a page. Where it cannot, the printed
// address does.
func openBrowser(address string) {
	var open *exec.Cmd
	switch runtime.GOOS {
	case "darwin":
		open = exec.Command("open", address)
	case "windows":
		open = exec.Command("rundll32", "url.dll,FileProtocolHandler", address)
	default:
		open = exec.Command("xdg-open", address)
	}
	if err := open.Start(); err == nil {
		go open.Wait()
	}
}
