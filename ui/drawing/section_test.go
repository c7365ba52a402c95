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

// walled is a sensor on a wall that looks past a low wall, mesh and a hedge at a
// building.
func walled(t testing.TB) *scene.Scene {
	s := new(site.Site).Sensor("S1", orb.Point{0, 0}, "curtain-4-63", 3.2, 90, 2.5)
	s.Add(model.KindObstacle, "O1", orb.LineString{{14, -5}, {14, 5}}, model.Prop("height_m", 1.1), model.Prop("name", "Low wall"))
	s.Add(model.KindObstacle, "O2", orb.LineString{{31, -5}, {31, 5}}, model.Prop("height_m", 2.4), model.Prop("see_through", true), model.Prop("name", "Mesh"))
	s.Add(model.KindFoliage, "F1", orb.Polygon{site.Box(34, -4, 40, 4)}, model.Prop("height_m", 1.5), model.Prop("name", "Hedge"))
	s.Add(model.KindBuilding, "H1", orb.Polygon{site.Box(46, -4, 54, 4)}, model.Prop("height_m", 4.5), model.Prop("name", "Pump house"))
	s.Building("H2", site.Box(-8, -4, -0.2, 4), 4)
	return s.Scene(t)
}

// rolling is a sensor on hills whose ground is known as far as 150 m east.
func rolling(t testing.TB, mount, bearing, tilt float64) *scene.Scene {
	t.Helper()
	const n = 301
	z := make([]float32, n*n)
	for i := range z {
		x, y := float64(i%n)-150, 150-float64(i/n)
		z[i] = float32(40 + 1.6*math.Sin(x/13) + 0.01*x + math.Sin(y/31+x/57))
	}
	g, err := terrain.New(n, n, z, terrain.Affine([3]float64{150, 1, 0}, [3]float64{150, 0, -1}), orb.Bound{Min: orb.Point{-150, -150}, Max: orb.Point{150, 150}})
	if err != nil {
		t.Fatal(err)
	}
	s := new(site.Site).Sensor("S1", orb.Point{0, 0}, "curtain-3-100", mount, bearing, tilt)
	return scene.OnGround(s.Plan(t), site.Grid, g)
}

func level(t testing.TB, m string, mount, tilt float64) *scene.Scene {
	t.Helper()
	return new(site.Site).Sensor("S1", orb.Point{0, 0}, m, mount, 90, tilt).Scene(t)
}

func sectionOf(t testing.TB, in drawing.SectionInput, m drawing.Medium) *drawing.Section {
	t.Helper()
	if in.Sensor == "" {
		in.Sensor = "S1"
	}
	if in.Width == 0 {
		in.Width, in.Height = 880, 250
		if m.Paper {
			in.Width, in.Height = 180, 60
		}
	}
	s, err := drawing.Cut(in, drawing.NewTheme(m))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// items returns those of a meaning.
func items(s *drawing.Section, m drawing.Meaning) (out []drawing.Item) {
	for _, it := range s.List.Items {
		if it.Meaning == m {
			out = append(out, it)
		}
	}
	return out
}

// labels returns all text.
func labels(s *drawing.Section) string {
	var out []string
	for _, it := range s.List.Items {
		if it.Kind == drawing.LabelKind {
			out = append(out, it.Text)
		}
	}
	return strings.Join(out, "|")
}

func TestTheSectionsAreDrawnAsTheGoldensSay(t *testing.T) {
	golden(t, "section-walled.txt", sectionOf(t, drawing.SectionInput{Scene: walled(t)}, drawing.Medium{}).List.String())
	golden(t, "section-rolling.txt", sectionOf(t, drawing.SectionInput{Scene: rolling(t, 3, 90, 2), Hovered: drawing.TiltHandle}, drawing.Medium{}).List.String())
}

func TestASectionOfNoSensorIsAnError(t *testing.T) {
	if _, err := drawing.Cut(drawing.SectionInput{Scene: walled(t), Sensor: "S9", Width: 800, Height: 240}, drawing.NewTheme(drawing.Medium{})); err == nil || !strings.Contains(err.Error(), "S9") {
		t.Error(err)
	}
}

// A bar is filled where the analysis sees the target, and nowhere else.
func TestABarIsFilledWhereTheTargetIsSeen(t *testing.T) {
	for name, sc := range map[string]*scene.Scene{"walls": walled(t), "hills": rolling(t, 3, 90, 2), "hills south": rolling(t, 4, 200, 5), "level": level(t, "sector-90-25", 3, 4)} {
		for posture := range 2 {
			s := sectionOf(t, drawing.SectionInput{Scene: sc, Posture: posture}, drawing.Medium{})
			r := s.Aim.Target
			if posture == 1 {
				r = s.Aim.Postures[0]
			}
			count := 0
			for _, m := range []drawing.Meaning{drawing.SectionSeen, drawing.SectionUnseen} {
				for _, it := range items(s, m) {
					b := it.Area.Bound()
					d, seen := b.Center()[0], false
					for _, v := range r.Seen {
						seen = seen || v.From <= d && d <= v.To
					}
					if seen != (m == drawing.SectionSeen) {
						t.Errorf("%s, posture %d: the bar at %v m is %v", name, posture, d, m)
					}
					if h := (b.Max[1] - b.Min[1]) / s.Exaggeration; math.Abs(h-r.Target.Height) > 1e-9 {
						t.Errorf("%s, posture %d: the bar at %v m is %v m high", name, posture, d, h)
					}
					count++
				}
			}
			if count < 8 {
				t.Errorf("%s: %d bars", name, count)
			}
		}
	}
}

// The lobes are drawn over ground that is in sight only, and below their limits.
func TestLobesAreDrawnInSightOnly(t *testing.T) {
	s := sectionOf(t, drawing.SectionInput{Scene: walled(t)}, drawing.Medium{})
	z := s.Aim.Eye.Z
	for _, m := range []drawing.Meaning{drawing.SectionLobe, drawing.SectionLookDown} {
		for _, it := range items(s, m) {
			for _, p := range it.Area[0][0] {
				d, h := p[0], p[1]/s.Exaggeration
				// Over the low wall of 1.1 m at 14.05 m from the eye, and not past the pump house.
				if x := 14 - s.Aim.Eye.At[0]; d > x+0.001 && h < z+d*(1.1-z)/x-1e-3 {
					t.Errorf("%v at %v m lies %v m up, behind the low wall", m, d, h)
				}
				if d > 46-s.Aim.Eye.At[0]+1e-3 {
					t.Errorf("%v goes on at %v m, in the pump house", m, d)
				}
				if h < -1e-9 {
					t.Errorf("%v lies under the ground", m)
				}
			}
		}
	}
	if l := labels(s); !strings.Contains(l, "axis stopped 46 m") || !strings.Contains(l, "Pump house") || !strings.Contains(l, "hidden") {
		t.Error(l)
	}
}

func TestFiguresOfTheSectionAreThoseOfTheAim(t *testing.T) {
	// 3 m up and 2 degrees down: 85.9 m (method, detection 3).
	l := labels(sectionOf(t, drawing.SectionInput{Scene: level(t, "curtain-3-100", 3, 2)}, drawing.Medium{}))
	for _, want := range []string{"axis on the ground 86 m", "reach 100 m", "dead zone ", "3 m", "2° down", "bars: target, 1.7 m", "heights drawn 4 times", "along 90°"} {
		if !strings.Contains(l, want) {
			t.Errorf("%q is not in %s", want, l)
		}
	}
	l = labels(sectionOf(t, drawing.SectionInput{Scene: level(t, "sector-90-25", 3, -4), Posture: 1}, drawing.Medium{}))
	for _, want := range []string{"axis never on the ground", "4° up", "bars: crawl, 0.35 m"} {
		if !strings.Contains(l, want) {
			t.Errorf("%q is not in %s", want, l)
		}
	}
	if l = labels(sectionOf(t, drawing.SectionInput{Scene: level(t, "sector-90-25", 3, 4)}, drawing.Medium{})); !strings.Contains(l, "axis on the ground 43 m →") {
		t.Error(l)
	}
	if l = labels(sectionOf(t, drawing.SectionInput{Scene: level(t, "sector-90-25", 3, -40)}, drawing.Medium{})); !strings.Contains(l, "not seen along the axis") && !strings.Contains(l, "reach") {
		t.Error(l)
	}
}

func TestThereIsNothingToDragOnPaper(t *testing.T) {
	s := sectionOf(t, drawing.SectionInput{Scene: level(t, "curtain-3-100", 3, 2)}, drawing.Medium{Paper: true})
	if n := len(items(s, drawing.AimHandle)); n != 0 {
		t.Errorf("%d handles on paper", n)
	}
}

// The handles are where they are drawn, and dropping one where it is changes
// nothing.
func TestHandlesGiveHeightAndTiltBack(t *testing.T) {
	for _, tilt := range []float64{-20, -3, 0, 2, 9.5, 35, 70} {
		for _, mount := range []float64{0.6, 3, 3.25, 12} {
			s := sectionOf(t, drawing.SectionInput{Scene: level(t, "curtain-3-100", mount, tilt)}, drawing.Medium{})
			found := 0
			for _, it := range items(s, drawing.AimHandle) {
				u := s.View.ToUnit(it.At)
				h := s.Hit(orb.Point{u[0] + 3, u[1] - 3}, 4)
				switch {
				case it.Part == "height" && h == drawing.HeightHandle:
					if got := s.MountAt(u); math.Abs(got-mount) > 1e-9 {
						t.Errorf("mount %v, tilt %v: %v", mount, tilt, got)
					}
				case it.Part == "tilt" && h == drawing.TiltHandle:
					if got := s.TiltAt(u); math.Abs(got-tilt) > 1e-9 {
						t.Errorf("mount %v, tilt %v: %v", mount, tilt, got)
					}
				default:
					t.Errorf("mount %v, tilt %v: at the handle of the %s there is %v", mount, tilt, it.Part, h)
				}
				found++
			}
			if found != 2 {
				t.Errorf("%d handles", found)
			}
			if h := s.Hit(orb.Point{s.View.Width - 40, 60}, 4); h != drawing.NoHandle {
				t.Errorf("there is a handle %v in the sky", h)
			}
		}
	}
}

func TestWhatIsDraggedStaysInItsRange(t *testing.T) {
	s := sectionOf(t, drawing.SectionInput{Scene: rolling(t, 3, 90, 2)}, drawing.Medium{})
	r := rand.New(rand.NewSource(3))
	for range 2000 {
		u := orb.Point{r.Float64()*4000 - 1500, r.Float64()*4000 - 1500}
		if m := s.MountAt(u); !(m > 0 && m <= 60) {
			t.Fatalf("at %v the mount is %v m high", u, m)
		}
		if v := s.TiltAt(u); !(v >= -45 && v <= 89) {
			t.Fatalf("at %v the tilt is %v", u, v)
		}
	}
	// A tilt through a place leads the axis through it, to a twentieth of a degree.
	u := s.View.ToUnit(orb.Point{40, 41 * s.Exaggeration})
	fall := math.Tan(s.TiltAt(u) * math.Pi / 180)
	if got := s.Aim.Eye.Z - 40*fall; math.Abs(got-41) > 40*0.06*math.Pi/180 {
		t.Errorf("the axis passes %v m up, not 41", got)
	}
}

// While a handle is dragged nothing else moves.
func TestTheFrameIsKeptWhileDragging(t *testing.T) {
	first := sectionOf(t, drawing.SectionInput{Scene: rolling(t, 3, 90, 2)}, drawing.Medium{})
	for _, sc := range []*scene.Scene{rolling(t, 3, 90, 2), rolling(t, 7.5, 90, 2), rolling(t, 3, 90, 20)} {
		s := sectionOf(t, drawing.SectionInput{Scene: sc, Like: first}, drawing.Medium{})
		if s.View != first.View || s.Exaggeration != first.Exaggeration {
			t.Errorf("the frame is %+v times %v, was %+v times %v", s.View, s.Exaggeration, first.View, first.Exaggeration)
		}
	}
	again := sectionOf(t, drawing.SectionInput{Scene: rolling(t, 3, 90, 2), Like: first}, drawing.Medium{})
	if a, b := first.List.String(), again.List.String(); a != b {
		t.Errorf("kept, the same section differs:\n%s\n%s", a, b)
	}
	if s := sectionOf(t, drawing.SectionInput{Scene: rolling(t, 3, 90, 2), Like: first, Width: 500, Height: 250}, drawing.Medium{}); s.View == first.View {
		t.Error("the frame of another size was kept")
	}
}

// All text finds its place, and none leaves the drawing, in every medium.
func TestTheTextOfASectionHasRoom(t *testing.T) {
	for name, sc := range map[string]*scene.Scene{"walls": walled(t), "hills": rolling(t, 3, 90, 2), "steep": level(t, "sector-90-16", 3, 35),
		"between fingers": level(t, "fan-30-40", 2.5, -3), "far axis": level(t, "sector-90-25", 3, 4)} {
		for medium, m := range map[string]drawing.Medium{"light": {}, "dark": {Dark: true}, "sheet": {Paper: true, Mono: true}} {
			s := sectionOf(t, drawing.SectionInput{Scene: sc}, m)
			p := drawing.PlaceLabels(s.List, s.View, drawing.NewTheme(m))
			for _, i := range p.LeftOut {
				if it := &s.List.Items[i]; it.Meaning == drawing.DimensionFigure {
					t.Errorf("%s, %s: no room for %q", name, medium, it.Text)
				}
			}
			for _, l := range p.Labels {
				if l.Box.Min[0] < 0 || l.Box.Min[1] < 0 || l.Box.Max[0] > s.View.Width || l.Box.Max[1] > s.View.Height {
					t.Errorf("%s, %s: %q leaves the drawing: %v", name, medium, l.Text, l.Box)
				}
			}
		}
	}
}

// However the ground falls or rises, it stays between the words and the foot, and
// the drawing within its width.
func TestGroundThatFallsStaysInTheFrame(t *testing.T) {
	for _, slope := range []float64{-0.6, -0.2, 0, 0.2, 0.6} {
		const n = 301
		z := make([]float32, n*n)
		for i := range z {
			z[i] = float32(slope * float64(i%n-150))
		}
		g, err := terrain.New(n, n, z, terrain.Affine([3]float64{150, 1, 0}, [3]float64{150, 0, -1}), orb.Bound{Min: orb.Point{-150, -150}, Max: orb.Point{150, 150}})
		if err != nil {
			t.Fatal(err)
		}
		p := new(site.Site).Sensor("S1", orb.Point{0, 0}, "sector-90-25", 3, 90, 4).Plan(t)
		s := sectionOf(t, drawing.SectionInput{Scene: scene.OnGround(p, site.Grid, g)}, drawing.Medium{})
		for _, it := range items(s, drawing.SectionSurface) {
			for _, q := range it.Line {
				if u := s.View.ToUnit(q); q[0] >= 0 && (u[1] < 20 || u[1] > s.View.Height-90 || u[0] > s.View.Width) {
					t.Errorf("slope %v: the ground at %v m is drawn at %v", slope, q[0], u)
				}
			}
		}
	}
}

func TestSectionsOfAnySizeAndPlaceAreDrawn(t *testing.T) {
	r := rand.New(rand.NewSource(5))
	for i := range 300 {
		b := model.Builtin()
		s := new(site.Site).Sensor("S1", orb.Point{0, 0}, b[r.Intn(len(b))].ID, 0.05+r.Float64()*r.Float64()*59, r.Float64()*360, r.Float64()*134-45)
		for k := range r.Intn(6) {
			d, w := r.Float64()*50-5, r.Float64()*12
			s.Building(fmt.Sprint("H", k), site.Turned(orb.Point{d, r.Float64()*40 - 20}, w+0.1, w/2+0.1, r.Float64()*6), r.Float64()*15)
			s.Add(model.KindObstacle, fmt.Sprint("O", k), orb.LineString{{d, -30}, {d + w, 30}}, model.Prop("height_m", r.Float64()*4), model.Prop("see_through", r.Intn(2) == 0))
		}
		sc := s.Scene(t)
		for _, size := range []orb.Point{{880, 250}, {300, 200}, {40, 30}, {1, 1}} {
			in := drawing.SectionInput{Scene: sc, Sensor: "S1", Width: size[0], Height: size[1], Posture: r.Intn(3)}
			got := sectionOf(t, in, drawing.Medium{})
			for _, it := range got.List.Items {
				for _, l := range append([]orb.LineString{it.Line, {it.At}}, rings(it.Area)...) {
					for _, p := range l {
						if math.IsNaN(p[0]+p[1]) || math.IsInf(p[0]+p[1], 0) {
							t.Fatalf("%d, %v: %v lies at %v", i, size, it.Meaning, p)
						}
					}
				}
			}
		}
	}
}

func rings(m orb.MultiPolygon) (out []orb.LineString) {
	for _, p := range m {
		for _, r := range p {
			out = append(out, orb.LineString(r))
		}
	}
	return out
}

func BenchmarkSection(b *testing.B) {
	sc := rolling(b, 3, 90, 2)
	th := drawing.NewTheme(drawing.Medium{})
	b.ReportAllocs()
	for b.Loop() {
		if _, err := drawing.Cut(drawing.SectionInput{Scene: sc, Sensor: "S1", Width: 900, Height: 240}, th); err != nil {
			b.Fatal(err)
		}
	}
}
