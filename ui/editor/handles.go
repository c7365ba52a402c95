package editor

import (
	"math"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/ui/drawing"
)

// Handle is something on the map to take hold of: it belongs to the selected
// feature and is drawn above everything.
type Handle struct {
	ID      string // of the feature
	Meaning drawing.Meaning
	Part    string // "aim", "vertex", "middle", "mask" (an end of a masked span), "side" (an edge of the pattern)
	Index   int    // vertex, edge, 2·span or 2·span+1, 0 left or 1 right
	At      orb.Point
}

// Where handles of a sensor stand, in device-independent pixels from its mark.
// Chosen: far enough from the mark to be told apart, near enough to be in view.
const (
	aimNear, aimFar = 44.0, 150.0
	maskRing        = 0.62 // of the distance of the aim handle
	leastSide       = 26.0 // the sides of a pattern narrower than this have no handles
)

// Handles returns the handles of what is selected, at a scale in metres a
// device-independent pixel. Later ones lie above.
func (e *Editor) Handles(unit float64) []Handle {
	f := e.single()
	if f == nil || f.Geometry == nil || e.tool.Kind != "" {
		return nil
	}
	if s, ok := f.Value.(*model.Sensor); ok {
		return e.sensorHandles(f, s, unit)
	}
	vs := vertices(f.Geometry)
	if len(vs) < 2 || e.tool.Mask {
		return nil
	}
	var out []Handle
	at := make([]orb.Point, len(vs))
	for i, v := range vs {
		at[i] = e.grid.ToSite(v)
	}
	for k, ed := range edges(f.Geometry) {
		a, b := at[ed.from], at[ed.to]
		if math.Hypot(b[0]-a[0], b[1]-a[1]) < 34*unit {
			continue // no room between its ends
		}
		out = append(out, Handle{f.ID, drawing.MidHandle, "middle", k, orb.Point{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2}})
	}
	for i := range vs {
		out = append(out, Handle{f.ID, drawing.VertexHandle, "vertex", i, at[i]})
	}
	return out
}

// Arm is the line of sight of a selected sensor, drawn with its handles.
type Arm struct {
	From, Handle, Reach orb.Point
}

// Arm returns the axis of the selected sensor out to its longest reach; false
// where no single sensor is selected.
func (e *Editor) Arm(unit float64) (a Arm, ok bool) {
	f := e.single()
	if f == nil {
		return a, false
	}
	s, ok := f.Value.(*model.Sensor)
	if !ok {
		return a, false
	}
	at := e.grid.ToSite(f.Geometry.(orb.Point))
	reach := e.reach(s)
	return Arm{at, e.ahead(at, s.Bearing, aimDistance(reach, unit)), e.ahead(at, s.Bearing, reach)}, true
}

func aimDistance(reach, unit float64) float64 {
	return math.Max(aimNear*unit, math.Min(reach, aimFar*unit))
}

// reach is the longest slant reach of a sensor's model, metres; 0 for a model
// that is not known.
func (e *Editor) reach(s *model.Sensor) float64 {
	m, _ := e.Plan().Model(s.Model)
	far := 0.0
	for _, l := range m.Lobes {
		far = math.Max(far, l.Range)
	}
	return far
}

// sides are the least and the greatest azimuth of a model's lobes, degrees from
// its bearing; false for a pattern all round or none.
func sides(m model.SensorModel) (left, right float64, ok bool) {
	left, right = math.Inf(1), math.Inf(-1)
	for _, l := range m.Lobes {
		left, right = math.Min(left, l.Azimuth-l.Width/2), math.Max(right, l.Azimuth+l.Width/2)
	}
	return left, right, right-left < 360
}

func (e *Editor) sensorHandles(f *model.Feature, s *model.Sensor, unit float64) []Handle {
	at := e.grid.ToSite(f.Geometry.(orb.Point))
	far := aimDistance(e.reach(s), unit)
	ring := far * maskRing
	var out []Handle
	if m, ok := e.Plan().Model(s.Model); ok {
		if left, right, ok := sides(m); ok {
			if math.Min(right-left, 180)*math.Pi/180*ring/unit >= leastSide {
				out = append(out,
					Handle{f.ID, drawing.MaskHandle, "side", 0, e.ahead(at, s.Bearing+left, ring)},
					Handle{f.ID, drawing.MaskHandle, "side", 1, e.ahead(at, s.Bearing+right, ring)})
			}
		}
	}
	for k, m := range s.Masked {
		out = append(out,
			Handle{f.ID, drawing.MaskHandle, "mask", 2 * k, e.ahead(at, s.Bearing+m.From, ring)},
			Handle{f.ID, drawing.MaskHandle, "mask", 2*k + 1, e.ahead(at, s.Bearing+m.To, ring)})
	}
	if !e.tool.Mask {
		out = append(out, Handle{f.ID, drawing.AimHandle, "aim", 0, e.ahead(at, s.Bearing, far)})
	}
	return out
}

// handleAt returns the handle nearest to a place within reach.
func (e *Editor) handleAt(at orb.Point, unit float64) (best Handle, ok bool) {
	nearest := grasp * unit
	for _, h := range e.Handles(unit) {
		d := math.Hypot(h.At[0]-at[0], h.At[1]-at[1])
		if h.Part == "vertex" {
			d -= unit // a corner goes before a middle at the same distance
		}
		if d <= nearest {
			best, nearest, ok = h, d, true
		}
	}
	return best, ok
}
