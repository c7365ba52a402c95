package app

import (
	"bytes"
	"encoding/json"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"github.com/paulmach/orb"

	"pleach/gis/exchange"
	"pleach/gis/planfile"
	"pleach/model"
	"pleach/model/picture"
	"pleach/model/sitegrid"
	"pleach/testdata/opendata"
	"pleach/ui/editor"
	"pleach/ui/paper"
)

// here does work behind the window in front of it: tests wait for nothing.
func here(work, then func()) { work(); then() }

// open makes a window on the toolkit's test driver, with the plan at path or
// with an empty one.
func open(t *testing.T, path string) *window {
	t.Helper()
	w := newWindow(test.NewTempApp(t), here)
	w.win.Resize(fyne.NewSize(1200, 800))
	t.Cleanup(w.win.Close)
	if path != "" {
		w.open(path)
	}
	return w
}

// makePlan makes a plan and returns what was wrong.
func makePlan(w *window, src sources) (err error) {
	w.makePlan(src, func(e error) { err = e })
	return err
}

// demoCopy copies the demo into a folder of its own.
func demoCopy(t *testing.T) string {
	t.Helper()
	folder := t.TempDir()
	for _, name := range []string{"demo.geojson", "aerial.jpg", "aerial.jgw"} {
		data, err := os.ReadFile(filepath.Join("..", "..", "assets", "demo", name))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folder, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return filepath.Join(folder, "demo.geojson")
}

// dialogText gathers the text of the dialog on top, "" where there is none.
func dialogText(w *window) string {
	top := w.win.Canvas().Overlays().Top()
	if top == nil {
		return ""
	}
	return textOf(top)
}

func TestTheDemoOpensWithItsPictureAndItsFindings(t *testing.T) {
	w := open(t, demoCopy(t))
	if s := dialogText(w); s != "" {
		t.Fatalf("a dialog says %q", s)
	}
	if w.pic == nil {
		t.Error("the aerial picture is not shown")
	}
	if w.an.last == nil || w.an.last.Plan != w.ed.Plan() || len(w.an.last.Findings) == 0 {
		t.Error("there is no result")
	}
	if w.ed.Unsaved() || strings.Contains(w.win.Title(), "not saved") {
		t.Error("a plan just opened counts as changed")
	}
	if list := w.chart.Layers.List(); list == nil || len(list.Items) < 50 {
		t.Error("the map is bare")
	}
	if w.empty.Visible() {
		t.Error("the demo is taught about as an empty plan")
	}
}

func TestAnEmptyPlanTeaches(t *testing.T) {
	w := open(t, "")
	if !w.empty.Visible() {
		t.Fatal("an empty plan says nothing")
	}
	text := textOf(w.empty)
	for _, step := range []string{"1", "2", "3", "boundary", "sensor", "picture"} {
		if !strings.Contains(text, step) {
			t.Errorf("it does not say %q: %s", step, text)
		}
	}
	w.ed.Take(editor.Tool{Kind: model.KindBoundary, Shape: model.Area})
	if w.empty.Visible() {
		t.Error("it stays in the way of drawing")
	}
}

func TestSavingKeepsTheVersionBefore(t *testing.T) {
	path := demoCopy(t)
	w := open(t, path)
	before, _ := os.ReadFile(path)
	w.ed.Select(w.an.last.Sensors[0].ID)
	w.ed.Nudge(1, 0)
	if err := w.ed.Duplicate(); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(w.win.Title(), "(not saved)") {
		t.Errorf("the title is %q", w.win.Title())
	}
	w.save(nil)
	if s := dialogText(w); s != "" {
		t.Fatalf("a dialog says %q", s)
	}
	now, _ := os.ReadFile(path)
	bak, err := os.ReadFile(path + planfile.BackupSuffix)
	if err != nil || !bytes.Equal(bak, before) {
		t.Errorf("the version before is not kept: %v", err)
	}
	if bytes.Equal(now, before) || strings.Contains(w.win.Title(), "not saved") {
		t.Error("nothing was saved")
	}
	for w.ed.Undo() {
	}
	w.save(nil)
	if now, _ = os.ReadFile(path); !bytes.Equal(now, before) {
		t.Error("undone and saved, the file has other bytes than at the beginning")
	}
}

func TestASaveThatFailsSaysWhyAndLosesNothing(t *testing.T) {
	path := demoCopy(t)
	w := open(t, path)
	w.ed.Select(w.an.last.Sensors[0].ID)
	if err := w.ed.Duplicate(); err != nil {
		t.Fatal(err)
	}
	plan := w.ed.Plan()
	done := false
	w.saveTo(filepath.Join(path, "no-such-folder", "x.geojson"), func(ok bool) { done = ok })
	if done || !w.ed.Unsaved() || w.path != path {
		t.Error("it counts as saved")
	}
	if s := dialogText(w); !strings.Contains(s, "not saved") {
		t.Errorf("the dialog says %q", s)
	}
	if w.ed.Plan().Feature(plan.Features[len(plan.Features)-1].ID) == nil {
		t.Error("the edit is lost")
	}
}

func TestUnsavedWorkIsAskedAbout(t *testing.T) {
	w := open(t, demoCopy(t))
	went := false
	w.ifSaved(func() { went = true })
	if !went {
		t.Fatal("nothing was changed, and yet it was asked")
	}
	went = false
	w.ed.Select(w.an.last.Sensors[0].ID)
	_ = w.ed.Duplicate()
	w.ifSaved(func() { went = true })
	if went {
		t.Fatal("unsaved work was given up without asking")
	}
	if s := dialogText(w); !strings.Contains(s, "Save the changes?") {
		t.Errorf("the dialog says %q", s)
	}
	tapButton(t, w, "Keep working")
	if went || dialogText(w) != "" {
		t.Error("keeping on working did something else")
	}
	w.ifSaved(func() { went = true })
	tapButton(t, w, "Save")
	if !went || w.ed.Unsaved() {
		t.Error("saving did not save and go on")
	}
}

func TestAPlanThatCannotBeOpenedIsSaidAndTheOneOpenStays(t *testing.T) {
	path := demoCopy(t)
	w := open(t, path)
	plan := w.ed.Plan()
	bad := filepath.Join(t.TempDir(), "bad.geojson")
	for name, content := range map[string]string{"empty": "", "cut off": `{"type":"FeatureCollection","pleach":{"versi`, "no plan": `{"type":"FeatureCollection","features":[]}`, "not a number": `{"type":"FeatureCollection","pleach":{"version":1},"features":[NaN]}`} {
		t.Run(name, func(t *testing.T) {
			if err := os.WriteFile(bad, []byte(content), 0o644); err != nil {
				t.Fatal(err)
			}
			w.open(bad)
			s := dialogText(w)
			if !strings.Contains(s, "bad.geojson") || w.ed.Plan() != plan {
				t.Errorf("the dialog says %q", s)
			}
			tapButton(t, w, "Close")
		})
	}
	w.open(filepath.Join(t.TempDir(), "missing.geojson"))
	if s := dialogText(w); !strings.Contains(s, "missing.geojson") {
		t.Errorf("the dialog says %q", s)
	}
}

func TestAPlanWithAFlawedSensorOpensAndKeepsIt(t *testing.T) {
	path := demoCopy(t)
	data, _ := os.ReadFile(path)
	var doc map[string]any
	if err := json.Unmarshal(data, &doc); err != nil {
		t.Fatal(err)
	}
	id := ""
	for _, f := range doc["features"].([]any) {
		f := f.(map[string]any)
		if p := f["properties"].(map[string]any); p["kind"] == "sensor" && id == "" {
			p["tilt_deg"], id = 95, f["id"].(string)
		}
	}
	data, _ = json.Marshal(doc)
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	w := open(t, path)
	if s := dialogText(w); s != "" {
		t.Fatalf("it is refused: %q", s)
	}
	if !strings.Contains(w.findings.Words(), "1 flaw") {
		t.Errorf("findings: %q", w.findings.Words())
	}
	for _, s := range w.an.last.Sensors {
		if s.ID == id {
			t.Error("the flawed sensor takes part in the analysis")
		}
	}
	w.goToFeature(id)
	if !w.ed.IsSelected(id) {
		t.Error("it cannot be selected")
	}
	// It can be mended.
	if err := w.ed.Do(model.Set{ID: id, Values: []model.Value{{Property: "tilt_deg", Value: 2}}}); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(w.findings.Words(), "flaw") {
		t.Errorf("mended, the findings still say %q", w.findings.Words())
	}
}

func TestAPictureThatIsNoneIsSaidAndThePlanStaysOpen(t *testing.T) {
	path := demoCopy(t)
	if err := os.WriteFile(filepath.Join(filepath.Dir(path), "aerial.jpg"), []byte("no picture"), 0o644); err != nil {
		t.Fatal(err)
	}
	w := open(t, path)
	if s := dialogText(w); !strings.Contains(s, "aerial.jpg") {
		t.Errorf("the dialog says %q", s)
	}
	if w.path != path || w.pic != nil || w.an.last == nil {
		t.Error("the plan is not open without its picture")
	}
}

// barePicture writes a PNG that does not say where it lies.
func barePicture(t *testing.T, wide, high int) string {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, wide, high))
	for i := range img.Pix {
		img.Pix[i] = uint8(i)
	}
	img.Set(0, 0, color.White)
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "photo.png")
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestABarePictureIsPlacedByADistanceAndNorth(t *testing.T) {
	photo := barePicture(t, 400, 300)
	w := open(t, "")
	if err := makePlan(w, sources{image: photo, title: "Yard"}); err != nil {
		t.Fatal(err)
	}
	if !w.side.Visible() || w.docked.Visible() {
		t.Fatal("it is not asked where the picture lies")
	}
	p := w.place
	// From column 100, row 200 to column 300, row 200 are 50 m due east.
	p.pressed(p.toSite.At(orb.Point{100, 200}), 0)
	p.pressed(p.toSite.At(orb.Point{300, 200}), 0)
	if math.Abs(p.angle-90) > 1e-9 {
		t.Errorf("the bearing is taken as %v, want 90 with north up", p.angle)
	}
	p.finish()
	if w.ed.Plan().Settings.BaseMap != nil {
		t.Fatal("it was placed without coordinates")
	}
	p.at[0], p.given[0], p.metres = orb.Point{13.4, 52.5}, [2]bool{true, true}, 50
	p.finish()
	if w.side.Visible() {
		t.Fatalf("it is not placed: %q", textOf(w.side))
	}
	bm := w.ed.Plan().Settings.BaseMap
	if bm == nil || len(bm.Control) != 2 || w.pic == nil {
		t.Fatalf("base map %+v", bm)
	}
	// 0.25 m a pixel: 100 by 75 m.
	b := w.pic.Bound()
	if dx, dy := b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]; math.Abs(dx-100) > 0.6 || math.Abs(dy-75) > 0.6 {
		t.Errorf("the picture measures %.2f by %.2f m, want 100 by 75", dx, dy)
	}
	grid := sitegrid.New(13.4, 52.5)
	a, _, err := picture.FitControl([]orb.Point{bm.Control[0].Pixel, bm.Control[1].Pixel}, []orb.Point{grid.ToSite(bm.Control[0].At), grid.ToSite(bm.Control[1].At)})
	if err != nil {
		t.Fatal(err)
	}
	if got := a.At(orb.Point{100, 100}); math.Hypot(got[0], got[1]-25) > 0.01 {
		t.Errorf("100 pixels above the first point lies %v, want 25 m north", got)
	}
	// Saved, it is named relative to the plan.
	to := filepath.Join(filepath.Dir(photo), "plan.geojson")
	w.saveTo(to, nil)
	saved, err := planfile.Read(to)
	if err != nil || saved.Settings.BaseMap.File != "photo.png" {
		t.Errorf("saved as %+v, %v", saved.Settings.BaseMap, err)
	}
}

func TestABarePictureIsPlacedByTwoCoordinates(t *testing.T) {
	w := open(t, "")
	w.placePicture(barePicture(t, 200, 200))
	p := w.place
	p.pressed(p.toSite.At(orb.Point{10, 190}), 0)
	p.pressed(p.toSite.At(orb.Point{190, 10}), 0)
	p.byDistance = false
	p.at = [2]orb.Point{{-3, 40}, {-2.999, 40.001}}
	p.given = [2][2]bool{{true, true}, {true, true}}
	p.finish()
	bm := w.ed.Plan().Settings.BaseMap
	if bm == nil || bm.Control[0].At != (orb.Point{-3, 40}) || bm.Control[1].At != (orb.Point{-2.999, 40.001}) {
		t.Fatalf("base map %+v", bm)
	}
	if bm.Control[0].Pixel != (orb.Point{10, 190}) {
		t.Errorf("first pixel %v", bm.Control[0].Pixel)
	}
	if !w.ed.Undo() || w.ed.Plan().Settings.BaseMap != nil || w.pic != nil {
		t.Error("undo does not take the picture away")
	}
}

func TestANewPlanIsMadeOfFiles(t *testing.T) {
	folder := t.TempDir()
	boundary := filepath.Join(folder, "line.geojson")
	write := func(path, s string) {
		if err := os.WriteFile(path, []byte(s), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write(boundary, `{"type":"Polygon","coordinates":[[[10,50],[10.002,50],[10.002,50.001],[10,50.001],[10,50]]]}`)
	w := open(t, "")
	if err := makePlan(w, sources{Input: exchange.Input{Boundary: boundary}, title: "Depot"}); err != nil {
		t.Fatal(err)
	}
	if len(w.ed.Plan().Of(model.KindBoundary)) != 1 || w.ed.Plan().Settings.Title != "Depot" {
		t.Error("the plan lacks its boundary or its title")
	}
	if v := w.chart.View(); v.MetresPerUnit > 1 || v.MetresPerUnit < 0.05 {
		t.Errorf("the map shows it at %v m a pixel", v.MetresPerUnit)
	}
	plan := w.ed.Plan()
	for name, content := range map[string]string{"two points": `{"type":"Polygon","coordinates":[[[10,50],[10.002,50],[10,50]]]}`, "crossing": `{"type":"Polygon","coordinates":[[[10,50],[10.002,50.001],[10.002,50],[10,50.001],[10,50]]]}`} {
		write(boundary, content)
		if err := makePlan(w, sources{Input: exchange.Input{Boundary: boundary}}); err == nil || !strings.Contains(err.Error(), "line.geojson") {
			t.Errorf("a boundary of %s: error %v", name, err)
		}
		if w.ed.Plan() != plan {
			t.Error("the plan that was open is gone")
		}
	}
}

func TestOutsideARealSiteIsMadeAPlanInTheWindow(t *testing.T) {
	dir := opendata.Dir(t)
	for _, c := range []struct {
		name string
		src  sources
		bare bool
	}{
		{"finland_depot", sources{Input: exchange.Input{Boundary: "data/vector/finland_depot/boundary.geojson", Buildings: "data/vector/finland_depot/buildings.geojson",
			Roads: "data/vector/finland_depot/roads.geojson", Foliage: "data/vector/finland_depot/woodland.geojson"}}, false},
		{"autzen", sources{image: "data/ortho/autzen/autzen.jpg", crs: "EPSG:2994"}, false},
		{"auckland_camp", sources{image: "data/ortho/auckland_camp/aerial.tif"}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			full := func(p *string) {
				if *p != "" {
					*p = filepath.Join(dir, filepath.FromSlash(*p))
				}
			}
			for _, p := range []*string{&c.src.Boundary, &c.src.Buildings, &c.src.Roads, &c.src.Foliage, &c.src.image} {
				full(p)
			}
			w := open(t, "")
			if err := makePlan(w, c.src); err != nil {
				t.Fatal(err)
			}
			if c.src.image != "" {
				if w.pic == nil {
					t.Fatalf("the picture is not shown: %s", dialogText(w))
				}
				// The empty plan lies in the middle of its picture.
				if m := w.pic.Bound().Center(); math.Hypot(m[0], m[1]) > 50 {
					t.Errorf("the middle of the picture is %v from the origin of the grid", m)
				}
			}
			if c.src.Boundary != "" && (w.an.last == nil || len(w.an.last.Boundaries) == 0) {
				t.Error("the boundary is not analysed")
			}
		})
	}
}

func TestPrintingWritesAPDF(t *testing.T) {
	w := open(t, demoCopy(t))
	to := filepath.Join(t.TempDir(), "sheet.pdf")
	w.printTo(to, paper.Options{}, extras{})
	data, err := os.ReadFile(to)
	if err != nil || !bytes.HasPrefix(data, []byte("%PDF-")) {
		t.Fatalf("no PDF: %v; the window says %q, %q", err, w.status.Text(), dialogText(w))
	}
	if !strings.Contains(w.status.Text(), "1:") {
		t.Errorf("the window says %q", w.status.Text())
	}
	w.printTo(filepath.Join(to, "x.pdf"), paper.Options{}, extras{})
	if s := dialogText(w); !strings.Contains(s, "x.pdf") {
		t.Errorf("a print that cannot be written: %q", s)
	}
}

func TestAPrintAgainstAnEarlierPlanIsOfTheSameSite(t *testing.T) {
	path := demoCopy(t)
	w := open(t, path)
	w.printTo(filepath.Join(t.TempDir(), "sheet.pdf"), paper.Options{}, extras{before: path})
	if !strings.Contains(w.status.Text(), "1:") {
		t.Errorf("the window says %q, %q", w.status.Text(), dialogText(w))
	}
	other := filepath.Join(t.TempDir(), "other.geojson")
	far := `{"type":"FeatureCollection","pleach":{"version":1},"features":[{"type":"Feature","id":"B1","properties":{"kind":"boundary"},
		"geometry":{"type":"Polygon","coordinates":[[[7,50],[7.001,50],[7.001,50.001],[7,50]]]}}]}`
	if err := os.WriteFile(other, []byte(far), 0o644); err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(t.TempDir(), "none.pdf")
	w.printTo(to, paper.Options{}, extras{before: other})
	if s := dialogText(w); !strings.Contains(s, "other sites") {
		t.Errorf("against another site the window says %q", s)
	}
	if _, err := os.Stat(to); err == nil {
		t.Error("a PDF was written all the same")
	}
}

func TestResultsThatComeLateAreDropped(t *testing.T) {
	var later []func()
	w := newWindow(test.NewTempApp(t), func(work, then func()) { work(); later = append(later, then) })
	t.Cleanup(w.win.Close)
	path := demoCopy(t)
	w.open(path)
	first := later
	w.open(path) // another plan now
	shown := w.an.last
	for _, f := range first {
		f()
	}
	if w.an.last != shown {
		t.Error("a result of the plan before is shown")
	}
}

func TestADragIsAnalysedAsItGoes(t *testing.T) {
	w := open(t, demoCopy(t))
	id := w.an.last.Sensors[0].ID
	at := w.ed.Grid().ToSite(w.ed.Plan().Feature(id).Geometry.(orb.Point))
	p := func(dx float64) editor.Pointer { return editor.Pointer{At: orb.Point{at[0] + dx, at[1]}, Unit: 0.2} }
	w.ed.Select(id)
	if !w.ed.Press(p(0)) {
		t.Fatal("the sensor is not held")
	}
	before := w.an.last
	w.ed.Drag(p(8))
	if w.an.last == before || w.an.last.Plan != w.ed.Plan() || !w.ed.Drafting() {
		t.Error("the draft is not analysed")
	}
	w.ed.Cancel()
	if w.an.last.Plan != w.ed.Plan() || w.ed.Unsaved() {
		t.Error("after Escape the result is not that of the plan")
	}
}

func TestABoundaryThatIsDraggedIsAnalysedOnTheGridOfTheView(t *testing.T) {
	w := open(t, demoCopy(t))
	id := w.an.last.Boundaries[0].ID
	w.ed.Select(id)
	corner := w.ed.Handles(0.2)
	h := corner[len(corner)-1]
	grid := w.ed.Grid()
	if !w.ed.Press(editor.Pointer{At: h.At, Unit: 0.2}) {
		t.Fatal("the vertex is not held")
	}
	w.ed.Drag(editor.Pointer{At: orb.Point{h.At[0] + 3, h.At[1] + 2}, Unit: 0.2})
	if w.an.last.Scene.Grid != grid || w.ed.Grid() != grid {
		t.Error("the grid moved under the pointer")
	}
	centre := grid.ToLonLat(w.chart.View().Centre)
	w.ed.Drop(editor.Pointer{At: orb.Point{h.At[0] + 3, h.At[1] + 2}, Unit: 0.2})
	if w.an.last.Scene.Grid != w.ed.Grid() || w.an.last.Plan != w.ed.Plan() {
		t.Error("after the drag the result is on another grid than the view")
	}
	now := w.ed.Grid().ToLonLat(w.chart.View().Centre)
	if math.Abs(now[0]-centre[0]) > 1e-9 || math.Abs(now[1]-centre[1]) > 1e-9 {
		t.Errorf("the view slid from %v to %v", centre, now)
	}
}

func TestEveryCommandHasAKeyOfItsOwn(t *testing.T) {
	w := open(t, "")
	seen := map[string]string{}
	for _, c := range w.commands.all {
		if c.key == "" {
			continue
		}
		name := shortcut(c.key, c.mod).ShortcutName()
		if other, ok := seen[name]; ok {
			t.Errorf("%s is the key of %s and of %s", name, other, c.label)
		}
		seen[name] = c.label
	}
	letters := map[rune]string{}
	for _, tool := range editor.Tools {
		if k := tool.Key(); k != 0 {
			if other, ok := letters[k]; ok {
				t.Errorf("%c takes %s and %s", k, other, tool.Label())
			}
			letters[k] = tool.Label()
		}
	}
}

func TestUndoIsNamedInTheMenu(t *testing.T) {
	w := open(t, demoCopy(t))
	w.ed.Select(w.an.last.Sensors[0].ID)
	_ = w.ed.Duplicate()
	for _, c := range w.commands.all {
		if c.label == "Undo" && c.item.Label != "Undo duplicate "+w.an.last.Sensors[0].ID {
			t.Errorf("the item is called %q", c.item.Label)
		}
	}
}
