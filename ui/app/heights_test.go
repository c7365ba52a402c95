package app

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"github.com/paulmach/orb"

	"pleach/gis/elevation"
	"pleach/model"
)

func TestGroundHeightsAreLaidUnderAnOpenPlanAndTakenAwayAgain(t *testing.T) {
	path := demoCopy(t)
	data, err := os.ReadFile(heights(t))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(filepath.Dir(path), "heights.asc"), data, 0o644); err != nil {
		t.Fatal(err)
	}
	w := open(t, path)
	for w.ed.Undo() {
	}
	if tf := w.ed.Plan().Settings.Terrain; tf != nil {
		t.Fatalf("the demo has %+v", tf)
	}
	before := w.ed.Plan()

	w.chooseHeights()
	tapButton(t, w, "Use them")
	if s := dialogText(w); !strings.Contains(s, "hoose a file") || w.ed.Plan() != before {
		t.Fatalf("without a file: %q", s)
	}
	w.typed(&fyne.KeyEvent{Name: fyne.KeyEscape})

	use := func(crs, unit string) {
		t.Helper()
		src := sources{terrain: filepath.Join(filepath.Dir(path), "heights.asc"), terrainCRS: crs, terrainUnit: unit}
		tf, _, err := src.heights()
		if err != nil {
			t.Fatal(err)
		}
		w.useHeights(tf, model.TerrainFile{})
	}
	use("32630", "")
	tf := w.ed.Plan().Settings.Terrain
	if tf == nil || tf.File != "heights.asc" || tf.CRS != "EPSG:32630" || tf.Unit != "" {
		t.Fatalf("the plan has %+v", tf)
	}
	ground := func() float64 { return w.an.last.Scene.Ground(orb.Point{}) }
	if w.an.last.Plan != w.ed.Plan() || math.Abs(ground()-12.5) > 1e-6 {
		t.Errorf("the ground is %v m high", ground())
	}

	// The form begins with what the plan has; in feet the ground is lower (0.3048 m
	// to the foot, by definition).
	w.chooseHeights()
	if s := dialogText(w); !strings.Contains(s, "heights.asc") || !strings.Contains(s, "EPSG:32630") {
		t.Errorf("the form shows %q", s)
	}
	steps := w.ed.UndoLabel()
	tapButton(t, w, "Use them")
	if dialogText(w) != "" || w.ed.Plan().Settings.Terrain != tf || w.ed.UndoLabel() != steps {
		t.Error("the same heights are a step")
	}
	use("32630", "ft")
	if math.Abs(ground()-12.5*0.3048) > 1e-6 {
		t.Errorf("in feet the ground is %v m high", ground())
	}

	for _, c := range w.commands.all {
		if c.label == "Take the ground heights away" {
			if !c.can() {
				t.Error("they cannot be taken away")
			}
			c.do()
			if c.can() {
				t.Error("they are still there")
			}
		}
	}
	if w.ed.Plan().Settings.Terrain != nil || ground() != 0 {
		t.Error("they were not taken away")
	}
	for w.ed.Undo() {
	}
	if w.ed.Plan() != before || w.ed.Unsaved() {
		t.Error("undo does not lead back to the plan that was opened")
	}
}

// A place in Oregon: longitude -123.0685, latitude 44.0575 lies within the grid
// (PROJ: EPSG:2994, whose coordinates are in feet).
func TestHeightsThatMayBeInFeetAreSaidAmongTheFindingsAndOnPaper(t *testing.T) {
	folder := t.TempDir()
	const n = 300
	path := filepath.Join(folder, "p.geojson")
	for name, text := range map[string]string{
		"feet.asc": fmt.Sprintf("ncols %d\nnrows %d\nxllcorner 634000\nyllcorner 847000\ncellsize 20\n%s\n", n, n, strings.Repeat("420 ", n*n)),
		"p.geojson": `{"type":"FeatureCollection","pleach":{"version":1,"terrain":{"file":"feet.asc","crs":"EPSG:2994"}},
"features":[{"type":"Feature","id":"RX","properties":{"kind":"receiver","antenna_height_m":5},"geometry":{"type":"Point","coordinates":[-123.0685,44.0575]}}]}`,
	} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	w := open(t, path)
	said := w.findings.Said
	if len(said) != 1 || said[0].Severity != model.Warning || !strings.Contains(said[0].Text, "feet.asc") || !strings.Contains(said[0].Text, "taken as metres") {
		t.Fatalf("said is %+v", said)
	}
	if s := textOf(w.findings.Object); !strings.Contains(s, "feet.asc") {
		t.Errorf("the findings show %q", s)
	}
	for _, f := range w.an.last.Findings {
		if f.Rule == said[0].Rule {
			t.Error("it is among the findings of the analysis")
		}
	}
	tf := *w.ed.Plan().Settings.Terrain
	if s := elevation.UnitWords(folder, tf); s != ", unit not stated, taken as metres" {
		t.Errorf("paper says %q", s)
	}
	tf.File, tf.Unit = filepath.Join(folder, "feet.asc"), "ft"
	w.useHeights(tf, model.TerrainFile{})
	if len(w.findings.Said) != 0 || elevation.UnitWords(folder, tf) != "" || w.an.last.Scene.Terrain == nil {
		t.Errorf("with a unit it still says %+v", w.findings.Said)
	}
	w.ed.Undo()
	if len(w.findings.Said) != 1 {
		t.Error("undone, nothing is said")
	}
	w.try(func() error { return w.ed.Do(model.Change{Path: "terrain"}) })
	if len(w.findings.Said) != 0 {
		t.Error("it is said of heights that were taken away")
	}
}
