package wayin

import (
	"context"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/paulmach/orb"
)

// BenchmarkMarch spreads costs over 2000 x 2000 cells from one corner and
// follows the route from the other. The costs come from the file of float64 that
// PLEACH_COSTS names, or are a smooth random surface.
func BenchmarkMarch(b *testing.B) {
	const n = 2000
	cost := make([]float32, n*n)
	least := math.Inf(1)
	raw, err := os.ReadFile(os.Getenv("PLEACH_COSTS"))
	r := rand.New(rand.NewPCG(1, 2))
	var waves [40][4]float64
	for i := range waves {
		waves[i] = [4]float64{r.NormFloat64() / 60, r.NormFloat64() / 60, r.Float64() * 6, r.Float64()}
	}
	for i := range cost {
		v := 0.0
		if err == nil {
			v = math.Float64frombits(binary.LittleEndian.Uint64(raw[8*i:]))
		} else {
			for _, w := range waves {
				v += w[3] * math.Sin(w[0]*float64(i%n)+w[1]*float64(i/n)+w[2])
			}
			v = 0.05 + v*v/20
		}
		cost[i] = float32(v)
		least = math.Min(least, v)
	}
	f := frame{cell: 1, cols: n, rows: n}
	m := newMarch(f)
	m.lay(newMask(f), 1e-9, func(out []float32, width int) {
		for i, c := range cost {
			out[i/n*width+i%n] = c
		}
	})
	var line orb.LineString
	for b.Loop() {
		m.begin(4 * least)
		m.source(m.cellOf(0, 0))
		m.run(context.Background(), nil)
		line = m.descend(f, m.cellOf(n-1, n-1), n*fine-4, n*fine-4)
	}
	b.ReportMetric(m.t[m.cellOf(n-1, n-1)], "cost")
	println(m.t[m.cellOf(n-1, n-1)], m.t[m.cellOf(n-1, 0)], m.t[m.cellOf(n/2, n/2)])
	b.ReportMetric(float64(len(line)), "points")
}

// site2000 is a site of about 2 km with 200 sensors along its boundary, a fence
// with one opening and 100 buildings.
func site2000() (*ground, []Sensor) {
	r := rand.New(rand.NewPCG(3, 4))
	s := &ground{}
	var ring orb.LineString
	for k := range 60 {
		a := float64(k) / 60 * 2 * math.Pi
		d := 850 + 40*math.Sin(5*a)
		ring = append(ring, orb.Point{d * math.Cos(a), d * math.Sin(a)})
	}
	s.walls = []wall{{"F", append(ring[1:len(ring):len(ring)], ring[0])}}
	s.walls[0].line = append(s.walls[0].line, orb.Point{ring[1][0] + 1, ring[1][1] - 1})
	for range 100 {
		x, y := r.Float64()*1000-500, r.Float64()*1000-500
		s.solids = append(s.solids, solid{"H", box(x, y, x+10+r.Float64()*30, y+10+r.Float64()*30)})
	}
	for range 5 {
		s.assets = append(s.assets, asset{"A", orb.Point{r.Float64()*800 - 400, r.Float64()*800 - 400}})
	}
	var sensors []Sensor
	for k := range 200 {
		a := float64(k) / 200 * 2 * math.Pi
		d := 840 + 40*math.Sin(5*a)
		p := orb.Point{d * math.Cos(a), d * math.Sin(a)}
		sensors = append(sensors, Sensor{ID: "S", Shape: orb.MultiPolygon{sector(p, a+math.Pi/2+.3, math.Pi/4, 2, 63)}})
	}
	return s, sensors
}

// sector is a footprint: a sector with a dead zone, chords within 5 mm.
func sector(p orb.Point, towards, width, near, far float64) orb.Polygon {
	var ring orb.Ring
	arc := func(r, from, to float64) {
		n := int(math.Abs(to-from)/(2*math.Acos(1-0.005/r))) + 1
		for k := 0; k <= n; k++ {
			a := from + (to-from)*float64(k)/float64(n)
			ring = append(ring, orb.Point{p[0] + r*math.Cos(a), p[1] + r*math.Sin(a)})
		}
	}
	arc(far, towards-width/2, towards+width/2)
	arc(near, towards+width/2, towards-width/2)
	return orb.Polygon{append(ring, ring[0])}
}

func BenchmarkSiteOneAsset(b *testing.B) { benchmarkSite(b, 1) }

func BenchmarkSiteFiveAssets(b *testing.B) { benchmarkSite(b, 5) }

func benchmarkSite(b *testing.B, assets int) {
	s, sensors := site2000()
	s.assets = s.assets[:assets]
	var r Result
	for b.Loop() {
		var err error
		if r, err = find(context.Background(), s, sensors, Options{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(r.Cell, "m/cell")
	b.ReportMetric(r.Routes[0].Detection, "detection")
}
