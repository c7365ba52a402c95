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
	"pleach/model/analysis"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/model/terrain"
	"pleach/ui/drawing"
	"pleach/ui/editor"
)

// linkOn shows the link from S1 to RX of a site, in a window of its own and
// following the editor; ground nil is level.
func linkOn(t testing.TB, e *editor.Editor, ground *terrain.Grid) *LinkView {
	t.Helper()
	var laid *scene.Scene
	v := NewLinkView(&Look{}, func() *editor.Editor { return e }, func() *scene.Scene {
		if laid == nil || laid.Plan != e.Plan() {
			laid = scene.OnGround(e.Plan(), e.Grid(), ground)
		}
		return laid
	})
	e.Watch(func(editor.Change) { v.Update() })
	w := test.NewTempWindow(t, v)
	w.SetPadded(false)
	w.Resize(fyne.NewSize(900, 260))
	e.SelectLink("S1", "RX")
	if v.Profile() == nil {
		t.Fatalf("nothing is drawn: %v", v.err)
	}
	return v
}

func (v *LinkView) pressAt(u orb.Point) {
	v.MouseDown(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: position(u)}, Button: desktop.MouseButtonPrimary})
}

func (v *LinkView) dragTo(u orb.Point) {
	v.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: position(u)}})
}

func (v *LinkView) releaseAt(u orb.Point) {
	v.MouseUp(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: position(u)}, Button: desktop.MouseButtonPrimary})
	v.DragEnd()
}

// up is the unit point so many metres above an antenna's handle.
func (v *LinkView) up(t testing.TB, h drawing.Handle, metres float64) (from, to orb.Point) {
	t.Helper()
	from, ok := v.Profile().HandleAt(h, orb.Point{450, 0})
	if !ok {
		t.Fatalf("there is no handle %v", h)
	}
	p := v.Profile()
	return from, orb.Point{from[0], from[1] - metres*p.Exaggeration/p.View.MetresPerUnit}
}

func antenna(e *editor.Editor, id string) float64 {
	return analysis.AntennaHeight(e.Plan().Feature(id))
}

func TestAnAntennaIsDraggedInTheLinkViewAsOneStep(t *testing.T) {
	for name, ground := range map[string]*terrain.Grid{"level": nil, "hills": hills(t)} {
		for h, id := range map[drawing.Handle]string{drawing.FromHandle: "S1", drawing.ToHandle: "RX"} {
			e, _, _ := site(t)
			v := linkOn(t, e, ground)
			before, was, margin := e.Plan(), antenna(e, id), v.Profile().Link.Margin
			frame := v.Profile().View
			from, to := v.up(t, h, 2)
			v.pressAt(from)
			for i := 1; i <= 4; i++ {
				v.dragTo(orb.Point{from[0], from[1] + (to[1]-from[1])*float64(i)/4})
				if e.Settled() != before || !e.Drafting() || v.Profile().View != frame {
					t.Fatalf("%s, %s: the plan is changed or the frame moves at step %d", name, id, i)
				}
			}
			if got := antenna(e, id); math.Abs(got-was-2) > 0.051 {
				t.Errorf("%s: dragged 2 m up from %v m, the antenna of %s is at %v m", name, was, id, got)
			}
			k, _, _, err := analysis.LinkBetween(scene.OnGround(e.Plan(), e.Grid(), ground), "S1", "RX")
			if err != nil {
				t.Fatal(err)
			}
			if got := v.Profile().Link.Margin; got == margin || got != k.Margin {
				t.Errorf("%s, %s: the margin shown is %v, was %v, the analysis has %v", name, id, got, margin, k.Margin)
			}
			if !strings.Contains(v.Words(), drawing.MarginText(k)) {
				t.Errorf("%s, %s: it reads %q", name, id, v.Words())
			}
			v.releaseAt(to)
			if e.Drafting() || e.UndoLabel() != "set antenna height of "+id {
				t.Errorf("%s, %s: let go, the step is %q", name, id, e.UndoLabel())
			}
			if e.Undo(); e.Plan() != before {
				t.Errorf("%s, %s: one undo does not bring the plan back", name, id)
			}
		}
	}
}

func TestDraggingASensorsAntennaLeavesItsMount(t *testing.T) {
	e, _, _ := site(t)
	v := linkOn(t, e, nil)
	from, to := v.up(t, drawing.FromHandle, 1.5)
	v.pressAt(from)
	v.dragTo(to)
	v.releaseAt(to)
	if s := sensorOf(e, "S1"); s.MountHeight != 3 || math.Abs(s.Antenna-4.5) > 0.051 {
		t.Errorf("mount %v m, antenna %v m", s.MountHeight, s.Antenna)
	}
}

func TestEscapeForgetsADragInTheLinkView(t *testing.T) {
	e, _, _ := site(t)
	v := linkOn(t, e, nil)
	before, margin := e.Plan(), v.Profile().Link.Margin
	from, to := v.up(t, drawing.ToHandle, 3)
	v.pressAt(from)
	v.dragTo(to)
	v.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
	v.dragTo(orb.Point{to[0], to[1] - 10})
	v.releaseAt(to)
	if e.Plan() != before || e.UndoLabel() != "" || v.Profile().Link.Margin != margin {
		t.Errorf("there is a step %q", e.UndoLabel())
	}
	if _, _, ok := e.Link(); !ok {
		t.Error("Escape during the drag leaves the link")
	}
}

func TestArrowKeysMoveTheChosenAntenna(t *testing.T) {
	e, _, _ := site(t)
	v := linkOn(t, e, nil)
	before := e.Plan()
	key := func(n fyne.KeyName) { v.TypedKey(&fyne.KeyEvent{Name: n}) }
	v.takeKeys()
	key(fyne.KeyRight)
	key(fyne.KeyUp)
	key(fyne.KeyUp)
	v.KeyDown(&fyne.KeyEvent{Name: desktop.KeyShiftLeft})
	key(fyne.KeyDown)
	v.KeyUp(&fyne.KeyEvent{Name: desktop.KeyShiftLeft})
	if got := antenna(e, "RX"); math.Abs(got-6.9) > 1e-9 || antenna(e, "S1") != 3 {
		t.Errorf("two steps up and a fine one down from 6 m: %v; S1 is at %v", got, antenna(e, "S1"))
	}
	v.rest()
	if e.Undo(); e.Plan() != before {
		t.Error("the keys are more than one step")
	}
	key(fyne.KeyLeft)
	key(fyne.KeyUp)
	v.FocusLost()
	if antenna(e, "S1") != 3.5 || e.Drafting() {
		t.Errorf("S1 is at %v m, drafting %v", antenna(e, "S1"), e.Drafting())
	}
}

func TestALinkThatCannotBeRatedSaysWhy(t *testing.T) {
	e, _, _ := site(t)
	v := linkOn(t, e, nil)
	if err := e.Do(model.Set{ID: "S1", Values: []model.Value{{Property: "tilt_deg", Value: 95}}}); err != nil {
		t.Fatal(err)
	}
	if v.Profile() != nil || !strings.Contains(v.note.Text(), "S1") {
		t.Errorf("a sensor with a flaw: %q", v.note.Text())
	}
	e.Undo()
	if v.Profile() == nil || v.note.Text() != "" {
		t.Errorf("mended, it says %q", v.note.Text())
	}
}

func TestTheLinksOfADeviceAreChosenInItsDetails(t *testing.T) {
	e, ed, result := site(t)
	d := NewDetails(&Look{}, ed, result)
	e.Watch(func(editor.Change) { d.Update() })
	w := test.NewTempWindow(t, d.Object)
	w.Resize(fyne.NewSize(340, 700))
	e.Select("RX")
	var rows []*Row
	for _, o := range d.links.object.Objects {
		if r, ok := o.(*Row); ok {
			rows = append(rows, r)
		}
	}
	if len(rows) != 2 {
		t.Fatalf("the receiver has %d links listed: %q", len(rows), d.links.key)
	}
	if !strings.Contains(d.links.key, " dB, ") || !strings.Contains(d.links.key, " %") {
		t.Errorf("the links read %q", d.links.key)
	}
	rows[0].OnTap()
	if from, to, ok := e.Link(); !ok || to != "RX" || !e.IsSelected("RX") {
		t.Errorf("tapped, the link is %q to %q", from, to)
	}
	e.Select()
	e.SelectLink("S1", "RX")
	if !d.empty.Hidden || !strings.Contains(d.links.key, "Margin") {
		t.Errorf("a link alone reads %q", d.links.key)
	}
	e.Select()
	if d.empty.Hidden || len(d.links.object.Objects) != 0 {
		t.Errorf("nothing is chosen, the box holds %q", d.links.key)
	}
}

// BenchmarkLinkDrag is a step of a drag in the link view: draft, profile drawn and
// painted at 1600 by 260 pixels, on hills, beside 200 further sensors.
func BenchmarkLinkDrag(b *testing.B) {
	test.NewTempApp(b).Settings().SetTheme(&Look{})
	g := sitegrid.New(8, 47)
	fs := []*model.Feature{model.NewFeature(model.KindReceiver, "RX", g.ToLonLat(orb.Point{150, 120}), model.Prop("antenna_height_m", 6))}
	for i := range 201 {
		id := "S1"
		if i > 0 {
			id = "T" + number(float64(i))
		}
		fs = append(fs, model.NewFeature(model.KindSensor, id, g.ToLonLat(orb.Point{float64(i%20)*9 - 190, float64(i/20)*15 - 175}), model.Prop("model", "curtain-3-100"),
			model.Prop("mount_height_m", 3), model.Prop("bearing_deg", 90), model.Prop("tilt_deg", 2)))
	}
	p, err := model.Add{Features: fs}.Apply(model.NewPlan())
	if err != nil {
		b.Fatal(err)
	}
	e := editor.New(p)
	v := linkOn(b, e, hills(b))
	from, _ := v.up(b, drawing.ToHandle, 0)
	v.pressAt(from)
	b.ResetTimer()
	for i := range b.N {
		v.dragTo(orb.Point{from[0], from[1] + float64(i%40)})
		v.paint(1600, 260)
	}
}
