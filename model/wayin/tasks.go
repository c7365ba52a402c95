package wayin

import (
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"
)

// Tasks returns the steps of a route for Interruption, for a person who moves at
// speed metres a second and takes their time at obstacles. A stretch within
// footprints is cut into steps no longer than piece metres; each is detected in
// its middle with the probability its cost gives. sd is the standard deviation
// of every time as a share of it; 0.3 is the usual choice. What is done at the
// asset is for the caller to append. speed and piece are above 0.
func (r *Route) Tasks(speed, sd, piece float64) []Task {
	ends := []float64{0, r.Length}
	for _, p := range r.Passes {
		ends = append(ends, p.From, p.To)
	}
	for _, d := range r.Delays {
		ends = append(ends, d.Along)
	}
	slices.Sort(ends)
	ends = slices.Compact(ends)
	var out []Task
	delays := r.Delays
	step := func(name string, seconds, cost, along float64) {
		out = append(out, Task{Name: name, Detect: Probability(cost), At: Middle, Delay: seconds, DelaySD: sd * seconds, Along: along})
	}
	obstacles := func(upTo float64) {
		for len(delays) > 0 && delays[0].Along <= upTo {
			step(delays[0].Obstacle, delays[0].Seconds, 0, delays[0].Along)
			delays = delays[1:]
		}
	}
	for i := 1; i < len(ends); i++ {
		from, to := ends[i-1], ends[i]
		obstacles(from)
		rate := 0.0
		var ids []string
		for _, p := range r.Passes {
			if p.From <= from && p.To >= to {
				rate += p.Cost / (p.To - p.From)
				ids = append(ids, p.Sensor)
			}
		}
		if ids == nil {
			step("", (to-from)/speed, 0, (from+to)/2)
			continue
		}
		n := int(math.Ceil((to - from) / piece))
		l := (to - from) / float64(n)
		for k := range n {
			step(strings.Join(ids, ", "), l/speed, rate*l, from+(float64(k)+.5)*l)
		}
	}
	obstacles(r.Length)
	return out
}

// At returns the place so many metres along the route, held within its ends. The
// route has been reached.
func (r *Route) At(along float64) orb.Point {
	for i := 1; i < len(r.Line); i++ {
		a, b := r.Line[i-1], r.Line[i]
		if l := dist(a, b); along <= l && l > 0 {
			return mix(a, b, math.Max(0, along/l))
		} else {
			along -= l
		}
	}
	return r.Line[len(r.Line)-1]
}
