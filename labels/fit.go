package labels

import (
	"strings"
	"unicode/utf8"
)

// mmPerPoint converts type sizes, which people know in points.
const mmPerPoint = mmPerInch / 72

// shorten cuts a cleaned text to a width in millimetres at a type size in
// millimetres, and ends it with "…" when anything was cut. The result never
// measures more than the width; it is "" where not even the mark fits.
func shorten(f *typeface, s string, size, width float64) string {
	const mark = "…"
	n := f.prefix(s, width/size)
	if n == len(s) {
		return s
	}
	left := width/size - f.width(mark)
	if left < 0 {
		return ""
	}
	return strings.TrimRight(s[:f.prefix(s, left)], " ,;·-") + mark
}

// wrap breaks a cleaned text at spaces into at most so many lines, the last of
// which is shortened. A word longer than a line is cut across lines.
func wrap(f *typeface, s string, size, width float64, most int) []string {
	var lines []string
	for s != "" {
		if len(lines) == most-1 {
			if last := shorten(f, s, size, width); last != "" {
				lines = append(lines, last)
			}
			break
		}
		n := f.prefix(s, width/size)
		if n == 0 {
			break
		}
		if n < len(s) && s[n] != ' ' {
			if at := strings.LastIndexByte(s[:n], ' '); at > 0 {
				n = at
			}
		}
		lines = append(lines, strings.TrimRight(s[:n], " "))
		s = strings.TrimLeft(s[n:], " ")
	}
	return lines
}

// A setting is a number broken into lines at one type size in millimetres.
type setting struct {
	lines []string
	size  float64
	width float64 // mm of the widest line
}

// Limits of the large type. Below five points a number is not worth printing;
// above forty it stops looking like part of the tag.
const (
	leastNumber   = 5 * mmPerPoint
	mostNumber    = 40 * mmPerPoint
	longestNumber = 48  // characters: more cannot be read off a tag at any size
	leading       = 1.0 // from line to line, in parts of the size; digits have no descenders
	worthALine    = 1.3 // growth of the type that pays for breaking a number
)

// setNumber finds the largest type for a text that must not be shortened. The
// frame around it costs side parts of the size across and head parts down.
// Breaks fall after a dot, a dash, a stroke or a space, never elsewhere.
func setNumber(f *typeface, s string, width, height, side, head float64) (setting, bool) {
	if utf8.RuneCountInString(s) > longestNumber {
		return setting{}, false
	}
	var best setting
	for n := 1; n <= 3; n++ {
		lines, widest := breakEvenly(f, s, n)
		if lines == nil {
			break
		}
		size := min(width/(widest+side), height/(head+float64(n-1)*leading), mostNumber)
		if best.lines == nil || size > best.size*worthALine {
			best = setting{lines: lines, size: size, width: widest * size}
		}
	}
	return best, best.lines != nil && best.size >= leastNumber
}

// breakEvenly splits a text into n lines so that the widest is as narrow as it
// can be, and returns that width in parts of the size; nil without enough breaks.
func breakEvenly(f *typeface, s string, n int) ([]string, float64) {
	if n == 1 {
		return []string{s}, f.width(s)
	}
	var best []string
	var bestWidth float64
	for i := 1; i < len(s); i++ {
		if !strings.ContainsRune(".-/ ", rune(s[i-1])) {
			continue
		}
		rest, restWidth := breakEvenly(f, s[i:], n-1)
		if rest == nil {
			continue
		}
		first := strings.TrimRight(s[:i], " ")
		if w := max(f.width(first), restWidth); best == nil || w < bestWidth {
			best, bestWidth = append([]string{first}, rest...), w
		}
	}
	return best, bestWidth
}
