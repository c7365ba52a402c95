package radio

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestStepsAreNoLongerThanAsked(t *testing.T) {
	for _, row := range []struct {
		distance, step float64
		want           int
	}{
		{100, 5, 20}, {100.1, 5, 21}, {4.9, 5, 1}, {5, 5, 1}, {0, 5, 1}, {1000, 3, 334},
	} {
		if got := Steps(row.distance, row.step); got != row.want {
			t.Errorf("Steps(%v m, %v m) = %d, want %d", row.distance, row.step, got, row.want)
		}
	}
}

func TestABareProfileHasEqualSteps(t *testing.T) {
	p := BuildProfile(12, 5, func(t float64) float64 { return 100 + t }, nil)
	if !slices.Equal(p.D, []float64{0, 4, 8, 12}) || !slices.Equal(p.H, []float64{100, 104, 108, 112}) || !slices.Equal(p.G, p.H) {
		t.Errorf("%+v", p)
	}
}

func TestABuildingIsLevelAndAnObstacleFollowsTheGround(t *testing.T) {
	slope := func(t float64) float64 { return t / 10 }
	p := BuildProfile(40, 10, slope, []Insert{
		{From: 5, To: 15, Top: 6},
		{From: 25, To: 35, Top: 2, AboveGround: true},
	})
	want := Profile{
		D: []float64{0, 5, 10, 15, 20, 25, 30, 35, 40},
		H: []float64{0, 0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4},
		G: []float64{0, 6, 6, 6, 2, 4.5, 5, 5.5, 4},
	}
	for i, column := range [][2][]float64{{p.D, want.D}, {p.H, want.H}, {p.G, want.G}} {
		if !slices.EqualFunc(column[0], column[1], func(a, b float64) bool { return math.Abs(a-b) < 1e-12 }) {
			t.Errorf("column %d: %v, want %v", i, column[0], column[1])
		}
	}
}

func TestGroundAboveABuildingsTopStands(t *testing.T) {
	p := BuildProfile(20, 10, level(9), []Insert{{From: 8, To: 12, Top: 6}})
	if !slices.Equal(p.G, []float64{9, 9, 9, 9, 9}) {
		t.Errorf("G = %v, want the ground", p.G)
	}
}

func TestTheHighestOfOverlappingTopsStands(t *testing.T) {
	p := BuildProfile(40, 40, level(0), []Insert{
		{From: 10, To: 30, Top: 5},
		{From: 20, To: 35, Top: 3},
		{From: 25, To: 25, Top: 8},
	})
	if !slices.Equal(p.D, []float64{0, 10, 20, 25, 30, 35, 40}) || !slices.Equal(p.G, []float64{0, 5, 5, 8, 5, 3, 0}) {
		t.Errorf("D %v, G %v", p.D, p.G)
	}
}

func TestOfPointsWithinAMillimetreTheHighestIsKept(t *testing.T) {
	for _, row := range []struct {
		name    string
		inserts []Insert
		d, g    []float64 // interior points
	}{
		{"a step beside a wall", []Insert{{From: 10.0004, To: 10.0004, Top: 3}}, []float64{10.0004}, []float64{3}},
		{"a step before a building", []Insert{{From: 10.0004, To: 15, Top: 3}}, []float64{10.0004, 15}, []float64{3, 3}},
		{"a step behind a building", []Insert{{From: 5, To: 9.9996, Top: 3}}, []float64{5, 9.9996}, []float64{3, 3}},
		{"two walls", []Insert{{From: 4, To: 4, Top: 2}, {From: 4.0009, To: 4.0009, Top: 3}}, []float64{4.0009, 10}, []float64{3, 0}},
		{"two walls alike", []Insert{{From: 4, To: 4, Top: 2}, {From: 4.0008, To: 4.0008, Top: 2}}, []float64{4.0004, 10}, []float64{2, 0}},
		{"two walls just apart", []Insert{{From: 4, To: 4, Top: 2}, {From: 4.0011, To: 4.0011, Top: 3}}, []float64{4, 4.0011, 10}, []float64{2, 3, 0}},
		{"a wall the ground is level with", []Insert{{From: 10.0004, To: 10.0004, Top: 0}}, []float64{10.0004}, []float64{0}},
		{"a wall at the antenna", []Insert{{From: 0.0009, To: 0.0009, Top: 2}, {From: 20, To: 20, Top: 2}}, []float64{10}, []float64{0}},
	} {
		t.Run(row.name, func(t *testing.T) {
			p := BuildProfile(20, 10, level(0), row.inserts)
			d, g := p.D[1:len(p.D)-1], p.G[1:len(p.G)-1]
			if !slices.EqualFunc(d, row.d, func(a, b float64) bool { return math.Abs(a-b) < 1e-9 }) || !slices.Equal(g, row.g) {
				t.Errorf("D %v, G %v, want %v, %v", d, g, row.d, row.g)
			}
		})
	}
}

func TestTheAntennasStandOnTheGround(t *testing.T) {
	p := BuildProfile(20, 10, level(1), []Insert{{From: -5, To: 25, Top: 6}})
	if !slices.Equal(p.D, []float64{0, 10, 20}) || !slices.Equal(p.G, []float64{1, 6, 1}) {
		t.Errorf("D %v, G %v, want the top between the ends alone", p.D, p.G)
	}
}

func TestProfilesOfNoLength(t *testing.T) {
	for _, d := range []float64{0, 0.0005, 0.0015} {
		p := BuildProfile(d, 5, level(3), []Insert{{From: 0, To: 1, Top: 9}})
		if !slices.Equal(p.D, []float64{0, d}) || !slices.Equal(p.G, []float64{3, 3}) {
			t.Errorf("%v m: %+v", d, p)
		}
	}
}

// drawInserts draws things standing on a line of distance metres, many of their
// ends fractions of a millimetre apart.
func drawInserts(t *rapid.T, distance float64) []Insert {
	place := rapid.Custom(func(t *rapid.T) float64 {
		coarse := rapid.IntRange(-1, 11).Draw(t, "tenth")
		fine := rapid.IntRange(-3, 3).Draw(t, "0.4 mm")
		return distance*float64(coarse)/10 + 0.0004*float64(fine)
	})
	var out []Insert
	for range rapid.IntRange(0, 6).Draw(t, "inserts") {
		a := place.Draw(t, "from")
		b := a
		if rapid.Bool().Draw(t, "has thickness") {
			b = place.Draw(t, "to")
		}
		out = append(out, Insert{From: min(a, b), To: max(a, b),
			Top: rapid.SampledFrom([]float64{0, 2, 3, 7}).Draw(t, "top"), AboveGround: rapid.Bool().Draw(t, "above ground")})
	}
	return out
}

// onTheLimit reports whether two places on the line are a millimetre apart but
// for rounding: whether they are merged is then anyone's choice.
func onTheLimit(distance float64, n int, inserts []Insert) bool {
	places := []float64{0, distance}
	for i := 1; i < n; i++ {
		places = append(places, stepAt(i, n, distance))
	}
	for _, in := range inserts {
		places = append(places, in.From, in.To)
	}
	slices.Sort(places)
	for i, a := range places {
		for _, b := range places[i+1:] {
			if math.Abs(b-a-mergeWithin) < 1e-9 {
				return true
			}
			if b-a > mergeWithin+1e-9 {
				break
			}
		}
	}
	return false
}

func TestTheProfileFromTheFarEndIsTheMirrorImage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		distance := rapid.Float64Range(0.01, 2000).Draw(t, "distance")
		step := rapid.SampledFrom([]float64{0.5, 1, 5, 7.3, 50}).Draw(t, "step")
		step = max(step, distance/500)
		wave := rapid.Float64Range(5, 200).Draw(t, "wave")
		rough := rapid.Bool().Draw(t, "rough")
		ground := func(t float64) float64 {
			if rough {
				return 3 * math.Sin(t/wave)
			}
			return 1
		}
		inserts := drawInserts(t, distance)
		var turned []Insert
		for _, in := range inserts {
			turned = append(turned, Insert{From: distance - in.To, To: distance - in.From, Top: in.Top, AboveGround: in.AboveGround})
		}
		slices.Reverse(turned)
		if onTheLimit(distance, Steps(distance, step), inserts) {
			return
		}
		p := BuildProfile(distance, step, ground, inserts)
		q := mirrored(BuildProfile(distance, step, func(t float64) float64 { return ground(distance - t) }, turned))
		if err := p.Check(); err != nil {
			t.Fatal(err)
		}
		near := func(a, b float64) bool { return math.Abs(a-b) < 1e-9 }
		if !slices.EqualFunc(p.D, q.D, near) || !slices.EqualFunc(p.H, q.H, near) || !slices.EqualFunc(p.G, q.G, near) {
			t.Fatalf("there %+v\nback  %+v", p, q)
		}
		for i := 1; i < len(p.D); i++ {
			if p.D[i]-p.D[i-1] < mergeWithin-1e-9 {
				t.Fatalf("points at %v and %v m", p.D[i-1], p.D[i])
			}
		}
		// No thing standing on the line is stepped over.
		for _, in := range inserts {
			for _, end := range []float64{in.From, in.To} {
				if end < 0.005 || end > distance-0.005 {
					continue
				}
				found := false
				for i, d := range p.D {
					found = found || math.Abs(d-end) < 0.0045 && p.G[i] >= in.top(p.H[i])-0.01
				}
				if !found {
					t.Fatalf("no point at %v m holds the top of %+v", end, in)
				}
			}
		}
	})
}

func TestABuilderForgetsTheProfileBefore(t *testing.T) {
	ground, inserts := site()
	var b Builder
	b.Build(1500, 3, ground, inserts)
	got, want := b.Build(700, 5, ground, inserts), BuildProfile(700, 5, ground, inserts)
	if !slices.Equal(got.D, want.D) || !slices.Equal(got.H, want.H) || !slices.Equal(got.G, want.G) {
		t.Errorf("%+v, want %+v", got, want)
	}
}

func TestCheckNamesThePointThatIsWrong(t *testing.T) {
	for _, row := range []struct {
		name string
		p    Profile
		want string
	}{
		{"one point", Profile{D: []float64{0}, H: []float64{0}, G: []float64{0}}, "at least 2 points, not 1"},
		{"unequal columns", Profile{D: []float64{0, 1}, H: []float64{0}, G: []float64{0, 1}}, "2 distances, 1 and 2 heights"},
		{"late start", Profile{D: []float64{1, 2}, H: []float64{0, 0}, G: []float64{0, 0}}, "point 1: distance 1 m is not 0"},
		{"backwards", Profile{D: []float64{0, 5, 4}, H: make([]float64, 3), G: make([]float64, 3)}, "point 3: distance 4 m is not between 5"},
		{"no number", Profile{D: []float64{0, math.NaN()}, H: make([]float64, 2), G: make([]float64, 2)}, "point 2: distance NaN"},
		{"endless", Profile{D: []float64{0, math.Inf(1)}, H: make([]float64, 2), G: make([]float64, 2)}, "point 2: distance +Inf"},
		{"high", Profile{D: []float64{0, 1}, H: []float64{0, 1e9}, G: []float64{0, 1e9}}, "point 2: height 1e+09 m is not between -100000 and 100000"},
		{"height no number", Profile{D: []float64{0, 1}, H: []float64{math.NaN(), 0}, G: []float64{0, 0}}, "point 1: height NaN"},
		{"sunk obstacle", Profile{D: []float64{0, 1, 2}, H: []float64{0, 3, 0}, G: []float64{0, 2, 0}}, "point 2: ground with obstacles 2 m is below the bare ground 3 m"},
	} {
		t.Run(row.name, func(t *testing.T) {
			if err := row.p.Check(); err == nil || !strings.Contains(err.Error(), row.want) {
				t.Errorf("%v, want it to say %q", err, row.want)
			}
		})
	}
	if err := flat500.Check(); err != nil {
		t.Error(err)
	}
}

func BenchmarkBuild(b *testing.B) {
	ground, inserts := site()
	var build Builder
	b.ReportAllocs()
	for b.Loop() {
		build.Build(1000, 5, ground, inserts)
	}
}
