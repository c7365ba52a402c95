package analysis

import (
	"context"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
	"pleach/model/wayin"
)

// Ways is how a person would come in to the plan's assets.
type Ways struct {
	List   []Way   // one for each asset, in the plan's order
	Person float64 // metres: what is narrower is no passage
	Cell   float64 // metres, side of a cell of the search
}

// Way is the least-detected way to one asset, on the site grid.
type Way struct {
	wayin.Route
	Timing *Timing // nil where the plan states no response time, or nothing is reached
}

// Timing is how a response compares with the time an intruder takes along one
// way.
type Timing struct {
	Response     float64   // seconds, as the plan states it
	Remains      float64   // seconds left for a response at the first detection; 0 without any
	Interruption float64   // probability that the intruder is interrupted, see wayin.Interruption
	Critical     *Critical // nil: a response comes too late wherever the alarm is raised
}

// Critical is the critical detection point: the last place at which an alarm
// still leaves more time than the response takes.
type Critical struct {
	At      orb.Point
	Along   float64 // metres along the way
	Sensors string  // ids of those whose footprints it lies in
	Remains float64 // seconds
	Timely  float64 // cumulative figure of detection up to there
}

// stepLength is how long, in metres, a step of a timed way within footprints
// is at most. Chosen: a third of a second at 3 m/s.
const stepLength = 1.0

// Way returns the way in to an asset, nil where none was looked for.
func (r *Result) Way(asset string) *Way {
	if r.Ways == nil {
		return nil
	}
	for i := range r.Ways.List {
		if w := &r.Ways.List[i]; w.Asset == asset {
			return w
		}
	}
	return nil
}

// HasWays reports whether a plan has an asset to find a way in to.
func HasWays(p *model.Plan) bool { return len(p.Of(model.KindAsset)) > 0 }

// Whole analyses a plan laid on a given site grid with all there is to tell of it:
// what RunOn finds, the ways in and the study of the radio net.
func Whole(ctx context.Context, sc *scene.Scene) (*Result, error) {
	r, err := RunOn(ctx, sc, nil)
	if err != nil {
		return nil, err
	}
	if r, err = WithWays(ctx, r); err != nil {
		return nil, err
	}
	return WithRadioStudy(ctx, r)
}

// WithWays returns the result with how a person would come in to each asset of
// the plan, and the findings that follow from it. It takes the target's
// footprints as far as foliage does not screen them. A plan without asset, and a
// result that has its ways, come back as they are. It returns ctx's error when
// ctx ends first.
func WithWays(ctx context.Context, r *Result) (*Result, error) {
	if r.Ways != nil || !HasWays(r.Plan) {
		return r, nil
	}
	s := r.Plan.Settings
	var sensors []wayin.Sensor
	for i := range r.Sensors {
		if d := &r.Sensors[i]; len(d.Clear) > 0 {
			sensors = append(sensors, wayin.Sensor{ID: d.ID, Shape: d.Clear})
		}
	}
	found, err := wayin.Find(ctx, r.Scene, sensors, wayin.Options{Probability: s.WayIn.Probability, Width: s.WayIn.Width})
	if err != nil {
		return nil, err
	}
	out := *r
	out.Ways = &Ways{Person: found.Person, Cell: found.Cell}
	for _, route := range found.Routes {
		w := Way{Route: route}
		if s.Response.Time != nil && route.Reached {
			w.Timing = timing(&route, s.Response)
		}
		out.Ways.List = append(out.Ways.List, w)
	}
	out.addFindings(append(ruleWayIn(&out), ruleLate(&out)...))
	return &out, nil
}

// timing compares a response with a route.
func timing(route *wayin.Route, s model.Response) *Timing {
	tasks := route.Tasks(s.Speed, s.SDShare, stepLength)
	tasks = append(tasks, wayin.Task{Name: "work at the asset", Delay: s.Task, DelaySD: s.SDShare * s.Task, Along: route.Length})
	t := &Timing{Response: *s.Time, Interruption: wayin.Interruption(tasks, s.Communication, *s.Time, s.SDShare**s.Time)}
	for i := range tasks {
		if tasks[i].Detect > 0 {
			t.Remains = wayin.Remains(tasks, i)
			break
		}
	}
	if i, timely, ok := wayin.CriticalPoint(tasks, *s.Time); ok {
		t.Critical = &Critical{At: route.At(tasks[i].Along), Along: tasks[i].Along, Sensors: tasks[i].Name, Remains: wayin.Remains(tasks, i), Timely: timely}
	}
	return t
}
