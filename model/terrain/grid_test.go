package terrain

import (
	"errors"
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"
)

var nan = float32(math.NaN())

func grid(t testing.TB, w, h int, m Mapping, z func(c, r int) float64) *Grid {
	t.Helper()
	list := make([]float32, 0, w*h)
	for r := range h {
		for c := range w {
			list = append(list, float32(z(c, r)))
		}
	}
	g, err := New(w, h, list, m, orb.Bound{})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// northUp has square cells of size metres, rows from north to south, the centre
// of the first at (x, y).
func northUp(x, y, size float64) Mapping {
	return Affine([3]float64{-x / size, 1 / size, 0}, [3]float64{y / size, 0, -1 / size})
}

// brute is the bilinear height by its definition, every corner found anew: a
// hole takes the height of the nearest known cell.
func brute(w, h int, z []float32, c, r, dx, dy float64) float64 {
	c, r = math.Max(0, math.Min(c, float64(w-1))), math.Max(0, math.Min(r, float64(h-1)))
	at := func(i, j int) float64 {
		i, j = min(i, w-1), min(j, h-1)
		if v := z[j*w+i]; finite(v) {
			return float64(v)
		}
		best, height := math.Inf(1), math.NaN()
		for y := range h {
			for x := range w {
				if v := z[y*w+x]; finite(v) {
					if d := math.Hypot(float64(x-i)*dx, float64(y-j)*dy); d < best {
						best, height = d, float64(v)
					}
				}
			}
		}
		return height
	}
	i, j := int(math.Floor(c)), int(math.Floor(r))
	fc, fr := c-float64(i), r-float64(j)
	return at(i, j)*(1-fc)*(1-fr) + at(i+1, j)*fc*(1-fr) + at(i, j+1)*(1-fc)*fr + at(i+1, j+1)*fc*fr
}

func TestLevelGroundIsZeroAndKnownEverywhere(t *testing.T) {
	var g *Grid
	if h := g.Height(orb.Point{5e6, -3}); h != 0 || !g.Known(orb.Point{5e6, -3}) {
		t.Errorf("height %v, want 0 and known", h)
	}
	if c := g.Cell(); !math.IsInf(c, 1) {
		t.Errorf("cell %v, want infinite", c)
	}
	var ray Ray
	g.Profile(orb.Point{1, 2}, 0.6, 0.8, 50, &ray)
	if len(ray.Knots) != 2 || ray.Knots[1] != (Knot{50, 0}) || !math.IsInf(ray.Unknown, 1) {
		t.Errorf("profile %+v, want 0 at 0 and at 50", ray)
	}
	g.Profile(orb.Point{1, 2}, 0.6, 0.8, 0, &ray)
	if len(ray.Knots) != 1 {
		t.Errorf("profile of no length %+v, want one knot", ray)
	}
}

func TestHeightsAreBilinearBetweenCellCentres(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	for range 300 {
		w, h := 2+r.Intn(9), 2+r.Intn(9)
		dx, dy := 0.5+3*r.Float64(), 0.5+3*r.Float64()
		m := Affine([3]float64{r.Float64() * 4, 1 / dx, 0}, [3]float64{r.Float64() * 4, 0, -1 / dy})
		m.Origin = orb.Point{r.Float64()*20 - 10, r.Float64()*20 - 10}
		z := make([]float32, w*h)
		some := false
		for i := range z {
			z[i] = float32(r.NormFloat64() * 30)
			if r.Intn(3) == 0 && (some || i < len(z)-1) {
				z[i] = nan
			}
			some = some || finite(z[i])
		}
		given := append([]float32(nil), z...)
		g, err := New(w, h, z, m, orb.Bound{})
		if err != nil {
			t.Fatal(err)
		}
		for range 50 {
			p := orb.Point{r.Float64()*60 - 30, r.Float64()*60 - 30}
			c, row := m.At(p)
			if r.Intn(3) == 0 { // on the line of a row of centres
				k := float64(r.Intn(h + 2))
				p[1] += (row - k) * dy
				c, row = m.At(p)
			}
			want := brute(w, h, given, c, row, dx, dy)
			// Two cells at one distance from a hole may lend different heights;
			// with sides drawn at random there are none but mirror images.
			if got := g.Height(p); math.Abs(got-want) > 1e-9 && !tie(w, h, given, c, row) {
				t.Fatalf("%dx%d cells of %.3f x %.3f m, at column %v, row %v: height %v, want %v\n%v", w, h, dx, dy, c, row, got, want, given)
			}
		}
	}
}

// tie reports whether a corner of the square at (c, r) is a hole: its nearest
// known cells may be two, to the left and the right.
func tie(w, h int, z []float32, c, r float64) bool {
	c, r = math.Max(0, math.Min(c, float64(w-1))), math.Max(0, math.Min(r, float64(h-1)))
	for dj := range 2 {
		for di := range 2 {
			i, j := min(int(c)+di, w-1), min(int(r)+dj, h-1)
			if finite(z[j*w+i]) {
				continue
			}
			var count, best = 0, math.MaxInt
			for y := range h {
				for x := range w {
					if finite(z[y*w+x]) {
						switch d := (x-i)*(x-i)*1000003 + (y-j)*(y-j)*999983; {
						case d < best:
							best, count = d, 1
						case d == best:
							count++
						}
					}
				}
			}
			if count > 1 {
				return true
			}
		}
	}
	return false
}

func TestAHoleTakesTheNearestKnownHeight(t *testing.T) {
	r := rand.New(rand.NewSource(2))
	for range 200 {
		w, h := 2+r.Intn(30), 2+r.Intn(30)
		dx, dy := 1.0, []float64{1, 2, 0.37}[r.Intn(3)]
		m := Affine([3]float64{0, 1 / dx, 0}, [3]float64{0, 0, -1 / dy})
		z := make([]float32, w*h)
		share := r.Float64()
		for i := range z {
			z[i] = float32(i)
			if r.Float64() < share {
				z[i] = nan
			}
		}
		z[r.Intn(len(z))] = 7
		given := append([]float32(nil), z...)
		g, err := New(w, h, z, m, orb.Bound{})
		if err != nil {
			t.Fatal(err)
		}
		for j := range h {
			for i := range w {
				if finite(given[j*w+i]) {
					if g.z[j*w+i] != given[j*w+i] {
						t.Fatalf("a known height %v was changed to %v", given[j*w+i], g.z[j*w+i])
					}
					continue
				}
				best, got := math.Inf(1), math.Inf(1)
				for y := range h {
					for x := range w {
						if v := given[y*w+x]; finite(v) {
							d := math.Hypot(float64(x-i)*dx, float64(y-j)*dy)
							best = math.Min(best, d)
							if v == g.z[j*w+i] {
								got = math.Min(got, d)
							}
						}
					}
				}
				if math.Abs(got-best) > 1e-9 {
					t.Fatalf("cell %d,%d takes the height of a cell %v m away, the nearest is at %v m", i, j, got, best)
				}
			}
		}
	}
}

func TestKnownIsWithinTheCellsAndBetweenKnownCentres(t *testing.T) {
	z := func(c, r int) float64 {
		if c == 2 && r == 1 {
			return math.NaN()
		}
		return 5
	}
	g := grid(t, 6, 5, Affine([3]float64{0, 1, 0}, [3]float64{0, 0, 1}), z)
	for _, row := range []struct {
		at   orb.Point
		want bool
	}{
		{orb.Point{0, 0}, true}, {orb.Point{-0.49, -0.49}, true}, {orb.Point{-0.51, 0}, false},
		{orb.Point{5.49, 4.49}, true}, {orb.Point{5.51, 4}, false}, {orb.Point{3, 4.51}, false}, {orb.Point{3, -0.51}, false},
		{orb.Point{2, 1}, false}, {orb.Point{1.01, 1}, false}, {orb.Point{1, 1}, true}, {orb.Point{0.99, 1.5}, true},
		{orb.Point{2.5, 0.5}, false}, {orb.Point{2.5, 0}, true}, {orb.Point{3, 0.5}, true}, {orb.Point{3, 1}, true}, {orb.Point{2.99, 1.99}, false}, {orb.Point{2, 2}, true},
		{orb.Point{math.NaN(), 0}, false},
	} {
		if got := g.Known(row.at); got != row.want {
			t.Errorf("known at %v: %v, want %v", row.at, got, row.want)
		}
	}
	g.Height(orb.Point{math.NaN(), math.Inf(1)}) // has some height and does not panic
}

func TestARasterThatIsNoGroundIsRefused(t *testing.T) {
	m := northUp(0, 0, 1)
	for _, row := range []struct {
		w, h int
		z    []float32
	}{{1, 1, []float32{5}}, {1, 3, []float32{1, 2, 3}}, {0, 0, nil}} {
		if _, err := New(row.w, row.h, row.z, m, orb.Bound{}); err == nil {
			t.Errorf("%d x %d cells: no error", row.w, row.h)
		}
	}
	if _, err := New(2, 2, []float32{nan, nan, nan, float32(math.Inf(1))}, m, orb.Bound{}); !errors.Is(err, ErrNoHeights) {
		t.Errorf("no height known: error %v", err)
	}
	for _, bad := range []Mapping{{}, Affine([3]float64{0, 1, 1}, [3]float64{0, 2, 2}), Affine([3]float64{math.NaN(), 1, 0}, [3]float64{0, 0, 1})} {
		if _, err := New(2, 2, make([]float32, 4), bad, orb.Bound{}); err == nil {
			t.Errorf("mapping %+v: no error", bad)
		}
	}
}

func TestTheCellIsItsShorterSideOnTheGround(t *testing.T) {
	sin, cos := math.Sincos(0.4)
	for _, row := range []struct {
		m    Mapping
		want float64
	}{
		{northUp(3, 4, 2), 2},
		{Affine([3]float64{0, 1, 0}, [3]float64{0, 0, -0.25}), 1},
		{Affine([3]float64{0, cos / 3, -sin / 3}, [3]float64{0, -sin / 5, -cos / 5}), 3},
	} {
		g := grid(t, 3, 3, row.m, func(c, r int) float64 { return 1 })
		if got := g.Cell(); math.Abs(got-row.want) > 1e-12 {
			t.Errorf("cell %v, want %v", got, row.want)
		}
	}
}

func TestAMappingIsFittedToPlaces(t *testing.T) {
	r := rand.New(rand.NewSource(3))
	truth := Mapping{Origin: orb.Point{100, -50}, Unit: 1000}
	for i := range truth.Col {
		truth.Col[i], truth.Row[i] = r.NormFloat64(), r.NormFloat64()
	}
	truth.Col[1], truth.Row[2] = 2000, -2000
	var at, cells []orb.Point
	for i := range 9 {
		for j := range 9 {
			p := orb.Point{-1000 + 300*float64(i), -1500 + 300*float64(j)}
			c, row := truth.At(p)
			at, cells = append(at, p), append(cells, orb.Point{c, row})
		}
	}
	m, worst, err := Fit(at, cells)
	if err != nil || worst > 1e-9 {
		t.Fatalf("misses by %v, %v; want 0", worst, err)
	}
	for range 100 {
		p := orb.Point{r.Float64()*2400 - 1000, r.Float64()*2400 - 1500}
		c, row := truth.At(p)
		if got := m.Misses([]orb.Point{p}, []orb.Point{{c, row}}); got > 1e-9 {
			t.Errorf("misses by %v at %v", got, p)
		}
	}
	for _, bad := range [][]orb.Point{at[:9], at[:8], make([]orb.Point, 20)} {
		if _, _, err := Fit(bad, cells[:len(bad)]); err == nil {
			t.Errorf("%d places on one line or fewer: no error", len(bad))
		}
	}
	var line []orb.Point
	for i := range 40 {
		line = append(line, orb.Point{float64(i), 2 * float64(i)})
	}
	if _, _, err := Fit(line, cells[:40]); err == nil {
		t.Error("places on one line: no error")
	}
}
