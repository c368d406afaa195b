package container

import (
	"bytes"
	"encoding/binary"
	"testing"
)

func TestSourceStaysInside(t *testing.T) {
	content := make([]byte, 3*pageSize+100)
	for i := range content {
		content[i] = byte(i * 7)
	}
	size := int64(len(content))
	s := newSource(bytes.NewReader(content), size)
	tests := []struct {
		off  int64
		n    int
		want int
	}{
		{0, 10, 10}, {5, 10, 10}, {pageSize - 5, 10, 10}, {2 * pageSize, pageSize, pageSize},
		{0, 2*pageSize + 7, 2*pageSize + 7}, {size - 4, 10, 4}, {size - 1, 1, 1},
		{size, 1, 0}, {size + 5, 1, 0}, {-1, 4, 0}, {0, 0, 0}, {0, -5, 0}, {1 << 62, 8, 0}, {0, 1 << 40, len(content)},
	}
	for _, tt := range tests {
		got := s.at(tt.off, tt.n)
		if len(got) != tt.want {
			t.Errorf("%d bytes at %d: got %d, want %d", tt.n, tt.off, len(got), tt.want)
		}
		if len(got) > 0 && !bytes.Equal(got, content[tt.off:tt.off+int64(len(got))]) {
			t.Errorf("%d bytes at %d: not those of the file", tt.n, tt.off)
		}
	}
}

func TestSourceSections(t *testing.T) {
	s := newSource(bytes.NewReader([]byte("0123456789")), 10)
	tests := []struct {
		off, n int64
		want   string
	}{
		{2, 3, "234"}, {8, 5, "89"}, {10, 5, ""}, {11, 5, ""}, {-1, 5, ""}, {3, -1, ""}, {0, 1 << 62, "0123456789"},
	}
	for _, tt := range tests {
		if got := string(s.section(tt.off, tt.n).at(0, 100)); got != tt.want {
			t.Errorf("%d bytes at %d: %q, want %q", tt.n, tt.off, got, tt.want)
		}
	}
	if got := newSource(bytes.NewReader(nil), -7).size; got != 0 {
		t.Errorf("size %d of a file of -7 bytes, want 0", got)
	}
}

func TestCopyOutlivesTheNextRead(t *testing.T) {
	s := newSource(bytes.NewReader(bytes.Repeat([]byte("abcd"), pageSize)), 4*pageSize)
	kept := s.copyAt(0, 4)
	s.at(pageSize+1, 4)
	if string(kept) != "abcd" {
		t.Errorf("kept %q, want abcd", kept)
	}
}

func TestCursor(t *testing.T) {
	c := cursor{b: []byte{1, 2, 3, 4, 'o', 'a', 'k'}}
	if got := c.number(0); got != 0 {
		t.Errorf("no bytes: %d, want 0", got)
	}
	if got := c.number(3); got != 0x010203 {
		t.Errorf("three bytes: %#x, want 0x010203", got)
	}
	if got := c.number(1); got != 4 || c.spent {
		t.Errorf("one byte: %d, spent %v; want 4, false", got, c.spent)
	}
	if got := c.text(5); got != "oak" || !c.spent {
		t.Errorf("text: %q, spent %v; want oak, true", got, c.spent)
	}
	if got := c.number(8); got != 0 || !c.spent {
		t.Errorf("behind the end: %d, want 0", got)
	}
}

func TestWalkBoxes(t *testing.T) {
	long := append([]byte("\x00\x00\x00\x01long"), binary.BigEndian.AppendUint64(nil, 18)...)
	tests := []struct {
		name, file string
		want       []string // names with the lengths of the contents
		filled     bool
	}{
		{"two", "\x00\x00\x00\x09oneaA\x00\x00\x00\x08twob", []string{"onea 1", "twob 0"}, true},
		{"64-bit length", string(long) + "AB", []string{"long 2"}, true},
		{"to the end", "\x00\x00\x00\x00restABC", []string{"rest 3"}, true},
		{"nothing", "", nil, true},
		{"too long", "\x00\x00\x00\x20longABC", []string{"long 3 and more"}, false},
		{"shorter than its head", "\x00\x00\x00\x07tiny", nil, false},
		{"64-bit length without one", "\x00\x00\x00\x01long\x00\x00", nil, false},
		{"64-bit length above 2^63", "\x00\x00\x00\x01long\xff\xff\xff\xff\xff\xff\xff\xff", nil, false},
		{"half a head", "\x00\x00\x00\x08onea\x00\x00", []string{"onea 0"}, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := newSource(bytes.NewReader([]byte(tt.file)), int64(len(tt.file)))
			var got []string
			filled := walkBoxes(s, 0, s.size, func(b box) bool {
				name := b.kind + " " + string(rune('0'+b.end-b.start))
				if b.long {
					name += " and more"
				}
				got = append(got, name)
				return true
			})
			if filled != tt.filled || len(got) != len(tt.want) {
				t.Fatalf("%q, filled %v; want %q, %v", got, filled, tt.want, tt.filled)
			}
			for i := range got {
				if got[i] != tt.want[i] {
					t.Errorf("box %d: %q, want %q", i, got[i], tt.want[i])
				}
			}
		})
	}
}

func TestSwapKeepsTheHalvesOfRationals(t *testing.T) {
	tests := []struct {
		typ      uint16
		in, want []byte
	}{
		{2, []byte("oak"), []byte("oak")},
		{3, []byte{1, 2, 3, 4}, []byte{2, 1, 4, 3}},
		{4, []byte{1, 2, 3, 4}, []byte{4, 3, 2, 1}},
		{typeRational, []byte{1, 2, 3, 4, 5, 6, 7, 8}, []byte{4, 3, 2, 1, 8, 7, 6, 5}},
		{typeLong8, []byte{1, 2, 3, 4, 5, 6, 7, 8}, []byte{8, 7, 6, 5, 4, 3, 2, 1}},
	}
	for _, tt := range tests {
		swap(tt.in, tt.typ)
		if !bytes.Equal(tt.in, tt.want) {
			t.Errorf("type %d: %v, want %v", tt.typ, tt.in, tt.want)
		}
	}
}

func TestTurningsFormAGroup(t *testing.T) {
	for a := 1; a <= 8; a++ {
		if got := byOrientation[a].orientation(); got != a {
			t.Errorf("%d comes back as %d", a, got)
		}
		seen := map[int]bool{}
		for b := 1; b <= 8; b++ {
			seen[byOrientation[a].then(byOrientation[b]).orientation()] = true
		}
		if len(seen) != 8 {
			t.Errorf("%d followed by each of the eight gives %d turnings, want 8", a, len(seen))
		}
	}
}

// TestTurningsPlaceTheCorner holds each turning against the table of
// jpegexiforient(1): where the 0th row and the 0th column end up on the screen.
func TestTurningsPlaceTheCorner(t *testing.T) {
	tests := [9]struct{ row, column string }{
		1: {"top", "left"}, 2: {"top", "right"}, 3: {"bottom", "right"}, 4: {"bottom", "left"},
		5: {"left", "top"}, 6: {"right", "top"}, 7: {"right", "bottom"}, 8: {"left", "bottom"},
	}
	side := func(x, y int) string {
		return map[[2]int]string{{0, -1}: "top", {0, 1}: "bottom", {-1, 0}: "left", {1, 0}: "right"}[[2]int{x, y}]
	}
	for n := 1; n <= 8; n++ {
		o := byOrientation[n]
		// The 0th row lies towards -y of the stored picture, the 0th column towards -x.
		if row, column := side(-o.xy, -o.yy), side(-o.xx, -o.yx); row != tests[n].row || column != tests[n].column {
			t.Errorf("%d: row %s, column %s; want %s, %s", n, row, column, tests[n].row, tests[n].column)
		}
	}
}
