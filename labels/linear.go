package labels

import (
	"errors"
	"fmt"

	"github.com/boombuler/barcode/code128"
)

// Limits of a printed Code 128.
const (
	barQuiet      = 10   // modules of white at either end, ISO/IEC 15417
	leastBar      = 0.25 // mm a module, the least GS1 allows for general use (from memory)
	mostBar       = 0.5  // mm a module: wider gains nothing on a label (judgement, no source)
	leastBarH     = 5.0  // mm high for a hand-held reader, ISO/IEC 15417 (from memory)
	barHeightPart = 0.15 // of the symbol's width, whichever is more, same source
)

// A strip is a Code 128 ready to print. It is for hand-held readers that know no
// QR; the QR remains the tag's code.
type strip struct {
	bars   []bool // modules from the first bar to the last, no quiet zone
	dots   int    // printer dots a module
	height float64
}

// linear fits the number into a room and returns the ways to do it, widest
// modules first: wide bars read easier but must be higher, which the QR above
// may not be able to spare. The library draws no quiet zone, so ten modules a
// side are kept free here.
func linear(number string, dpi int, r room) ([]strip, error) {
	if number == "" {
		return nil, errors.New("a blank tag has no number to print as Code 128")
	}
	for _, c := range number {
		// The library would take some Latin letters for function characters.
		if c < ' ' || c > '~' {
			return nil, fmt.Errorf("%q in the number cannot be printed as Code 128", c)
		}
	}
	code, err := code128.Encode(number)
	if err != nil {
		return nil, fmt.Errorf("%w: the number is too long for Code 128: %w", ErrNoRoom, err)
	}
	n := code.Bounds().Dx()
	bars := make([]bool, n)
	for x := range bars {
		grey, _, _, _ := code.At(x, 0).RGBA()
		bars[x] = grey == 0
	}
	dot := mmPerInch / float64(dpi)
	const grain = 1e-9
	most := int(min(r.side/float64(n+2*barQuiet), r.dark/float64(n), mostBar)/dot + grain)
	var ways []strip
	for d := most; float64(d)*dot >= leastBar; d-- {
		ways = append(ways, strip{bars: bars, dots: d,
			height: max(leastBarH, barHeightPart*float64(d)*dot*float64(n))})
	}
	if ways == nil {
		return nil, fmt.Errorf("%w for the number as Code 128: its %d modules would be %.2f mm and need %.2f mm",
			ErrNoRoom, n+2*barQuiet, float64(most)*dot, leastBar)
	}
	return ways, nil
}
