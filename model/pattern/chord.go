package pattern

import (
	"math"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
)

// Chord returns the greatest distance in plan between two points of the
// footprint of a sensor model on open level ground, in metres, at a mount height
// in metres and a tilt in degrees; 0 for an empty footprint.
func Chord(m model.SensorModel, t Target, mount, tilt float64) float64 {
	sc := scene.New(model.NewPlan())
	e := Eye{Z: mount, tanTilt: math.Tan(rad(tilt))}
	e.aim(m, nil)
	lk := NewLooker(sc)
	lk.From(&e, 1)
	var pts []orb.Point
	for _, p := range lk.Lay(t, AsItIs).Shape {
		pts = append(pts, p[0]...)
	}
	best := 0.0
	for i, p := range pts {
		for _, q := range pts[:i] {
			best = math.Max(best, math.Hypot(p[0]-q[0], p[1]-q[1]))
		}
	}
	return best
}
