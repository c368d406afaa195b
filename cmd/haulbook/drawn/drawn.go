// Package drawn invents a haul of old hardware and draws the photos somebody
// would take of it: whole views, details, serial plates, printed tags, with the
// EXIF two cameras would write.
//
// It knows how such an afternoon goes: a few seconds between photos of one
// thing, longer between things, some photos turned, one file cut off. It knows
// nothing of the book, reads no file, uses no network, and invents every maker,
// model and serial. Photos go out as bytes, as from any camera; the truth about
// each stands beside it, so that tests can compare.
//
// It promises the same bytes for the same Options on the same kind of machine,
// and draws one photo at a time: the first is there long before the last. All
// it returns may be used from several goroutines at once.
package drawn

import (
	"errors"
	"fmt"
	"iter"
	"runtime"
	"time"

	"golang.org/x/sync/errgroup"
)

// Thing is one invented machine and what its plate says.
type Thing struct {
	Name, Maker, Model, Serial string // as on the plate, in the plate's letters
	Kind                       string // one word: "terminal", "printer" …
	Code                       string // tag code its tag photo shows, "" when it has none

	rating string
	style  plateStyle
	plan   int // which design of the catalogue it is built to
	tint   rgb
}

// Roles a photo can have.
const (
	View   = "view"
	Detail = "detail"
	Plate  = "plate"
	Tag    = "tag"
)

// Photo is one file as its camera named it, and the truth about it.
type Photo struct {
	Name    string    // "IMG_4071.JPG", "DSCN0312.JPG", "IMG_4090.PNG"
	Thing   int       // index into Haul.Things; -1 for the overview and the damaged file
	Role    string    // View, Detail, Plate or Tag
	Taken   time.Time // true wall time, in the zone of Options.Start
	Camera  string    // make and model of the camera that took it
	Bytes   []byte    // nil until drawn
	Damaged bool      // cut off before its end

	shot shot
}

// Haul is one afternoon: the things and their photos in shooting order.
type Haul struct {
	Folder string // name of the sub-folder the files lie in
	Things []Thing
	Photos []Photo

	width   int
	seed    uint64
	address string
}

// Options say which haul is invented. The zero value is a good one.
type Options struct {
	Seed    uint64
	Width   int       // long edge of the photos in pixels, 1600 when 0
	Address string    // where tags lead: Address + "/T/" + code; an invented one when empty
	Start   time.Time // of the afternoon, its zone is the cameras'; 9 May 2026, +02:00 when zero
	Things  int       // 12 when 0; above 12 the designs come back in other colours
	Codes   []string  // codes of ready-made tags, spread over the things in order; none, no tag photos
}

// Limits of Options: a photo smaller than the least cannot be read, one larger
// than the most would not fit a small machine's memory.
const (
	leastWidth = 160
	mostWidth  = 8000
	mostThings = 500
)

func (o Options) filled() (Options, error) {
	if o.Width == 0 {
		o.Width = 1600
	}
	if o.Things == 0 {
		o.Things = 12
	}
	if o.Start.IsZero() {
		o.Start = time.Date(2026, 5, 9, 14, 2, 0, 0, time.FixedZone("", 2*3600))
	}
	if o.Address == "" {
		o.Address = "http://192.168.1.20:8417"
	}
	if o.Width < leastWidth || o.Width > mostWidth {
		return o, fmt.Errorf("invent haul: width %d is not %d to %d pixels", o.Width, leastWidth, mostWidth)
	}
	if o.Things < 1 || o.Things > mostThings {
		return o, fmt.Errorf("invent haul: %d things, not 1 to %d", o.Things, mostThings)
	}
	for _, c := range o.Codes {
		if len(c) < 2 || len(c) > 40 {
			return o, fmt.Errorf("invent haul: tag code %q is not 2 to 40 characters", c)
		}
	}
	return o, nil
}

// Plan invents the haul without drawing it: every photo has its name, time and
// truth, and no bytes yet. Draw makes those, one by one and in any order.
func Plan(o Options) (Haul, error) {
	o, err := o.filled()
	if err != nil {
		return Haul{}, err
	}
	h := Haul{Folder: "Millbrook swap meet", width: o.Width, seed: o.Seed, address: o.Address}
	h.Things = invented(o)
	h.Photos = shootingOrder(h.Things, o)
	return h, nil
}

// Draw returns the bytes of one photo of a planned haul; it changes nothing.
func (h Haul) Draw(i int) ([]byte, error) {
	if i < 0 || i >= len(h.Photos) {
		return nil, fmt.Errorf("draw photo %d: the haul has %d", i, len(h.Photos))
	}
	return h.shoot(i)
}

// Invent plans a haul and draws all its photos, several at a time: some five
// seconds for fifty of 1600 pixels. To show them as they come, range over Photos.
func Invent(o Options) (Haul, error) {
	h, err := Plan(o)
	if err != nil {
		return Haul{}, err
	}
	var g errgroup.Group
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i := range h.Photos {
		g.Go(func() (err error) {
			h.Photos[i].Bytes, err = h.Draw(i)
			return err
		})
	}
	if err := g.Wait(); err != nil {
		return Haul{}, err
	}
	return h, nil
}

// Photos draws the haul's photos in shooting order, each when it is asked for.
// It ends after the first error.
func (o Options) Photos() iter.Seq2[Photo, error] {
	return func(yield func(Photo, error) bool) {
		h, err := Plan(o)
		if err != nil {
			yield(Photo{Thing: -1}, err)
			return
		}
		for i, p := range h.Photos {
			if p.Bytes, err = h.Draw(i); !yield(p, err) || err != nil {
				return
			}
		}
	}
}

// errNoSpot is a fault of the catalogue, not of the caller: a pose names a spot its design lacks.
var errNoSpot = errors.New("the design has no such spot")
