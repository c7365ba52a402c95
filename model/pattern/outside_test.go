package pattern

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
	"pleach/model/terrain"
	"pleach/testdata/published"
	"pleach/testdata/site"
)

// beam looks from a post at the origin due east with one lobe.
func beam(t testing.TB, s *site.Site, mount, tilt float64, l model.Lobe) *Looker {
	t.Helper()
	s.Sensor("S1", orb.Point{0, 0}, "curtain-4-63", mount, 90, tilt)
	sc := s.Scene(t)
	e := Stand(sc, sc.Plan.Feature("S1"), model.SensorModel{Lobes: []model.Lobe{l}})
	lk := NewLooker(sc)
	lk.From(&e, 1)
	return lk
}

// beamA is the handbook's beam A: limits 1 and 8 degrees below the horizontal.
var beamA = model.Lobe{Width: 10, Up: -1, Down: 8, Range: 500}

// least is a part of a target so small that it stands for any touch.
const least = 1e-9

// along returns what is seen due east.
func along(t *testing.T, lk *Looker, tg Target) interval {
	t.Helper()
	seen := lk.seen(math.Pi/2, tg, ignoreNothing, nil, nil)
	if len(seen) == 0 {
		t.Fatal("nothing is seen due east")
	}
	return seen[len(seen)-1]
}

// part returns the greatest part of a target of height h that is seen due east
// at distance d.
func part(lk *Looker, h, d float64) float64 {
	lo, hi := 0.0, 1.0
	for range 60 {
		m := (lo + hi) / 2
		in := false
		for _, v := range lk.seen(math.Pi/2, Target{Height: h, MinVisible: m}, ignoreNothing, nil, nil) {
			in = in || v.lo <= d && d <= v.hi
		}
		if in {
			lo = m
		} else {
			hi = m
		}
	}
	return lo
}

func TestOutsideReachAndFirstTouchOnLevelGround(t *testing.T) {
	rows := published.Load(t, "detection.csv")
	a := beam(t, new(site.Site), 3, 0, beamA)
	upright, crawl := Target{Height: 1.7, MinVisible: least}, Target{Height: 0.35, MinVisible: least}
	rows.Check(t, "O22-upright", along(t, a, upright).lo)
	rows.Check(t, "O22-crawl", along(t, a, crawl).lo)
	ground := Target{Height: 1e-6, MinVisible: least}
	rows.Check(t, "O23-near", along(t, a, ground).lo)
	rows.Check(t, "O23-far", along(t, a, ground).hi)
	half := func(h float64) interval { return along(t, a, Target{Height: h, MinVisible: 0.5}) }
	rows.Check(t, "H1", half(1.7).lo)
	rows.Check(t, "H2", half(1.7).hi)
	rows.Check(t, "H3", half(0.35).lo)
	rows.Check(t, "H4", half(0.35).hi)
	rows.Check(t, "H5", along(t, a, Target{Height: 1.7, MinVisible: 1}).lo)
	rows.Check(t, "O24", part(a, 1.7, 100))
	rows.Check(t, "H6", part(a, 1.7, 10))
	rows.Check(t, "H7", part(a, 1.7, 15))
	rows.Check(t, "H8", part(a, 1.7, 75))
	rows.Check(t, "H9", part(a, 1.7, 150))
}

// The axis is the lower limit of a lobe that has nothing below it.
func TestOutsideAxisOfATiltedSensor(t *testing.T) {
	rows := published.Load(t, "detection.csv")
	axis := func(tilt float64) *Looker {
		return beam(t, new(site.Site), 3, tilt, model.Lobe{Width: 4, Up: 5, Down: 0, Range: 500})
	}
	ground := Target{Height: 1e-6, MinVisible: least}
	rows.Check(t, "O27-ground", along(t, axis(2), ground).lo)
	rows.Check(t, "O27-middle", along(t, axis(2), Target{Height: 1.7, MinVisible: 0.5}).lo)
	rows.Check(t, "H10", along(t, axis(2.5), ground).lo)
	rows.Check(t, "H11", along(t, axis(1.5), ground).lo)
}

func TestOutsideShadowOfAWall(t *testing.T) {
	rows := published.Load(t, "detection.csv")
	var s site.Site
	s.Add(model.KindObstacle, "W1", orb.LineString{{20, -30}, {20, 30}}, model.Prop("height_m", 1.0))
	lk := beam(t, &s, 3, 0, model.Lobe{Width: 10, Up: 20, Down: 85, Range: 500})
	rows.Check(t, "O28-ground", along(t, lk, Target{Height: 1e-4, MinVisible: least}).lo)
	rows.Check(t, "O28-crawl", along(t, lk, Target{Height: 0.35, MinVisible: least}).lo)
	rows.Check(t, "H12", part(lk, 1.7, 21))
	rows.Check(t, "H13", part(lk, 1.7, 25))
}

// wide is a lobe whose limits never matter beyond the first centimetres; with
// the mount at half the target's height its plan radius is its reach.
func wide(width, reach float64) model.Lobe {
	return model.Lobe{Width: width, Up: 89, Down: 89, Range: reach}
}

const middle = 0.85 // half of the target's 1.7 m

func TestOutsideAreasOfSectorsAndShadows(t *testing.T) {
	rows := published.Load(t, "detection.csv")
	upright := Target{Height: 1.7, MinVisible: 0.5}
	// Ground farther out than the building's back, with the building and without.
	beyond := Partition{Zones: []Zone{NewZone(orb.MultiPolygon{{site.Box(40, -100, 200, 100)}}, true)}}
	var s site.Site
	without := beam(t, &s, middle, 0, wide(40, 100)).Split(upright, beyond)
	s = site.Site{}
	s.Building("H1", site.Box(30, -5, 40, 5), 10)
	with := beam(t, &s, middle, 0, wide(40, 100)).Split(upright, beyond)
	if len(with) != 1 || len(without) != 1 {
		t.Fatalf("%d and %d parts beyond the building, want 1 each", len(with), len(without))
	}
	rows.Check(t, "O30", without[0].Area-with[0].Area)
	// A lower limit that lets half of the target in from 20 m on.
	down := math.Atan(2.15/20) * 180 / math.Pi
	lk := beam(t, new(site.Site), 3, 0, model.Lobe{Width: 10, Up: 10, Down: down, Range: math.Hypot(100, 3-middle)})
	rows.Check(t, "O31", lk.Lay(upright, AsItIs).Area)
	beamTo := func(h float64) *Looker {
		l := beamA
		l.Range = math.Hypot(100, 3-h/2)
		return beam(t, new(site.Site), 3, 0, l)
	}
	rows.Check(t, "H14", beamTo(1.7).Lay(Target{Height: 1.7, MinVisible: least}, AsItIs).Area)
	rows.Check(t, "H15", beamTo(0.35).Lay(Target{Height: 0.35, MinVisible: least}, AsItIs).Area)
}

// over looks due east from 3 m up over ground that rises as told with the distance
// east, known every metre.
func over(t *testing.T, rise func(x float64) float64, l model.Lobe) *Looker {
	t.Helper()
	const w, h = 601, 41
	z := make([]float32, w*h)
	for i := range h {
		for j := range w {
			z[i*w+j] = float32(rise(float64(j) - 50))
		}
	}
	g, err := terrain.New(w, h, z, terrain.Affine([3]float64{50, 1, 0}, [3]float64{20, 0, -1}), orb.Bound{Min: orb.Point{-50, -20}, Max: orb.Point{550, 20}})
	if err != nil {
		t.Fatal(err)
	}
	s := new(site.Site).Sensor("S1", orb.Point{0, 0}, "curtain-4-63", 3, 90, 0)
	sc := scene.OnGround(s.Plan(t), site.Grid, g)
	e := Stand(sc, sc.Plan.Feature("S1"), model.SensorModel{Lobes: []model.Lobe{l}})
	lk := NewLooker(sc)
	lk.From(&e, 1)
	return lk
}

func TestOutsideSlopes(t *testing.T) {
	rows := published.Load(t, "detection.csv")
	slope := func(s float64) *Looker { return over(t, func(x float64) float64 { return s * x }, beamA) }
	touch := func(h float64) Target { return Target{Height: h, MinVisible: least} }
	ground := touch(1e-6)
	rows.Check(t, "O25-touch", along(t, slope(0.05), touch(1.7)).lo)
	rows.Check(t, "O25-far", along(t, slope(0.05), ground).hi)
	rows.Check(t, "H27", along(t, slope(0.03), touch(1.7)).lo)
	rows.Check(t, "H28", along(t, slope(0.03), ground).hi)
	rows.Check(t, "H29", along(t, slope(-0.05), touch(1.7)).lo)
	rows.Check(t, "H30", along(t, slope(-0.05), touch(0.35)).lo)
	rows.Check(t, "H31", along(t, slope(-0.10), touch(1.7)).lo)
	rows.Check(t, "H32", along(t, slope(-0.10), touch(0.35)).lo)
	down := over(t, func(x float64) float64 { return -0.05 * x }, model.Lobe{Width: 4, Up: -1, Down: 2.5, Range: 500})
	rows.Check(t, "O26", float64(len(down.seen(math.Pi/2, ground, ignoreNothing, nil, nil))))
	crest := over(t, func(x float64) float64 { return math.Min(0, -0.15*(x-30)) }, model.Lobe{Width: 4, Up: 45, Down: 45, Range: 500})
	rows.Check(t, "O29-upright", along(t, crest, touch(1.7)).hi)
	rows.Check(t, "O29-crawl", along(t, crest, touch(0.35)).hi)
}
