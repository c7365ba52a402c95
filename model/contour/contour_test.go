package contour_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"pleach/model/contour"
)

func grid(w, h int, f func(x, y float64) float64) []float64 {
	out := make([]float64, 0, w*h)
	for y := range h {
		for x := range w {
			out = append(out, f(float64(x), float64(y)))
		}
	}
	return out
}

func TestTheContourOfAConeIsItsCircle(t *testing.T) {
	v := grid(41, 41, func(x, y float64) float64 { return 100 - math.Hypot(x-20, y-20) })
	lines := contour.Lines(v, 41, 90)
	if len(lines) != 1 {
		t.Fatalf("%d lines, want 1", len(lines))
	}
	l := lines[0]
	if l[0] != l[len(l)-1] {
		t.Error("the ring is open")
	}
	area := 0.0
	for i := 1; i < len(l); i++ {
		if r := math.Hypot(l[i][0]-20, l[i][1]-20); math.Abs(r-10) > 0.02 {
			t.Fatalf("%v is %v from the middle", l[i], r)
		}
		area += l[i-1][0]*l[i][1] - l[i][0]*l[i-1][1]
	}
	if area <= 0 {
		t.Error("what is greater is not on the left")
	}
}

func TestALineEndsWhereThereIsNoValue(t *testing.T) {
	v := grid(20, 20, func(x, y float64) float64 {
		if x > 8 && x < 12 {
			return math.NaN()
		}
		return y
	})
	if lines := contour.Lines(v, 20, 7.5); len(lines) != 2 {
		t.Fatalf("%d lines, want 2: %v", len(lines), lines)
	}
}

func TestLinesPartTheGridWhateverIsInIt(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 300 {
		w, h := 2+rng.IntN(9), 2+rng.IntN(9)
		v := grid(w, h, func(_, _ float64) float64 { return float64(rng.IntN(5)) })
		sides := 0
		for y := range h {
			for x := range w {
				at := v[y*w+x] >= 2
				if x+1 < w && at != (v[y*w+x+1] >= 2) {
					sides++
				}
				if y+1 < h && at != (v[(y+1)*w+x] >= 2) {
					sides++
				}
			}
		}
		points := 0
		for _, l := range contour.Lines(v, w, 1.5) {
			points += len(l)
			if l[0] == l[len(l)-1] && len(l) > 2 {
				points--
			}
		}
		// Each side between unlike values is passed once.
		if points != sides {
			t.Fatalf("%d places on %d sides of %v, %d wide", points, sides, v, w)
		}
	}
	if contour.Lines(nil, 0, 1) != nil || contour.Lines([]float64{1, 2, 3}, 1, 2) != nil {
		t.Error("lines without a grid")
	}
}
