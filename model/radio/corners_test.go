package radio

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

// box returns the outline of a rectangle.
func box(x0, y0, x1, y1 float64) orb.LineString {
	return orb.LineString{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}
}

// reach returns how far the corners lie to the left and to the right.
func reach(corners []Corner) (left, right float64) {
	for _, c := range corners {
		left, right = max(left, c.Aside), max(right, -c.Aside)
	}
	return left, right
}

func TestOnlyWhatStandsInTheWayIsGoneRound(t *testing.T) {
	a, b := orb.Point{0, 0}, orb.Point{100, 0}
	shed := box(40, -5, 60, 8)
	for _, row := range []struct {
		name        string
		shapes      []orb.LineString
		left, right float64
	}{
		{"nothing", nil, 0, 0},
		{"a shed off the line", []orb.LineString{box(40, 1, 60, 8)}, 0, 0},
		{"a shed in the line", []orb.LineString{shed}, 8, 5},
		{"a wall in the line", []orb.LineString{{{50, -3}, {50, 12}}}, 12, 3},
		{"a wall beside the way", []orb.LineString{shed, {{10, 9}, {90, 9}}}, 8, 5},
		{"a terrace", []orb.LineString{box(40, 18, 60, 28), box(40, 8, 60, 18), shed}, 28, 5},
		{"a gap a man slips through", []orb.LineString{shed, box(40, 8.4, 60, 20)}, 20, 5},
		{"a gap a car drives through", []orb.LineString{shed, box(40, 11, 60, 20)}, 8, 5},
		{"a second shed in the way round", []orb.LineString{shed, box(15, 2, 25, 30)}, 30, 5},
		{"a third behind that", []orb.LineString{box(60, 10, 80, 50), shed, box(15, 2, 25, 30)}, 50, 5},
	} {
		t.Run(row.name, func(t *testing.T) {
			corners := Corners(a, b, row.shapes)
			if left, right := reach(corners); left != row.left || right != row.right {
				t.Errorf("%v m to the left and %v to the right, want %v and %v: %v", left, right, row.left, row.right, corners)
			}
		})
	}
	if got := Corners(a, a, []orb.LineString{shed}); got != nil {
		t.Errorf("over no distance %v", got)
	}
}

func TestCornersLieAlongTheLineWhateverItsBearing(t *testing.T) {
	// A wall 30 m along a line that runs north-west, 2 m to its left (south-west).
	s := math.Sqrt2 / 2
	at := func(along, left float64) orb.Point { return orb.Point{500 - along*s - left*s, 300 + along*s - left*s} }
	got := Corners(at(0, 0), at(80, 0), []orb.LineString{{at(30, 2), at(31, -7)}})
	want := []Corner{{30, 2}, {31, -7}}
	if !slices.EqualFunc(got, want, func(a, b Corner) bool { return math.Hypot(a.Along-b.Along, a.Aside-b.Aside) < 1e-9 }) {
		t.Errorf("%v, want %v", got, want)
	}
}

func TestTheWaysRoundWhatStandsThereAreTheSameBothWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		metres := func(name string, least, most int) float64 { return float64(rapid.IntRange(least, most).Draw(t, name)) }
		// Off the whole metres, where two things never touch the line by chance.
		a, b := orb.Point{0.137, metres("a", 0, 100) + 0.273}, orb.Point{metres("b east", 20, 200) + 0.719, metres("b north", 0, 100) + 0.641}
		var shapes []orb.LineString
		for range rapid.IntRange(0, 6).Draw(t, "shapes") {
			x, y := metres("x", 5, 190), metres("y", -20, 110)
			shapes = append(shapes, box(x, y, x+metres("deep", 1, 30), y+metres("wide", 1, 30)))
		}
		d := math.Hypot(b[0]-a[0], b[1]-a[1])
		there, back := Corners(a, b, shapes), Corners(b, a, shapes)
		if len(there) != len(back) {
			t.Fatalf("%d corners there, %d back", len(there), len(back))
		}
		left, right := Round(d, there, 868.3)
		backLeft, backRight := Round(d, back, 868.3)
		for _, v := range [][2]float64{{left, backRight}, {right, backLeft}} {
			if v[0] != v[1] && !(math.Abs(v[0]-v[1]) < 1e-6) {
				t.Fatalf("left %v, right %v; back right %v, left %v", left, right, backRight, backLeft)
			}
		}
		// The order in which things are stated does not matter.
		slices.Reverse(shapes)
		again := Corners(a, b, shapes)
		if l, r := Round(d, again, 868.3); l != left || r != right {
			t.Fatalf("left %v, right %v; stated backwards %v, %v", left, right, l, r)
		}
	})
}
