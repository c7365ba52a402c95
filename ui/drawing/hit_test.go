package drawing

import (
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"
)

func square(x, y, r float64) orb.MultiPolygon {
	return orb.MultiPolygon{{{{x - r, y - r}, {x + r, y - r}, {x + r, y + r}, {x - r, y + r}, {x - r, y - r}}}}
}

func TestMarksAreHitBeforeLinesAndLinesBeforeAreas(t *testing.T) {
	l := &List{}
	l.Add(Item{Layer: SiteLayer, Kind: AreaKind, Meaning: Neighbour, ID: "large", Area: square(0, 0, 50)})
	l.Add(Item{Layer: SiteLayer, Kind: AreaKind, Meaning: Building, ID: "small", Area: square(0, 0, 10)})
	l.Add(Item{Layer: BoundaryLayer, Kind: LineKind, Meaning: Boundary, ID: "line", Line: orb.LineString{{-50, 1}, {50, 1}}})
	l.Add(Item{Layer: DeviceLayer, Kind: MarkKind, Meaning: Sensor, ID: "mark", At: orb.Point{2, 0}})
	l.Add(Item{Layer: HandleLayer, Kind: MarkKind, Meaning: VertexHandle, ID: "handle", At: orb.Point{-2, 0}})
	l.Add(Item{Layer: DeviceLayer, Kind: MarkKind, Meaning: Sensor, At: orb.Point{0, 0}}) // names nothing
	var got []string
	for _, h := range l.Hit(orb.Point{0, 0}, 3, 0.5) {
		got = append(got, h.ID)
	}
	want := []string{"handle", "mark", "line", "small", "large"}
	if len(got) != len(want) {
		t.Fatalf("got %v, want %v", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Fatalf("got %v, want %v", got, want)
		}
	}
}

// A link and a way in cross an asset: on their ink they are meant, beside it the
// asset is; beside them in a wood they are.
func TestALineLaidOverAThingIsHitOnItsInkAlone(t *testing.T) {
	for _, m := range []Meaning{LinkHeld, LinkThin, LinkFails, WayIn, WayInSeen} {
		l := &List{}
		l.Add(Item{Layer: SiteLayer, Kind: AreaKind, Meaning: Foliage, ID: "wood", Area: square(0, 0, 50)})
		for i, thing := range []Meaning{Asset, Building, Obstacle} {
			l.Add(Item{Layer: SiteLayer, Kind: AreaKind, Meaning: thing, ID: "thing", Area: square(float64(i)*20-20, 0, 8)})
		}
		l.Add(Item{Layer: LinkLayer, Kind: LineKind, Meaning: m, ID: "line", Line: orb.LineString{{-50, 0}, {50, 0}}})
		for _, c := range []struct {
			at   orb.Point
			want string
		}{{orb.Point{-20, 1}, "line"}, {orb.Point{-20, 4}, "thing"}, {orb.Point{0, 4}, "thing"}, {orb.Point{20, 4}, "thing"}, {orb.Point{40, 4}, "line"}, {orb.Point{40, 12}, "wood"}} {
			if h := l.Hit(c.at, 5, 1); len(h) == 0 || h[0].ID != c.want {
				t.Errorf("%v at %v: hit %v, want %s first", m, c.at, h, c.want)
			}
		}
	}
}

func TestAHoleIsNotHit(t *testing.T) {
	l := &List{}
	area := square(0, 0, 50)
	area[0] = append(area[0], square(0, 0, 20)[0][0])
	l.Add(Item{Kind: AreaKind, Meaning: Building, ID: "H1", Area: area})
	if h := l.Hit(orb.Point{0, 0}, 1, 1); len(h) != 0 {
		t.Errorf("the hole was hit: %v", h)
	}
	if h := l.Hit(orb.Point{19.5, 0}, 1, 1); len(h) != 1 || math.Abs(h[0].Distance-0.5) > 1e-9 {
		t.Errorf("half a metre within the hole, want the edge at 0.5 m, got %v", h)
	}
}

func TestAMarkIsHitWhereItIsDrawn(t *testing.T) {
	l := &List{}
	l.Add(Item{Layer: DeviceLayer, Kind: MarkKind, Meaning: Receiver, ID: "RX", At: orb.Point{100, 100}})
	half := NewTheme(Medium{}).Style(Receiver).Size / 2
	for _, c := range []struct {
		off, mpu float64
		want     bool
	}{{half - 0.1, 0.5, true}, {half + 0.1, 0.5, false}, {half - 0.1, 0.01, true}} {
		if got := len(l.Hit(orb.Point{100 + c.off*c.mpu, 100}, 0, c.mpu)) > 0; got != c.want {
			t.Errorf("%v units off the middle at %v m a unit: hit %v, want %v", c.off, c.mpu, got, c.want)
		}
	}
}

// The index must find what a look at every item finds.
func TestTheIndexMissesNothing(t *testing.T) {
	rng := rand.New(rand.NewSource(11))
	l := &List{}
	for i := 0; i < 700; i++ {
		x, y, r := rng.Float64()*1000, rng.Float64()*800, rng.Float64()*30
		switch i % 3 {
		case 0:
			l.Add(Item{Kind: AreaKind, Meaning: Building, ID: "a", Area: square(x, y, r)})
		case 1:
			l.Add(Item{Kind: LineKind, Meaning: Obstacle, ID: "l", Line: orb.LineString{{x, y}, {x + r, y - r}}})
		case 2:
			l.Add(Item{Kind: MarkKind, Meaning: Sensor, ID: "m", At: orb.Point{x, y}})
		}
	}
	for k := 0; k < 300; k++ {
		at := orb.Point{rng.Float64() * 1000, rng.Float64() * 800}
		want := map[int]bool{}
		for i := range l.Items {
			one := &List{Items: l.Items[i : i+1]}
			if len(one.Hit(at, 4, 1)) > 0 {
				want[i] = true
			}
		}
		got := l.Hit(at, 4, 1)
		if len(got) != len(want) {
			t.Fatalf("at %v: %d hits, want %d", at, len(got), len(want))
		}
		for _, h := range got {
			if !want[h.Item] {
				t.Fatalf("at %v: item %d is not there", at, h.Item)
			}
		}
	}
}

func TestAViewCarriesThereAndBack(t *testing.T) {
	v := View{Centre: orb.Point{1234.5, -99}, MetresPerUnit: 0.37, Width: 1600, Height: 1000}
	for _, g := range []orb.Point{{0, 0}, {1234.5, -99}, {-77, 5000.25}} {
		if b := v.ToGrid(v.ToUnit(g)); math.Hypot(b[0]-g[0], b[1]-g[1]) > 1e-9 {
			t.Errorf("%v came back as %v", g, b)
		}
	}
	u := orb.Point{200, 300}
	w := v.ZoomAt(u, 2.5)
	if a, b := v.ToGrid(u), w.ToGrid(u); math.Hypot(a[0]-b[0], a[1]-b[1]) > 1e-9 || math.Abs(w.MetresPerUnit*2.5-v.MetresPerUnit) > 1e-12 {
		t.Errorf("zooming moved the ground under the pointer from %v to %v", a, b)
	}
	f := v.Fit(orb.Bound{Min: orb.Point{0, 0}, Max: orb.Point{100, 400}}, 50)
	for _, c := range []orb.Point{{0, 0}, {100, 400}} {
		if q := f.ToUnit(c); q[1] < 49.999 || q[1] > 950.001 {
			t.Errorf("fitted, %v stands at %v", c, q)
		}
	}
}

func TestALineIsMovedSidewaysByItsOffset(t *testing.T) {
	ring := []orb.Point{{0, 0}, {100, 0}, {100, 100}, {0, 100}, {0, 0}}
	// Clockwise on the screen: the inside is on the right, where d is positive.
	got := offset(nil, ring, 5)
	want := []orb.Point{{5, 5}, {95, 5}, {95, 95}, {5, 95}, {5, 5}}
	for i := range want {
		if math.Hypot(got[i][0]-want[i][0], got[i][1]-want[i][1]) > 1e-9 {
			t.Fatalf("got %v, want %v", got, want)
		}
	}
	open := offset(nil, []orb.Point{{0, 0}, {10, 0}}, -2)
	if open[0] != (orb.Point{0, -2}) || open[1] != (orb.Point{10, -2}) {
		t.Errorf("an open line moved left: %v", open)
	}
	for _, p := range offset(nil, []orb.Point{{0, 0}, {100, 0}, {0, 0.5}}, 3) {
		if math.Abs(p[0]) > 107 || math.Abs(p[1]) > 107 {
			t.Errorf("a sharp corner flew to %v", p)
		}
	}
}
