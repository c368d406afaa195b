package pictures

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/makiuchi-d/gozxing/common"
	qrcode "github.com/skip2/go-qrcode"
)

// hardShot is one drawn photo of 12 megapixels: a tag on a computer's case among
// keys and vents, from any side, with one trouble more.
type hardShot struct {
	trouble string
	module  float64 // pixels, in the middle of the tag
	seed    uint64
}

// troubles are what makes a photo hard, beside the surroundings, the turn and the
// tilt that all of them have.
var troubles = []string{"plain", "blur", "noise", "low light", "shadow", "far tilt"}

// hardShots are seven sizes by six troubles by four seeds.
func hardShots() []hardShot {
	var shots []hardShot
	for _, module := range []float64{3, 3.7, 4.5, 5.5, 7, 8.5, 10} {
		for i, trouble := range troubles {
			for seed := range 4 {
				shots = append(shots, hardShot{trouble, module, uint64(seed + 10*i)})
			}
		}
	}
	return shots
}

func (s hardShot) name() string {
	return fmt.Sprintf("%s-%g-%d", s.trouble, s.module, s.seed)
}

func (s hardShot) text() string {
	return fmt.Sprintf("http://192.168.1.20:8417/T/H%03dM%02.0fQ", s.seed, 10*s.module)
}

func (s hardShot) draw(t *testing.T) *image.Gray { return s.drawn(t, 4032, 3024) }

func (s hardShot) drawn(t *testing.T, w, h int) *image.Gray {
	t.Helper()
	r := rand.New(rand.NewPCG(s.seed, uint64(10*s.module)))
	img := image.NewGray(image.Rect(0, 0, w, h))
	clutter(img, r)
	s.paste(t, img, r)
	blur := 0.7 // pixels: no lens is sharper
	if s.trouble == "blur" {
		blur = s.module * (0.3 + 0.25*r.Float64())
	}
	blurred(img, blur)
	s.expose(img, r)
	return img
}

// clutter covers the picture with a case's surroundings: keys, vents, screws, a
// grille, words.
func clutter(img *image.Gray, r *rand.Rand) {
	b := img.Bounds()
	fill(img, b, 120)
	for range 60 {
		at := image.Pt(r.IntN(b.Dx()), r.IntN(b.Dy()))
		switch r.IntN(4) {
		case 0:
			keys(img, at, r)
		case 1:
			vents(img, at, r)
		case 2:
			ring(img, at, 4+r.IntN(30))
		case 3:
			words(img, at, r)
		}
	}
}

func fill(img *image.Gray, at image.Rectangle, grey int) {
	draw.Draw(img, at, image.NewUniform(color.Gray{byte(grey)}), image.Point{}, draw.Src)
}

func keys(img *image.Gray, at image.Point, r *rand.Rand) {
	size := 24 + r.IntN(90)
	body, cap := 40+r.IntN(160), 30+r.IntN(200)
	rows, columns := 2+r.IntN(4), 4+r.IntN(9)
	fill(img, image.Rect(at.X, at.Y, at.X+columns*size, at.Y+rows*size), body)
	for y := range rows {
		for x := range columns {
			key := image.Rect(0, 0, size-size/6, size-size/6).Add(at).Add(image.Pt(x*size, y*size))
			fill(img, key, cap)
			fill(img, key.Inset(size/5), max(0, cap-25))
			fill(img, image.Rect(0, 0, size/6, size/4).Add(key.Min).Add(image.Pt(size/3, size/4)), 255-cap)
		}
	}
}

func vents(img *image.Gray, at image.Point, r *rand.Rand) {
	pitch, length := 6+r.IntN(24), 100+r.IntN(500)
	upright := r.IntN(2) == 0
	fill(img, image.Rect(at.X-9, at.Y-9, at.X+length+9, at.Y+length+9), 190)
	for i := 0; i < length; i += pitch {
		slot := image.Rect(at.X, at.Y+i, at.X+length, at.Y+i+pitch/2)
		if upright {
			slot = image.Rect(at.X+i, at.Y, at.X+i+pitch/2, at.Y+length)
		}
		fill(img, slot, 25)
	}
}

// ring is a screw or a socket: light around dark around light.
func ring(img *image.Gray, at image.Point, unit int) {
	for dy := -4 * unit; dy <= 4*unit; dy++ {
		for dx := -4 * unit; dx <= 4*unit; dx++ {
			p := at.Add(image.Pt(dx, dy))
			if !p.In(img.Rect) {
				continue
			}
			switch d := math.Hypot(float64(dx), float64(dy)) / float64(unit); {
			case d < 1.5 || d > 2.5 && d < 3.5:
				img.Pix[img.PixOffset(p.X, p.Y)] = 45
			case d < 4:
				img.Pix[img.PixOffset(p.X, p.Y)] = 205
			}
		}
	}
}

// words are dark strokes in rows, as on a plate.
func words(img *image.Gray, at image.Point, r *rand.Rand) {
	size := 10 + r.IntN(40)
	fill(img, image.Rect(at.X-size, at.Y-size, at.X+14*size, at.Y+5*size), 215)
	for row := range 3 {
		for letter := range 20 {
			x, y := at.X+letter*size*6/10, at.Y+row*size*3/2
			for range 3 {
				dx, dy := r.IntN(size/2), r.IntN(size)
				stroke := image.Rect(x+dx, y, x+dx+size/8+1, y+size)
				if r.IntN(2) == 0 {
					stroke = image.Rect(x, y+dy, x+size/2, y+dy+size/8+1)
				}
				fill(img, stroke, 50)
			}
		}
	}
}

// paste lays the tag over the middle of the picture or somewhere near it.
func (s hardShot) paste(t *testing.T, img *image.Gray, r *rand.Rand) {
	t.Helper()
	code, err := qrcode.New(s.text(), qrcode.Medium)
	if err != nil {
		t.Fatal(err)
	}
	modules := code.Bitmap() // with a quiet zone of four
	n := float64(len(modules))
	half := n * s.module / 2
	b := img.Bounds()
	cx := float64(b.Dx()) * (0.3 + 0.4*r.Float64())
	cy := float64(b.Dy()) * (0.3 + 0.4*r.Float64())
	farther := 0.82 + 0.18*r.Float64()
	if s.trouble == "far tilt" {
		farther = 0.64 + 0.1*r.Float64()
	}
	lean, turn := 2*math.Pi*r.Float64(), 2*math.Pi*r.Float64()
	var c [8]float64
	for i, corner := range [4]point{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		sin, cos := math.Sincos(turn)
		x, y := corner.x*cos-corner.y*sin, corner.x*sin+corner.y*cos
		// Depth grows along the direction of the lean, from 1 near to 1/farther, and
		// what leans is seen shorter as well.
		ls, lc := math.Sincos(lean)
		along := (x*lc + y*ls) / math.Sqrt2
		scale := 1 + along*(1-farther)/(1+farther)
		shorter := (1 - math.Sqrt(0.5+farther/2)) * along * math.Sqrt2
		c[2*i], c[2*i+1] = cx+half*scale*(x-shorter*lc), cy+half*scale*(y-shorter*ls)
	}
	back := common.PerspectiveTransform_QuadrilateralToQuadrilateral(
		c[0], c[1], c[2], c[3], c[4], c[5], c[6], c[7], 0, 0, n, 0, n, n, 0, n)
	reach := 1.6 * half
	for y := max(0, int(cy-reach)); y < min(b.Max.Y, int(cy+reach)); y++ {
		for x := max(0, int(cx-reach)); x < min(b.Max.X, int(cx+reach)); x++ {
			if light, ok := averaged9(modules, back, float64(x), float64(y)); ok {
				img.Pix[img.PixOffset(x, y)] = byte(30 + 195*light)
			}
		}
	}
}

// averaged9 is the part of a pixel that is light, by nine samples, as a sensor
// averages.
func averaged9(modules [][]bool, back *common.PerspectiveTransform, x, y float64) (float64, bool) {
	light := 0.0
	n := float64(len(modules))
	for i := range 9 {
		xy := []float64{x + (0.5+float64(i%3))/3, y + (0.5+float64(i/3))/3}
		back.TransformPoints(xy)
		if xy[0] < 0 || xy[1] < 0 || xy[0] >= n || xy[1] >= n {
			return 0, false
		}
		if !modules[int(xy[1])][int(xy[0])] {
			light += 1.0 / 9
		}
	}
	return light, true
}

// blurred blurs by two boxes in each direction, which is nearly a normal curve of
// that many pixels.
func blurred(img *image.Gray, sigma float64) {
	b := img.Bounds()
	r := sigma * math.Sqrt(1.5) // a box of this half width, twice
	line := make([]float64, max(b.Dx(), b.Dy()))
	for range 2 {
		for y := range b.Dy() {
			boxBlurred(img.Pix[y*img.Stride:], 1, b.Dx(), r, line)
		}
		for x := range b.Dx() {
			boxBlurred(img.Pix[x:], img.Stride, b.Dy(), r, line)
		}
	}
}

// boxBlurred averages n pixels, step apart, over r to both sides.
func boxBlurred(pix []byte, step, n int, r float64, line []float64) {
	for i := range n {
		line[i] = float64(pix[i*step])
	}
	at := func(i int) float64 { return line[max(0, min(n-1, i))] }
	reach := int(max(0, r-0.5))
	edge := max(0, r-0.5-float64(reach)) // the part of the pixel at either end
	sum := 0.0
	for i := -reach; i < reach; i++ {
		sum += at(i)
	}
	for i := range n {
		sum += at(i + reach)
		inner := sum + edge*(at(i-reach-1)+at(i+reach+1))
		pix[i*step] = byte(inner/(float64(2*reach+1)+2*edge) + 0.5)
		sum -= at(i - reach)
	}
}

// expose adds light, shadow and the noise of the sensor.
func (s hardShot) expose(img *image.Gray, r *rand.Rand) {
	b := img.Bounds()
	gain, noise := 1.0, 3.0
	switch s.trouble {
	case "noise":
		noise = 16
	case "low light":
		gain, noise = 0.22, 5
	}
	edge := float64(b.Dx()) * (0.4 + 0.2*r.Float64())
	soft := 30 + 300*r.Float64()
	table := make([]float64, 1<<12)
	for i := range table {
		table[i] = noise * r.NormFloat64()
	}
	for y := range b.Dy() {
		row := img.Pix[y*img.Stride:][:b.Dx()]
		for x, v := range row {
			light := gain
			if s.trouble == "shadow" {
				// A shadow's soft edge across the picture, at a slant.
				d := (float64(x) - edge + 0.3*float64(y-b.Dy()/2)) / soft
				light = 0.25 + 0.75/(1+math.Exp(-d))
			}
			row[x] = byte(max(0, min(255, 12*gain+light*float64(v)*0.95+table[r.Uint32()>>20]+0.5)))
		}
	}
}
