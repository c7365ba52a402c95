package drawing_test

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
	"pleach/ui/drawing"
	"pleach/ui/drawing/drawingtest"
)

// golden compares text with a file of testdata; with PLEACH_GOLDEN=1 it writes
// the file instead.
func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if os.Getenv("PLEACH_GOLDEN") == "1" {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatalf("%v: PLEACH_GOLDEN=1 writes it", err)
	}
	if d := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got, "\n")); d != "" {
		t.Errorf("%s differs (-golden +now):\n%s", name, d)
	}
}

func TestAPlanAndItsResultAreDrawnAsTheGoldenSays(t *testing.T) {
	sc, r := drawingtest.Depot()
	golden(t, "depot.txt", drawing.Compose(drawing.Input{Scene: sc, Result: r, Selected: []string{"S2"}, Hovered: "H1"}).String())
}

func TestAPlanWithoutAResultIsDrawnAsTheGoldenSays(t *testing.T) {
	sc, _ := drawingtest.Depot()
	golden(t, "plain.txt", drawing.Compose(drawing.Input{Scene: sc}).String())
}

func TestTheStraightLineDiagramIsDrawnAsTheGoldenSays(t *testing.T) {
	sc, r := drawingtest.Depot()
	s, ok := drawing.Unroll(drawing.StraightInput{Scene: sc, Result: r, Width: 1000, Selected: []string{"S2"}}, drawing.NewTheme(drawing.Medium{}))
	if !ok {
		t.Fatal("no diagram")
	}
	golden(t, "straight.txt", s.List.String())
}

func TestADraggedSensorMovesToTheLiveLayerWithItsLinks(t *testing.T) {
	sc, r := drawingtest.Depot()
	for _, it := range drawing.Compose(drawing.Input{Scene: sc, Result: r, Live: []string{"S4"}}).Items {
		belongs := it.ID == "S4" && (it.Kind == drawing.AreaKind || it.Part == "link" && it.Kind == drawing.LineKind)
		if belongs != (it.Layer == drawing.LiveLayer) {
			t.Errorf("%v is in the wrong layer", it)
		}
	}
}

func TestEveryMeaningOfAPlanIsDrawnForTheDepot(t *testing.T) {
	sc, r := drawingtest.Depot()
	seen := map[drawing.Meaning]bool{}
	for _, it := range drawing.Compose(drawing.Input{Scene: sc, Result: r, Selected: []string{"S2"}, Show: drawing.AllOverspill | drawing.AllLinks}).Items {
		seen[it.Meaning] = true
	}
	for m := drawing.Neighbour; m <= drawing.Reading; m++ {
		if !seen[m] && m != drawing.MarginLine && m != drawing.MarginWanted && m != drawing.ProposedRepeater && m != drawing.ProposedLink { // those are asked for
			t.Errorf("%v is nowhere in the list", m)
		}
	}
}

func TestOnlyWhatIsChosenIsDrawn(t *testing.T) {
	sc, r := drawingtest.Depot()
	has := func(show drawing.Show, ms ...drawing.Meaning) bool {
		for _, it := range drawing.Compose(drawing.Input{Scene: sc, Result: r, Show: show}).Items {
			if slices.Contains(ms, it.Meaning) {
				return true
			}
		}
		return false
	}
	for _, c := range []struct {
		name string
		show drawing.Show
		ms   []drawing.Meaning
	}{
		{"links", drawing.NoLinks, []drawing.Meaning{drawing.LinkHeld, drawing.LinkThin, drawing.LinkFails, drawing.MarginFigure}},
		{"patterns", drawing.NoPatterns, []drawing.Meaning{drawing.Footprint, drawing.FootprintLookDown, drawing.Screened, drawing.OverspillRoad}},
		{"overspill", drawing.NoOverspill, []drawing.Meaning{drawing.OverspillRoad, drawing.OverspillFootpath, drawing.OverspillNeighbour}},
		{"coverage", drawing.NoCoverage, []drawing.Meaning{drawing.Covered, drawing.Gap, drawing.Overlap, drawing.GapNumber}},
		{"names", drawing.NoNames, []drawing.Meaning{drawing.DeviceName, drawing.FeatureName}},
		{"margins", drawing.NoMargins, []drawing.Meaning{drawing.MarginFigure}},
		{"site", drawing.NoSite, []drawing.Meaning{drawing.Building, drawing.RoadPublic, drawing.Foliage}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if !has(0, c.ms...) {
				t.Errorf("%v are missing where all is shown", c.ms)
			}
			if has(c.show, c.ms...) {
				t.Errorf("one of %v is drawn although hidden", c.ms)
			}
		})
	}
}

func TestTheStraightLineDiagramTellsChainageAndWhatIsThere(t *testing.T) {
	sc, r := drawingtest.Depot()
	s, ok := drawing.Unroll(drawing.StraightInput{Scene: sc, Result: r, Width: 1040}, drawing.NewTheme(drawing.Medium{}))
	if !ok {
		t.Fatal("no diagram")
	}
	for _, c := range []struct {
		chainage float64
		below    float64 // units under the line
		part, id string
	}{{120, 0, "gap", "B1"}, {200, 0, "gap", "B1"}, {50, 0, "covered", "B1"}, {370, 0, "closed", "B1"}, {60, 25, "covered", "S1"}, {300, 25, "covered", "S3"}} {
		u := s.View.ToUnit(orb.Point{c.chainage, 0})
		u[1] += c.below
		if got, on := s.Chainage(u); !on || math.Abs(got-c.chainage) > 1e-9 {
			t.Errorf("at %v the chainage is %v, want %v", u, got, c.chainage)
		}
		found := false
		for _, h := range s.Hit(u, 3) {
			found = found || h.Part == c.part && h.ID == c.id
		}
		if !found {
			t.Errorf("at %v m, %v units down: no %s of %s in %+v", c.chainage, c.below, c.part, c.id, s.Hit(u, 3))
		}
	}
	if _, on := s.Chainage(orb.Point{2, 40}); on {
		t.Error("left of the boundary's start is on the boundary")
	}
	if _, ok := drawing.Unroll(drawing.StraightInput{Scene: sc, Result: r, Width: 1040, Boundary: 1}, drawing.NewTheme(drawing.Medium{})); ok {
		t.Error("a boundary that is not there was drawn")
	}
}

func TestAPosturesGapsAreDrawnWhenItIsChosen(t *testing.T) {
	sc, r := drawingtest.Depot()
	var gaps []string
	for _, it := range drawing.Compose(drawing.Input{Scene: sc, Result: r, Posture: 1}).Items {
		if it.Meaning == drawing.Gap || it.Meaning == drawing.GapAccepted {
			gaps = append(gaps, it.Meaning.String())
		}
	}
	if len(gaps) != 1 || gaps[0] != "gap" {
		t.Errorf("want the one gap of the posture, got %v", gaps)
	}
}

// What is wrong with a plan is drawn in grey, not lost.
func TestAnEmptyPlanAndOneWithoutABoundaryAreDrawn(t *testing.T) {
	empty := scene.New(model.NewPlan())
	if l := drawing.Compose(drawing.Input{Scene: empty}); len(l.Items) != 0 {
		t.Errorf("an empty plan shows %v", l)
	}
	plan, err := model.Add{Features: []*model.Feature{
		model.NewFeature(model.KindSensor, "S1", orb.Point{10, 50}, model.Prop("model", "nothing"), model.Prop("mount_height_m", 99)),
		model.NewFeature(model.KindBuilding, "H1", orb.Polygon{{{10, 50}, {10.001, 50}, {10, 50.001}, {10, 50}}}),
	}}.Apply(model.NewPlan())
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, it := range drawing.Compose(drawing.Input{Scene: scene.New(plan)}).Items {
		if it.Kind != drawing.LabelKind {
			got = append(got, it.Meaning.String())
			if !it.State.Has(drawing.Muted) {
				t.Errorf("%v is not muted", it)
			}
		}
	}
	if !slices.Equal(got, []string{"building", "sensor-flagged"}) {
		t.Errorf("drawn: %v", got)
	}
}

func BenchmarkCompose(b *testing.B) {
	sc, r := drawingtest.Depot()
	for b.Loop() {
		drawing.Compose(drawing.Input{Scene: sc, Result: r})
	}
}

// Places for repeaters are drawn with a line to each sensor they mend, and cannot be
// picked: they are not in the plan.
func TestPlacesForRepeatersAreDrawnAndCannotBePicked(t *testing.T) {
	sc, r := drawingtest.Depot()
	at := orb.Point{3, 4}
	l := drawing.Compose(drawing.Input{Scene: sc, Result: r, Proposed: []drawing.Proposed{{ID: "RP9", At: at, Mends: []string{"S1", "S2"}}}})
	marks, lines, names := 0, 0, 0
	for _, it := range l.Items {
		switch {
		case it.Meaning == drawing.ProposedRepeater && it.At == at:
			marks++
		case it.Meaning == drawing.ProposedLink && it.Line[0] == at:
			lines++
		case it.Kind == drawing.LabelKind && it.Text == "RP9":
			names++
		}
		if it.ID == "RP9" {
			t.Errorf("%v can be picked", it)
		}
	}
	if marks != 1 || lines != 2 || names != 1 {
		t.Errorf("%d marks, %d lines, %d names", marks, lines, names)
	}
}
