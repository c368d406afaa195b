package pictures

import (
	"slices"
	"testing"

	"haulbook/intake"
)

// TestOneLineIsNotEnough: what a single line says is not believed, and of two texts
// in one place the one that more lines say.
func TestOneLineIsNotEnough(t *testing.T) {
	var readings []reading
	add := func(text, symbology string, left, right float64, lines ...float64) {
		for _, y := range lines {
			readings = counted(readings, reading{text: text, symbology: symbology, left: left, right: right}, y)
		}
	}
	add("ONCE", intake.SymbologyCode128, 0, 90, 500)
	add("TWICE", intake.SymbologyCode39, 0, 90, 600, 603)
	add("RIGHT", intake.SymbologyCode39, 100, 400, 100, 103, 106, 109, 112)
	add("R1GHT", intake.SymbologyCode39, 101, 399, 104, 107, 110)
	add("BESIDE", intake.SymbologyCode128, 500, 700, 100, 103)
	var got []string
	for _, f := range believed(readings, 3) {
		got = append(got, f.text)
	}
	if want := []string{"RIGHT", "BESIDE"}; !slices.Equal(got, want) {
		t.Errorf("believed %v, want %v", got, want)
	}
}
