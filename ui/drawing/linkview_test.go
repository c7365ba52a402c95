package drawing_test

import (
	"fmt"
	"math"
	"math/rand"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
	"pleach/model/terrain"
	"pleach/testdata/site"
	"pleach/ui/drawing"
)

// yard is a sensor, a pump house, a mesh, trees and a receiver in a row, 420 m long.
func yard(t testing.TB) *scene.Scene {
	s := new(site.Site).Sensor("S1", orb.Point{0, 0}, "curtain-4-63", 3.2, 90, 2.5)
	s.Add(model.KindObstacle, "O1", orb.LineString{{60, -5}, {60, 5}}, model.Prop("height_m", 1.1), model.Prop("name", "Low wall"))
	s.Add(model.KindObstacle, "O2", orb.LineString{{110, -5}, {110, 5}}, model.Prop("height_m", 2.4), model.Prop("see_through", true), model.Prop("name", "Mesh"))
	s.Add(model.KindFoliage, "F1", orb.Polygon{site.Box(150, -20, 210, 20)}, model.Prop("height_m", 4), model.Prop("name", "Alders"))
	s.Add(model.KindBuilding, "H1", orb.Polygon{site.Box(290, -20, 330, 20)}, model.Prop("height_m", 4.5), model.Prop("name", "Pump house"))
	s.Add(model.KindReceiver, "RX", orb.Point{420, 0}, model.Prop("antenna_height_m", 6), model.Prop("name", "Gatehouse"))
	s.Building("H2", site.Box(412, -8, 428, 8), 8)
	return s.Scene(t)
}

// valley is a repeater and a receiver 2.4 km apart over a valley with a rise in it.
func valley(t testing.TB, from, to float64) *scene.Scene {
	t.Helper()
	const n, cell = 301, 10.0
	z := make([]float32, n*n)
	for i := range z {
		x := float64(i%n)*cell - 300
		z[i] = float32(120 - 25*math.Sin(math.Pi*x/2400) + 24*math.Exp(-(x-900)*(x-900)/2e4))
	}
	g, err := terrain.New(n, n, z, terrain.Affine([3]float64{30, 1 / cell, 0}, [3]float64{150, 0, -1 / cell}), orb.Bound{Min: orb.Point{-300, -1500}, Max: orb.Point{2710, 1500}})
	if err != nil {
		t.Fatal(err)
	}
	s := new(site.Site).Add(model.KindRepeater, "R1", orb.Point{0, 0}, model.Prop("antenna_height_m", from))
	s.Add(model.KindReceiver, "RX", orb.Point{2400, 0}, model.Prop("antenna_height_m", to))
	s.Add(model.KindFoliage, "F1", orb.Polygon{site.Box(1500, -200, 1900, 200)}, model.Prop("height_m", 12))
	return scene.OnGround(s.Plan(t), site.Grid, g)
}

func linkOf(t testing.TB, in drawing.LinkInput, m drawing.Medium) *drawing.LinkView {
	t.Helper()
	if in.From == "" {
		in.From, in.To = "S1", "RX"
	}
	if in.Width == 0 {
		in.Width, in.Height = 880, 250
		if m.Paper {
			in.Width, in.Height = 180, 60
		}
	}
	v, err := drawing.CutLink(in, drawing.NewTheme(m))
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func parts(l *drawing.List, m drawing.Meaning) (out []drawing.Item) {
	for _, it := range l.Items {
		if it.Meaning == m {
			out = append(out, it)
		}
	}
	return out
}

func written(l *drawing.List) string {
	var out []string
	for _, it := range l.Items {
		if it.Kind == drawing.LabelKind {
			out = append(out, it.Text)
		}
	}
	return strings.Join(out, "|")
}

func TestTheLinksAreDrawnAsTheGoldensSay(t *testing.T) {
	golden(t, "link-yard.txt", linkOf(t, drawing.LinkInput{Scene: yard(t), Hovered: drawing.FromHandle, Chosen: drawing.ToHandle}, drawing.Medium{}).List.String())
	golden(t, "link-valley.txt", linkOf(t, drawing.LinkInput{Scene: valley(t, 8, 10), From: "R1", To: "RX"}, drawing.Medium{Paper: true}).List.String())
}

func TestALinkOfNoDeviceIsAnError(t *testing.T) {
	th := drawing.NewTheme(drawing.Medium{})
	for _, ends := range [][2]string{{"S9", "RX"}, {"S1", "H1"}, {"S1", "S1"}} {
		if _, err := drawing.CutLink(drawing.LinkInput{Scene: yard(t), From: ends[0], To: ends[1], Width: 800, Height: 240}, th); err == nil {
			t.Errorf("%v is drawn", ends)
		}
	}
}

// Over level ground the zone is as wide as the handbook's formula says, and the
// clearance is the height of the line above the ground: 868.3 MHz, 400 m, both
// antennas 5 m up; λ = 0.34526 m, at the middle √(λ·200·200/400) = 5.876 m
// (ITU-R P.526 section 2), the Earth's bulge 200²/(2·8500 km) = 2.4 mm.
func TestTheZoneAndItsClearanceAreThoseOfTheFormula(t *testing.T) {
	s := new(site.Site).Add(model.KindRepeater, "R1", orb.Point{0, 0}, model.Prop("antenna_height_m", 5))
	s.Add(model.KindReceiver, "RX", orb.Point{400, 0}, model.Prop("antenna_height_m", 5))
	v := linkOf(t, drawing.LinkInput{Scene: s.Scene(t), From: "R1", To: "RX"}, drawing.Medium{})
	b := parts(v.List, drawing.LinkZone)[0].Area.Bound()
	if r := b.Max[1]/v.Exaggeration - 5; math.Abs(r-5.876) > 0.01 {
		t.Errorf("the zone is %v m wide at the middle, want 5.876", r)
	}
	if b.Min[1] < -1e-9 || b.Min[0] < -1e-9 || b.Max[0] > 400.001 {
		t.Errorf("the zone is drawn over %v", b)
	}
	w := v.Worst
	if math.Abs(w.At-200) > 3 || math.Abs(w.Metres-(5-0.0024)) > 0.001 || math.Abs(w.Share-4.9976/5.876) > 0.001 || w.On != "" {
		t.Errorf("least clear is %+v", w)
	}
}

func TestTheWorstPlaceIsNamedWithWhatStandsThere(t *testing.T) {
	v := linkOf(t, drawing.LinkInput{Scene: yard(t)}, drawing.Medium{})
	// The line is 3.2 + 2.8·290/420 = 5.13 m up at the pump house of 4.5 m.
	if w := v.Worst; w.On != "H1" || math.Abs(w.At-290) > 1 || math.Abs(w.Metres-0.633) > 0.01 {
		t.Errorf("least clear is %+v", w)
	}
	for _, want := range []string{"S1 to Gatehouse: ", "least clear at 290 m: 0.6 m over Pump house (H1)", "Alders", "Low wall", "H2, left out", "heights drawn ", "868.3 MHz", "3.2 m|", "6 m|", "free space 84 dB"} {
		if !strings.Contains(written(v.List), want) {
			t.Errorf("%q is not in %s", want, written(v.List))
		}
	}
	v = linkOf(t, drawing.LinkInput{Scene: valley(t, 0.4, 0.4), From: "R1", To: "RX"}, drawing.Medium{})
	if l := written(v.List); v.Worst.Share >= 0 || !strings.Contains(l, "above the line: ") || !strings.Contains(l, "blocked at ") {
		t.Errorf("%+v: %s", v.Worst, l)
	}
}

// What is drawn as ground, raised by the bulge of the Earth, is what the loss is
// reckoned over: the drawn clearance at the worst place is that of the analysis.
func TestTheDrawnClearanceIsThatOfTheAnalysis(t *testing.T) {
	for _, h := range [][2]float64{{8, 10}, {1, 1}, {20, 3}} {
		v := linkOf(t, drawing.LinkInput{Scene: valley(t, h[0], h[1]), From: "R1", To: "RX"}, drawing.Medium{})
		z0, z1 := v.Ground[0]+h[0], v.Ground[1]+h[1]
		line := z0 + (z1-z0)*v.Worst.At/2400
		surface := math.Inf(-1)
		for _, it := range parts(v.List, drawing.SectionSurface) {
			for i := 1; i < len(it.Line); i++ {
				if a, b := it.Line[i-1], it.Line[i]; a[0] <= v.Worst.At && v.Worst.At <= b[0] && b[0] > a[0] {
					surface = (a[1] + (v.Worst.At-a[0])/(b[0]-a[0])*(b[1]-a[1])) / v.Exaggeration
				}
			}
		}
		if math.Abs(line-surface-v.Worst.Metres) > 0.15 { // what two pixels of the profile leave out
			t.Errorf("antennas %v: drawn %v m clear, analysed %v m", h, line-surface, v.Worst.Metres)
		}
	}
}

func TestAntennaHandlesGiveTheHeightBack(t *testing.T) {
	for _, h := range [][2]float64{{3, 6}, {0.1, 60}, {12.3, 2}} {
		v := linkOf(t, drawing.LinkInput{Scene: valley(t, h[0], h[1]), From: "R1", To: "RX"}, drawing.Medium{})
		for i, hd := range []drawing.Handle{drawing.FromHandle, drawing.ToHandle} {
			found := 0
			for _, it := range parts(v.List, drawing.AimHandle) {
				u := v.View.ToUnit(it.At)
				if v.Hit(orb.Point{u[0] + 2, u[1] - 2}, 4) != hd {
					continue
				}
				found++
				if got := v.AntennaAt(hd, u); math.Abs(got-h[i]) > 1e-9 {
					t.Errorf("antenna %d at %v m: %v", i, h[i], got)
				}
			}
			if found != 1 {
				t.Errorf("antenna %d has %d handles", i, found)
			}
		}
	}
	v := linkOf(t, drawing.LinkInput{Scene: yard(t)}, drawing.Medium{})
	r := rand.New(rand.NewSource(4))
	for range 1000 {
		u := orb.Point{r.Float64()*4000 - 1500, r.Float64()*4000 - 1500}
		for _, hd := range []drawing.Handle{drawing.FromHandle, drawing.ToHandle} {
			if h := v.AntennaAt(hd, u); !(h > 0 && h <= 60) {
				t.Fatalf("at %v the antenna is %v m high", u, h)
			}
		}
	}
}

func TestTheFrameOfALinkIsKeptWhileDragging(t *testing.T) {
	first := linkOf(t, drawing.LinkInput{Scene: valley(t, 8, 10), From: "R1", To: "RX"}, drawing.Medium{})
	for _, h := range []float64{8, 2, 40} {
		v := linkOf(t, drawing.LinkInput{Scene: valley(t, h, 10), From: "R1", To: "RX", Like: first}, drawing.Medium{})
		if v.View != first.View || v.Exaggeration != first.Exaggeration {
			t.Errorf("%v m: the frame is %+v, was %+v", h, v.View, first.View)
		}
		if h == 8 && v.List.String() != first.List.String() {
			t.Error("kept, the same link differs")
		}
	}
	if v := linkOf(t, drawing.LinkInput{Scene: valley(t, 8, 10), From: "R1", To: "RX", Like: first, Width: 600, Height: 250}, drawing.Medium{}); v.View == first.View {
		t.Error("the frame of another size was kept")
	}
}

// What is said has room in every medium, and none of it leaves the drawing.
func TestTheTextOfALinkHasRoom(t *testing.T) {
	for name, in := range map[string]drawing.LinkInput{"yard": {Scene: yard(t)}, "valley": {Scene: valley(t, 8, 10), From: "R1", To: "RX"}, "blocked": {Scene: valley(t, 0.4, 0.4), From: "RX", To: "R1"}} {
		for medium, m := range map[string]drawing.Medium{"light": {}, "dark": {Dark: true}, "sheet": {Paper: true, Mono: true}} {
			v := linkOf(t, in, m)
			p := drawing.PlaceLabels(v.List, v.View, drawing.NewTheme(m))
			for _, i := range p.LeftOut {
				if it := &v.List.Items[i]; it.Meaning == drawing.DimensionFigure || it.Meaning == drawing.DeviceName || strings.HasPrefix(it.Text, "Loss") {
					t.Errorf("%s, %s: no room for %q", name, medium, it.Text)
				}
			}
			for _, l := range p.Labels {
				if l.Box.Min[0] < 0 || l.Box.Min[1] < 0 || l.Box.Max[0] > v.View.Width || l.Box.Max[1] > v.View.Height {
					t.Errorf("%s, %s: %q leaves the drawing: %v", name, medium, l.Text, l.Box)
				}
			}
		}
	}
}

// A photocopy tells trees from buildings and the part of the zone that is wanted
// free from the zone's edge.
func TestALinkIsReadWithoutColour(t *testing.T) {
	for name, m := range map[string]drawing.Medium{"screen": {Mono: true}, "sheet": {Paper: true, Mono: true}} {
		th := drawing.NewTheme(m)
		if th.Style(drawing.LinkTrees).Dots.Spacing == 0 || th.Style(drawing.Building).Dots.Spacing != 0 {
			t.Errorf("%s: trees and buildings look the same", name)
		}
		if len(th.Style(drawing.LinkWanted).Pen.Dash) == 0 || len(th.Style(drawing.LinkZone).Pen.Dash) != 0 {
			t.Errorf("%s: the zone and what is wanted of it look the same", name)
		}
	}
}

func TestLinksOfAnySizeAndPlaceAreDrawn(t *testing.T) {
	r := rand.New(rand.NewSource(6))
	for i := range 200 {
		d := []float64{0, 0.004, 0.3, 8, 90, 700, 9000}[r.Intn(7)]
		a := r.Float64() * 2 * math.Pi
		s := new(site.Site).Add(model.KindRepeater, "R1", orb.Point{0, 0}, model.Prop("antenna_height_m", 0.1+r.Float64()*r.Float64()*59))
		s.Add(model.KindReceiver, "RX", orb.Point{d * math.Sin(a), d * math.Cos(a)}, model.Prop("antenna_height_m", 0.1+r.Float64()*r.Float64()*59))
		for k := range r.Intn(6) {
			q, w := r.Float64()*d, r.Float64()*d/5+0.5
			s.Building(fmt.Sprint("H", k), site.Turned(orb.Point{q * math.Sin(a), q * math.Cos(a)}, w, w/2+0.1, r.Float64()*6), r.Float64()*15)
			s.Add(model.KindFoliage, fmt.Sprint("F", k), orb.Polygon{site.Turned(orb.Point{q * math.Sin(a), q * math.Cos(a)}, w, w+0.1, r.Float64()*6)}, model.Prop("height_m", r.Float64()*20))
		}
		sc := s.Scene(t)
		for _, size := range []orb.Point{{880, 250}, {300, 190}, {40, 30}, {1, 1}} {
			v := linkOf(t, drawing.LinkInput{Scene: sc, From: "R1", To: "RX", Width: size[0], Height: size[1]}, drawing.Medium{})
			for _, it := range v.List.Items {
				for _, l := range append([]orb.LineString{it.Line, {it.At}}, rings(it.Area)...) {
					for _, p := range l {
						if math.IsNaN(p[0]+p[1]) || math.IsInf(p[0]+p[1], 0) {
							t.Fatalf("%d, %v, %v m: %v lies at %v", i, size, d, it.Meaning, p)
						}
					}
				}
			}
		}
	}
}

// BenchmarkLinkView is one redraw of a link of 2.4 km, analysis and all.
func BenchmarkLinkView(b *testing.B) {
	sc := valley(b, 8, 10)
	th := drawing.NewTheme(drawing.Medium{})
	b.ReportAllocs()
	for b.Loop() {
		if _, err := drawing.CutLink(drawing.LinkInput{Scene: sc, From: "R1", To: "RX", Width: 900, Height: 240}, th); err != nil {
			b.Fatal(err)
		}
	}
}
