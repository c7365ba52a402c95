package aim

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model/scene"
	"pleach/model/terrain"
	"pleach/testdata/published"
	"pleach/testdata/site"
)

// least is a part of a target so small that it stands for any touch.
const least = 1e-9

// lobe is a sensor model of one lobe, called "one", as a member of a plan.
func lobe(width, up, down, reach float64) []any {
	return []any{map[string]any{"id": "one", "name": "One lobe", "lobes": []any{
		map[string]any{"azimuth_deg": 0, "width_deg": width, "up_deg": up, "down_deg": down, "range_m": reach}}}}
}

// look aims a sensor of one lobe from a post at the origin due east.
func look(t *testing.T, models []any, height, visible, tilt float64, ground *terrain.Grid) *Aim {
	t.Helper()
	var s site.Site
	s.Set("models", models).Set("target", map[string]any{"height_m": height, "min_visible": visible})
	s.Sensor("S1", orb.Point{0, 0}, "one", 3, 90, tilt)
	a, err := Of(scene.OnGround(s.Plan(t), site.Grid, ground), "S1")
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// slope is ground that rises to the east by s metres a metre.
func slope(t *testing.T, s float64) *terrain.Grid {
	t.Helper()
	const n, west = 620, 50
	z := make([]float32, 3*n)
	for i := range z {
		z[i] = float32(s * float64(i%n-west))
	}
	g, err := terrain.New(n, 3, z, terrain.Affine([3]float64{west, 1, 0}, [3]float64{1, 0, -1}), orb.Bound{Min: orb.Point{-50, -1}, Max: orb.Point{569, 1}})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func TestOutsideAxisOfATiltedSensor(t *testing.T) {
	rows := published.Load(t, "detection.csv")
	axis := func(tilt float64) *Aim { return look(t, lobe(4, 1, 3, 500), 1.7, 0.5, tilt, nil) }
	rows.Check(t, "O27-ground", axis(2).Axis.Distance)
	rows.Check(t, "O27-middle", axis(2).Middle.Distance)
	rows.Check(t, "H10", axis(2.5).Axis.Distance)
	rows.Check(t, "H11", axis(1.5).Axis.Distance)
}

func TestOutsideDeadZoneAndReachOfABeam(t *testing.T) {
	const section7, section3 = "handbook of check values, detection section 7", "handbook of check values, detection section 3.3"
	near := func(a *Aim) float64 { d, _ := a.Target.Dead(); return d }
	far := func(a *Aim) float64 { d, _ := a.Target.Far(); return d }
	for _, row := range []struct {
		name            string
		height, visible float64
		slope           float64
		of              func(*Aim) float64
		want, tolerance float64
		source          string
	}{
		{"O22 first touch of 1.7 m", 1.7, least, 0, near, 9.250, 0.01, section7},
		{"O22 first touch of 0.35 m", 0.35, least, 0, near, 18.856, 0.01, section7},
		{"O23 near ground", 1e-6, least, 0, near, 21.346, 0.01, section7},
		{"O23 far ground", 1e-6, least, 0, far, 171.870, 0.01, section7},
		{"O25 first touch of 1.7 m, 5 % up", 1.7, least, 0.05, near, 6.823, 0.01, section7},
		{"O25 far ground, 5 % up", 1e-6, least, 0.05, far, 44.474, 0.01, section7},
		{"half of 1.7 m from", 1.7, 0.5, 0, near, 15.30, 0.01, section3},
		{"half of 1.7 m to", 1.7, 0.5, 0, far, 123.17, 0.01, section3},
		{"half of 0.35 m from", 0.35, 0.5, 0, near, 20.10, 0.01, section3},
		{"half of 0.35 m to", 0.35, 0.5, 0, far, 161.84, 0.01, section3},
		{"first touch of 1.7 m, 3 % up", 1.7, least, 0.03, near, 7.62, 0.01, section3},
		{"far ground, 3 % up", 1e-6, least, 0.03, far, 63.22, 0.01, section3},
		{"first touch of 1.7 m, 5 % down", 1.7, least, -0.05, near, 14.36, 0.01, section3},
		{"first touch of 0.35 m, 5 % down", 0.35, least, -0.05, near, 29.27, 0.01, section3},
		{"first touch of 1.7 m, 10 % down", 1.7, least, -0.10, near, 32.07, 0.01, section3},
		{"first touch of 0.35 m, 10 % down", 0.35, least, -0.10, near, 65.37, 0.01, section3},
	} {
		t.Run(row.name, func(t *testing.T) {
			var ground *terrain.Grid
			if row.slope != 0 {
				ground = slope(t, row.slope)
			}
			// Limits 1 and 8 degrees below the horizontal.
			a := look(t, lobe(10, -1, 8, 500), row.height, row.visible, 0, ground)
			if got := row.of(a); !(math.Abs(got-row.want) <= row.tolerance) {
				t.Errorf("height %g, visible %g, slope %g: got %.4f m, want %g within %g; source: %s",
					row.height, row.visible, row.slope, got, row.want, row.tolerance, row.source)
			}
		})
	}
}

// O26 of the handbook of check values, detection section 7: a lower limit of 2.5
// degrees on ground that falls by 5 % never comes down.
func TestOutsideABeamThatNeverComesDown(t *testing.T) {
	a := look(t, lobe(4, 1, 0, 500), 1e-6, least, 2.5, slope(t, -0.05))
	if len(a.Target.Seen) != 0 || a.Axis.What != Nothing {
		t.Errorf("seen %v, axis %v: want nothing", a.Target.Seen, a.Axis)
	}
}

func TestOutsideTiltForAReach(t *testing.T) {
	const source = "handbook of check values, detection section 3.3"
	for _, row := range []struct {
		name            string
		height, visible float64
		reach, tilt     float64
		tolerance       float64
	}{
		// The axis is the upper limit of a lobe that has nothing above it.
		{"ground at 85.91 m", 1e-6, least, 85.91, 2, 0.001},
		{"ground at 114.57 m", 1e-6, least, 114.57, 1.5, 0.001},
		{"ground at 68.71 m", 1e-6, least, 68.71, 2.5, 0.001},
		{"middle of 1.7 m at 100 m", 1.7, 0.5, 100, 1.232, 0.001},
		{"middle of 1.7 m at 61.57 m", 1.7, 0.5, 61.57, 2, 0.001},
	} {
		t.Run(row.name, func(t *testing.T) {
			got, err := look(t, lobe(4, 0, 20, 500), row.height, row.visible, 7, nil).TiltFor(row.reach)
			if err != nil || !(math.Abs(got-row.tilt) <= row.tolerance) {
				t.Errorf("got %.4f degrees, %v, want %g within %g; source: %s", got, err, row.tilt, row.tolerance, source)
			}
		})
	}
	// A slope acts as an error of tilt: 0.5 degrees is 0.87 % (handbook of check
	// values, detection, finding 5).
	t.Run("half a degree of slope is half a degree of tilt", func(t *testing.T) {
		level, err := look(t, lobe(4, 0, 20, 500), 1e-6, least, 2, nil).TiltFor(68.71)
		if err != nil {
			t.Fatal(err)
		}
		a := look(t, lobe(4, 0, 20, 500), 1e-6, least, 2, slope(t, 0.0087))
		onSlope, err := a.TiltFor(68.71)
		if err != nil || math.Abs(level-onSlope-0.5) > 0.005 {
			t.Errorf("%v degrees on level ground, %v on the slope (%v): want half a degree apart; source: %s", level, onSlope, err, source)
		}
	})
}
