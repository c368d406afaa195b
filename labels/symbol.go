package labels

import (
	"errors"
	"fmt"
	"slices"
	"sort"

	qrcode "github.com/skip2/go-qrcode"
)

// Limits of a printed module.
const (
	quietModules    = 4    // white on every side, ISO/IEC 18004
	leastDots       = 4    // printer dots a module, denso-wave's advice (qrcode.com, "cell")
	comfortable     = 0.5  // mm a module: a phone reads it at arm's length (judgement, no source)
	leastModule     = 0.33 // mm a module: 4 dots at 300 dpi as rounded by qrcode.com, "cell"
	edgeMargin      = 1.5  // mm between quiet zone and die-cut
	tightEdgeMargin = 0.5  // the same where the label has no more
)

// A Symbol is the QR code as it will be printed.
type Symbol struct {
	Version int     // 1 to 40, ISO/IEC 18004
	Level   string  // error correction: "L", "M", "Q" or "H"
	Modules int     // modules a side, without the quiet zone
	Dots    int     // printer dots a module
	Module  float64 // mm a module
	Side    float64 // mm a side, with four modules of quiet zone all round
	Note    string  // a caution in one sentence, "" when there is none
}

// Plan works out the symbol a tag would get on this job's stock and printer,
// with the whole label laid out but nothing drawn. The error is the refusal
// that WritePDF would give; where larger paper, a finer printer or less text
// would help it wraps ErrNoRoom and names what would. For about one text in two hundred WritePDF takes a lower level than planned,
// because the planned symbol has a false finder pattern in its data.
func (j Job) Plan(t Tag) (Symbol, error) {
	if err := j.check(); err != nil {
		return Symbol{}, err
	}
	d, err := j.compose(t, 0)
	if err != nil {
		return Symbol{}, fmt.Errorf("tag %s: %w", t.label(), err)
	}
	return d.symbol, nil
}

// A candidate is a version and the highest level the text leaves room for.
type candidate struct {
	version int
	level   int // index into levels
}

// levels in rising order; the index is what the strength of a level means here.
var levels = [...]struct {
	name string
	mark qrcode.RecoveryLevel
}{{"L", qrcode.Low}, {"M", qrcode.Medium}, {"Q", qrcode.High}, {"H", qrcode.Highest}}

// candidates lists the versions worth printing for a text, best first: the
// smallest one that reaches level Q, then M, then L, each raised to the
// highest level it holds and followed by its lower levels, which only count
// where a better one did not read back. H is not sought: it costs another four
// modules a side for 5 % more damage survived, and larger modules help more.
func candidates(text string) ([]candidate, error) {
	var smallest [len(levels)]int
	for i, l := range levels {
		q, err := qrcode.New(text, l.mark)
		if err != nil {
			if i == 0 {
				return nil, fmt.Errorf("%w: the address of %d bytes is too long for any QR code", ErrNoRoom, len(text))
			}
			smallest[i] = 41
			continue
		}
		smallest[i] = q.VersionNumber
	}
	var list []candidate
	for want := 2; want >= 0; want-- {
		v := smallest[want]
		if v > 40 || len(list) > 0 && list[len(list)-1].version == v {
			continue
		}
		best := sort.Search(len(levels), func(i int) bool { return smallest[i] > v }) - 1
		for level := best; level >= 0; level-- {
			list = append(list, candidate{v, level})
		}
	}
	return list, nil
}

// A room is what a label can spare for the code, in millimetres. The two differ
// because white may reach where a printer cannot, black may not.
type room struct {
	side float64 // for the symbol with its quiet zone
	dark float64 // for the symbol without it
}

// choose picks the version, level and module for a text. Of the candidates the
// first whose modules are comfortable wins; failing that, the one with the
// largest modules, as long as they are not too small to print. Candidates to
// avoid have been drawn before and did not read back.
func choose(text string, dpi int, rooms []room, avoid []candidate) (Symbol, error) {
	if text == "" {
		return Symbol{}, errors.New("there is no address to put into the code")
	}
	list, err := candidates(text)
	if err != nil {
		return Symbol{}, err
	}
	best := Symbol{}
	for _, r := range rooms {
		for _, c := range list {
			if slices.Contains(avoid, c) {
				continue
			}
			s := largest(c, dpi, r)
			if s.Dots >= leastDots && s.Module >= comfortable {
				return s, nil
			}
			if s.Dots > best.Dots {
				best = s
			}
		}
		if best.Dots >= leastDots && best.Module >= leastModule {
			best.Note = fmt.Sprintf("modules of %.2f mm: print sharply and scan from close by", best.Module)
			return best, nil
		}
	}
	if best.Dots >= leastDots {
		return Symbol{}, fmt.Errorf("%w: modules of the code would be %.2f mm and phones need %.2f mm", ErrNoRoom, best.Module, leastModule)
	}
	return Symbol{}, fmt.Errorf("%w: a module of the code needs %d dots of a %d dpi printer and would get %d",
		ErrNoRoom, leastDots, dpi, best.Dots)
}

// largest gives the symbol with the most whole dots a module that fits. Part of
// a dot is never used: a printer would make modules of unequal width of it.
func largest(c candidate, dpi int, r room) Symbol {
	s := Symbol{Version: c.version, Level: levels[c.level].name, Modules: 17 + 4*c.version}
	dot := mmPerInch / float64(dpi)
	const grain = 1e-9 // keeps an exact fit from being rounded away
	s.Dots = int(min(r.side/float64(s.Modules+2*quietModules), r.dark/float64(s.Modules))/dot + grain)
	s.Dots = max(s.Dots, 0)
	s.Module = float64(s.Dots) * dot
	s.Side = s.Module * float64(s.Modules+2*quietModules)
	return s
}

// candidate is the version and level a symbol came from.
func (s Symbol) candidate() candidate {
	c := candidate{version: s.Version}
	for i, l := range levels {
		if l.name == s.Level {
			c.level = i
		}
	}
	return c
}

// modules draws the chosen symbol once, without border: rows of true for black.
func (s Symbol) modules(text string) ([][]bool, error) {
	q, err := qrcode.NewWithForcedVersion(text, s.Version, levels[s.candidate().level].mark)
	if err != nil {
		return nil, fmt.Errorf("encode the address: %w", err)
	}
	q.DisableBorder = true // only heeded before the first rendering
	return q.Bitmap(), nil
}
