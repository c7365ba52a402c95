package analysis_test

import (
	"context"
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/scene"
	"pleach/testdata/site"
)

// The full matrix is that of no least margin; each kept pair of a pruned one is the same
// to the bit, and what was left out lies under the least margin.
func TestAPrunedMatrixIsTheFullOneOnThePairsItKeeps(t *testing.T) {
	r := rand.New(rand.NewSource(3))
	s := new(site.Site).Add(model.KindReceiver, "RX", orb.Point{0, 0}, model.Prop("antenna_height_m", 4)).
		Add(model.KindFoliage, "F1", orb.Polygon{site.Box(-80, 20, 80, 60)}, model.Prop("height_m", 12)).
		Building("H1", site.Box(-60, -50, -20, -20), 7).Building("H2", site.Box(30, -60, 44, 10), 9)
	s.Add(model.KindBuilding, "H3", orb.Polygon{site.Box(60, -30, 90, 0)}, model.Prop("height_m", 6), model.Prop("material", "brick"))
	on := scene.OnGround(s.Plan(t), site.Grid, hilly(t))
	res, err := analysis.RunOn(context.Background(), on, nil)
	if err != nil {
		t.Fatal(err)
	}
	spots := func(n int, k model.Kind) (out []analysis.Spot) {
		for range n {
			out = append(out, analysis.Spot{At: orb.Point{330*r.Float64() - 165, 330*r.Float64() - 165}, Height: 0.5 + 4*r.Float64(), Kind: k})
		}
		return out
	}
	as, bs := spots(25, model.KindSensor), spots(40, model.KindRepeater)
	full, err := analysis.MarginMatrix(context.Background(), res, as, bs, math.Inf(-1))
	if err != nil {
		t.Fatal(err)
	}
	for _, least := range []float64{0, 18.6, 30} {
		pruned, err := analysis.MarginMatrix(context.Background(), res, as, bs, least)
		if err != nil {
			t.Fatal(err)
		}
		kept := 0
		for i, m := range pruned {
			switch {
			case math.IsNaN(full[i]):
				t.Fatalf("pair %d of the full matrix has no margin", i)
			case math.IsNaN(m) != (full[i] < least):
				t.Fatalf("least %v dB: pair %d is %v, in the full matrix %v", least, i, m, full[i])
			case !math.IsNaN(m):
				kept++
				if m != full[i] {
					t.Fatalf("pair %d is %v, in the full matrix %v", i, m, full[i])
				}
			}
		}
		if least > 0 && (kept == 0 || kept == len(full)) {
			t.Errorf("least %v dB: %d of %d pairs kept prove nothing", least, kept, len(full))
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := analysis.MarginMatrix(ctx, res, as, bs, 0); err != context.Canceled {
		t.Errorf("error %v", err)
	}
}
