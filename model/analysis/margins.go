package analysis

import (
	"context"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/pattern"
	"pleach/model/radio"
)

// MarginsAsked is what margin is asked for, everywhere.
type MarginsAsked struct {
	Height float64 // metres of the antenna above the ground; above 0 to 60
	Cell   float64 // metres, side of a cell; 0 is 5, the least is 0.5
	Bare   bool    // by the way over alone: no ways round and through, no trees; quicker, and often too harsh
}

// Margins is the radio margin a device would have at each place inside the
// boundaries: a sensor of the plan file's default radio.
type Margins struct {
	Asked  MarginsAsked
	Origin orb.Point // on the site grid, of the first value
	Cols   int
	Values []float64 // dB, row by row northwards; NaN outside the boundaries and where nothing is heard
	Spare  []float64 // dB by which each exceeds the margin its link has to have, more past an obstacle than in the open
	Hubs   []int16   // by place: whose margin it is, an index into HubIDs; -1 for none
	HubIDs []string
	Wanted float64 // dB, the margin such a link has to have in the open
	Behind float64 // dB, the one it has to have where something cuts its zone or trees stand in it; at least Wanted
}

// HasMargins reports whether margins can be asked for: there is a receiver, and a
// closed boundary to fill.
func HasMargins(r *Result) bool {
	if len(r.Plan.Of(model.KindReceiver)) == 0 {
		return false
	}
	for _, b := range r.Scene.Boundaries {
		if b.Closed {
			return true
		}
	}
	return false
}

// MarginsOver works out the margin at every cell inside the plan's boundaries to
// the receiver or repeater it would be heard best by; a repeater counts while it
// has a route of its own with the required margin. It tells progress of its cells
// from any goroutine. It returns ctx's error, within a few milliseconds, when ctx
// ends first.
func MarginsOver(ctx context.Context, r *Result, asked MarginsAsked, progress func(done, of int)) (*Margins, error) {
	if asked.Cell <= 0 {
		asked.Cell = 5
	}
	asked.Cell = math.Max(asked.Cell, 0.5)
	s := r.Plan.Settings
	m := &Margins{Asked: asked}
	for _, q := range []struct {
		of  *float64
		cut bool
	}{{&m.Wanted, false}, {&m.Behind, true}} {
		*q.of = radio.RequiredMargin(s.RequiredMargin, radio.ShadowingSD(s.ShadowingSD, q.cut), s.Reliability)
	}
	var hubs []antenna
	for i, a := range r.net.hubs {
		if a.hears() && r.net.carries(i, s.MaxHops) {
			hubs = append(hubs, a)
			m.HubIDs = append(m.HubIDs, a.feature.ID)
		}
	}
	var bound orb.Bound
	some := false
	for _, b := range r.Scene.Boundaries {
		if b.Closed {
			if at := b.Line.Bound(); some {
				bound = bound.Union(at)
			} else {
				bound, some = at, true
			}
		}
	}
	if !some {
		return m, ctx.Err()
	}
	m.Origin = bound.Min
	m.Cols = 1 + int(math.Ceil((bound.Max[0]-bound.Min[0])/asked.Cell))
	rows := 1 + int(math.Ceil((bound.Max[1]-bound.Min[1])/asked.Cell))
	m.Values = make([]float64, m.Cols*rows)
	m.Spare = make([]float64, len(m.Values))
	m.Hubs = make([]int16, len(m.Values))
	var next, done atomic.Int64
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			l := r.linker()
			l.bare = asked.Bare
			for row := int(next.Add(1)) - 1; row < rows; row = int(next.Add(1)) - 1 {
				for col := range m.Cols {
					if ctx.Err() != nil {
						return
					}
					i := row*m.Cols + col
					m.Values[i], m.Spare[i], m.Hubs[i] = l.marginAt(r, orb.Point{m.Origin[0] + float64(col)*asked.Cell, m.Origin[1] + float64(row)*asked.Cell}, asked.Height, hubs)
				}
				if n := int(done.Add(1)); progress != nil {
					progress(n*m.Cols, len(m.Values))
				}
			}
		})
	}
	wg.Wait()
	return m, ctx.Err()
}

// nowhere stands for a device that is not in the plan.
var nowhere = new(model.Feature)

// marginAt is the best margin of a device at a place, what of it exceeds the
// margin that link has to have, and the hub.
func (l *linker) marginAt(r *Result, at orb.Point, height float64, hubs []antenna) (best, spare float64, by int16) {
	inside := false
	for _, b := range r.Scene.Boundaries {
		inside = inside || b.Closed && pattern.Inside(orb.Polygon{orb.Ring(b.Line)}, at)
	}
	if !inside {
		return math.NaN(), math.NaN(), -1
	}
	a := within(l.sc, antenna{feature: nowhere, kind: radio.Sensor, at: at, height: height, radio: rated(model.Radio{}, model.KindSensor)})
	best, spare, by = math.NaN(), math.NaN(), -1
	for i, hub := range hubs {
		d := math.Hypot(hub.at[0]-at[0], hub.at[1]-at[1])
		free, ok := radio.Rate(a.radio, hub.radio, radio.FreeSpaceLoss(d, l.cond.FreqMHz)).Weaker()
		if !ok || by >= 0 && free.MarginDB+l.mostBias() <= best {
			continue // no better even with nothing in between
		}
		if k, ok := l.rate(a, hub); ok && (by < 0 || k.Margin > best) {
			best, spare, by = k.Margin, k.Margin-k.Required, int16(i)
		}
	}
	return best, spare, by
}

// carries reports whether hub i is a receiver, or a repeater with a route that has
// its required margin within one link less than maxHops.
func (n *net) carries(i, maxHops int) bool {
	if n.hubs[i].kind == radio.Receiver {
		return true
	}
	spare, ok := n.spare.Best([]radio.Uplink{{Hub: i, MarginDB: math.Inf(1)}})
	return ok && spare >= 0
}
