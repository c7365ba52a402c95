package terrain

import (
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"
)

func TestTheGroundAlongALineIsTheGroundOfItsPlaces(t *testing.T) {
	r := rand.New(rand.NewSource(8))
	z := make([]float32, 40*30)
	for i := range z {
		z[i] = float32(r.Float64() * 20)
	}
	g, err := New(40, 30, z, Affine([3]float64{20, 0.9, 0.2}, [3]float64{15, 0.2, -0.9}), orb.Bound{Min: orb.Point{-60, -60}, Max: orb.Point{60, 60}})
	if err != nil {
		t.Fatal(err)
	}
	for range 500 {
		from := orb.Point{r.Float64()*80 - 40, r.Float64()*80 - 40}
		sin, cos := math.Sincos(r.Float64() * 7)
		l, d := g.Along(from, sin, cos), r.Float64()*60
		want := g.Height(orb.Point{from[0] + d*sin, from[1] + d*cos})
		if got := l.Height(d); math.Abs(got-want) > 1e-9 {
			t.Fatalf("%v m from %v: %v, the place has %v", d, from, got, want)
		}
	}
}
