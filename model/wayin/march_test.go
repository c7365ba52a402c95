package wayin

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
)

// marched spreads costs over n x n cells from the cells of sources.
func marched(n int, quantum float64, cost func(c, r int) float64, sources ...[2]int) *march {
	f := frame{cell: 1, cols: n, rows: n}
	m := newMarch(f)
	m.lay(newMask(f), 1, func(out []float32, width int) {
		for r := range n {
			for c := range n {
				out[r*width+c] = float32(cost(c, r))
			}
		}
	})
	m.begin(quantum)
	for _, s := range sources {
		m.source(m.cellOf(s[0], s[1]))
	}
	if err := m.run(context.Background(), nil); err != nil {
		panic(err)
	}
	return m
}

func TestMarchLeavesNoGroundOut(t *testing.T) {
	// Costs that differ by six powers of ten, as between open ground and
	// footprints, in blobs: fronts stand still and run on, nodes of one quantum
	// come in any order.
	r := rand.New(rand.NewPCG(1, 1))
	for trial := range 40 {
		const n = 120
		var blobs [12][4]float64
		for i := range blobs {
			blobs[i] = [4]float64{r.Float64() * n, r.Float64() * n, 3 + 20*r.Float64(), 0.3 * r.Float64()}
		}
		cost := func(c, r int) float64 {
			sum := 2.5e-7
			for _, b := range blobs {
				if math.Hypot(float64(c)-b[0], float64(r)-b[1]) < b[2] {
					sum += b[3]
				}
			}
			return sum
		}
		quantum := 2.5e-7 * []float64{0.1, 0.7, 3, 50}[trial%4]
		m := marched(n, quantum, cost, [2]int{0, 0}, [2]int{n - 1, r.IntN(n)})
		for y := range n {
			for x := range n {
				i := m.cellOf(x, y)
				v := m.t[i]
				if math.IsInf(v, 1) {
					t.Fatalf("trial %d: %d, %d is left out", trial, x, y)
				}
				least := math.Min(math.Min(m.t[i-1], m.t[i+1]), math.Min(m.t[i-m.w], m.t[i+m.w]))
				if v > 0 && (least > v || v > least*(1+1e-12)+1.5*float64(m.f[i])+50*quantum+least/3) {
					t.Fatalf("trial %d: %d, %d costs %v, its least neighbour %v, the cell %v", trial, x, y, v, least, m.f[i])
				}
			}
		}
	}
}

func TestCostsBeyondTheLastQuantumStillSpread(t *testing.T) {
	m := marched(60, 1e-9, func(c, r int) float64 { return 1 }, [2]int{0, 0})
	if far := m.t[m.cellOf(59, 59)]; math.IsInf(far, 1) || far > 2*59 {
		t.Errorf("far corner costs %v", far)
	}
}

func TestMarchFromAPointIsRoundToOnePercent(t *testing.T) {
	const n = 401
	m := marched(n, 0.5, func(c, r int) float64 { return 1 }, [2]int{200, 200})
	for y := range n {
		for x := range n {
			d := math.Hypot(float64(x-200), float64(y-200))
			if got := m.t[m.cellOf(x, y)]; d > 40 && math.Abs(got-d) > 0.01*d {
				t.Fatalf("%d, %d: %v from the middle, marched %v", x-200, y-200, d, got)
			}
		}
	}
}

func TestDescentRunsStraightOverOpenGround(t *testing.T) {
	const n = 300
	f := frame{cell: 1, cols: n, rows: n}
	m := marched(n, 0.5, func(c, r int) float64 { return 1 }, [2]int{10, 10})
	for _, goal := range [][2]int{{280, 130}, {280, 280}, {280, 10}, {60, 290}} {
		l := m.descend(f, m.cellOf(goal[0], goal[1]), goal[0]*fine+4, goal[1]*fine+4)
		length := 0.0
		for i := 1; i < len(l); i++ {
			length += dist(l[i-1], l[i])
		}
		straight := dist(l[0], orb.Point{10.5, 10.5})
		if end := l[len(l)-1]; dist(end, orb.Point{10.5, 10.5}) > 2 || length > 1.01*straight {
			t.Errorf("to %v: ends at %v after %v, straight %v", goal, end, length, straight)
		}
	}
}

func TestQueueGivesBackEverythingInOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 3))
	var q queue
	q.reset(1)
	left := map[int32]uint32{}
	n := int32(0)
	push := func() {
		k := q.last + uint32(r.ExpFloat64()*math.Pow(2, 24*r.Float64()))
		left[n] = k
		q.push(k, n)
		n++
	}
	for range 1000 {
		push()
	}
	last := uint32(0)
	for b := q.next(); b != nil; b = q.next() {
		for i := 0; i < len(*b); i++ {
			e := (*b)[i]
			if e.key < last || left[e.node] != e.key {
				t.Fatalf("node %d came at %d after %d, pushed at %d", e.node, e.key, last, left[e.node])
			}
			last = e.key
			delete(left, e.node)
			if n < 20000 {
				push()
			}
		}
	}
	if len(left) > 0 {
		t.Errorf("%d never came", len(left))
	}
}
