package panel

import (
	"math"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/model/terrain"
	"pleach/ui/drawing"
	"pleach/ui/editor"
)

// axisOn makes the section of the first sensor of a site, in a window of its own
// and following the editor; ground nil is level.
func axisOn(t testing.TB, e *editor.Editor, ground *terrain.Grid) *Axis {
	t.Helper()
	ed := func() *editor.Editor { return e }
	var laid *scene.Scene
	a := NewAxis(&Look{}, ed, func() *scene.Scene {
		if laid == nil || laid.Plan != e.Plan() {
			laid = scene.OnGround(e.Plan(), e.Grid(), ground)
		}
		return laid
	}, func() int { return 0 })
	e.Watch(func(editor.Change) { a.Update() })
	w := test.NewTempWindow(t, a)
	w.SetPadded(false)
	w.Resize(fyne.NewSize(900, 260))
	a.Update()
	if a.Section() == nil {
		t.Fatalf("nothing is drawn: %v", a.err)
	}
	return a
}

// hills is rolling ground about the middle of the grid.
func hills(t testing.TB) *terrain.Grid {
	t.Helper()
	const n = 401
	z := make([]float32, n*n)
	for i := range z {
		x, y := float64(i%n)-200, 200-float64(i/n)
		z[i] = float32(40 + 1.6*math.Sin(x/13) + math.Sin(y/31+x/57))
	}
	b := orb.Bound{Min: orb.Point{-200, -200}, Max: orb.Point{200, 200}}
	g, err := terrain.New(n, n, z, terrain.Affine([3]float64{200, 1, 0}, [3]float64{200, 0, -1}), b)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func pressAt(a *Axis, u orb.Point) {
	a.MouseDown(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: position(u)}, Button: desktop.MouseButtonPrimary})
}

func releaseAt(a *Axis, u orb.Point) {
	a.MouseUp(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: position(u)}, Button: desktop.MouseButtonPrimary})
	a.DragEnd()
}

func position(u orb.Point) fyne.Position { return fyne.NewPos(float32(u[0]), float32(u[1])) }

func dragTo(a *Axis, u orb.Point) {
	a.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: position(u)}})
}

func handle(t testing.TB, a *Axis, h drawing.Handle) orb.Point {
	t.Helper()
	u, ok := a.Section().HandleAt(h, orb.Point{})
	if !ok {
		t.Fatalf("there is no handle %v", h)
	}
	return u
}

func sensorOf(e *editor.Editor, id string) *model.Sensor {
	return e.Plan().Feature(id).Value.(*model.Sensor)
}

func TestTheTiltIsDraggedInTheSectionAsOneStep(t *testing.T) {
	for name, ground := range map[string]*terrain.Grid{"level": nil, "hills": hills(t)} {
		e, _, _ := site(t)
		a := axisOn(t, e, ground)
		before := e.Plan()
		u := handle(t, a, drawing.TiltHandle)
		pressAt(a, orb.Point{u[0] + 3, u[1] - 2})
		frame := a.Section().View
		for i := 1; i <= 8; i++ {
			dragTo(a, orb.Point{u[0] + 3, u[1] - 2 + float64(i)})
			if e.Settled() != before || !e.Drafting() {
				t.Fatalf("%s: after %d pixels the plan itself is changed", name, i)
			}
			if a.Section().View != frame {
				t.Fatalf("%s: the frame moves under the pointer", name)
			}
		}
		tilt := sensorOf(e, "S1").Tilt
		if !(tilt > 2.4 && tilt < 8) {
			t.Errorf("%s: dragged 8 pixels down, the tilt is %v", name, tilt)
		}
		if got := a.Section().Aim.Tilt; got != tilt {
			t.Errorf("%s: drawn at %v, the draft has %v", name, got, tilt)
		}
		if !strings.Contains(a.Words(), "tilt ") || !strings.Contains(a.Words(), "meets the ground at ") {
			t.Errorf("%s: it reads %q", name, a.Words())
		}
		releaseAt(a, orb.Point{u[0] + 3, u[1] + 6})
		if e.Drafting() || sensorOf(e, "S1").Tilt != tilt || e.UndoLabel() != "set tilt of S1" {
			t.Errorf("%s: let go, the tilt is %v and the step %q", name, sensorOf(e, "S1").Tilt, e.UndoLabel())
		}
		if e.Undo(); e.Plan() != before {
			t.Errorf("%s: one undo does not bring the plan back", name)
		}
	}
}

// The mark where the axis meets the ground is the far end of the same arm: taken
// to a place on level ground, the axis meets the ground there.
func TestTheAxisIsDraggedToAPlaceOnTheGround(t *testing.T) {
	e, _, _ := site(t)
	if err := e.Do(model.Set{ID: "S1", Values: []model.Value{{Property: "tilt_deg", Value: 4.0}}}); err != nil {
		t.Fatal(err)
	}
	a := axisOn(t, e, nil)
	s := a.Section()
	met, ok := s.HandleAt(drawing.TiltHandle, s.View.ToUnit(orb.Point{s.Aim.Axis.Distance, 0}))
	if !ok {
		t.Fatal("the mark is no handle")
	}
	pressAt(a, met)
	to := s.View.ToUnit(orb.Point{25, 0})
	dragTo(a, to)
	releaseAt(a, to)
	// A tenth of a degree at 3 m and 25 m is 0.4 m.
	if got := a.Section().Aim.Axis.Distance; math.Abs(got-25) > 0.4 {
		t.Errorf("dragged to 25 m, the axis meets the ground at %v m", got)
	}
}

func TestTheMountIsDraggedInTheSection(t *testing.T) {
	e, _, _ := site(t)
	a := axisOn(t, e, nil)
	u := handle(t, a, drawing.HeightHandle)
	up := orb.Point{u[0], u[1] - 1/(a.Section().View.MetresPerUnit/a.Section().Exaggeration)}
	pressAt(a, u)
	dragTo(a, up)
	releaseAt(a, up)
	if got := sensorOf(e, "S1").MountHeight; math.Abs(got-4) > 0.051 {
		t.Errorf("dragged 1 m up from 3 m, the mount is %v m", got)
	}
	if e.UndoLabel() != "set mount height of S1" {
		t.Errorf("the step is %q", e.UndoLabel())
	}
}

func TestEscapeForgetsADragInTheSection(t *testing.T) {
	e, _, _ := site(t)
	a := axisOn(t, e, nil)
	before := e.Plan()
	u := handle(t, a, drawing.TiltHandle)
	pressAt(a, u)
	dragTo(a, orb.Point{u[0], u[1] + 20})
	a.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
	if e.Plan() != before {
		t.Error("the draft stays")
	}
	dragTo(a, orb.Point{u[0], u[1] + 30})
	releaseAt(a, orb.Point{u[0], u[1] + 30})
	if e.Plan() != before || e.UndoLabel() != "" {
		t.Errorf("moving on with the button down made a step %q", e.UndoLabel())
	}
}

func TestArrowKeysTuneTheSectionAsOneStep(t *testing.T) {
	e, _, _ := site(t)
	a := axisOn(t, e, nil)
	before := e.Plan()
	key := func(n fyne.KeyName) { a.TypedKey(&fyne.KeyEvent{Name: n}) }
	key(fyne.KeyLeft)
	key(fyne.KeyLeft)
	a.KeyDown(&fyne.KeyEvent{Name: desktop.KeyShiftLeft})
	key(fyne.KeyRight)
	a.KeyUp(&fyne.KeyEvent{Name: desktop.KeyShiftLeft})
	if got := sensorOf(e, "S1").Tilt; math.Abs(got-2.9) > 1e-9 {
		t.Errorf("two steps down and a fine one up from 2°: %v", got)
	}
	a.rest()
	if e.Undo(); e.Plan() != before {
		t.Error("the keys are more than one step")
	}
	key(fyne.KeyUp)
	if got := sensorOf(e, "S1").MountHeight; math.Abs(got-3.1) > 1e-9 {
		t.Errorf("a step up from 3 m: %v", got)
	}
	a.FocusLost()
	if e.Drafting() || e.UndoLabel() != "set mount height of S1" {
		t.Errorf("left, the step is %q", e.UndoLabel())
	}
}

func TestTheSectionStaysWithItsSensor(t *testing.T) {
	e, _, _ := site(t)
	a := axisOn(t, e, nil)
	if a.Sensor() != "S1" {
		t.Fatalf("at first it shows %q", a.Sensor())
	}
	e.Select("S2")
	if a.Sensor() != "S2" || a.Section().Aim.Sensor.ID != "S2" {
		t.Errorf("S2 is selected, shown is %q", a.Sensor())
	}
	e.Select("H1")
	if a.Sensor() != "S2" {
		t.Errorf("a building is selected, shown is %q", a.Sensor())
	}
	if err := e.Do(model.Delete{IDs: []string{"S2"}}); err != nil {
		t.Fatal(err)
	}
	if a.Sensor() != "S1" {
		t.Errorf("S2 is gone, shown is %q", a.Sensor())
	}
	if err := e.Do(model.Set{ID: "S1", Values: []model.Value{{Property: "tilt_deg", Value: 95}}}); err != nil {
		t.Fatal(err)
	}
	if a.Section() != nil || !strings.Contains(a.note.Text(), "S1") {
		t.Errorf("a sensor with a flaw: %q", a.note.Text())
	}
}

// The picture has as many pixels as it is shown with, at any scale of the screen.
func TestTheSectionIsPaintedSharpAtAnyScale(t *testing.T) {
	e, _, _ := site(t)
	a := axisOn(t, e, nil)
	for _, k := range []int{1, 2, 3} {
		img := a.paint(900*k, 260*k)
		if b := img.Bounds(); b.Dx() != 900*k || b.Dy() != 260*k {
			t.Errorf("scale %d: painted %v", k, b)
		}
		// The mount stands at the same place of the picture.
		u := a.Section().View.ToUnit(orb.Point{0, 1.5 * a.Section().Exaggeration})
		r, g, b, _ := img.At(int(u[0]*float64(k)), int(u[1]*float64(k))).RGBA()
		if r+g+b > 3*0x6000 {
			t.Errorf("scale %d: there is no mount at %v: %x %x %x", k, u, r, g, b)
		}
	}
}

// BenchmarkSectionDrag is a step of a drag in the section: draft, section drawn
// and painted at 1600 by 260 pixels, on hills, beside 200 further sensors.
func BenchmarkSectionDrag(b *testing.B) {
	test.NewTempApp(b).Settings().SetTheme(&Look{})
	g := sitegrid.New(8, 47)
	var fs []*model.Feature
	for i := range 201 {
		id := "S1"
		if i > 0 {
			id = "T" + string(rune('A'+i%26)) + number(float64(i))
		}
		fs = append(fs, model.NewFeature(model.KindSensor, id, g.ToLonLat(orb.Point{float64(i%20)*9 - 90, float64(i/20)*15 - 75}), model.Prop("model", "curtain-3-100"),
			model.Prop("mount_height_m", 3), model.Prop("bearing_deg", 90), model.Prop("tilt_deg", 2)))
	}
	p, err := model.Add{Features: fs}.Apply(model.NewPlan())
	if err != nil {
		b.Fatal(err)
	}
	e := editor.New(p)
	a := axisOn(b, e, hills(b))
	u := handle(b, a, drawing.TiltHandle)
	pressAt(a, u)
	b.ResetTimer()
	for i := range b.N {
		dragTo(a, orb.Point{u[0], u[1] + float64(i%40)})
		a.paint(1600, 260)
	}
}

// What is drawn is painted: more than bare paper.
func TestTheSectionIsPainted(t *testing.T) {
	e, _, _ := site(t)
	e.Select("S1")
	a := axisOn(t, e, nil)
	colours := map[any]bool{}
	img := a.paint(300, 150)
	for y := range 150 {
		for x := range 300 {
			colours[img.At(x, y)] = true
		}
	}
	if len(colours) < 3 {
		t.Errorf("%d colours", len(colours))
	}
}
