package app

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"
	"github.com/paulmach/orb"

	"pleach/gis/planfile"
	"pleach/model"
	"pleach/ui/editor"
)

// placedPlan is a window with a new plan on the demo's picture, in no file yet.
func placedPlan(t *testing.T) *window {
	t.Helper()
	w := open(t, "")
	if err := makePlan(w, sources{image: demoPicture(t), crs: "EPSG:32630"}); err != nil {
		t.Fatal(err)
	}
	if w.pic == nil {
		t.Fatalf("the picture is not shown: %s", dialogText(w))
	}
	return w
}

// demoPicture copies the demo's picture into a folder of its own.
func demoPicture(t *testing.T) string {
	t.Helper()
	return filepath.Join(filepath.Dir(demoCopy(t)), "aerial.jpg")
}

func TestThePictureStaysWhenThePlanIsSavedInAnotherFolder(t *testing.T) {
	w := placedPlan(t)
	for _, folder := range []string{"first", "second"} {
		to := filepath.Join(t.TempDir(), folder, "plan.geojson")
		if err := os.Mkdir(filepath.Dir(to), 0o755); err != nil {
			t.Fatal(err)
		}
		w.saveTo(to, nil)
		if s := dialogText(w); s != "" || w.pic == nil {
			t.Fatalf("saved in the %s folder the picture is gone: %s", folder, s)
		}
		if w.ed.Unsaved() {
			t.Error("it counts as not saved")
		}
		p, err := planfile.Read(to)
		if err != nil || !strings.HasPrefix(p.Settings.BaseMap.File, "../") {
			t.Errorf("saved as %+v, %v", p.Settings.BaseMap, err)
		}
		again := open(t, to)
		if again.pic == nil {
			t.Errorf("opened again it has no picture: %s", dialogText(again))
		}
	}
}

func TestANewPlanCountsAsNotSavedUntilItIsSaved(t *testing.T) {
	w := placedPlan(t)
	if !strings.Contains(w.win.Title(), "(not saved)") {
		t.Errorf("the title is %q", w.win.Title())
	}
	went := false
	w.ifSaved(func() { went = true })
	if s := dialogText(w); went || !strings.Contains(s, "Save the changes?") {
		t.Errorf("it is given up without a question: %q", s)
	}
	tapButton(t, w, "Keep working")
	w.saveTo(filepath.Join(t.TempDir(), "plan.geojson"), nil)
	if w.ed.Unsaved() || strings.Contains(w.win.Title(), "(not saved)") {
		t.Errorf("saved, it still counts as not saved: %q", w.win.Title())
	}
	for w.ed.Undo() {
	}
	w.ed.Redo()
	if w.ed.Unsaved() {
		t.Error("back at the saved state it counts as not saved")
	}
	if err := makePlan(w, sources{}); err != nil || w.ed.Unsaved() {
		t.Errorf("an empty plan is asked about; %v", err)
	}
}

func TestAPictureThatCannotBeReadIsSaidInTheFormForANewPlan(t *testing.T) {
	photo := filepath.Join(t.TempDir(), "short.jpg")
	data, err := os.ReadFile(demoPicture(t))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(photo, data[:len(data)/3], 0o644); err != nil {
		t.Fatal(err)
	}
	w := open(t, "")
	w.tryPicture(photo)
	said := dialogText(w)
	tapButton(t, w, "Close")
	plan := w.ed.Plan()
	w.newForm(sources{title: "Yard", image: photo})
	tapButton(t, w, "Make the plan")
	form := dialogText(w)
	for _, part := range []string{"Yard", "short.jpg", "Make the plan"} {
		if !strings.Contains(form, part) {
			t.Errorf("the form has lost %q: %s", part, form)
		}
	}
	if w.ed.Plan() != plan || w.side.Visible() {
		t.Error("a plan was made")
	}
	// What the form says is what File, Aerial picture says.
	at := strings.Index(said, "short.jpg:")
	if at < 0 {
		t.Fatalf("File, Aerial picture says %q", said)
	}
	if words := strings.Fields(said[at:])[:6]; !strings.Contains(strings.Join(strings.Fields(form), " "), strings.Join(words, " ")) {
		t.Errorf("the form says %q, not %q", form, words)
	}
}

func TestFeaturesLeftOutOfANewPlanAreNamed(t *testing.T) {
	file := filepath.Join(t.TempDir(), "houses.geojson")
	const houses = `{"type":"FeatureCollection","features":[
		{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[[[10,50],[10.001,50],[10.001,50.001],[10,50]]]}},
		{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[10,50]}}]}`
	if err := os.WriteFile(file, []byte(houses), 0o644); err != nil {
		t.Fatal(err)
	}
	w := open(t, "")
	src := sources{}
	src.Buildings = file
	w.newForm(src)
	tapButton(t, w, "Make the plan")
	if s := dialogText(w); !strings.Contains(s, "left out") {
		t.Errorf("the window says %q", s)
	}
	tapButton(t, w, "Close")
	if s := dialogText(w); s != "" {
		t.Errorf("the form is still there: %q", s)
	}
}

func TestAnotherPlanEndsThePlacingOfAPicture(t *testing.T) {
	w := open(t, "")
	if err := makePlan(w, sources{image: barePicture(t, 60, 40)}); err != nil || w.place == nil {
		t.Fatalf("the picture is not being placed; %v", err)
	}
	if err := makePlan(w, sources{title: "Other"}); err != nil {
		t.Fatal(err)
	}
	if w.place != nil || w.side.Visible() || !w.docked.Visible() {
		t.Error("the picture of the plan before is still being placed")
	}
}

func TestEscapeLeavesThePlacingOfAPicture(t *testing.T) {
	for _, focus := range []string{"nothing", "the picture"} {
		t.Run("with the focus on "+focus, func(t *testing.T) {
			w := open(t, "")
			w.placePicture(barePicture(t, 60, 40))
			escape := &fyne.KeyEvent{Name: fyne.KeyEscape}
			if focus == "nothing" {
				w.win.Canvas().Unfocus()
				w.win.Canvas().OnTypedKey()(escape)
			} else {
				w.place.chart.TypedKey(escape)
			}
			if w.place != nil || w.side.Visible() || !w.docked.Visible() {
				t.Error("the picture is still being placed")
			}
		})
	}
}

func TestACoordinateSystemMayBeTypedAsItsNumber(t *testing.T) {
	for typed, want := range map[string]string{"2994": "EPSG:2994", " 32630 ": "EPSG:32630", "EPSG:2994": "EPSG:2994", "": ""} {
		if got, err := systemName(typed); err != nil || got != want {
			t.Errorf("%q is read as %q, %v, want %q", typed, got, err, want)
		}
	}
	w := open(t, "")
	w.newForm(sources{image: demoPicture(t)})
	typeInto(t, w, "names none", "Oregon")
	if s := dialogText(w); !strings.Contains(s, "Oregon") || strings.Contains(s, "Every file") {
		t.Errorf("what was refused is lost, or not spoken of: %q", s)
	}
	tapButton(t, w, "Make the plan")
	if s := dialogText(w); !strings.Contains(s, "Oregon") {
		t.Errorf("a plan is made with a coordinate system that is none: %q", s)
	}
	typeInto(t, w, "Oregon", "32630")
	if s := dialogText(w); !strings.Contains(s, "EPSG:32630") || !strings.Contains(s, "Every file") {
		t.Errorf("the form shows %q", s)
	}
	tapButton(t, w, "Make the plan")
	if bm := w.ed.Plan().Settings.BaseMap; bm == nil || bm.CRS != "EPSG:32630" || w.pic == nil {
		t.Errorf("the plan has %+v: %s", bm, dialogText(w))
	}
}

// saveDialog opens the dialog of Save as; name is its field.
func saveDialog(t *testing.T, w *window) (name *widget.Entry) {
	t.Helper()
	w.saveAs(nil)
	top, ok := w.win.Canvas().Overlays().Top().(*widget.PopUp)
	if !ok {
		t.Fatal("there is no dialog")
	}
	name, save := nameAndSave(top.Content)
	if name == nil || save == nil {
		t.Fatal("the dialog has no name or no button")
	}
	return name
}

func TestAPlanNeverSavedIsSavedBesideItsPicture(t *testing.T) {
	w := placedPlan(t)
	beside := filepath.Dir(filepath.FromSlash(w.ed.Plan().Settings.BaseMap.File))
	saveDialog(t, w).SetText("site")
	tapButton(t, w, "Save")
	if want := filepath.Join(beside, "site.geojson"); w.path != want {
		t.Errorf("saved as %q, want %q: %s", w.path, want, dialogText(w))
	}
}

func TestAPlanNeverSavedIsSavedInTheHomeFolder(t *testing.T) {
	home := t.TempDir()
	t.Setenv("HOME", home)
	w := open(t, "")
	w.openDemo()
	if err := makePlan(w, sources{title: "My Yard"}); err != nil {
		t.Fatal(err)
	}
	saveDialog(t, w)
	tapButton(t, w, "Save")
	if want := filepath.Join(home, "my-yard.geojson"); w.path != want {
		t.Errorf("saved as %q, want %q: %s", w.path, want, dialogText(w))
	}
}

func TestAFullPathTypedAsTheNameIsWhereThePlanIsSaved(t *testing.T) {
	w := open(t, demoCopy(t))
	to := filepath.Join(t.TempDir(), "elsewhere.geojson")
	saveDialog(t, w).SetText(to)
	tapButton(t, w, "Save")
	if _, err := os.Stat(to); err != nil || w.path != to {
		t.Errorf("saved as %q: %v, %s", w.path, err, dialogText(w))
	}
	saveDialog(t, w).SetText(filepath.Join(to, "no", "such.geojson"))
	tapButton(t, w, "Save")
	if s := dialogText(w); !strings.Contains(s, "not saved") || w.path != to {
		t.Errorf("a folder that is none: %q", s)
	}
}

func TestAFileInTheWayIsKeptUntilTheUserAgreesAndBesideThePlanThen(t *testing.T) {
	path := demoCopy(t)
	other := filepath.Join(filepath.Dir(path), "other.geojson")
	before := []byte("what was there")
	if err := os.WriteFile(other, before, 0o644); err != nil {
		t.Fatal(err)
	}
	w := open(t, path)
	saveDialog(t, w)
	var item fyne.Tappable
	walk(w.win.Canvas().Overlays().Top(), func(o fyne.CanvasObject) {
		if x, ok := o.(fyne.Tappable); ok && strings.Contains(strings.ReplaceAll(textOf(o), " ", ""), "other") {
			item = x
		}
	})
	if item == nil {
		t.Fatalf("the file is not shown: %s", dialogText(w))
	}
	item.Tapped(&fyne.PointEvent{})
	item.Tapped(&fyne.PointEvent{}) // a double click
	if now, _ := os.ReadFile(other); !bytes.Equal(now, before) || w.path != path {
		t.Fatalf("it was written over without a question: %q", now)
	}
	tapButton(t, w, "Yes")
	if w.path != other || dialogText(w) != "" {
		t.Fatalf("saved as %q: %s", w.path, dialogText(w))
	}
	if kept, err := os.ReadFile(other + ".bak"); err != nil || !bytes.Equal(kept, before) {
		t.Errorf("beside it is kept %q, %v", kept, err)
	}
}

func TestAPlanThatIsOpenedIsWhollyInView(t *testing.T) {
	w := open(t, demoCopy(t))
	if !w.strip.Visible() {
		t.Fatal("the diagram is not shown")
	}
	b, _ := w.extent()
	if v := w.chart.View(); !v.Bound().Contains(b.Min) || !v.Bound().Contains(b.Max) || v.Height != float64(w.chart.Size().Height) {
		t.Errorf("the plan lies in %v, the map shows %v", b, v.Bound())
	}
}

func TestTheGroundStaysUnderThePointerWhenTheDiagramAppears(t *testing.T) {
	w := placedPlan(t)
	w.ed.Take(editor.Tool{Kind: model.KindBoundary, Shape: model.Area})
	click := func(x, y float32) {
		ev := &desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(x, y)}, Button: desktop.MouseButtonPrimary}
		w.chart.MouseDown(ev)
		w.chart.MouseUp(ev)
	}
	click(200, 150)
	click(500, 150)
	click(500, 350)
	corner := w.ed.Grid().ToLonLat(w.ed.Outline()[1])
	high := w.chart.Size().Height
	if !w.ed.Finish() || !w.strip.Visible() || w.chart.Size().Height >= high {
		t.Fatal("the diagram has not appeared")
	}
	u := w.chart.View().ToUnit(w.ed.Grid().ToSite(corner))
	if math.Hypot(u[0]-500, u[1]-150) > 0.5 {
		t.Errorf("the corner put at 500, 150 is at %.1f, %.1f now", u[0], u[1])
	}
}

func TestTheHintOfPlacingFollowsTheStep(t *testing.T) {
	w := open(t, "")
	w.placePicture(barePicture(t, 200, 200))
	p := w.place
	says := func(want string) {
		t.Helper()
		if s := w.status.Text(); !strings.Contains(s, want) {
			t.Errorf("the window says %q, not %q", s, want)
		}
	}
	says("two points")
	p.finish()
	if p.help.Text() == "" {
		t.Error("it is placed without a point")
	}
	p.pressed(p.toSite.At(orb.Point{10, 190}), 0)
	says("second point")
	if s := p.help.Text(); s != "" {
		t.Errorf("it still says %q", s)
	}
	p.pressed(p.toSite.At(orb.Point{190, 10}), 0)
	says("where the first point lies")
	p.at[0], p.given[0], p.metres = orb.Point{13.4, 52.5}, [2]bool{true, true}, 50
	p.step()
	says("Place it")
	w.endPlacing()
	if s := w.status.Text(); strings.Contains(s, "point") {
		t.Errorf("after placing the window says %q", s)
	}
}

// heights writes a text grid of heights round the demo's site, which does not say
// in which coordinate system it lies.
func heights(t *testing.T) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("ncols 40\nnrows 40\nxllcorner 502000\nyllcorner 5856000\ncellsize 100\n")
	for range 40 {
		b.WriteString(strings.Repeat("12.5 ", 40) + "\n")
	}
	path := filepath.Join(t.TempDir(), "heights.asc")
	if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestANewPlanHasItsGroundHeights(t *testing.T) {
	file := heights(t)
	w := open(t, "")
	w.newForm(sources{title: "Slope", terrain: file})
	tapButton(t, w, "Make the plan")
	if s := dialogText(w); !strings.Contains(s, "Ground heights") || !strings.Contains(s, "heights.asc") || w.ed.Plan().Settings.Terrain != nil {
		t.Fatalf("heights in no coordinate system are taken: %q", s)
	}
	src := sources{title: "Slope", terrain: file, terrainCRS: "32630", image: demoPicture(t), crs: "EPSG:32630"}
	demo, err := planfile.Read(demoCopy(t))
	if err != nil {
		t.Fatal(err)
	}
	line, err := json.Marshal(map[string]any{"type": "Polygon", "coordinates": demo.Of(model.KindBoundary)[0].Geometry})
	if err != nil {
		t.Fatal(err)
	}
	src.Boundary = filepath.Join(t.TempDir(), "line.geojson")
	if err := os.WriteFile(src.Boundary, line, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := makePlan(w, src); err != nil {
		t.Fatal(err)
	}
	tf := w.ed.Plan().Settings.Terrain
	if tf == nil || tf.File != filepath.ToSlash(file) || tf.CRS != "EPSG:32630" {
		t.Fatalf("the plan has %+v", tf)
	}
	if sc := w.an.last.Scene; sc.Terrain == nil || math.Abs(sc.Ground(orb.Point{})-12.5) > 1e-6 {
		t.Errorf("the plan is not laid on them: %s, %s", w.status.Text(), dialogText(w))
	}
	to := filepath.Join(filepath.Dir(file), "plan.geojson")
	w.saveTo(to, nil)
	p, err := planfile.Read(to)
	if err != nil || p.Settings.Terrain.File != "heights.asc" {
		t.Errorf("saved as %+v, %v", p.Settings.Terrain, err)
	}
}

func TestTheFileDialogsHaveNoBarBetweenPlacesAndFiles(t *testing.T) {
	w := open(t, demoCopy(t))
	for name, show := range map[string]func(){
		"open": func() { w.chooseFile("Open a plan", jsonFiles, func(string) {}) },
		"save": func() { w.saveAs(nil) },
	} {
		t.Run(name, func(t *testing.T) {
			show()
			top := w.win.Canvas().Overlays().Top()
			walk(top, func(o fyne.CanvasObject) {
				if _, ok := o.(*container.Split); ok {
					t.Error("the bar is there")
				}
			})
			if s := strings.ReplaceAll(dialogText(w), " ", ""); !strings.Contains(s, "demo") || !strings.Contains(s, "Home") {
				t.Errorf("the dialog does not show places and files: %q", s)
			}
			w.typed(&fyne.KeyEvent{Name: fyne.KeyEscape})
		})
	}
}
