package mapview

import (
	"math"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"
	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/ui/drawing"
	"pleach/ui/editor"
)

// window shows the demo in a map of 800 by 600.
func window(t *testing.T) (*Map, *editor.Editor) {
	t.Helper()
	test.NewTempApp(t)
	r, err := analysed()
	if err != nil {
		t.Fatal(err)
	}
	e := editor.New(r.Plan)
	m := New(e, drawing.NewTheme(drawing.Medium{}))
	w := test.NewTempWindow(t, m)
	w.SetPadded(false)
	w.Resize(fyne.NewSize(800, 600))
	m.SetList(compose(r, ""), r.Scene.Grid)
	m.Fit(r.Scene.Boundaries[0].Line.Bound())
	return m, e
}

func mouse(x, y float32, b desktop.MouseButton) *desktop.MouseEvent {
	return &desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(x, y)}, Button: b}
}

// drag drags as the driver reports it: the secondary button gives no Dragged.
func drag(m *Map, b desktop.MouseButton, x0, y0, x1, y1 float32) {
	m.MouseMoved(mouse(x0, y0, 0))
	m.MouseDown(mouse(x0, y0, b))
	for i := 1; i <= 8; i++ {
		k := float32(i) / 8
		x, y := x0+(x1-x0)*k, y0+(y1-y0)*k
		if b == desktop.MouseButtonSecondary {
			m.MouseMoved(mouse(x, y, b))
		} else {
			m.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(x, y)}})
		}
	}
	m.MouseUp(mouse(x1, y1, b))
	m.DragEnd()
}

// pixel is where a sensor stands in the map.
func pixel(m *Map, e *editor.Editor, id string) (x, y float32) {
	u := m.View().ToUnit(e.Grid().ToSite(e.Plan().Feature(id).Geometry.(orb.Point)))
	return float32(u[0]), float32(u[1])
}

func TestTheWheelZoomsAboutThePointer(t *testing.T) {
	m, _ := window(t)
	at := fyne.NewPos(613, 127)
	before := m.grid(at)
	unit := m.Unit()
	m.Scrolled(&fyne.ScrollEvent{PointEvent: fyne.PointEvent{Position: at}, Scrolled: fyne.NewDelta(0, 25)})
	if k := unit / m.Unit(); math.Abs(k-1.252) > 0.01 {
		t.Errorf("a click of the wheel brings it %.3f times nearer", k)
	}
	after := m.grid(at)
	if math.Hypot(after[0]-before[0], after[1]-before[1]) > 1e-6 {
		t.Errorf("the ground under the pointer moved from %v to %v", before, after)
	}
	for range 200 {
		m.Scrolled(&fyne.ScrollEvent{PointEvent: fyne.PointEvent{Position: at}, Scrolled: fyne.NewDelta(0, 25)})
	}
	if m.Unit() < finest {
		t.Errorf("zoomed to %v m a pixel", m.Unit())
	}
}

func TestEveryButtonPansFromEmptyGround(t *testing.T) {
	for _, b := range []desktop.MouseButton{desktop.MouseButtonPrimary, desktop.MouseButtonTertiary, desktop.MouseButtonSecondary} {
		m, e := window(t)
		before := e.Plan()
		c := m.View().Centre
		drag(m, b, 20, 20, 80, 50)
		now := m.View().Centre
		if math.Abs((c[0]-now[0])/m.Unit()-60) > 0.01 || math.Abs((now[1]-c[1])/m.Unit()-30) > 0.01 {
			t.Errorf("button %v moved the view by %.2f, %.2f pixels, want 60, 30", b, (c[0]-now[0])/m.Unit(), (now[1]-c[1])/m.Unit())
		}
		if e.Plan() != before {
			t.Errorf("button %v changed the plan", b)
		}
	}
}

func TestSpaceAndDragPanOverADevice(t *testing.T) {
	m, e := window(t)
	id := e.Plan().Of(model.KindSensor)[0].ID
	before, c := e.Plan(), m.View().Centre
	x, y := pixel(m, e, id)
	m.KeyDown(&fyne.KeyEvent{Name: fyne.KeySpace})
	drag(m, desktop.MouseButtonPrimary, x, y, x+40, y)
	m.KeyUp(&fyne.KeyEvent{Name: fyne.KeySpace})
	if e.Plan() != before || m.View().Centre == c {
		t.Error("the device moved, or the view did not")
	}
}

func TestADeviceIsDraggedByPixels(t *testing.T) {
	m, e := window(t)
	id := e.Plan().Of(model.KindReceiver)[0].ID
	from := e.Grid().ToSite(e.Plan().Feature(id).Geometry.(orb.Point))
	x, y := pixel(m, e, id)
	drag(m, desktop.MouseButtonPrimary, x, y, x+50, y-30)
	to := e.Grid().ToSite(e.Plan().Feature(id).Geometry.(orb.Point))
	if dx, dy := (to[0]-from[0])/m.Unit(), (to[1]-from[1])/m.Unit(); math.Abs(dx-50) > 0.1 || math.Abs(dy-30) > 0.1 {
		t.Errorf("moved by %.2f, %.2f pixels, want 50, 30", dx, dy)
	}
	if !e.Undo() || e.Undo() {
		t.Error("the drag is not one step")
	}
}

func TestADoubleClickFinishesAnOutlineWithoutACornerMore(t *testing.T) {
	m, e := window(t)
	e.Take(editor.Tool{Kind: model.KindNeighbour, Shape: model.Area})
	n := len(e.Plan().Features)
	for _, p := range [][2]float32{{100, 100}, {200, 100}, {200, 180}, {120, 190}, {120, 190}} {
		m.MouseMoved(mouse(p[0], p[1], 0))
		m.MouseDown(mouse(p[0], p[1], desktop.MouseButtonPrimary))
		m.MouseUp(mouse(p[0], p[1], desktop.MouseButtonPrimary))
	}
	if len(e.Plan().Features) != n+1 {
		t.Fatalf("no feature was made: %s", e.Message())
	}
	f := e.Plan().Features[n]
	if k := len(f.Geometry.(orb.Polygon)[0]); k != 5 {
		t.Errorf("%d positions, want 5", k)
	}
}

func TestKeysNudgeZoomAndCancel(t *testing.T) {
	m, e := window(t)
	id := e.Plan().Of(model.KindReceiver)[0].ID
	from := e.Grid().ToSite(e.Plan().Feature(id).Geometry.(orb.Point))
	e.Select(id)
	m.TypedKey(&fyne.KeyEvent{Name: fyne.KeyRight})
	m.KeyDown(&fyne.KeyEvent{Name: desktop.KeyShiftLeft})
	m.TypedKey(&fyne.KeyEvent{Name: fyne.KeyUp})
	m.KeyUp(&fyne.KeyEvent{Name: desktop.KeyShiftLeft})
	m.FocusLost() // ends the nudge
	to := e.Grid().ToSite(e.Plan().Feature(id).Geometry.(orb.Point))
	if math.Hypot(to[0]-from[0]-1, to[1]-from[1]-0.1) > 0.001 {
		t.Errorf("nudged by %.3f, %.3f m, want 1, 0.1", to[0]-from[0], to[1]-from[1])
	}
	unit := m.Unit()
	m.TypedRune('+')
	if !(m.Unit() < unit) {
		t.Error("+ does not zoom")
	}
	m.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
	if len(e.Selected()) != 0 {
		t.Error("Escape does not clear the selection")
	}
	c := m.View().Centre
	m.TypedKey(&fyne.KeyEvent{Name: fyne.KeyLeft})
	if !(m.View().Centre[0] < c[0]) {
		t.Error("with nothing selected an arrow key does not move the view")
	}
}

func TestTheSecondaryButtonSelectsAndAsksForTheMenu(t *testing.T) {
	m, e := window(t)
	id := e.Plan().Of(model.KindReceiver)[0].ID
	asked := false
	m.OnMenu = func(fyne.Position) { asked = true }
	x, y := pixel(m, e, id)
	m.MouseDown(mouse(x, y, desktop.MouseButtonSecondary))
	m.MouseUp(mouse(x, y, desktop.MouseButtonSecondary))
	if !asked || !e.IsSelected(id) {
		t.Errorf("menu %v, selected %v", asked, e.Selected())
	}
}

func TestTheRasterFollowsTheScaleOfTheScreen(t *testing.T) {
	m, _ := window(t)
	for _, k := range []int{1, 2} {
		img := m.frame(800*k, 600*k)
		if got := img.Bounds().Dx(); got != 800*k {
			t.Errorf("at scale %d the image is %d wide", k, got)
		}
		if m.View().Scale != float64(k) {
			t.Errorf("at scale %d the view has scale %v", k, m.View().Scale)
		}
	}
	m.moving = true
	if w := m.frame(3200, 2400).Bounds().Dx(); w != 1600 {
		t.Errorf("moving on a large screen it is painted %d wide: half is enough", w)
	}
}

func TestAFittedMapIsFittedAgainUntilItIsTouched(t *testing.T) {
	m, _ := window(t)
	b := analysedBound(t)
	inView := func() bool { v := m.View().Bound(); return v.Contains(b.Min) && v.Contains(b.Max) }
	m.Resize(fyne.NewSize(700, 380))
	if !inView() {
		t.Error("a smaller map cuts off the ends of what was fitted")
	}
	at := fyne.NewPos(300, 100)
	m.MouseDown(mouse(at.X, at.Y, desktop.MouseButtonPrimary))
	m.MouseUp(mouse(at.X, at.Y, desktop.MouseButtonPrimary))
	before := m.grid(at)
	for _, h := range []float32{240, 500, 380} {
		m.Resize(fyne.NewSize(700, h))
		if now := m.grid(at); math.Hypot(now[0]-before[0], now[1]-before[1]) > 1e-6 {
			t.Errorf("%v units high, the ground under the pointer went from %v to %v", h, before, now)
		}
	}
}

// analysedBound is what the window fits.
func analysedBound(t *testing.T) orb.Bound {
	t.Helper()
	r, err := analysed()
	if err != nil {
		t.Fatal(err)
	}
	return r.Scene.Boundaries[0].Line.Bound()
}
