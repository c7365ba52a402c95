package radio

import (
	"fmt"
	"math"
	"sync"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model/terrain"
)

// relief returns ground of a 2 km site in square cells of cell metres.
func relief(b *testing.B, cell float64) *terrain.Grid {
	b.Helper()
	n := int(2000/cell) + 1
	z := make([]float32, n*n)
	for r := range n {
		for c := range n {
			x, y := float64(c)*cell, float64(r)*cell
			z[r*n+c] = float32(40 + 6*math.Sin(x/310)*math.Cos(y/240) + 1.5*math.Sin(x/41+y/67))
		}
	}
	g, err := terrain.New(n, n, z, terrain.Affine([3]float64{0.5, 1 / cell, 0}, [3]float64{0.5, 0, 1 / cell}),
		orb.Bound{Max: orb.Point{2000, 2000}})
	if err != nil {
		b.Fatal(err)
	}
	return g
}

// BenchmarkContours builds and rates the way over the ground from a receiver to
// every place of a 2 km site 5 m apart, 160 000 profiles of 5 m steps, on two
// goroutines: from the middle, from a corner, and from the corner with a
// building on every line.
func BenchmarkContours(b *testing.B) {
	for _, row := range []struct {
		name     string
		receiver orb.Point
		building bool
	}{
		{"middle", orb.Point{1000, 1000}, false},
		{"corner", orb.Point{0, 0}, false},
		{"corner, building", orb.Point{0, 0}, true},
	} {
		g := relief(b, 5)
		b.Run(fmt.Sprint(row.name), func(b *testing.B) {
			b.ReportAllocs()
			var points int
			for b.Loop() {
				var wg sync.WaitGroup
				var sum [2]int
				for half := range 2 {
					wg.Go(func() {
						var build Builder
						var inserts [1]Insert
						for i := half; i < 400; i += 2 {
							for j := range 400 {
								at := orb.Point{2.5 + 5*float64(i), 2.5 + 5*float64(j)}
								dx, dy := at[0]-row.receiver[0], at[1]-row.receiver[1]
								d := math.Hypot(dx, dy)
								along := g.Along(row.receiver, dx/d, dy/d)
								there := inserts[:0]
								if row.building {
									there = append(there, Insert{From: 0.3 * d, To: 0.33 * d, Top: 46})
								}
								p := build.Build(d, 5, along.Height, there)
								Diffract(p, 4, 1.5, Conditions{FreqMHz: 868.3})
								sum[half] += len(p.D)
							}
						}
					})
				}
				wg.Wait()
				points = sum[0] + sum[1]
			}
			b.ReportMetric(float64(points), "points/op")
		})
	}
}
