package analysis

import (
	"bytes"
	"fmt"
	"math"
	"math/rand"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/coverage"
	"pleach/model/scene"
	"pleach/testdata/site"
)

// lawSite is a small random site: its features in metres, the boundary first.
type lawSite struct {
	ring orb.Ring // closed, anticlockwise
	rest func(*site.Site)
}

// plan makes the plan with the boundary given as ring.
func (l lawSite) plan(t testing.TB, ring orb.Ring) *model.Plan {
	t.Helper()
	var s site.Site
	s.Add(model.KindBoundary, "B1", orb.Polygon{ring})
	l.rest(&s)
	return s.Plan(t)
}

func newLawSite(r *rand.Rand) lawSite {
	n := 5 + r.Intn(5)
	var ring orb.Ring
	for i := range n {
		a := 2 * math.Pi * (float64(i) + 0.4*r.Float64()) / float64(n)
		d := 30 + r.Float64()*30
		ring = append(ring, orb.Point{d * math.Cos(a), d * math.Sin(a)})
	}
	ring = append(ring, ring[0])
	seed := r.Int63()
	return lawSite{ring: ring, rest: func(s *site.Site) {
		r := rand.New(rand.NewSource(seed))
		at := func() orb.Point { return orb.Point{r.Float64()*90 - 45, r.Float64()*90 - 45} }
		for range 2 + r.Intn(4) {
			s.Building("", site.Turned(at(), 4+r.Float64()*10, 3+r.Float64()*8, r.Float64()*3), 0.5+r.Float64()*5)
		}
		for range r.Intn(4) {
			p := at()
			s.Add(model.KindObstacle, "", orb.LineString{p, {p[0] + r.Float64()*20 - 10, p[1] + r.Float64()*20 - 10}}, model.Prop("height_m", 0.3+r.Float64()*3), model.Prop("impassable", r.Intn(2) == 0))
		}
		s.Add(model.KindFoliage, "", orb.Polygon{site.Turned(at(), 8, 20, r.Float64()*3)}, model.Prop("height_m", 6.0), model.Prop("density", model.Dense))
		p, q := ring[1], ring[2]
		s.Add(model.KindExcluded, "", orb.LineString{{0.7*p[0] + 0.3*q[0], 0.7*p[1] + 0.3*q[1]}, {0.5*p[0] + 0.5*q[0], 0.5*p[1] + 0.5*q[1]}}, model.Prop("reason", "quarry face"))
		s.Add(model.KindRoad, "", orb.LineString{{-80, 40 + 20*r.Float64()}, {80, 40 + 20*r.Float64()}})
		models := model.Builtin()
		for i := range 3 + r.Intn(4) {
			k := r.Intn(n)
			p, q := ring[k], ring[k+1]
			s.Sensor(fmt.Sprintf("S%d", i+1), orb.Point{p[0]*0.97 + r.Float64(), p[1]*0.97 + r.Float64()}, models[r.Intn(len(models))].ID, 2.5+r.Float64(),
				math.Atan2(q[0]-p[0], q[1]-p[1])*180/math.Pi+r.Float64()*12-6, r.Float64()*3, model.Prop("address", i+1))
		}
		s.Add(model.KindReceiver, "RX", at(), model.Prop("antenna_height_m", 6.0))
		s.Add(model.KindRepeater, "RP1", at(), model.Prop("antenna_height_m", 4.0), model.Prop("address", 100))
	}}
}

// coverages lists what holds for the target and the postures.
func coverages(b Boundary) []Coverage { return append([]Coverage{b.Target}, b.Postures...) }

func TestAnEditAndAnAnalysisLeaveTheOldPlanAlone(t *testing.T) {
	r := rand.New(rand.NewSource(31))
	p := newLawSite(r)
	plan := p.plan(t, p.ring)
	for i := range 25 {
		before := plan.JSON()
		flaws := fmt.Sprint(plan.AllFlaws())
		first := run(t, plan, nil)
		e := randomEdit(r, plan)
		next, err := e.Apply(plan)
		if err != nil {
			t.Fatal(err)
		}
		run(t, next, first)
		if !bytes.Equal(plan.JSON(), before) || fmt.Sprint(plan.AllFlaws()) != flaws {
			t.Fatalf("edit %d, %s: the plan it was made from has changed", i, e.Label())
		}
		if bytes.Equal(next.JSON(), before) {
			t.Errorf("edit %d, %s: nothing has changed", i, e.Label())
		}
		same(t, fmt.Sprintf("edit %d, %s: the old plan analysed again", i, e.Label()), run(t, plan, nil), first)
		plan = next
	}
}

func TestCoveredAndGapsAndClosedAreTheWholeBoundary(t *testing.T) {
	r := rand.New(rand.NewSource(32))
	gaps := 0
	for n := range 60 {
		l := newLawSite(r)
		checkSums(t, fmt.Sprintf("site %d", n), run(t, l.plan(t, l.ring), nil), &gaps)
	}
	if gaps < 100 {
		t.Errorf("only %d gaps: the sites prove little", gaps)
	}
}

// checkSums holds stretches, gaps and sums against the length of each boundary.
func checkSums(t testing.TB, what string, res *Result, gaps *int) {
	t.Helper()
	for _, b := range res.Boundaries {
		for _, c := range coverages(b) {
			sum, closed, at := c.Covered, 0.0, 0.0
			for _, s := range c.Stretches {
				if math.Abs(s.From-at) > 1e-9 || s.To < s.From {
					t.Errorf("%s, %s, %s: a stretch from %v to %v after one to %v", what, b.ID, c.Name, s.From, s.To, at)
				}
				at = s.To
				if s.State == coverage.Closed {
					closed += s.To - s.From
				}
			}
			if c.Name == "target" && math.Abs(closed-b.Closed) > 1e-6 {
				t.Errorf("%s, %s: %v m closed, its stretches %v", what, b.ID, b.Closed, closed)
			}
			for _, g := range c.Gaps {
				sum += g.Length
				*gaps++
				if g.Cause == "" {
					t.Errorf("%s, %s, %s: the gap from %v has no cause", what, b.ID, c.Name, g.From)
				}
			}
			if math.Abs(sum+closed-b.Length) > 0.001 || math.Abs(at-b.Length) > 1e-6 {
				t.Errorf("%s, %s, %s: covered %v, gaps and closed are %v of %v m", what, b.ID, c.Name, c.Covered, sum+closed, b.Length)
			}
			if c.Overlap > c.Covered+0.1*float64(1+len(c.Overlaps)) {
				t.Errorf("%s, %s, %s: overlap %v, covered %v", what, b.ID, c.Name, c.Overlap, c.Covered)
			}
			if c.Share != nil && (*c.Share < 0 || *c.Share > 1+1e-9) || math.IsNaN(c.Covered+c.Overlap) {
				t.Errorf("%s, %s, %s: share %v, covered %v, overlap %v", what, b.ID, c.Name, *c.Share, c.Covered, c.Overlap)
			}
		}
	}
}

// sameGaps fails the test where two lists of gaps differ by more than tol metres
// of chainage, or in cause. move takes the second's chainage to the first's.
func sameGaps(t *testing.T, what string, a, b Coverage, length, tol float64, move func(Gap) (from, to float64)) {
	t.Helper()
	left := slices.Clone(b.Gaps)
	apart := func(x, y float64) float64 { return math.Abs(math.Remainder(x-y, length)) }
next:
	for _, g := range a.Gaps {
		for i, h := range left {
			from, to := move(h)
			if apart(g.From, from) <= tol && apart(g.To, to) <= tol && math.Abs(g.Length-h.Length) <= 2*tol {
				if g.Cause != h.Cause {
					t.Errorf("%s, %s: the gap from %.4f to %.4f is %s, then %s", what, a.Name, g.From, g.To, g.Cause, h.Cause)
				}
				left = slices.Delete(left, i, i+1)
				continue next
			}
		}
		t.Errorf("%s, %s: the gap from %.4f to %.4f is gone; there are %v", what, a.Name, g.From, g.To, b.Gaps)
		return
	}
	if len(left) > 0 {
		t.Errorf("%s, %s: new gaps %v", what, a.Name, left)
	}
	if math.Abs(a.Covered-b.Covered) > tol || math.Abs(a.Overlap-b.Overlap) > tol {
		t.Errorf("%s, %s: covered %.5f and overlap %.5f, then %.5f and %.5f", what, a.Name, a.Covered, a.Overlap, b.Covered, b.Overlap)
	}
}

func TestTheRingsStartAndDirectionChangeOnlyChainage(t *testing.T) {
	r := rand.New(rand.NewSource(33))
	for n := range 40 {
		l := newLawSite(r)
		res := run(t, l.plan(t, l.ring), nil)
		b := res.Boundaries[0]
		open := l.ring[:len(l.ring)-1]
		k := 1 + r.Intn(len(open)-1)
		turned := append(append(orb.Ring{}, open[k:]...), open[:k]...)
		turned = append(turned, turned[0])
		shift := res.Scene.Boundaries[0].At[k]
		other := run(t, l.plan(t, turned), nil).Boundaries[0]
		for i, c := range coverages(b) {
			sameGaps(t, fmt.Sprintf("site %d from corner %d", n, k), c, coverages(other)[i], b.Length, 0.001, func(g Gap) (float64, float64) { return g.From + shift, g.To + shift })
		}
		back := slices.Clone(l.ring)
		slices.Reverse(back)
		other = run(t, l.plan(t, back), nil).Boundaries[0]
		for i, c := range coverages(b) {
			sameGaps(t, fmt.Sprintf("site %d turned round", n), c, coverages(other)[i], b.Length, 0.001, func(g Gap) (float64, float64) { return -g.To, -g.From })
		}
	}
}

// A plan's coordinates are rounded to 0.1 mm, which turns short edges a little:
// the law itself is held to 1 mm in package coverage.
func TestMoreCornersOnTheSameLineChangeNothing(t *testing.T) {
	const rounded = 0.005
	r := rand.New(rand.NewSource(34))
	for n := range 40 {
		l := newLawSite(r)
		b := run(t, l.plan(t, l.ring), nil).Boundaries[0]
		var dense orb.Ring
		for i := 0; i+1 < len(l.ring); i++ {
			p, q := l.ring[i], l.ring[i+1]
			dense = append(dense, p)
			for k, m := 1, 1+r.Intn(8); k < m; k++ {
				s := float64(k) / float64(m)
				dense = append(dense, orb.Point{p[0] + s*(q[0]-p[0]), p[1] + s*(q[1]-p[1])})
			}
		}
		other := run(t, l.plan(t, append(dense, dense[0])), nil).Boundaries[0]
		if math.Abs(b.Length-other.Length) > 0.001 {
			t.Errorf("site %d: %v m long, with more corners %v", n, b.Length, other.Length)
		}
		for i, c := range coverages(b) {
			sameGaps(t, fmt.Sprintf("site %d with %d corners", n, len(dense)), c, coverages(other)[i], b.Length, rounded, func(g Gap) (float64, float64) { return g.From, g.To })
		}
	}
}

func TestTheOrderOfSensorsInTheFileChangesNothingButOrder(t *testing.T) {
	r := rand.New(rand.NewSource(35))
	for n := range 30 {
		l := newLawSite(r)
		p := l.plan(t, l.ring)
		features := slices.Clone(p.Features)
		var at []int
		for i, f := range features {
			if f.Kind == model.KindSensor {
				at = append(at, i)
			}
		}
		i, j := at[0], at[1+r.Intn(len(at)-1)]
		features[i], features[j] = features[j], features[i]
		q, err := model.Add{Features: features}.Apply(model.NewPlan())
		if err != nil {
			t.Fatal(err)
		}
		a, b := run(t, p, nil), run(t, q, nil)
		byID := func(s, o Sensor) int { return strings.Compare(s.ID, o.ID) }
		slices.SortFunc(a.Sensors, byID)
		slices.SortFunc(b.Sensors, byID)
		byEnds := func(k, o Link) int { return strings.Compare(k.From+" "+k.To, o.From+" "+o.To) }
		slices.SortFunc(a.Links, byEnds)
		slices.SortFunc(b.Links, byEnds)
		byText := func(f, g model.Finding) int {
			return strings.Compare(fmt.Sprint(f.Severity, f.Rule, f.Subject, f.Text), fmt.Sprint(g.Severity, g.Rule, g.Subject, g.Text))
		}
		slices.SortFunc(a.Findings, byText)
		slices.SortFunc(b.Findings, byText)
		for _, res := range []*Result{a, b} {
			for k, f := range res.Findings {
				if f.Rule == "unproved" || f.Rule == "low-sun" { // one finding for all, in the order of the file
					res.Findings[k].Subject = slices.Sorted(slices.Values(f.Subject))
				}
			}
			for k := range res.Boundaries {
				slices.SortFunc(res.Boundaries[k].Spans, func(s, o SensorSpans) int { return strings.Compare(s.ID, o.ID) })
			}
		}
		same(t, fmt.Sprintf("site %d, sensors %d and %d swapped", n, i, j), a, b)
	}
}

func TestAnAddedSensorNeverLowersCoverage(t *testing.T) {
	r := rand.New(rand.NewSource(36))
	more := 0
	for n := range 60 {
		l := newLawSite(r)
		p := l.plan(t, l.ring)
		before := run(t, p, nil)
		s := p.Of(model.KindSensor)[0]
		at := s.Geometry.(orb.Point)
		q, err := model.Add{Features: []*model.Feature{s.WithID("S99").WithGeometry(orb.Point{at[0] + (r.Float64()-0.5)*5e-4, at[1] + (r.Float64()-0.5)*4e-4}).WithProperty("bearing_deg", r.Float64()*360)}}.Apply(p)
		if err != nil {
			t.Fatal(err)
		}
		after := run(t, q, nil)
		for i, b := range before.Boundaries {
			for k, c := range coverages(b) {
				d := coverages(after.Boundaries[i])[k]
				// Stretches under 0.1 m are merged into the longer neighbour.
				if d.Covered < c.Covered-0.1 || d.Overlap < c.Overlap-0.1 {
					t.Errorf("site %d, %s: covered %.4f and overlap %.4f, with one more sensor %.4f and %.4f", n, c.Name, c.Covered, c.Overlap, d.Covered, d.Overlap)
				}
				if d.Covered > c.Covered+1 {
					more++
				}
			}
		}
	}
	if more < 10 {
		t.Errorf("only %d times did the sensor cover anything new: the sites prove little", more)
	}
}

func TestALinkIsTheSameBothWays(t *testing.T) {
	r := rand.New(rand.NewSource(37))
	blocked := 0
	for n := range 40 {
		l := newLawSite(r)
		p := l.plan(t, l.ring)
		sc := scene.New(p)
		devices := p.Of(model.KindSensor, model.KindRepeater, model.KindReceiver)
		for range 10 {
			a, b := devices[r.Intn(len(devices))], devices[r.Intn(len(devices))]
			if a == b {
				continue
			}
			k, there, _, err := LinkBetween(sc, a.ID, b.ID)
			if err != nil {
				t.Fatal(err)
			}
			o, back, _, err := LinkBetween(sc, b.ID, a.ID)
			if err != nil {
				t.Fatal(err)
			}
			what := fmt.Sprintf("site %d, %s and %s", n, a.ID, b.ID)
			for _, v := range []struct {
				name     string
				one, two float64
			}{
				{"loss", k.Loss, o.Loss}, {"diffraction", k.Diffraction, o.Diffraction}, {"single edge", k.SingleEdge, o.SingleEdge}, {"distance", k.Distance, o.Distance},
				{"clearance", k.Clearance, o.Clearance}, {"margin", k.Margin, o.Margin}, {"received", k.Received, o.Received}, {"probability", k.Probability, o.Probability},
				{"place of the clearance", 0, math.Hypot(k.ClearanceAt[0]-o.ClearanceAt[0], k.ClearanceAt[1]-o.ClearanceAt[1])},
			} {
				if math.Abs(v.one-v.two) > 1e-6 {
					t.Errorf("%s: %s %v one way, %v the other", what, v.name, v.one, v.two)
				}
			}
			if len(there.D) != len(back.D) {
				t.Errorf("%s: the profile has %d points one way, %d the other", what, len(there.D), len(back.D))
			}
			if k.Diffraction > 3 {
				blocked++
			}
		}
	}
	if blocked < 20 {
		t.Errorf("only %d links are obstructed: the sites prove little", blocked)
	}
}
