package radio

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// shed returns the corners of a rectangle from near to far along the line that
// reaches left metres to one side of it and right to the other.
func shed(near, far, left, right float64) []Corner {
	return []Corner{{near, left}, {far, left}, {near, -right}, {far, -right}}
}

func TestOutsideRoundAThinWallIsAKnifeEdge(t *testing.T) {
	const source = "ITU-R P.526-15 section 4.1: ν = h·√(2/λ·(1/d1+1/d2)), J by equation (31), for small angles"
	for _, row := range []struct{ distance, along, left, right float64 }{
		{400, 200, 5, 12}, {1000, 100, 3, 0.5}, {2000, 1990, 0.2, 0.1}, {800, 300, 0, 9},
	} {
		t.Run(fmt.Sprintf("%+v", row), func(t *testing.T) {
			left, right := Round(row.distance, shed(row.along, row.along, row.left, row.right), 868.3)
			edge := func(h float64) float64 {
				return KnifeEdge(h * math.Sqrt(2/Wavelength(868.3)*(1/row.along+1/(row.distance-row.along))))
			}
			closeTo(t, "left", left, edge(row.left), 0.01, source)
			closeTo(t, "right", right, edge(row.right), 0.01, source)
		})
	}
}

func TestOutsideALorrysLoss(t *testing.T) {
	// 3 m off the line, 20 m from one end of 400 m: ν 1.6, J 17 dB, the same
	// whether the edge stands above the line or beside it.
	left, _ := Round(400, []Corner{{20, 3}}, 868.3)
	closeTo(t, "left", left, 17, 0.6, "worked example of a lorry beside a sensor, rounded to 1 dB")
}

func TestOutsideASharpTurnCostsItsDetour(t *testing.T) {
	// A sensor on a wall 10 m either side of it, the receiver 500 m behind: 9.99 m
	// longer by either end, ν = 2·√(9.99/0.3453) = 10.76, J = 33.5 dB. The small
	// angle form would say 54 dB and grow without limit towards the wall.
	for _, along := range []float64{0.05, 1e-6, 0, -0.05} {
		left, right := Round(500, shed(along, along, 10, 10), 868.3)
		closeTo(t, "left", left, 33.5, 0.1, "P.526-15 section 4.1, ν by the difference of path lengths, worked by hand")
		closeTo(t, "right", right, left, 1e-12, "symmetry")
	}
}

func TestAWayThatTurnsRightBackIsNone(t *testing.T) {
	// A yard closed towards the far end, its sides running on past both antennas.
	left, right := Round(100, []Corner{{-50, 20}, {150, 20}, {50, -5}}, 868.3)
	if !math.IsInf(left, 1) || math.IsInf(right, 1) {
		t.Errorf("left %v dB, right %v dB, want no way on the left", left, right)
	}
	if l, r := Round(0, []Corner{{0, 1}}, 868.3); !math.IsInf(l, 1) || !math.IsInf(r, 1) {
		t.Errorf("over no distance %v and %v dB", l, r)
	}
}

func drawCorners(t *rapid.T, distance float64) []Corner {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Corner {
		return Corner{distance * rapid.Float64Range(-0.1, 1.1).Draw(t, "along"), float64(rapid.IntRange(-600, 600).Draw(t, "aside, dm")) / 10}
	}), 1, 8).Draw(t, "corners")
}

func TestTheWaysRoundAreTheSameFromTheFarEnd(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(1, 2000).Draw(t, "distance")
		f := rapid.Float64Range(30, 6000).Draw(t, "MHz")
		corners := drawCorners(t, d)
		left, right := Round(d, corners, f)
		for i, c := range corners {
			corners[i] = Corner{d - c.Along, -c.Aside}
		}
		backLeft, backRight := Round(d, corners, f)
		for _, v := range [][2]float64{{left, backRight}, {right, backLeft}} {
			if v[0] != v[1] && !(math.Abs(v[0]-v[1]) < 1e-6) {
				t.Fatalf("left %v, right %v; back right %v, left %v", left, right, backRight, backLeft)
			}
			if !(v[0] >= 6) {
				t.Fatalf("%v dB round something that stands in the line", v[0])
			}
		}
	})
}

func TestAWiderBuildingNeverShortensTheWayRound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(1, 2000).Draw(t, "distance")
		corners := drawCorners(t, d)
		left, right := Round(d, corners, 868.3)
		wider := append(corners, drawCorners(t, d)...)
		l, r := Round(d, wider, 868.3)
		if l < left-1e-9 || r < right-1e-9 {
			t.Fatalf("left %v then %v, right %v then %v", left, l, right, r)
		}
	})
}

func TestOutsideWaysAddAsPowers(t *testing.T) {
	none := math.Inf(1)
	const source = "10·log10 of the sum of powers, by hand"
	for _, row := range []struct {
		w    Ways
		want float64
		way  Way
	}{
		{Ways{0, 20, none, none, none}, 20, Over},
		{Ways{0, 20, 20, none, none}, 20 - 3.0103, Over},
		{Ways{0, 20, 20, 20, 20}, 20 - 6.0206, Over},
		{Ways{2, 30, 20, 12, 40}, 11.2962, Right},
		{Ways{2, 30, 19, none, none}, 18.6681, Left},
		{Ways{2, 30, none, none, 9}, 8.9657, Through},
		{Ways{3, 4, 4, 4, 4}, 3, Clear}, // never less than the bare ground
		{Ways{3, 3, 9, 9, none}, 3, Clear},
	} {
		t.Run(fmt.Sprintf("%+v", row.w), func(t *testing.T) {
			closeTo(t, "DB", row.w.DB(), row.want, 0.0001, source)
			if got := row.w.Main(); got != row.way {
				t.Errorf("main way %q, want %q", got, row.way)
			}
		})
	}
}

func TestNoWayAtAllLosesEverything(t *testing.T) {
	if got := Past(5, math.Inf(1), math.Inf(1), math.Inf(1), math.Inf(1)).DB(); !math.IsInf(got, 1) {
		t.Errorf("%v dB, want +Inf", got)
	}
}

// The whole chain: a building on a profile, over, round and through. It is the
// same both ways, lies between bare ground and the way over, and a taller
// building never loses less.
func TestThePathPastABuildingIsTheSameBothWays(t *testing.T) {
	brick, _ := MaterialNamed("brick")
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(20, 1500).Draw(t, "distance")
		near := rapid.Float64Range(1, d-8).Draw(t, "near")
		far := near + rapid.Float64Range(1, 6).Draw(t, "deep")
		left, right := rapid.Float64Range(0, 40).Draw(t, "left"), rapid.Float64Range(0, 40).Draw(t, "right")
		top := rapid.Float64Range(0, 15).Draw(t, "top")
		htg, hrg := rapid.Float64Range(0.5, 8).Draw(t, "htg"), rapid.Float64Range(0.5, 8).Draw(t, "hrg")
		c := Conditions{FreqMHz: rapid.SampledFrom([]float64{433.92, 868.3, 915}).Draw(t, "MHz")}
		ground := func(t float64) float64 { return 2 * math.Sin(t/90) }
		past := func(top float64, back bool) Ways {
			p := BuildProfile(d, 5, ground, []Insert{{From: near, To: far, Top: top}})
			corners := shed(near, far, left, right)
			a, b := htg, hrg
			if back {
				p, a, b = mirrored(p), hrg, htg
				corners = shed(d-far, d-near, right, left)
			}
			bare := p
			bare.G = bare.H
			l, r := Round(d, corners, c.FreqMHz)
			return Past(Diffract(bare, a, b, c).DeltaBullingtonDB, Diffract(p, a, b, c).DeltaBullingtonDB, l, r, Walls{Material: brick, Count: 2}.Loss(c.FreqMHz))
		}
		there, back, taller := past(top, false), past(top, true), past(top+rapid.Float64Range(0, 10).Draw(t, "taller by"), false)
		if math.Abs(there.DB()-back.DB()) > 1e-6 {
			t.Fatalf("%v dB there, %v back", there.DB(), back.DB())
		}
		if there.DB() < there.BareDB || there.DB() > there.OverDB {
			t.Fatalf("%v dB is not between bare and over: %+v", there.DB(), there)
		}
		if taller.DB() < there.DB()-1e-9 || taller.OverDB < there.OverDB-1e-9 {
			t.Fatalf("%+v, taller %+v", there, taller)
		}
	})
}
