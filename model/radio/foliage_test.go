package radio

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestOutsideWoodland(t *testing.T) {
	const source = "ITU-R P.833-9 section 2.1 equation (1) with its table 1, worked outside the program"
	for _, row := range []struct{ mhz, depth, want, tol float64 }{
		{105.9, 100, 3.25783, 1e-5},
		{466.475, 50, 5.1, 0.05},
		{466.475, 100, 8.75849, 1e-5},
		{949, 50, 7.3, 0.05},
		{949, 100, 12.54783, 1e-5},
		{2117.5, 10, 3.23599, 1e-5},
		{949, 1e6, 26.5, 1e-5},
	} {
		t.Run(fmt.Sprintf("%v m at %v MHz", row.depth, row.mhz), func(t *testing.T) {
			closeTo(t, "ThroughTrees", ThroughTrees([]Trees{{Depth: row.depth, InLeaf: true}}, row.mhz), row.want, row.tol, source)
		})
	}
}

func TestOutsideWeissberger(t *testing.T) {
	for _, row := range []struct {
		mhz, depth, want, tol float64
		source                string
	}{
		{900, 100, 19.36, 0.01, "a public test of the same formula"},
		{868.3, 50, 12.7, 0.05, "the formula, worked outside the program"},
		{433.92, 5, 1.77503, 0.0001, "the formula, worked outside the program"},
		{433.92, 400, 35.55390, 0.0001, "the formula, worked outside the program"},
		{868.3, 14, 6.05233, 0.0001, "the formula, worked outside the program"},
	} {
		t.Run(fmt.Sprintf("%v m at %v MHz", row.depth, row.mhz), func(t *testing.T) {
			closeTo(t, "Weissberger", Weissberger(row.depth, row.mhz), row.want, row.tol, row.source)
		})
	}
	if got, want := Weissberger(2000, 868.3), Weissberger(400, 868.3); got != want {
		t.Errorf("2 km of wood lose %v dB, want no more than 400 m, %v", got, want)
	}
}

func TestOutsideDenseTreesComeNearWeissberger(t *testing.T) {
	got := ThroughTrees([]Trees{{Depth: 50, Density: Dense, InLeaf: true}}, 868.3)
	closeTo(t, "50 m of dense trees", got, 12.7, 1, "Weissberger's formula for dense woods (from memory)")
}

func TestOutsideLeavesAddAFifth(t *testing.T) {
	// Of a short way, where no ceiling shows.
	bare, leaf := ThroughTrees([]Trees{{Depth: 0.01}}, 950), ThroughTrees([]Trees{{Depth: 0.01, InLeaf: true}}, 950)
	closeTo(t, "in leaf over bare", leaf/bare, 1.2, 0.001, "ITU-R P.833 (from memory): about 20 % more dB/m near 1 GHz")
}

func TestWoodlandRunsSmoothlyBetweenItsRows(t *testing.T) {
	before, top := Woodland(30)
	for f := 31.0; f <= 6000; f *= 1.02 {
		gamma, ceiling := Woodland(f)
		if gamma <= before || ceiling <= top || gamma > 1.1*before || ceiling > 1.1*top {
			t.Fatalf("at %v MHz %v dB/m and %v dB, a step before %v and %v", f, gamma, ceiling, before, top)
		}
		before, top = gamma, ceiling
	}
	if !FoliageExtrapolated(100) || FoliageExtrapolated(433.92) || FoliageExtrapolated(915) || !FoliageExtrapolated(2450) {
		t.Error("the parameters were measured from 105.9 to 2117.5 MHz")
	}
}

func drawTrees(t *rapid.T) Trees {
	return Trees{rapid.Float64Range(0, 500).Draw(t, "depth"), rapid.SampledFrom([]Density{Light, Medium, Dense}).Draw(t, "density"),
		rapid.Bool().Draw(t, "in leaf"), rapid.Bool().Draw(t, "wet")}
}

func TestMoreDenserWetterOrLeafierTreesNeverLoseLess(t *testing.T) {
	denser := map[Density]Density{Light: Medium, Medium: Dense, Dense: Dense}
	rapid.Check(t, func(t *rapid.T) {
		freq := rapid.Float64Range(30, 6000).Draw(t, "MHz")
		trees := rapid.SliceOfN(rapid.Custom(drawTrees), 1, 4).Draw(t, "trees")
		before := ThroughTrees(trees, freq)
		if _, ceiling := Woodland(freq); before < 0 || before > ceiling {
			t.Fatalf("%v dB, want 0 to %v", before, ceiling)
		}
		i := rapid.IntRange(0, len(trees)-1).Draw(t, "which")
		switch rapid.IntRange(0, 3).Draw(t, "change") {
		case 0:
			trees[i].Depth += 10
		case 1:
			trees[i].Density = denser[trees[i].Density]
		case 2:
			trees[i].InLeaf = true
		case 3:
			trees[i].Wet = true
		}
		if after := ThroughTrees(trees, freq); after < before-1e-12 {
			t.Fatalf("%v dB before, %v after", before, after)
		}
	})
}

func TestTreesAreGoneThroughOrOverWhicheverLosesLess(t *testing.T) {
	for _, row := range []struct{ through, with, without, want float64 }{
		{5, 20, 10, 5}, {12, 20, 10, 10}, {7, 10, 10, 0}, {0, 30, 10, 0}, {5, 10, 10 + 1e-12, 0},
	} {
		if got := Vegetation(row.through, row.with, row.without); math.Abs(got-row.want) > 1e-12 {
			t.Errorf("Vegetation(%v, %v, %v) = %v, want %v", row.through, row.with, row.without, got, row.want)
		}
	}
}
