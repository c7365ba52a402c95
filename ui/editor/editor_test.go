package editor

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/pattern"
	"pleach/model/scene"
	"pleach/ui/drawing"
)

// unit is the scale of the tests: half a metre a pixel.
const unit = 0.5

// square is a boundary of 200 by 100 m round longitude 5, latitude 50, as a
// plan with a sensor, a building and a gate.
func site(t *testing.T, more ...*model.Feature) *Editor {
	t.Helper()
	p := model.NewPlan()
	e := New(p)
	e.SetHome(orb.Point{5, 50})
	g := e.Grid()
	at := func(x, y float64) orb.Point { return g.ToLonLat(orb.Point{x, y}) }
	ring := func(ps ...float64) orb.Polygon {
		var r orb.Ring
		for i := 0; i < len(ps); i += 2 {
			r = append(r, at(ps[i], ps[i+1]))
		}
		return orb.Polygon{append(r, r[0])}
	}
	features := []*model.Feature{
		model.NewFeature(model.KindBoundary, "B1", ring(-100, -50, 100, -50, 100, 50, -100, 50)),
		model.NewFeature(model.KindBuilding, "H1", ring(-20, -10, 20, -10, 20, 10, -20, 10), model.Prop("height_m", 5)),
		model.NewFeature(model.KindSensor, "S1", at(-90, -40), model.Prop("model", "sector-90-25"), model.Prop("mount_height_m", 3.5),
			model.Prop("bearing_deg", 90), model.Prop("tilt_deg", 2), model.Prop("address", 7)),
	}
	p, err := model.Add{Features: append(features, more...)}.Apply(p)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range p.AllFlaws() {
		t.Fatal(f)
	}
	e = New(p)
	show(e)
	return e
}

// show gives the editor a list of what stands in the plan.
func show(e *Editor) {
	l := &drawing.List{}
	for _, f := range e.Plan().Features {
		switch g := e.Grid().Geometry(f.Geometry).(type) {
		case orb.Point:
			m := map[model.Kind]drawing.Meaning{model.KindSensor: drawing.Sensor, model.KindRepeater: drawing.Repeater,
				model.KindReceiver: drawing.Receiver, model.KindGate: drawing.Gate}[f.Kind]
			l.Add(drawing.Item{Layer: drawing.DeviceLayer, Kind: drawing.MarkKind, Meaning: m, ID: f.ID, At: g})
		case orb.LineString:
			l.Add(drawing.Item{Layer: drawing.SiteLayer, Kind: drawing.LineKind, Meaning: drawing.Obstacle, ID: f.ID, Line: g})
		case orb.Polygon:
			if f.Kind == model.KindBoundary {
				l.Add(drawing.Item{Layer: drawing.BoundaryLayer, Kind: drawing.LineKind, Meaning: drawing.Boundary, ID: f.ID, Line: orb.LineString(g[0])})
				continue
			}
			l.Add(drawing.Item{Layer: drawing.SiteLayer, Kind: drawing.AreaKind, Meaning: drawing.Building, ID: f.ID, Area: orb.MultiPolygon{g}})
		}
	}
	l.Arrange()
	e.Show(l)
}

func at(x, y float64) Pointer { return Pointer{At: orb.Point{x, y}, Unit: unit} }

// drag presses, moves in steps and lets go.
func drag(e *Editor, from, to Pointer) {
	e.Move(from)
	e.Press(from)
	for i := 1; i <= 10; i++ {
		t := float64(i) / 10
		p := to
		p.At = orb.Point{from.At[0]*(1-t) + to.At[0]*t, from.At[1]*(1-t) + to.At[1]*t}
		e.Drag(p)
	}
	e.Drop(to)
	show(e)
}

func click(e *Editor, p Pointer) { e.Move(p); e.Press(p); e.Drop(p); show(e) }

// place is where a device stands on the editor's grid.
func place(t *testing.T, e *Editor, id string) orb.Point {
	t.Helper()
	f := e.Plan().Feature(id)
	if f == nil {
		t.Fatalf("there is no %s", id)
	}
	return e.Grid().ToSite(f.Geometry.(orb.Point))
}

func near(t *testing.T, what string, got, want orb.Point, tol float64) {
	t.Helper()
	if math.Hypot(got[0]-want[0], got[1]-want[1]) > tol {
		t.Errorf("%s at %.3f, %.3f; want %.3f, %.3f within %g m", what, got[0], got[1], want[0], want[1], tol)
	}
}

func sensor(t *testing.T, e *Editor, id string) *model.Sensor {
	t.Helper()
	s, ok := e.Plan().Feature(id).Value.(*model.Sensor)
	if !ok {
		t.Fatalf("%s is no sound sensor: %v", id, e.Plan().Feature(id).Flaws)
	}
	return s
}

func TestADragIsOneStepOfUndo(t *testing.T) {
	e := site(t)
	before := e.Plan()
	from := at(-89, -41) // beside the middle: the grip offset must not shift it
	e.Press(from)
	for i := range 50 {
		e.Drag(at(-89+float64(i), -41))
		if e.Settled() != before {
			t.Fatal("a draft went into the history")
		}
		if !e.Drafting() && i > 4 {
			t.Fatalf("move %d shows no draft", i)
		}
	}
	e.Drop(at(-40, -41))
	near(t, "S1", place(t, e, "S1"), orb.Point{-41, -40}, 0.001)
	if e.UndoLabel() != "move S1" {
		t.Errorf("the step is called %q", e.UndoLabel())
	}
	if !e.Undo() || e.Plan() != before {
		t.Error("one undo does not bring the plan back")
	}
	if e.Undo() {
		t.Error("there is a second step")
	}
	if !e.Redo() {
		t.Error("there is nothing to redo")
	}
	near(t, "S1 after redo", place(t, e, "S1"), orb.Point{-41, -40}, 0.001)
}

func TestEscapeForgetsADrag(t *testing.T) {
	e := site(t)
	before := e.Plan()
	e.Press(at(-90, -40))
	e.Drag(at(-60, -20))
	e.Cancel()
	e.Drag(at(-50, -10))
	e.Drop(at(-50, -10))
	if e.Plan() != before || e.UndoLabel() != "" {
		t.Error("a cancelled drag left something behind")
	}
}

func TestAPressThatHardlyMovesIsAClick(t *testing.T) {
	e := site(t)
	before := e.Plan()
	e.Press(at(-90, -40))
	e.Drag(at(-89.5, -40))
	e.Drop(at(-89.5, -40))
	if e.Plan() != before {
		t.Error("a click moved the sensor")
	}
	if !e.IsSelected("S1") {
		t.Error("a click did not select the sensor")
	}
}

func TestEmptyGroundIsNotHeldAndAClickThereClearsTheSelection(t *testing.T) {
	e := site(t)
	e.Select("S1")
	if e.Press(at(60, 30)) {
		t.Error("empty ground was held")
	}
	e.Drop(at(60, 30))
	if len(e.Selected()) != 0 {
		t.Error("the selection stayed")
	}
}

func TestAnAreaMovesOnlyOnceItIsSelected(t *testing.T) {
	e := site(t)
	if e.Press(at(0, 0)) {
		t.Error("a building that is not selected was held: the view could not be panned over it")
	}
	e.Drop(at(0, 0))
	if !e.IsSelected("H1") {
		t.Fatal("a click did not select the building")
	}
	drag(e, at(0, 0), at(10, 5))
	g := e.Grid().Geometry(e.Plan().Feature("H1").Geometry).(orb.Polygon)
	near(t, "corner", g[0][0], orb.Point{-10, -5}, 0.001)
}

func TestThePremisesArePickedByTheirOutlineAlone(t *testing.T) {
	e := site(t)
	e.Take(Tool{Kind: model.KindPremises, Shape: model.Area})
	for _, p := range []Pointer{at(-150, -80), at(150, -80), at(150, 80), at(-150, 80)} {
		click(e, p)
	}
	e.Finish()
	show(e)
	click(e, at(60, 30))
	if len(e.Selected()) != 0 {
		t.Errorf("a click on empty ground selects %v", e.Selected())
	}
	click(e, at(60, -80))
	if !e.IsSelected("L1") {
		t.Errorf("a click on the outline selects %v", e.Selected())
	}
}

func TestTheBoundaryDoesNotMoveAsAWhole(t *testing.T) {
	e := site(t)
	click(e, at(30, -50))
	if !e.IsSelected("B1") {
		t.Fatal("the boundary is not selected")
	}
	before := e.Plan()
	drag(e, at(30, -50), at(30, -40))
	if e.Plan() != before {
		t.Error("the boundary moved")
	}
}

func TestAVertexMovesAndTheOthersKeepTheirBytes(t *testing.T) {
	e := site(t)
	old := e.Plan().Feature("B1").Geometry.(orb.Polygon)
	e.Select("B1")
	drag(e, at(100, 50), at(120, 60))
	now := e.Plan().Feature("B1").Geometry.(orb.Polygon)
	near(t, "vertex", e.Grid().ToSite(now[0][2]), orb.Point{110, 55}, 0.01) // the grid follows by half
	for i := range old[0] {
		if i != 2 && now[0][i] != old[0][i] {
			t.Errorf("vertex %d moved", i)
		}
	}
	if i, ok := e.Vertex(); !ok || i != 2 {
		t.Errorf("vertex %d is selected, want 2", i)
	}
}

func TestTheGridRestsWhileABoundaryIsDragged(t *testing.T) {
	e := site(t)
	e.Select("B1")
	g := e.Grid()
	e.Press(at(100, 50))
	e.Drag(at(140, 50))
	if e.Grid() != g {
		t.Error("the grid moved during the drag: the picture would slide under the pointer")
	}
	e.Drop(at(140, 50))
	if e.Grid() == g {
		t.Error("the grid did not follow the boundary after the drag")
	}
}

func TestABoundaryCannotBeDraggedAcrossItself(t *testing.T) {
	e := site(t)
	e.Select("B1")
	e.Press(at(100, 50))
	e.Drag(at(90, 40))
	e.Drag(at(0, -150))
	e.Drop(at(0, -150))
	if f := e.Plan().Feature("B1"); !f.Sound() {
		t.Fatalf("the boundary is flawed: %v", f.Flaws)
	}
	if !strings.Contains(e.Message(), "crosses itself") {
		t.Errorf("message %q", e.Message())
	}
	g := e.Grid().Geometry(e.Plan().Feature("B1").Geometry).(orb.Polygon)
	if d := length(orb.LineString(g[0])); math.Abs(d-(600-20*math.Sqrt2+math.Abs(10))) > 30 {
		t.Errorf("the last sound place was not kept: %.1f m round", d)
	}
}

func TestAMiddleHandleInsertsAVertex(t *testing.T) {
	e := site(t)
	e.Select("B1")
	drag(e, at(0, 50), at(0, 70))
	g := e.Plan().Feature("B1").Geometry.(orb.Polygon)
	if len(g[0]) != 6 {
		t.Fatalf("%d positions, want 6", len(g[0]))
	}
	if i, ok := e.Vertex(); !ok || i != 3 {
		t.Errorf("vertex %d is selected, want 3", i)
	}
	if err := e.Delete(); err != nil {
		t.Fatal(err)
	}
	if n := len(e.Plan().Feature("B1").Geometry.(orb.Polygon)[0]); n != 5 {
		t.Errorf("%d positions after deleting the vertex, want 5", n)
	}
}

func TestTheLastThreeCornersStay(t *testing.T) {
	e := site(t)
	e.Select("H1")
	e.vertex = 0
	if err := e.Delete(); err != nil {
		t.Fatal(err)
	}
	e.vertex = 0
	err := e.Delete()
	if err == nil || !strings.Contains(err.Error(), "at least 3") {
		t.Errorf("error %v", err)
	}
	if e.Plan().Feature("H1") == nil {
		t.Error("the building is gone")
	}
}

func TestTheAimHandleTurnsASensor(t *testing.T) {
	e := site(t)
	e.Select("S1")
	var aim Handle
	for _, h := range e.Handles(unit) {
		if h.Part == "aim" {
			aim = h
		}
	}
	near(t, "handle", aim.At, orb.Point{-90 + 25, -40}, 0.05)
	s := place(t, e, "S1")
	to := at(s[0]+20, s[1]+20)
	drag(e, Pointer{At: aim.At, Unit: unit}, to)
	if b := sensor(t, e, "S1").Bearing; math.Abs(b-45) > 0.15 {
		t.Errorf("bearing %v, want 45", b)
	}
	if e.UndoLabel() != "aim S1" {
		t.Errorf("the step is called %q", e.UndoLabel())
	}
	to.More = true
	to.At[1] += 3
	from := e.ahead(s, sensor(t, e, "S1").Bearing, 25)
	drag(e, Pointer{At: from, Unit: unit, More: true}, to)
	if b := sensor(t, e, "S1").Bearing; math.Mod(b, 5) != 0 {
		t.Errorf("with Shift the bearing is %v, want a multiple of 5", b)
	}
}

func TestASideHandleMasksPartOfThePattern(t *testing.T) {
	e := site(t)
	e.Select("S1")
	s := place(t, e, "S1")
	ring := 25 * maskRing
	left := e.ahead(s, 90-45, ring)
	drag(e, Pointer{At: left, Unit: unit}, Pointer{At: e.ahead(s, 90-15, ring), Unit: unit})
	m := sensor(t, e, "S1").Masked
	if len(m) != 1 || m[0].From != -45 || math.Abs(m[0].To+15) > 0.5 {
		t.Fatalf("masked %v, want -45 to -15", m)
	}
	// Its end is a handle: dragged back over its beginning it is gone.
	drag(e, Pointer{At: e.ahead(s, 90+m[0].To, ring), Unit: unit}, Pointer{At: e.ahead(s, 90-50, ring), Unit: unit})
	if m := sensor(t, e, "S1").Masked; len(m) != 0 {
		t.Errorf("masked %v, want nothing", m)
	}
	if _, has := e.Plan().Feature("S1").Property("masked"); has {
		t.Error("an empty list of masks was left behind")
	}
}

func TestTheMaskToolMasksAcrossAnyBearing(t *testing.T) {
	e := site(t)
	e.Select("S1")
	e.Take(MaskTool)
	s := place(t, e, "S1")
	arc := func(from, to float64) {
		e.Press(Pointer{At: e.ahead(s, 90+from, 30), Unit: unit})
		for i := 1; i <= 20; i++ {
			e.Drag(Pointer{At: e.ahead(s, 90+from+(to-from)*float64(i)/20, 30), Unit: unit})
		}
		e.Drop(Pointer{At: e.ahead(s, 90+to, 30), Unit: unit})
	}
	arc(-10, 20)
	arc(15, 40)
	if m := sensor(t, e, "S1").Masked; len(m) != 1 || m[0] != (model.Sector{From: -10, To: 40}) {
		t.Fatalf("masked %v, want -10 to 40 as one span", m)
	}
	arc(170, 200)
	if m := sensor(t, e, "S1").Masked; len(m) != 2 || m[1] != (model.Sector{From: 170, To: -160}) {
		t.Errorf("masked %v, want a second span from 170 to -160", m)
	}
}

func TestMaskedSpansAreMerged(t *testing.T) {
	for _, c := range []struct {
		name     string
		in, want []model.Sector
	}{
		{"apart", []model.Sector{{From: 20, To: 30}, {From: -40, To: -10}}, []model.Sector{{From: -40, To: -10}, {From: 20, To: 30}}},
		{"touching", []model.Sector{{From: 0, To: 10}, {From: 10, To: 20}}, []model.Sector{{From: 0, To: 20}}},
		{"through the back", []model.Sector{{From: 170, To: 185}, {From: -178, To: -170}}, []model.Sector{{From: 170, To: -170}}},
		{"through zero", []model.Sector{{From: -10, To: 5}, {From: 355, To: 380}}, []model.Sector{{From: -10, To: 20}}},
		{"all round", []model.Sector{{From: 0, To: 200}, {From: 190, To: 370}}, []model.Sector{{From: -180, To: 180}}},
		{"nothing", []model.Sector{{From: 5, To: 5}}, []model.Sector{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := merged(c.in)
			if len(got) != len(c.want) {
				t.Fatalf("%v, want %v", got, c.want)
			}
			for i := range got {
				if got[i] != c.want[i] {
					t.Errorf("%v, want %v", got, c.want)
				}
			}
		})
	}
}

func TestANewSensorIsPlacedAndAimedInOneStep(t *testing.T) {
	e := site(t)
	e.Take(SensorTool)
	drag(e, at(50, 20), at(50, 60))
	s := sensor(t, e, "S2")
	near(t, "S2", place(t, e, "S2"), orb.Point{50, 20}, 0.001)
	if s.Bearing > 0.1 && s.Bearing < 359.9 {
		t.Errorf("bearing %v, want north", s.Bearing)
	}
	if s.Model != "sector-90-25" || s.MountHeight != 3.5 {
		t.Errorf("model %s at %v m: want those of the sensor before", s.Model, s.MountHeight)
	}
	if s.Address == nil || *s.Address != 8 {
		t.Errorf("address %v, want the next, 8", s.Address)
	}
	if e.Tool() != SelectTool || !e.IsSelected("S2") {
		t.Error("after placing, the sensor is not selected with the select tool in hand")
	}
	if e.UndoLabel() != "add sensor S2" {
		t.Errorf("the step is called %q", e.UndoLabel())
	}
	e.Undo()
	if e.Plan().Feature("S2") != nil || len(e.Selected()) != 0 {
		t.Error("undo left the sensor or its selection")
	}
}

func TestASensorNearTheBoundaryWatchesAlongIt(t *testing.T) {
	e := site(t)
	e.Take(SensorTool)
	click(e, at(95, 0)) // the eastern side runs north
	if b := sensor(t, e, "S2").Bearing; math.Abs(math.Remainder(b, 360)) > 0.1 {
		t.Errorf("bearing %v, want 0", b)
	}
}

func TestShiftPlacesSeveral(t *testing.T) {
	e := site(t)
	e.Take(RepeaterTool)
	p := at(10, 30)
	p.More = true
	click(e, p)
	if e.Tool() != RepeaterTool {
		t.Fatal("the tool was put down")
	}
	click(e, at(40, 30))
	if e.Tool() != SelectTool || e.Plan().Feature("RP1") == nil || e.Plan().Feature("RP2") == nil {
		t.Error("two repeaters were not placed")
	}
}

func TestEveryToolMakesASoundFeature(t *testing.T) {
	for _, tool := range Tools {
		if tool.Kind == "" {
			continue
		}
		t.Run(tool.Label(), func(t *testing.T) {
			e := site(t)
			n := len(e.Plan().Features)
			e.Take(tool)
			switch {
			case tool.Places():
				click(e, at(30, 47))
			case tool.Kind == model.KindExcluded:
				click(e, at(-50, -49))
				click(e, at(-20, -52))
				e.Finish()
			default:
				for _, p := range []Pointer{at(30, 20), at(60, 20), at(60, 40)} {
					click(e, p)
				}
				if !e.Finish() {
					t.Fatal(e.Message())
				}
			}
			if len(e.Plan().Features) != n+1 {
				t.Fatalf("%d features, want %d", len(e.Plan().Features), n+1)
			}
			f := e.Plan().Features[n]
			if f.Kind != tool.Kind || !f.Sound() {
				t.Fatalf("%s: %v", f.Who(), f.Flaws)
			}
			if scene.On(e.Plan(), e.Grid()).Shape(f.ID) == nil {
				t.Error("it has no shape")
			}
			if e.Tool() != SelectTool || !e.IsSelected(f.ID) {
				t.Error("it is not selected with the select tool in hand")
			}
		})
	}
}

func TestAnOutlineIsDrawnByClicks(t *testing.T) {
	e := New(model.NewPlan())
	e.SetHome(orb.Point{24.8, 60.2})
	e.Take(Tool{Kind: model.KindBoundary, Shape: model.Area})
	for _, p := range []Pointer{at(0, 0), at(0, 80), at(60, 80), at(60, 60)} {
		click(e, p)
	}
	e.Back()
	click(e, at(60, 0))
	click(e, at(60, 0)) // the second press of a double click adds nothing
	if n := len(e.Outline()); n != 4 {
		t.Fatalf("%d corners, want 4", n)
	}
	click(e, at(0.5, 0.5)) // on the first corner: closes
	f := e.Plan().Feature("B1")
	if f == nil || !f.Sound() {
		t.Fatalf("no boundary: %s", e.Message())
	}
	g := e.Grid().Geometry(f.Geometry).(orb.Polygon)
	if a := scene.SignedArea(g[0]); math.Abs(a-4800) > 1 {
		t.Errorf("area %.1f m², want 4800, anticlockwise", a)
	}
	if e.Grid().Lat0 == 60.2 {
		t.Error("the grid did not follow the new boundary")
	}
}

func TestAnOutlineThatCrossesItselfIsKeptForMending(t *testing.T) {
	e := New(model.NewPlan())
	e.SetHome(orb.Point{24.8, 60.2})
	e.Take(Tool{Kind: model.KindBoundary, Shape: model.Area})
	for _, p := range []Pointer{at(0, 0), at(80, 80), at(80, 0), at(0, 80)} {
		click(e, p)
	}
	if e.Finish() {
		t.Fatal("a crossing boundary was made")
	}
	if !strings.Contains(e.Message(), "crosses itself") || len(e.Outline()) != 4 {
		t.Errorf("message %q, %d corners", e.Message(), len(e.Outline()))
	}
	e.Cancel()
	if len(e.Outline()) != 0 || e.Tool() == SelectTool {
		t.Error("Escape should forget the outline and keep the tool")
	}
	e.Cancel()
	if e.Tool() != SelectTool {
		t.Error("a second Escape should put the tool down")
	}
}

func TestAnExcludedStretchFollowsTheBoundaryTheShorterWay(t *testing.T) {
	e := site(t)
	e.Take(Tool{Kind: model.KindExcluded, Shape: model.Line})
	click(e, at(90, -52))
	click(e, at(102, -30))
	e.Finish()
	g := e.Grid().Geometry(e.Plan().Feature("E1").Geometry).(orb.LineString)
	if len(g) != 3 {
		t.Fatalf("%d points, want 3: round the corner", len(g))
	}
	near(t, "corner", g[1], orb.Point{100, -50}, 0.01)
	if l := length(g); math.Abs(l-30) > 0.05 {
		t.Errorf("%.2f m long, want 30", l)
	}
}

func TestAGateSitsOnTheBoundary(t *testing.T) {
	e := site(t)
	e.Take(Tool{Kind: model.KindGate, Shape: model.Point})
	click(e, at(33, -46))
	near(t, "gate", place(t, e, "G1"), orb.Point{33, -50}, 0.01)
	drag(e, at(33, -50), at(60, -45))
	near(t, "gate dragged", place(t, e, "G1"), orb.Point{60, -50}, 0.01)
}

func TestAGateFarFromTheBoundaryIsRefused(t *testing.T) {
	e := site(t)
	gate := Tool{Kind: model.KindGate, Shape: model.Point}
	e.Take(gate)
	before := e.Plan()
	click(e, at(33, -40))
	if e.Plan() != before || e.Tool() != gate {
		t.Error("it is placed, or the tool is out of hand")
	}
	if m := e.Message(); !strings.Contains(m, "within 5 m") || !strings.Contains(m, "10 m from here") {
		t.Errorf("it is said %q", m)
	}
	click(e, at(33, -47))
	near(t, "gate", place(t, e, "G1"), orb.Point{33, -50}, 0.01)
	if m := e.Message(); m != "" {
		t.Errorf("placed, it still says %q", m)
	}
	// Pressed near and dragged aside, it stays on the boundary.
	e.Take(gate)
	drag(e, at(0, -48), at(20, -30))
	near(t, "second gate", place(t, e, "G2"), orb.Point{20, -50}, 0.01)
	e = New(model.NewPlan())
	e.Take(gate)
	click(e, at(0, 0))
	if m := e.Message(); len(e.Plan().Features) != 0 || !strings.Contains(m, "draw the boundary first") {
		t.Errorf("without a boundary it is said %q", m)
	}
}

func TestArrowKeysNudgeAsOneStep(t *testing.T) {
	e := site(t)
	e.Select("S1")
	for range 5 {
		e.Nudge(1, 0)
	}
	e.Nudge(0, 0.1)
	near(t, "S1 in draft", place(t, e, "S1"), orb.Point{-85, -39.9}, 0.001)
	if e.UndoLabel() != "" {
		t.Error("a nudge became a step before it was over")
	}
	e.Settle()
	near(t, "S1", place(t, e, "S1"), orb.Point{-85, -39.9}, 0.001)
	e.Undo()
	near(t, "S1 after undo", place(t, e, "S1"), orb.Point{-90, -40}, 0.001)
	if e.Undo() {
		t.Error("there is a second step")
	}
}

func TestANudgeIsKeptWhenSomethingElseFollows(t *testing.T) {
	e := site(t)
	e.Select("S1")
	e.Nudge(1, 0)
	click(e, at(60, 30))
	near(t, "S1", place(t, e, "S1"), orb.Point{-89, -40}, 0.001)
	if e.UndoLabel() != "move S1" {
		t.Errorf("undo label %q", e.UndoLabel())
	}
}

func TestSeveralThingsMoveTogether(t *testing.T) {
	e := site(t)
	e.Take(ReceiverTool)
	click(e, at(0, 30))
	box := at(-95, -45)
	box.More = true
	e.Select()
	e.Press(box)
	end := at(25, 35)
	e.Drag(end)
	if _, ok := e.Box(); !ok {
		t.Error("no box is shown")
	}
	e.Drop(end)
	if len(e.Selected()) != 3 {
		t.Fatalf("selected %v, want S1, H1 and RX", e.Selected())
	}
	drag(e, at(-90, -40), at(-80, -40))
	near(t, "S1", place(t, e, "S1"), orb.Point{-80, -40}, 0.001)
	near(t, "RX", place(t, e, "RX"), orb.Point{10, 30}, 0.001)
	e.Undo()
	near(t, "RX after undo", place(t, e, "RX"), orb.Point{0, 30}, 0.001)
}

func TestADuplicateHasAnIDAndAnAddressOfItsOwn(t *testing.T) {
	e := site(t)
	e.Select("S1")
	if err := e.Duplicate(); err != nil {
		t.Fatal(err)
	}
	if !e.IsSelected("S2") || len(e.Selected()) != 1 {
		t.Errorf("selected %v", e.Selected())
	}
	s := sensor(t, e, "S2")
	if s.Address == nil || *s.Address != 8 || s.Tilt != 2 {
		t.Errorf("%+v", s)
	}
	near(t, "S2", place(t, e, "S2"), orb.Point{-85, -45}, 0.001)
	e.Undo()
	if e.Plan().Feature("S2") != nil {
		t.Error("undo left the copy")
	}
}

func TestUndoneToTheOpeningStateIsTheOpeningPlan(t *testing.T) {
	e := site(t)
	before := e.Plan()
	e.Select("S1")
	drag(e, at(-90, -40), at(-70, -30))
	_ = e.Duplicate()
	_ = e.Delete()
	if !e.Unsaved() {
		t.Error("changes are not seen")
	}
	for e.Undo() {
	}
	if e.Plan() != before || e.Unsaved() {
		t.Error("the opening plan is not back")
	}
}

func TestEveryEventTellsTheWatchers(t *testing.T) {
	e := site(t)
	var got Change
	e.Watch(func(c Change) { got |= c })
	want := func(what string, c Change) {
		t.Helper()
		if got&c != c {
			t.Errorf("%s told %b, want %b", what, got, c)
		}
		got = 0
	}
	e.Move(at(-90, -40))
	want("hover", OverlayChanged)
	if e.Hover().ID != "S1" || e.Hand() != Grab {
		t.Errorf("over %v", e.Hover())
	}
	e.Press(at(-90, -40))
	want("press", SelectionChanged)
	e.Drag(at(-80, -40))
	want("drag", PlanChanged)
	if !strings.Contains(e.Message(), "moved 10.0 m") {
		t.Errorf("readout %q", e.Message())
	}
	e.Drop(at(-80, -40))
	want("drop", PlanChanged)
	e.Take(SensorTool)
	want("tool", ToolChanged)
	e.Saved()
	want("save", SavedChanged)
}

// The figures to hold against are the models' own: the range, slant, and the
// heights they are mounted at. That lobes meet is asked of pattern.
func TestANewSensorReachesAsFarAsItsModelWithoutAHole(t *testing.T) {
	own := model.NewPlan(model.Prop("models", []map[string]any{{"id": "own", "lobes": []map[string]any{
		{"azimuth_deg": 0, "width_deg": 10, "up_deg": 1, "down_deg": 4, "range_m": 50},
		{"azimuth_deg": 0, "width_deg": 10, "up_deg": -4, "down_deg": 40, "range_m": 20}}}}))
	for _, id := range []string{"curtain-4-63", "curtain-3-100", "fan-30-40", "sector-90-25", "sector-90-16", "own"} {
		for height, most := range map[float64]float64{2.5: 2, 3: 1, 3.5: 2} { // metres of hole
			t.Run(fmt.Sprintf("%s at %v m", id, height), func(t *testing.T) {
				tilt := firstTilt(own, id, height)
				f := model.NewFeature(model.KindSensor, "S1", orb.Point{8, 47}, model.Prop("model", id), model.Prop("mount_height_m", height),
					model.Prop("bearing_deg", 90), model.Prop("tilt_deg", tilt))
				p, err := model.Add{Features: []*model.Feature{f}}.Apply(own)
				if err != nil {
					t.Fatal(err)
				}
				m, _ := p.Model(id)
				reach := 0.0
				for _, l := range m.Lobes {
					reach = math.Max(reach, l.Range)
				}
				sc := scene.New(p)
				eye := pattern.Stand(sc, p.Feature("S1"), m)
				lk := pattern.NewLooker(sc)
				lk.From(&eye, 1)
				az := math.Pi / 2
				if id == "fan-30-40" {
					az += 2.5 * math.Pi / 180 // along a finger: none looks straight ahead
				}
				set := p.Settings.Target
				seen := lk.Seen(az, pattern.Target{Height: set.Height, MinVisible: set.MinVisible}, pattern.AsItIs)
				if len(seen) == 0 {
					t.Fatalf("with a tilt of %v it sees nothing", tilt)
				}
				for i := 1; i < len(seen); i++ {
					if hole := seen[i].From - seen[i-1].To; hole > most {
						t.Errorf("with a tilt of %v there is a hole of %.1f m from %.1f m on", tilt, hole, seen[i-1].To)
					}
				}
				if far := seen[len(seen)-1].To; tilt <= 0 || far < reach-0.4 {
					t.Errorf("with a tilt of %v it sees as far as %.1f m, of %v", tilt, far, reach)
				}
			})
		}
	}
}

func TestASensorIsPlacedWithItsFirstTilt(t *testing.T) {
	e := New(model.NewPlan())
	e.Take(SensorTool)
	click(e, at(0, 0))
	s := e.Plan().Of(model.KindSensor)[0].Value.(*model.Sensor)
	if want := firstTilt(e.Plan(), s.Model, s.MountHeight); s.Tilt != want || s.Tilt <= 0 {
		t.Errorf("it is tilted by %v, want %v", s.Tilt, want)
	}
}
