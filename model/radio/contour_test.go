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

// BenchmarkMatrix rates 200 sensors against 2000 places for a repeater over a 2 km
// site, 400 000 links, on two goroutines: all of them, and with those left out of
// which every eighth point says that 99 dB are not enough.
func BenchmarkMatrix(b *testing.B) {
	const most = 99.0 // dB between two devices of default radios and 14 dB of margin
	g := relief(b, 5)
	c := Conditions{FreqMHz: 868.3}
	place := func(i int, prime uint) orb.Point {
		return orb.Point{float64((uint(i)*prime)%19997) / 10, float64((uint(i)*prime*31)%19993) / 10}
	}
	for _, prune := range []bool{false, true} {
		b.Run(fmt.Sprint("pruned ", prune), func(b *testing.B) {
			var kept, good int
			for b.Loop() {
				var wg sync.WaitGroup
				var keptBy, goodBy [2]int
				for half := range 2 {
					wg.Go(func() {
						var build Builder
						for s := half; s < 200; s += 2 {
							from := place(s, 7919)
							for r := range 2000 {
								to := place(r, 104729)
								dx, dy := to[0]-from[0], to[1]-from[1]
								d := math.Hypot(dx, dy)
								free := FreeSpaceLoss(d, c.FreqMHz)
								along := g.Along(from, dx/d, dy/d)
								if prune && (free > most || free+LeastDiffraction(build.Sparse(d, 5, 8, along.Height), 1.5, 4, c) > most) {
									continue
								}
								keptBy[half]++
								if free+Diffract(build.Build(d, 5, along.Height, nil), 1.5, 4, c).DeltaBullingtonDB <= most {
									goodBy[half]++
								}
							}
						}
					})
				}
				wg.Wait()
				kept, good = keptBy[0]+keptBy[1], goodBy[0]+goodBy[1]
			}
			b.ReportMetric(float64(kept), "kept")
			b.ReportMetric(float64(good), "good")
		})
	}
}
