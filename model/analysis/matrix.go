package analysis

import (
	"context"
	"math"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/radio"
)

// Spot is a place where a radio device may stand.
type Spot struct {
	At     orb.Point  // on the site grid
	Height float64    // metres of the antenna above the ground
	Kind   model.Kind // sensor, repeater or receiver: whose radio defaults hold
	Radio  model.Radio
}

// sparseEvery is of how many points of a profile one is looked at first, to rule a
// link out. Chosen.
const sparseEvery = 8

// MarginMatrix returns the margins in decibels between each of as and each of bs, row
// by row of as, by every way and with the corrections of r. Links whose margin is
// under least for certain, from the distance and a few points of the ground, are not
// worked out: they are NaN, as are those neither end of which can hear the other.
// It returns ctx's error when ctx ends first.
func MarginMatrix(ctx context.Context, r *Result, as, bs []Spot, least float64) ([]float64, error) {
	antennas := func(spots []Spot) (out []antenna) {
		for _, s := range spots {
			out = append(out, within(r.Scene, antenna{kind: RadioKind(s.Kind), at: s.At, height: s.Height, radio: rated(s.Radio, s.Kind)}))
		}
		return out
	}
	from, to := antennas(as), antennas(bs)
	out := make([]float64, len(as)*len(bs))
	each(len(as), func() func(int) {
		l := r.linker()
		return func(i int) {
			for j := range to {
				if ctx.Err() != nil {
					return
				}
				out[i*len(to)+j] = l.marginOf(from[i], to[j], least)
			}
		}
	})
	return out, ctx.Err()
}

// atMost is a margin that the link between two antennas cannot exceed: by their
// distance or, closely, by a few points of the bare ground too. -Inf where neither end
// can hear the other.
func (l *linker) atMost(a, b antenna, closely bool) float64 {
	d := math.Hypot(b.at[0]-a.at[0], b.at[1]-a.at[1])
	// In plan the way is no longer than along the slope.
	loss := radio.FreeSpaceLoss(d, l.cond.FreqMHz) - l.mostBias()
	if closely && d > 0 {
		ground := l.sc.Terrain.Along(a.at, (b.at[0]-a.at[0])/d, (b.at[1]-a.at[1])/d)
		few := l.crowns.Sparse(d, math.Min(profileStep, l.sc.Terrain.Cell()), sparseEvery, ground.Height)
		loss += radio.LeastDiffraction(few, a.height, b.height, l.cond)
	}
	if m := weaker(a, b, loss); !math.IsNaN(m) {
		return m
	}
	return math.Inf(-1)
}

// weaker is the margin of a link's weaker direction, NaN where neither end can hear
// the other.
func weaker(a, b antenna, loss float64) float64 {
	if w, ok := radio.Rate(a.radio, b.radio, loss).Weaker(); ok {
		return w.MarginDB
	}
	return math.NaN()
}

// marginOf is the margin between two antennas, NaN where it is under least for certain.
func (l *linker) marginOf(a, b antenna, least float64) float64 {
	if !(l.atMost(a, b, false) >= least) || !(l.atMost(a, b, true) >= least) {
		return math.NaN()
	}
	p := l.path(a, b)
	m := weaker(a, b, radio.FreeSpaceLoss(p.distance, l.cond.FreqMHz)+p.diff.DeltaBullingtonDB+p.vegetation+p.building-l.bias(&p))
	if m < least {
		return math.NaN()
	}
	return m
}
