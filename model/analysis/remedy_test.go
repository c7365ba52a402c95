package analysis

import (
	"fmt"
	"math"
	"math/rand"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/coverage"
	"pleach/testdata/site"
)

// A curtain that looks along the fence but a little outwards, a road outside: a
// turn inwards ends it, and so does a mask, but not where the boundary would be
// lost with it.
func TestTheSmallestTurnThatEndsAnOverspillIsFound(t *testing.T) {
	plan := func(bearing float64) *model.Plan {
		return new(site.Site).Add(model.KindBoundary, "B1", orb.Polygon{site.Box(0, 0, 200, 120)}).
			Add(model.KindRoad, "R1", orb.LineString{{-50, -6}, {250, -6}}, model.Prop("width_m", 6)).
			Sensor("S1", orb.Point{20, 2}, "curtain-4-63", 3, bearing, 1.5).Plan(t)
	}
	r := run(t, plan(95), nil)
	text := r.EndOverspill("S1")
	if !strings.Contains(text, "anticlockwise") {
		t.Fatalf("%q names no turn", text)
	}
	// What it says is so: turned by that much the road is left alone and the
	// boundary keeps what it had.
	var deg float64
	for d := 1.0; d <= 15; d++ {
		q := run(t, plan(95-d), nil)
		lost := r.Boundaries[0].Target.Covered - q.Boundaries[0].Target.Covered
		if !slices.ContainsFunc(q.Sensors[0].Overspill, counts) && lost <= 1 {
			deg = d
			break
		}
	}
	if deg == 0 || !strings.Contains(text, "urn it "+strings.TrimSuffix(metres(deg), ".0 m")+"° anticlockwise") {
		t.Errorf("%q, but %v degrees do", text, deg)
	}
	if text := run(t, plan(88), nil).EndOverspill("S1"); text != "" {
		t.Errorf("no overspill, yet %q", text)
	}
}

// remedy is one way a sentence names, as what it makes of a sensor.
type remedy struct {
	turn, tilt float64
	masks      []model.Sector
}

var aDegree = regexp.MustCompile(`-?[0-9.]+°`)

// remedies reads the ways of a sentence.
func remedies(t *testing.T, text string) (out []remedy) {
	t.Helper()
	ways, _, ok := strings.Cut(strings.ToLower(text), ": that would ")
	if !ok {
		t.Fatalf("%q tells no ways", text)
	}
	for _, way := range strings.Split(ways, ", or ") {
		var v []float64
		for _, s := range aDegree.FindAllString(way, -1) {
			f, err := strconv.ParseFloat(strings.TrimSuffix(s, "°"), 64)
			if err != nil {
				t.Fatal(err)
			}
			v = append(v, f)
		}
		switch {
		case strings.Contains(way, "anticlockwise"):
			out = append(out, remedy{turn: -v[0]})
		case strings.Contains(way, "clockwise"):
			out = append(out, remedy{turn: v[0]})
		case strings.HasSuffix(way, "down"):
			out = append(out, remedy{tilt: v[0]})
		case strings.HasSuffix(way, "up"):
			out = append(out, remedy{tilt: -v[0]})
		case strings.HasPrefix(way, "mask it") && len(v)%2 == 0:
			var m []model.Sector
			for i := 0; i < len(v); i += 2 {
				m = append(m, model.Sector{From: v[i], To: v[i+1]})
			}
			out = append(out, remedy{masks: m})
		default:
			t.Fatalf("%q is no way", way)
		}
	}
	return out
}

// apply changes a plan as a remedy says.
func (m remedy) apply(t *testing.T, p *model.Plan, id string) *model.Plan {
	t.Helper()
	s := p.Feature(id).Value.(*model.Sensor)
	values := []model.Value{{Property: "bearing_deg", Value: s.Bearing + m.turn}, {Property: "tilt_deg", Value: s.Tilt + m.tilt}}
	if len(m.masks) > 0 {
		var list []map[string]float64
		for _, k := range append(slices.Clone(s.Masked), m.masks...) {
			list = append(list, map[string]float64{"from_deg": k.From, "to_deg": k.To})
		}
		values = append(values, model.Value{Property: "masked", Value: list})
	}
	q, err := model.Set{ID: id, Values: values}.Apply(p)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// lost returns how many metres a sensor alone covered and no longer does.
func lost(before, after *Result, id string) float64 {
	sum := 0.0
	for i := range before.fences {
		sum += coverage.Sum(coverage.Minus(before.alone(before.workOf(id), i), after.workOf(id).looks[0].spans[i]))
	}
	return sum
}

// Over random sites: applied to the plan, each way a sentence names ends what it
// says it ends, keeps what the sensor alone covers and brings nothing new; and one
// step less of it does not.
func TestWhatARemedySaysIsSoAndLessDoesNot(t *testing.T) {
	r := rand.New(rand.NewSource(61))
	seen := map[string]int{}
	for n := range 50 {
		var s site.Site
		s.Add(model.KindBoundary, "B1", orb.Polygon{site.Box(-60, 0, 60, 80)})
		s.Add(model.KindRoad, "R1", orb.LineString{{-100, -4 - 5*r.Float64()}, {100, -4 - 5*r.Float64()}}, model.Prop("width_m", 3+3*r.Float64()))
		if r.Intn(2) == 0 {
			s.Add(model.KindNeighbour, "N1", orb.Polygon{site.Turned(orb.Point{r.Float64()*80 - 40, 95}, 70, 30, 0)})
		}
		for range r.Intn(4) {
			s.Add(model.KindFoliage, "", orb.Polygon{site.Turned(orb.Point{r.Float64()*80 - 40, r.Float64()*30 - 4}, 1+r.Float64()*6, 1+r.Float64()*6, r.Float64()*3)}, model.Prop("height_m", 0.3+r.Float64()*3))
		}
		if r.Intn(3) == 0 {
			s.Building("H1", site.Box(-50, 1.4, -42, 9), 5) // S1 may be fixed to it
		}
		models := model.Builtin()
		for i := range 2 {
			s.Sensor(fmt.Sprint("S", i+1), orb.Point{[]float64{-41.9, 40}[i], 1 + 4*r.Float64()}, models[r.Intn(len(models))].ID, 2.5+r.Float64(), []float64{90, 270}[i]+20*r.Float64()-10, 4*r.Float64())
		}
		p := s.Plan(t)
		before := run(t, p, nil)
		for i, rule := range []string{"overspill", "foliage", "overspill", "foliage"} {
			id := fmt.Sprint("S", 1+i/2)
			text := map[string]func(string) string{"overspill": before.EndOverspill, "foliage": before.EndFoliage}[rule](id)
			if text == "" {
				continue
			}
			what := fmt.Sprintf("site %d, %s, %s: %q", n, id, rule, text)
			bad := func(o Overspill) bool {
				return counts(o) && (isFault(o) || !strings.Contains(text, "the rest of it stays"))
			}
			// ends reports whether a remedy ends it and may be advised.
			ends := func(m remedy) (ended bool, loses float64) {
				after := run(t, m.apply(t, p, id), nil)
				out := after.workOf(id).out
				if rule == "foliage" {
					ended = out.Foliage < smallLeaf
				} else {
					ended = !slices.ContainsFunc(out.Overspill, bad)
				}
				return ended, lost(before, after, id)
			}
			for _, m := range remedies(t, text) {
				if ended, loses := ends(m); !ended || loses > keepAll+0.01 {
					t.Fatalf("%s\n%+v: ended %v, %.2f m lost", what, m, ended, loses)
				}
				less := m
				switch {
				case m.turn != 0:
					seen["turn"]++
					less.turn -= math.Copysign(turnStep, m.turn)
				case m.tilt != 0:
					seen["tilt"]++
					less.tilt -= math.Copysign(tiltStep, m.tilt)
				default:
					seen[fmt.Sprint(len(m.masks), " strips")]++
					seen["mask "+rule]++
					continue
				}
				if ended, loses := ends(less); ended && loses <= keepAll-0.01 && (less.turn != 0 || less.tilt != 0) {
					after := run(t, less.apply(t, p, id), nil)
					var now trouble
					if out := after.workOf(id).out; out.Foliage >= smallLeaf {
						now.foliage = out.FoliageOn
					}
					for _, o := range after.workOf(id).out.Overspill {
						if counts(o) {
							now.spill = append(now.spill, o)
						}
					}
					was := trouble{foliage: before.workOf(id).out.FoliageOn}
					for _, o := range before.workOf(id).out.Overspill {
						if counts(o) {
							was.spill = append(was.spill, o)
						}
					}
					if !now.brings(was) {
						t.Errorf("%s\n%+v would do", what, less)
					}
				}
			}
		}
	}
	for _, what := range []string{"turn", "tilt", "1 strips", "2 strips", "mask overspill", "mask foliage"} {
		if seen[what] < 2 {
			t.Errorf("%s advised %d times in all of %v: the sites prove little", what, seen[what], seen)
		}
	}
}

// A bush within the pattern, the boundary covered beside it: the mask is the least
// that hides the bush, a road on either side takes two strips, and where the
// boundary lies behind what must be masked there is none.
func TestTheSmallestMaskCoversWhatItMustAndNoMore(t *testing.T) {
	s := func() *site.Site {
		return new(site.Site).Set("models", []map[string]any{{"id": "wide", "lobes": []map[string]any{{"width_deg": 60, "up_deg": 20, "down_deg": 80, "range_m": 40}}}}).
			Sensor("S1", orb.Point{0, 0}, "wide", 3, 0, 0)
	}
	bush := func(x0, x1 float64) *site.Site {
		return s().Add(model.KindBoundary, "B1", orb.LineString{{-4, 30}, {4, 30}}).
			Add(model.KindFoliage, "F1", orb.Polygon{site.Box(x0, 20, x1, 22)}, model.Prop("height_m", 2), model.Prop("density", "light"))
	}
	deg := func(x, y float64) float64 { return math.Atan2(x, y) * 180 / math.Pi }
	masks := func(text string) []model.Sector {
		if text == "" {
			return nil
		}
		for _, m := range remedies(t, text) {
			if m.masks != nil {
				return m.masks
			}
		}
		return nil
	}
	is := func(what string, got []model.Sector, want ...model.Sector) {
		t.Helper()
		ok := len(got) == len(want)
		for i := 0; ok && i < len(got); i++ {
			ok = got[i].From <= want[i].From+1e-6 && want[i].From-got[i].From < maskStep && got[i].To >= want[i].To-1e-6 && got[i].To-want[i].To < maskStep
		}
		if !ok {
			t.Errorf("%s: masks %v, want %v to half a degree outwards", what, got, want)
		}
	}
	is("a bush beside the line", masks(run(t, bush(6, 8).Plan(t), nil).EndFoliage("S1")), model.Sector{From: deg(6, 22), To: deg(8, 20)})
	is("a bush before the line", masks(run(t, bush(-1, 1).Plan(t), nil).EndFoliage("S1")))
	roads := s().Add(model.KindBoundary, "B1", orb.LineString{{-4, 30}, {4, 30}})
	for i, x := range []float64{-14, 11} {
		roads.Add(model.KindFootpath, fmt.Sprint("P", i+1), orb.Polygon{site.Box(x, 25, x+3, 30)})
	}
	is("paths on either side", masks(run(t, roads.Plan(t), nil).EndOverspill("S1")),
		model.Sector{From: deg(-14, 25), To: deg(-11, 30)}, model.Sector{From: deg(11, 30), To: deg(14, 25)})
	// A lorry is seen at three times the reach.
	lorry := s().Add(model.KindBoundary, "B1", orb.LineString{{-4, 30}, {4, 30}}).Add(model.KindRoad, "R1", orb.Polygon{site.Box(20, 90, 40, 100)})
	is("a road that only a vehicle is seen on", masks(run(t, lorry.Plan(t), nil).EndOverspill("S1")), model.Sector{From: deg(20, 100), To: deg(40, 90)})
}
