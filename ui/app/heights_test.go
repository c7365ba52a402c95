package app

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"github.com/paulmach/orb"

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
