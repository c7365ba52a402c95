package analysis_test

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/radio"
	"pleach/testdata/site"
)

// hall is a link of 200 m between two repeaters, 3 m up, over flat ground.
func hall() *site.Site {
	return new(site.Site).
		Add(model.KindRepeater, "A", orb.Point{0, 0}, model.Prop("antenna_height_m", 3)).
		Add(model.KindReceiver, "B", orb.Point{200, 0}, model.Prop("antenna_height_m", 3))
}

func rate(t *testing.T, s *site.Site, from, to string) (analysis.Link, radio.Profile) {
	t.Helper()
	k, p, _, err := analysis.LinkBetween(s.Scene(t), from, to)
	if err != nil {
		t.Fatal(err)
	}
	if sum := k.FreeSpace + k.Diffraction + k.Vegetation + k.Building; math.Abs(sum-k.Loss) > 1e-9 {
		t.Errorf("the parts add up to %v, the loss is %v", sum, k.Loss)
	}
	return k, p
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %v, want %v (tolerance %v)", what, got, want, tol)
	}
}

func TestALinkThatNothingStandsInPassesNothing(t *testing.T) {
	s := hall().Building("H", site.Box(90, 20, 110, 40), 8)
	s.Add(model.KindFoliage, "F", orb.Polygon{site.Box(40, -30, 60, -10)}, model.Prop("height_m", 9))
	k, _ := rate(t, s, "A", "B")
	if k.Past != nil || k.Building != 0 || k.Vegetation != 0 {
		t.Errorf("building %v, vegetation %v, past %+v", k.Building, k.Vegetation, k.Past)
	}
}

func TestALowWallUnderTheLineIsPassedOverAlone(t *testing.T) {
	k, _ := rate(t, hall().Building("H", site.Box(90, -20, 110, 40), 2), "A", "B")
	if k.Past != nil || k.Building != 0 || k.Diffraction <= 0 {
		t.Errorf("building %v, diffraction %v, past %+v", k.Building, k.Diffraction, k.Past)
	}
}

// Source of the knife edge: ITU-R P.526-15 section 4.1 equation (31); of the slab,
// ITU-R P.2040-3 section 2.2.2 (7.49267 dB for 200 mm of concrete at 868.3 MHz);
// of the sum, addition of powers, common practice.
func TestOutsideTheWaysPastAHall(t *testing.T) {
	const mhz, d = 868.3, 200.0
	lambda := 299.792458 / mhz
	edge := func(along, aside float64) float64 {
		excess := math.Hypot(along, aside) + math.Hypot(d-along, aside) - d
		nu := 2 * math.Sqrt(excess/lambda)
		return 6.9 + 20*math.Log10(math.Sqrt((nu-0.1)*(nu-0.1)+1)+nu-0.1)
	}
	for _, row := range []struct {
		material string
		through  float64
	}{{"concrete", 2 * 7.49267}, {"metal", math.Inf(1)}, {"", math.Inf(1)}, {"tuff", math.Inf(1)}} {
		t.Run("of "+row.material, func(t *testing.T) {
			s := new(site.Site).
				Add(model.KindRepeater, "A", orb.Point{0, 0}, model.Prop("antenna_height_m", 3)).
				Add(model.KindReceiver, "B", orb.Point{d, 0}, model.Prop("antenna_height_m", 3)).
				Add(model.KindBuilding, "H", orb.Polygon{site.Box(99.99, -15, 100.01, 10)}, model.Prop("height_m", 12), model.Prop("material", row.material))
			k, p := rate(t, s, "A", "B")
			if k.Past == nil || !slices.Equal(k.Past.Obstacles, []string{"H"}) || k.Past.Worst != "H" {
				t.Fatalf("past %+v", k.Past)
			}
			over := radio.Diffract(p, 3, 3, radio.Conditions{FreqMHz: mhz})
			p.G = p.H
			bare := radio.Diffract(p, 3, 3, radio.Conditions{FreqMHz: mhz}).DeltaBullingtonDB
			near(t, "over", k.Diffraction, over.DeltaBullingtonDB, 1e-9)
			w := k.Past.Ways
			near(t, "left", w.LeftDB, bare+edge(100, 10), 0.05)
			near(t, "right", w.RightDB, bare+edge(100, 15), 0.05)
			if math.IsInf(row.through, 1) {
				if !math.IsInf(w.ThroughDB, 1) {
					t.Errorf("through an opaque wall: %v dB", w.ThroughDB)
				}
			} else {
				near(t, "through", w.ThroughDB, bare+row.through, 0.02)
			}
			sum := 0.0
			for _, l := range []float64{w.OverDB, w.LeftDB, w.RightDB, w.ThroughDB} {
				sum += math.Pow(10, -l/10)
			}
			near(t, "all ways", k.Diffraction+k.Building, math.Max(bare, -10*math.Log10(sum)), 1e-9)
			if k.Building >= 0 {
				t.Errorf("a second way costs %v dB", k.Building)
			}
			back, _ := rate(t, s, "B", "A")
			near(t, "the way back", back.Loss, k.Loss, 1e-6)
		})
	}
}

func TestANeighbourClosesTheWayRound(t *testing.T) {
	alone := hall().Building("H", site.Box(95, -60, 105, 6), 12)
	k, _ := rate(t, alone, "A", "B")
	shut := hall().Building("H", site.Box(95, -60, 105, 6), 12).Building("N", site.Box(95, 6.2, 105, 60), 12)
	n, _ := rate(t, shut, "A", "B")
	if n.Past.Ways.LeftDB < k.Past.Ways.LeftDB+6 {
		t.Errorf("left %v dB, with a neighbour there %v dB", k.Past.Ways.LeftDB, n.Past.Ways.LeftDB)
	}
	low := hall().Building("H", site.Box(95, -60, 105, 6), 12).Building("N", site.Box(95, 6.2, 105, 60), 2)
	l, _ := rate(t, low, "A", "B")
	near(t, "left beside something low", l.Past.Ways.LeftDB, k.Past.Ways.LeftDB, 1e-9)
}

// Source: ITU-R P.833-9 section 2.1 equation (1) with its table 1, the figures at
// 949 MHz (0.17 dB/m, ceiling 26.5 dB): 100 m of trees take 12.548 dB.
func TestOutsideTreesAreGoneThroughOrOver(t *testing.T) {
	belt := func(height float64, props ...model.Member) *site.Site {
		s := new(site.Site).Set("radio", map[string]any{"frequency_mhz": 949}).
			Add(model.KindRepeater, "A", orb.Point{0, 0}, model.Prop("antenna_height_m", 3)).
			Add(model.KindReceiver, "B", orb.Point{200, 0}, model.Prop("antenna_height_m", 3))
		return s.Add(model.KindFoliage, "F", orb.Polygon{site.Box(50, -40, 150, 40)}, append(props, model.Prop("height_m", height))...)
	}
	k, _ := rate(t, belt(30), "A", "B")
	near(t, "depth", k.Past.InTrees, 100, 1e-4)
	near(t, "through", k.Past.Through, 12.54783, 0.01)
	near(t, "vegetation", k.Vegetation, 12.54783, 0.01)
	if k.SD != radio.ObstructedSDDB || !slices.Equal(k.Past.Foliage, []string{"F"}) {
		t.Errorf("shadowing %v dB, foliage %v", k.SD, k.Past.Foliage)
	}
	dense := model.Prop("density", "dense")
	high, _ := rate(t, belt(30, dense), "A", "B")
	if low, _ := rate(t, belt(3.01, dense), "A", "B"); !(low.Vegetation < high.Vegetation) || low.Past.Through != high.Past.Through {
		t.Errorf("over crowns that just reach the line %v dB, through them %v dB", low.Vegetation, high.Vegetation)
	}
	if under, _ := rate(t, belt(2.9), "A", "B"); under.Vegetation != 0 || under.Past != nil {
		t.Errorf("trees under the line take %v dB", under.Vegetation)
	}
	for name, s := range map[string]*site.Site{"bare": belt(30, model.Prop("in_leaf", false)), "light": belt(30, model.Prop("density", "light"))} {
		if o, _ := rate(t, s, "A", "B"); !(o.Vegetation < k.Vegetation) || o.Vegetation <= 0 {
			t.Errorf("%s trees take %v dB, medium ones in leaf %v", name, o.Vegetation, k.Vegetation)
		}
	}
	twice := belt(30).Add(model.KindFoliage, "G", orb.Polygon{site.Box(80, -10, 120, 10)}, model.Prop("height_m", 20), model.Prop("density", "light"))
	o, _ := rate(t, twice, "A", "B")
	near(t, "trees twice in one place", o.Vegetation, k.Vegetation, 1e-9)
}

// Source: ITU-R P.2109-1 section 3, the median for a traditional building.
func TestOutsideAReceiverIndoorsHearsThroughTheWalls(t *testing.T) {
	s := hall().Building("H", site.Box(190, -10, 210, 10), 6)
	k, _ := rate(t, s, "A", "B")
	f := math.Log10(0.8683)
	a, b := 12.64+3.72*f+0.96*f*f, 9.1-3*f
	near(t, "entry", k.Past.Entry, 10*math.Log10(math.Pow(10, a/10)+math.Pow(10, b/10)+math.Pow(10, -0.3)), 1e-6)
	near(t, "building", k.Building, k.Past.Entry, 1e-9)
	steel := new(site.Site).
		Add(model.KindRepeater, "A", orb.Point{0, 0}, model.Prop("antenna_height_m", 3)).
		Add(model.KindReceiver, "B", orb.Point{200, 0}, model.Prop("antenna_height_m", 3)).
		Add(model.KindBuilding, "H", orb.Polygon{site.Box(190, -10, 210, 10)}, model.Prop("height_m", 6), model.Prop("material", "metal"))
	if o, _ := rate(t, steel, "A", "B"); o.Past.Entry < k.Past.Entry+10 {
		t.Errorf("into metal walls %v dB, into masonry %v dB", o.Past.Entry, k.Past.Entry)
	}
}
