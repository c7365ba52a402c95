package siting

import (
	"slices"

	"pleach/model/analysis"
)

// fewest returns how many repeaters it takes at least, at the places of the grid, on
// posts and on walls, to give the sensors of ids in the plan of r a route: sensors of which
// no place hears two need a repeater each. It is a bound, not always reached.
func (f *finder) fewest(r *analysis.Result, height float64, ids []string) int {
	f.goal = analysis.Served
	p := f.prospect(r)
	places := slices.Concat(f.grid, f.land.posts(r), f.land.walls(height))
	hears := make([][]bool, len(places))
	f.share(p, len(places), func(s *analysis.Scout, i int) { hears[i] = s.MayHear(places[i].At, height) })
	if f.ctx.Err() != nil {
		return 0
	}
	alone := p.Alone()
	type near struct{ sensor, places int }
	var order []near
	for k, id := range p.Needy() {
		if !alone[k] || !slices.Contains(ids, id) {
			continue
		}
		n := near{k, 0}
		for i := range places {
			if hears[i][k] {
				n.places++
			}
		}
		order = append(order, n)
	}
	slices.SortStableFunc(order, func(a, b near) int { return a.places - b.places })
	var taken []int
	for _, n := range order {
		if !slices.ContainsFunc(hears, func(h []bool) bool {
			return h[n.sensor] && slices.ContainsFunc(taken, func(k int) bool { return h[k] })
		}) {
			taken = append(taken, n.sensor)
		}
	}
	return len(taken)
}
