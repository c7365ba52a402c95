package analysis_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/radio"
	"pleach/testdata/site"
)

// yard is a sensor 1 m up, 400 m from its receiver over flat ground.
func yard() *site.Site {
	return new(site.Site).
		Sensor("S1", orb.Point{0, 0}, "sector-90-16", 3, 90, 2, model.Prop("antenna_height_m", 1)).
		Add(model.KindReceiver, "RX", orb.Point{400, 0}, model.Prop("antenna_height_m", 1))
}

func worst(t *testing.T, s *site.Site) (*analysis.Result, *analysis.Worst, analysis.Link) {
	t.Helper()
	r := study(t, s)
	for i, k := range r.Links {
		if k.InUse {
			return r, r.WorstOf(i), k
		}
	}
	t.Fatal("no link in use")
	return nil, nil, analysis.Link{}
}

func TestNothingMayBefallALinkOverOpenGround(t *testing.T) {
	_, w, k := worst(t, yard())
	if w == nil || w.Name != analysis.AsPlanned || w.Margin != k.Margin || w.Required != k.Required {
		t.Errorf("worst %+v of %+v", w, k)
	}
}

// The row of lorries is held against a wall of its height, drawn at the same place, by
// the way over alone.
func TestLorriesInTheYardCostWhatAWallOfTheirHeightDoes(t *testing.T) {
	s := yard().Add(model.KindRoad, "R1", orb.Polygon{site.Box(20, -10, 20.001, 10)}, model.Prop("private", true))
	_, w, k := worst(t, s)
	if w.Name != analysis.Lorry || w.On != "R1" {
		t.Fatalf("worst %+v", w)
	}
	wall, _ := rate(t, yard().Add(model.KindObstacle, "O1", orb.LineString{{20, -50}, {20, 50}}, model.Prop("height_m", 4)), "S1", "RX")
	near(t, "what the lorries cost", k.Margin-w.Margin, wall.Past.Ways.OverDB-k.Diffraction, 0.01)
	if w.Required <= k.Required {
		t.Errorf("required %v dB behind lorries, %v dB in the open", w.Required, k.Required)
	}
}

func TestTheWorstPlaceForLorriesIsLookedForInTheWholeArea(t *testing.T) {
	_, all, _ := worst(t, yard().Add(model.KindRoad, "R1", orb.Polygon{site.Box(20, -10, 380, 10)}, model.Prop("private", true)))
	_, middle, _ := worst(t, yard().Add(model.KindRoad, "R1", orb.Polygon{site.Box(190, -10, 210, 10)}, model.Prop("private", true)))
	if all.Margin >= middle.Margin {
		t.Errorf("%v dB with lorries anywhere, %v dB with lorries half way", all.Margin, middle.Margin)
	}
}

func TestLorriesStandOnPrivateAreasAlone(t *testing.T) {
	for name, s := range map[string]*site.Site{
		"public area":  yard().Add(model.KindRoad, "R1", orb.Polygon{site.Box(100, -10, 120, 10)}),
		"private line": yard().Add(model.KindRoad, "R1", orb.LineString{{100, -50}, {100, 50}}, model.Prop("private", true)),
		"beside":       yard().Add(model.KindRoad, "R1", orb.Polygon{site.Box(100, 1, 120, 10)}, model.Prop("private", true)),
		"at the post":  yard().Add(model.KindRoad, "R1", orb.Polygon{site.Box(-5, -5, 1.5, 5)}, model.Prop("private", true)),
	} {
		t.Run(name, func(t *testing.T) {
			if _, w, _ := worst(t, s); w.Name != analysis.AsPlanned {
				t.Errorf("worst %+v", w)
			}
		})
	}
}

// The loss through trees is that of model/radio, which is held against outside values
// of its own.
func TestTheWorstSeasonIsThatOfWetLeaf(t *testing.T) {
	trees := func(leaf bool) *site.Site {
		return yard().Add(model.KindFoliage, "F1", orb.Polygon{site.Box(150, -60, 190, 60)}, model.Prop("height_m", 15), model.Prop("in_leaf", leaf))
	}
	_, w, k := worst(t, trees(false))
	if w.Name != analysis.SummerWet {
		t.Fatalf("worst %+v", w)
	}
	through := func(inLeaf, wet bool) float64 {
		return radio.ThroughTrees([]radio.Trees{{Depth: 40, InLeaf: inLeaf, Wet: wet}}, 868.3)
	}
	if k.Vegetation == k.Past.Through {
		near(t, "wet leaf over bare", k.Margin-w.Margin, through(true, true)-through(false, false), 1e-6)
	} else {
		t.Errorf("the way is over the crowns: %+v", k)
	}
	_, summer, _ := worst(t, trees(true))
	if summer.Margin != w.Margin {
		t.Errorf("drawn in leaf the worst is %v dB, drawn bare %v dB", summer.Margin, w.Margin)
	}
}

func TestALinkThatHoldsAsPlannedAndNotInTheWorstCaseIsWarnedOf(t *testing.T) {
	s := yard().Add(model.KindFoliage, "F1", orb.Polygon{site.Box(150, -60, 190, 60)}, model.Prop("height_m", 15), model.Prop("in_leaf", false))
	_, w, k := worst(t, s)
	between := (w.Margin + k.Margin) / 2
	r, _, _ := worst(t, s.Set("radio", map[string]any{"required_margin_db": between}))
	list := of(r, "worst-case")
	if len(list) != 1 || list[0].Severity != model.Warning || !slices.Equal(list[0].Subject, []string{"S1", "RX"}) || !strings.Contains(list[0].Text, "wet leaf") {
		t.Errorf("required %v dB between %v and %v: %+v", between, w.Margin, k.Margin, list)
	}
	r, _, _ = worst(t, s.Set("radio", map[string]any{"required_margin_db": w.Margin - 0.1}))
	if list := of(r, "worst-case"); len(list) != 0 {
		t.Errorf("it holds all year: %+v", list)
	}
}
