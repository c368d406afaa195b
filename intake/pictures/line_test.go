package pictures

import (
	"math"
	"slices"
	"testing"
)

// blurredLine draws bars of these widths in pixels, dark first, after a margin of
// light, and blurs them as a lens does.
func blurredLine(widths []float64, margin, blur float64) []byte {
	total := margin
	for _, w := range widths {
		total += w
	}
	line := make([]byte, int(total+margin))
	for x := range line {
		sum, weights := 0.0, 0.0
		for d := -4 * blur; d <= 4*blur; d += 0.125 {
			weight := math.Exp(-d * d / 2 / blur / blur)
			at, dark := float64(x)+0.5+d-margin, false
			for i, w := range widths {
				if at >= 0 && at < w && i%2 == 0 {
					dark = true
				}
				at -= w
			}
			weights += weight
			if !dark {
				sum += weight
			}
		}
		line[x] = byte(40 + 180*sum/weights)
	}
	return line
}

// TestEdgesSurviveBlur: the widths of bars of three pixels a module come back to a
// quarter of a module, though the thin ones have lost most of their depth.
func TestEdgesSurviveBlur(t *testing.T) {
	widths := []float64{6, 3, 3, 6, 3, 9, 3, 3, 6.5, 3, 9, 6, 3, 12, 3, 3, 6}
	for blur, off := range map[float64]float64{0.4: 0.25, 0.8: 0.5, 1.2: 0.85} {
		edges := edgesIn(blurredLine(widths, 30, blur), nil)
		if len(edges) != len(widths)+1 {
			t.Errorf("blur %g: %d edges, want %d: %.1f", blur, len(edges), len(widths)+1, edges)
			continue
		}
		for i, want := range widths {
			if got := edges[i+1] - edges[i]; math.Abs(got-want) > off {
				t.Errorf("blur %g: width %d is %.2f, want %.2f", blur, i, got, want)
			}
		}
	}
}

func TestEdgesAtTheBorder(t *testing.T) {
	tests := map[string]struct {
		line []byte
		want []float64
	}{
		"nothing":            {[]byte{200, 200, 200, 200}, nil},
		"faint":              {[]byte{200, 195, 200, 196, 200}, nil},
		"empty":              {nil, nil},
		"one bar":            {[]byte{200, 200, 50, 50, 200, 200}, []float64{2, 4}},
		"dark at the start":  {[]byte{50, 50, 200, 200}, []float64{0, 2}},
		"dark at the end":    {[]byte{200, 200, 50, 50}, []float64{2, 4}},
		"dark at both":       {[]byte{50, 50, 200, 200, 50, 50}, []float64{0, 2, 4, 6}},
		"edge between greys": {[]byte{200, 200, 125, 50, 50, 125, 200}, []float64{2.5, 5.5}},
	}
	for name, tt := range tests {
		got := edgesIn(tt.line, nil)
		if !slices.EqualFunc(got, tt.want, func(a, b float64) bool { return math.Abs(a-b) < 0.01 }) {
			t.Errorf("%s: got %v, want %v", name, got, tt.want)
		}
	}
}

func TestHasLowerCase(t *testing.T) {
	for text, want := range map[string]bool{"+A+B": true, "12+A": true, "A/B": false, "A+1": false, "A+": false, "": false, "$A%B": false} {
		if got := hasLowerCase(text); got != want {
			t.Errorf("hasLowerCase(%q) = %v, want %v", text, got, want)
		}
	}
}

func FuzzLine(f *testing.F) {
	f.Add(blurredLine([]float64{6, 3, 3, 6, 3, 9}, 20, 0.5))
	f.Add([]byte{0, 255, 0, 255, 0})
	scan := newLineScan()
	f.Fuzz(func(t *testing.T, line []byte) {
		edges := edgesIn(line, nil)
		if len(edges)%2 != 0 {
			t.Fatalf("%d edges, want as many into the dark as out of it", len(edges))
		}
		if !slices.IsSorted(edges) || len(edges) > 0 && (edges[0] < 0 || edges[len(edges)-1] > float64(len(line))) {
			t.Fatalf("edges %v are not in order within %d pixels", edges, len(line))
		}
		scan.read(line)
	})
}
