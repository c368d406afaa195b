package drawn

import "testing"

// One photo of 1600 pixels should take less than 150 ms on one core, so that a
// demo can show them arriving one by one.
func BenchmarkDraw(b *testing.B) {
	h, err := Plan(Options{Seed: 1, Codes: []string{"7K3M9QXA"}})
	if err != nil {
		b.Fatal(err)
	}
	for _, role := range []string{View, Detail, Plate, Tag} {
		b.Run(role, func(b *testing.B) {
			i := indexOf(h, func(p Photo) bool { return p.Role == role && p.Thing == 0 })
			for b.Loop() {
				if _, err := h.Draw(i); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	b.Run("overview", func(b *testing.B) {
		for b.Loop() {
			if _, err := h.Draw(0); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// indexOf is the first photo that fits, -1 when none does.
func indexOf(h Haul, fits func(Photo) bool) int {
	for i, p := range h.Photos {
		if fits(p) {
			return i
		}
	}
	return -1
}
