package terrain

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"
)

// ground is the height by the knots, straight between them.
func (ray *Ray) ground(d float64) float64 {
	for k := 1; k < len(ray.Knots); k++ {
		if a, b := ray.Knots[k-1], ray.Knots[k]; d <= b.D {
			return a.H + (d-a.D)/(b.D-a.D)*(b.H-a.H)
		}
	}
	return ray.Knots[len(ray.Knots)-1].H
}

func checkKnots(t testing.TB, ray *Ray, length float64) {
	t.Helper()
	if ray.Knots[0].D != 0 || ray.Knots[len(ray.Knots)-1].D != length {
		t.Fatalf("knots from %v to %v, want 0 to %v", ray.Knots[0].D, ray.Knots[len(ray.Knots)-1].D, length)
	}
	for k := 1; k < len(ray.Knots); k++ {
		if !(ray.Knots[k].D > ray.Knots[k-1].D) {
			t.Fatalf("knot %d at %v after %v", k, ray.Knots[k].D, ray.Knots[k-1].D)
		}
	}
}

// Mappings: north up, turned, flipped, long cells, and one bent as geographic
// coordinates are.
func mappings(r *rand.Rand) []Mapping {
	a := r.Float64() * 2 * math.Pi
	sin, cos := math.Sincos(a)
	bent := northUp(-8, 8, 1)
	bent.Unit, bent.Origin = 1, orb.Point{3, 4}
	bent.Col[4], bent.Row[3], bent.Col[7], bent.Row[9] = 2e-3, -1e-3, 1e-5, -2e-5
	return []Mapping{
		northUp(-8.3, 9.1, 1), northUp(-8, 8, 0.7),
		Affine([3]float64{8, cos, -sin}, [3]float64{8, -sin, -cos}),
		Affine([3]float64{8, cos / 1.7, sin / 1.7}, [3]float64{8, -sin / 0.6, cos / 0.6}),
		bent,
	}
}

func TestAProfileIsTheGroundToFiveMillimetres(t *testing.T) {
	r := rand.New(rand.NewSource(4))
	var ray Ray
	for range 60 {
		for n, m := range mappings(r) {
			w, h := 2+r.Intn(20), 2+r.Intn(20)
			holes := r.Intn(2) == 0
			rough := []float64{0, 0.05, 3, 200}[r.Intn(4)]
			g := grid(t, w, h, m, func(c, row int) float64 {
				if holes && r.Intn(6) == 0 && c+row > 0 {
					return math.NaN()
				}
				return 100 + r.NormFloat64()*rough
			})
			for range 12 {
				from := orb.Point{r.Float64()*40 - 20, r.Float64()*40 - 20}
				length := []float64{0, 1e-9, 1e-5, 0.3, 12, 60}[r.Intn(6)]
				sin, cos := math.Sincos(r.Float64() * 2 * math.Pi)
				switch r.Intn(4) {
				case 0: // along the axes
					sin, cos = float64(r.Intn(3)-1), 0
					if sin == 0 {
						cos = 1
					}
				case 1: // from a cell's centre toward another
					if n < 4 {
						from = g.place(float64(r.Intn(w)), float64(r.Intn(h)))
						q := g.place(float64(r.Intn(w)), float64(r.Intn(h)))
						if d := math.Hypot(q[0]-from[0], q[1]-from[1]); d > 0 {
							sin, cos = (q[0]-from[0])/d, (q[1]-from[1])/d
						}
					}
				}
				g.Profile(from, sin, cos, length, &ray)
				checkKnots(t, &ray, length)
				first := math.Inf(1)
				for k := range 400 {
					d := length * float64(k) / 399
					p := orb.Point{from[0] + d*sin, from[1] + d*cos}
					// The path through the cells may be a thousandth of a cell off.
					tolerance := twistTolerance + 1e-6
					if n == 4 {
						tolerance += 2 * bendTolerance * g.steepest()
					} else {
						tolerance += 2e-6 * g.steepest()
					}
					if got, want := ray.ground(d), g.Height(p); math.Abs(got-want) > tolerance {
						t.Fatalf("mapping %d, %dx%d cells, from %v (%v, %v): height at %v is %v, want %v\n%v", n, w, h, from, sin, cos, d, got, want, ray.Knots)
					}
					if !g.knownNear(p) {
						first = math.Min(first, d)
					}
				}
				// The square in which a hole is counts as a whole.
				if first < ray.Unknown-length/300-1e-6 {
					t.Fatalf("mapping %d: not known from %v, the profile says %v", n, first, ray.Unknown)
				}
				if math.IsInf(first, 1) && ray.Unknown < length && !holes {
					t.Fatalf("mapping %d: known all along, the profile says not from %v of %v", n, ray.Unknown, length)
				}
			}
		}
	}
}

// knownNear reports whether the ground at p or a hair beside it is known: a line
// may run along the edge of what is not.
func (g *Grid) knownNear(p orb.Point) bool {
	for _, d := range [5]orb.Point{{}, {1e-6, 0}, {-1e-6, 0}, {0, 1e-6}, {0, -1e-6}} {
		if g.Known(orb.Point{p[0] + d[0], p[1] + d[1]}) {
			return true
		}
	}
	return false
}

// place undoes an affine mapping.
func (g *Grid) place(c, r float64) orb.Point {
	p := g.m.Origin
	a, b, d, e := g.m.jacobian(p)
	for range 3 {
		c0, r0 := g.m.At(p)
		dc, dr := c-c0, r-r0
		det := a*e - b*d
		p = orb.Point{p[0] + (e*dc-b*dr)/det, p[1] + (a*dr-d*dc)/det}
	}
	return p
}

// steepest is the greatest step between neighbouring cells.
func (g *Grid) steepest() (s float64) {
	for j := range g.h {
		for i := range g.w {
			if i > 0 {
				s = math.Max(s, math.Abs(float64(g.z[j*g.w+i]-g.z[j*g.w+i-1])))
			}
			if j > 0 {
				s = math.Max(s, math.Abs(float64(g.z[j*g.w+i]-g.z[(j-1)*g.w+i])))
			}
		}
	}
	return s
}

func TestAPlaneIsFollowedExactly(t *testing.T) {
	// A plane of 1 in 8 east and 1 in 4 south, exact in binary.
	g := grid(t, 64, 64, northUp(-32, 32, 1), func(c, r int) float64 { return 10 + float64(c)/8 + float64(r)/4 })
	var ray Ray
	for k := range 360 {
		sin, cos := math.Sincos(float64(k) * math.Pi / 180)
		from := orb.Point{0.3, -0.6}
		g.Profile(from, sin, cos, 25, &ray)
		for _, q := range ray.Knots {
			want := 10 + (32+from[0]+q.D*sin)/8 + (32-from[1]-q.D*cos)/4
			if math.Abs(q.H-want) > 1e-12 {
				t.Fatalf("bearing %d: height %v at %v, want %v", k, q.H, q.D, want)
			}
		}
		// It crosses every line between the ends, and each once.
		lines := 0
		for _, x := range [2][2]float64{{32.3, 32.3 + 25*sin}, {32.6, 32.6 - 25*cos}} {
			lines += int(math.Abs(math.Floor(x[1]) - math.Floor(x[0])))
		}
		if got := len(ray.Knots) - 2; got > lines || got < lines-2 {
			t.Errorf("bearing %d: %d knots between the ends for %d lines", k, got, lines)
		}
	}
}

func TestARidgeOfOneCellIsNotSteppedOver(t *testing.T) {
	g := grid(t, 50, 50, northUp(0, 49, 1), func(c, r int) float64 {
		if c == 30 {
			return 2
		}
		return 0
	})
	var ray Ray
	for _, bearing := range []float64{90, 60, 120, 89.999} {
		sin, cos := math.Sincos(bearing * math.Pi / 180)
		g.Profile(orb.Point{10.2, 25.1}, sin, cos, 26, &ray)
		top := 0.0
		for _, q := range ray.Knots {
			top = math.Max(top, q.H)
		}
		if math.Abs(top-2) > 1e-9 {
			t.Errorf("bearing %v: highest ground %v, want 2", bearing, top)
		}
	}
}

func TestAProfileSaysWhereTheGroundIsFirstNotKnown(t *testing.T) {
	g := grid(t, 20, 20, Affine([3]float64{0, 1, 0}, [3]float64{0, 0, 1}), func(c, r int) float64 {
		if c == 12 && r == 5 {
			return math.NaN()
		}
		return 3
	})
	var ray Ray
	for _, row := range []struct {
		from     orb.Point
		sin, cos float64
		length   float64
		want     float64
	}{
		{orb.Point{3, 10.5}, 1, 0, 10, math.Inf(1)},
		{orb.Point{3, 10.5}, 1, 0, 30, 16.5}, // the last centre is at 19, its cell ends at 19.5
		{orb.Point{3, 10.5}, -1, 0, 30, 3.5},
		{orb.Point{3, 10.5}, 0, 1, 30, 9},
		{orb.Point{3, 4.5}, 1, 0, 12, 8}, // between centres 11 and 13
		{orb.Point{3, 5.5}, 1, 0, 12, 8},
		{orb.Point{3, 6.5}, 1, 0, 12, math.Inf(1)},
		{orb.Point{-5, 6.5}, 1, 0, 12, 0},
		{orb.Point{-5, -6}, 0.6, 0.8, 1, 0},
	} {
		g.Profile(row.from, row.sin, row.cos, row.length, &ray)
		if ray.Unknown != row.want && !(math.Abs(ray.Unknown-row.want) < 1e-9) {
			t.Errorf("from %v: not known from %v, want %v", row.from, ray.Unknown, row.want)
		}
	}
}

func TestNoLineMakesAProfilePanic(t *testing.T) {
	r := rand.New(rand.NewSource(8))
	odd := []float64{0, math.Copysign(0, -1), 1, -1, 1e-300, 1e300, math.MaxFloat64, math.Inf(1), math.Inf(-1), math.NaN(), 5e-324, 7, 6.999999999999999, 7.000000000000001}
	pick := func() float64 { return odd[r.Intn(len(odd))] }
	var ray Ray
	for _, m := range mappings(r) {
		for _, size := range [][2]int{{2, 2}, {8, 8}, {2, 9}} {
			g := grid(t, size[0], size[1], m, func(c, row int) float64 {
				if c == 0 && row == 1 {
					return math.NaN()
				}
				return float64(c * row)
			})
			for range 20_000 {
				g.Profile(orb.Point{pick(), pick()}, pick(), pick(), pick(), &ray)
				p := orb.Point{pick(), pick()}
				g.Height(p)
				g.Known(p)
			}
		}
	}
}

func TestAProfileAllocatesNothingOnceItHasRoom(t *testing.T) {
	g := rolling(t, 400, 0.05)
	var ray Ray
	g.Profile(orb.Point{200, 200}, 0.6, 0.8, 100, &ray)
	if n := testing.AllocsPerRun(100, func() { g.Profile(orb.Point{200, 200}, 0.6, 0.8, 100, &ray) }); n != 0 {
		t.Errorf("%v allocations a profile, want none", n)
	}
}

// rolling is gentle ground with some roughness in metres, one metre cells.
func rolling(t testing.TB, n int, rough float64) *Grid {
	r := rand.New(rand.NewSource(5))
	return grid(t, n, n, northUp(0, float64(n-1), 1), func(c, row int) float64 {
		return 4*math.Sin(float64(c)/37)*math.Cos(float64(row)/53) + rough*r.NormFloat64()
	})
}

func BenchmarkProfile(b *testing.B) {
	for _, rough := range []float64{0, 0.05} {
		g := rolling(b, 2001, rough)
		for _, length := range []float64{25, 100, 500} {
			b.Run(fmt.Sprintf("%gm/rough%g", length, rough), func(b *testing.B) {
				var ray Ray
				knots, k := 0, 0
				for b.Loop() {
					sin, cos := math.Sincos(float64(k) * 0.0137)
					g.Profile(orb.Point{1000.3, 1000.7}, sin, cos, length, &ray)
					knots += len(ray.Knots)
					k++
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(knots), "ns/knot")
				b.ReportMetric(float64(knots)/float64(k), "knots")
			})
		}
	}
}

func BenchmarkHeight(b *testing.B) {
	g := rolling(b, 2001, 0.05)
	r := rand.New(rand.NewSource(6))
	at := make([]orb.Point, 1024)
	for i := range at {
		at[i] = orb.Point{1000 + 100*r.Float64(), 1000 + 100*r.Float64()}
	}
	k := 0
	for b.Loop() {
		g.Height(at[k&1023])
		k++
	}
}

func BenchmarkFillHoles(b *testing.B) {
	const n = 2000
	r := rand.New(rand.NewSource(7))
	z := make([]float32, n*n)
	for i := range z {
		z[i] = 1
		if r.Intn(10) == 0 || i%n > 1500 {
			z[i] = nan
		}
	}
	for b.Loop() {
		if _, err := New(n, n, append([]float32(nil), z...), northUp(0, 0, 1), orb.Bound{}); err != nil {
			b.Fatal(err)
		}
	}
}
