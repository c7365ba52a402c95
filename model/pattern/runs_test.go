package pattern

import (
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"
)

func TestALandOfManyEdgesHoldsWhatLiesInside(t *testing.T) {
	r := rand.New(rand.NewSource(12))
	for range 40 {
		ring := func(radius float64, n int) orb.Ring {
			var out orb.Ring
			for i := range n {
				a := 2 * math.Pi * float64(i) / float64(n)
				d := radius * (0.7 + 0.3*r.Float64())
				// Some corners of equal height and some edges upright.
				out = append(out, orb.Point{math.Round(d*math.Cos(a)*4) / 4, math.Round(d*math.Sin(a)*4) / 4})
			}
			return append(out, out[0])
		}
		poly := orb.Polygon{ring(200, 3+r.Intn(400)), ring(60, 3+r.Intn(200))}
		z := NewZone(orb.MultiPolygon{poly}, false)
		in := 0
		for range 2000 {
			p := orb.Point{r.Float64()*420 - 210, r.Float64()*420 - 210}
			switch r.Intn(4) {
			case 0: // level with a corner
				p[1] = poly[0][r.Intn(len(poly[0]))][1]
			case 1: // a corner
				p = poly[0][r.Intn(len(poly[0]))]
			}
			want := Inside(poly, p)
			if want {
				in++
			}
			if got := z.Holds(p); got != want {
				t.Fatalf("%v in a ring of %d edges with a hole of %d: %v, edge by edge %v", p, len(poly[0])-1, len(poly[1])-1, got, want)
			}
		}
		if in < 200 {
			t.Fatalf("only %d places inside", in)
		}
	}
}
