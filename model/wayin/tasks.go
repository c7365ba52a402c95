package wayin

import (
	"math"
	"slices"
	"strings"
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
	step := func(name string, seconds, cost float64) {
		out = append(out, Task{Name: name, Detect: Probability(cost), At: Middle, Delay: seconds, DelaySD: sd * seconds})
	}
	obstacles := func(upTo float64) {
		for len(delays) > 0 && delays[0].Along <= upTo {
			step(delays[0].Obstacle, delays[0].Seconds, 0)
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
			step("", (to-from)/speed, 0)
			continue
		}
		n := int(math.Ceil((to - from) / piece))
		for range n {
			l := (to - from) / float64(n)
			step(strings.Join(ids, ", "), l/speed, rate*l)
		}
	}
	obstacles(r.Length)
	return out
}
