package drawing_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

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
		if !seen[m] {
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
