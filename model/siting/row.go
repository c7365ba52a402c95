package siting

import (
	"cmp"
	"math"
	"slices"

	"pleach/model/analysis"
)

const (
	// rowPlaces is how many places of the grid are looked at for two repeaters in a row,
	// at most: each with each. Chosen.
	rowPlaces = 800
	// rowTries is how many pairs of places are rated by every way, at most, the most
	// promising first. Chosen.
	rowTries = 4000
)

// pair are two places of which the outer hears sensors and the inner has a way on.
type pair struct {
	outer, inner int // places
	count        int // sensors that the outer hears
	weakest      float64
}

// inner returns the place of the inner of two repeaters in a row that together mend
// most sensors, of these the one whose weakest link has most to spare; ok is false
// where no two places do.
func (f *finder) inner(p *analysis.Prospect, r *analysis.Result, height float64) (at Place, ok bool) {
	places := slices.Clone(f.grid)
	for step := f.step; len(places) > rowPlaces; {
		step *= 2
		places = places[:0]
		for _, q := range f.land.grid(f.ctx, step) {
			places = append(places, Place{At: q})
		}
	}
	places = append(places, f.land.posts(r)...)
	places = f.clear(places)
	f.looked += len(places)
	type legs struct {
		count           int
		weakest, onward float64
	}
	all := make([]legs, len(places))
	f.share(p, len(places), func(s *analysis.Scout, i int) {
		sensors, onward := s.Legs(places[i].At, height)
		l := legs{onward: onward, weakest: math.Inf(1)}
		for _, spare := range sensors {
			if spare >= f.o.Reserve {
				l.count++
				l.weakest = math.Min(l.weakest, spare)
			}
		}
		all[i] = l
	})
	var pairs []pair
	scout := p.Scout()
	for i, outer := range all {
		if outer.count == 0 || f.ctx.Err() != nil {
			continue
		}
		for j, inner := range all {
			a, b := places[i].At, places[j].At
			if !(inner.onward >= f.o.Reserve) || math.Hypot(a[0]-b[0], a[1]-b[1]) < apart {
				continue
			}
			if most := min(outer.weakest, inner.onward, scout.BetweenAtMost(a, b, height)); most >= f.o.Reserve {
				pairs = append(pairs, pair{i, j, outer.count, most})
			}
		}
	}
	slices.SortFunc(pairs, func(x, y pair) int {
		return cmp.Or(y.count-x.count, cmp.Compare(y.weakest, x.weakest), x.outer-y.outer, x.inner-y.inner)
	})
	best := pair{count: -1}
	for k, x := range pairs {
		if f.ctx.Err() != nil || k == rowTries || x.count < best.count || x.count == best.count && x.weakest <= best.weakest {
			break
		}
		x.weakest = math.Min(x.weakest, scout.Between(places[x.outer].At, places[x.inner].At, height))
		if x.weakest >= f.o.Reserve && (x.count > best.count || x.weakest > best.weakest) {
			best = x
		}
	}
	if best.count < 0 || f.ctx.Err() != nil {
		return at, false
	}
	return places[best.inner], true
}

// row proposes two repeaters in a row, the inner one first; none where no two places
// help.
func (f *finder) row(r *analysis.Result, height float64, proposed int) (both []Proposal, after *analysis.Result, err error) {
	p := f.prospect(r)
	at, ok := f.inner(p, r, height)
	if err := f.ctx.Err(); err != nil || !ok {
		return nil, nil, err
	}
	inner, with, err := f.propose(r, p, scored{Place: at}, nil, height)
	if err != nil {
		return nil, nil, err
	}
	outer, after, err := f.next(with, height, proposed+1)
	if err != nil || outer == nil {
		return nil, nil, err
	}
	inner.Carries = outer.ID
	return []Proposal{*inner, *outer}, after, nil
}
