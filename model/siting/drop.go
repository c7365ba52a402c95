package siting

import (
	"slices"

	"pleach/model/analysis"
)

// drop takes out the proposals without which as many sensors are mended: one that
// was the best by itself may be needless beside those after it. r is the plan before
// them.
func (f *finder) drop(r *analysis.Result, out *Found, goals []analysis.Goal) error {
	left := f.left(out.Result, goals)
	for k := 0; k < len(out.Proposals) && len(out.Proposals) > 1; k++ {
		rest := slices.Delete(slices.Clone(out.Proposals), k, k+1)
		again, after, err := f.rebuild(r, rest)
		if err != nil {
			return err
		}
		if slices.Equal(f.left(after, goals), left) {
			out.Proposals, out.Result, out.Plan = again, after, after.Plan
			k = -1
		}
	}
	return nil
}

// left lists the sensors that lack each of the goals, one goal after another.
func (f *finder) left(r *analysis.Result, goals []analysis.Goal) (ids []string) {
	for _, goal := range goals {
		f.goal = goal
		ids = append(append(ids, goalMark), f.prospect(r).Needy()...)
	}
	return ids
}

// goalMark stands between the sensors of two goals: no id is empty.
const goalMark = ""

// rebuild puts repeaters at the places of proposals, one after another.
func (f *finder) rebuild(r *analysis.Result, ps []Proposal) (out []Proposal, after *analysis.Result, err error) {
	after = r
	for _, p := range ps {
		f.goal = p.Goal
		net := f.prospect(after)
		at := scored{Place: p.Place, trial: net.Scout().Try(p.Place.At, p.Height)}
		again, next, err := f.propose(after, net, at, nil, p.Height)
		if err != nil {
			return nil, nil, err
		}
		again.Instead = p.Instead
		out, after = append(out, *again), next
	}
	for k := range out {
		if len(out[k].Mends) == 0 && k+1 < len(out) {
			out[k].Carries = out[k+1].ID
		}
	}
	return out, after, nil
}
