package radio

import (
	"math/rand"
	"testing"

	"github.com/paulmach/orb"
)

// A device at the corner of what is in the way, to within what numbers tell: the way
// round begins there all the same.
func TestADeviceAtACornerIsGoneRound(t *testing.T) {
	for _, o := range []float64{0, 1e-19, -1e-19, 1e-16, -1e-16, 1e-13, -1e-13} {
		for _, x := range []float64{0, 10} { // the end that the corner is at
			far := []orb.Point{{0.05, -35}, {30, -30}}
			way := taut(10, append(far, orb.Point{x, -o * o}, orb.Point{x, -1e-19}))
			if n := len(way); n < 3 || way[0] != (orb.Point{10, 0}) && way[n-1] != (orb.Point{10, 0}) || way[0] != (orb.Point{}) && way[n-1] != (orb.Point{}) {
				t.Errorf("corner %v beside the end at %v: the way runs %v", o, x, way)
			}
		}
	}
	r := rand.New(rand.NewSource(1))
	off := []float64{0, 1e-18, -1e-18, 1e-16, -1e-16, 1e-13, 1e-9, -1e-9, 1}
	for range 5000 {
		a, b := orb.Point{float64(r.Intn(9)) * 5, float64(r.Intn(9)) * 5}, orb.Point{float64(r.Intn(9))*5 + 2.5, float64(r.Intn(9)) * 5}
		var shapes []orb.LineString
		for range 1 + r.Intn(2) {
			var s orb.LineString
			for range 2 + r.Intn(4) {
				k, o := float64(r.Intn(9)-2)/4, off[r.Intn(len(off))]
				s = append(s, orb.Point{a[0] + k*(b[0]-a[0]) - o*(b[1]-a[1]), a[1] + k*(b[1]-a[1]) + o*(b[0]-a[0])})
			}
			shapes = append(shapes, append(s, s[0]))
		}
		Corners(a, b, shapes) // whatever it is, it is no panic
	}
}
