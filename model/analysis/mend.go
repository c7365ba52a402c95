package analysis

import (
	"context"
	"fmt"
	"math"

	"pleach/model"
	"pleach/model/radio"
)

// Heights of antennas that are tried for a sensor whose route fails, metres.
// Chosen: what a pole on a fence line carries.
const (
	mendMost = 12.0
	mendStep = 0.5
)

// Mend is the smallest antenna height, in steps of 0.5 m to 12 m, that gives a
// failing sensor's best route its required margin.
type Mend struct {
	ID       string  // the device whose antenna it is: the sensor itself, else one on its route; "" where no antenna mends it
	From, To float64 // metres above the ground, now and then
	Spare    float64 // dB above the required margin then
}

// fails reports whether sensor i has a best route and it lacks the required margin.
func (n *net) fails(i int) bool { return n.routes[i].Route != nil && n.routes[i].spare < 0 }

// mends looks for the antenna that mends each failing sensor; nil for the others. It returns early when ctx ends.
func (r *Result) mends(ctx context.Context) []*Mend {
	n := &r.net
	out := make([]*Mend, len(n.routes))
	var failing []int
	for i := range n.routes {
		if n.fails(i) {
			failing = append(failing, i)
		}
	}
	open := make([]bool, len(n.hubs)) // what the sensor's own link can still put right
	for j, hub := range n.hubs {
		onward, ok := n.spare.Best([]radio.Uplink{{Hub: j, MarginDB: math.MaxFloat64}})
		open[j] = ok && hub.hears() && onward >= 0
	}
	each(len(failing), func() func(int) {
		l := r.linker()
		return func(k int) {
			if ctx.Err() == nil {
				out[failing[k]] = r.mendOwn(l, failing[k], open)
			}
		}
	})
	l, raised := r.linker(), map[raising]*lifted{}
	for _, i := range failing {
		if out[i] == nil && ctx.Err() == nil {
			out[i] = r.mendHub(l, i, raised)
		}
	}
	for _, i := range failing {
		if out[i] == nil {
			out[i] = new(Mend)
		}
	}
	return out
}

// heights calls try with each height above from, until it says true.
func heights(from float64, try func(h float64) bool) {
	for k := math.Floor(from/mendStep) + 1; k*mendStep <= mendMost; k++ {
		if try(k * mendStep) {
			return
		}
	}
}

// raised is an antenna at another height.
func (r *Result) raised(a antenna, h float64) antenna {
	a.height, a.inside = h, nil
	return within(r.Scene, a)
}

// mendOwn tries the sensor's own antenna.
func (r *Result) mendOwn(l *linker, i int, open []bool) (m *Mend) {
	a := r.works[i].antenna
	heights(a.height, func(h float64) bool {
		b := r.raised(a, h)
		var above []radio.Uplink
		for j, hub := range r.net.hubs {
			if !open[j] {
				continue
			}
			if k, ok := l.rate(b, hub); ok {
				above = append(above, radio.Uplink{Hub: j, MarginDB: k.Margin - k.Required})
			}
		}
		if spare, ok := r.net.spare.Best(above); ok && spare >= 0 {
			m = &Mend{a.feature.ID, a.height, h, spare}
		}
		return m != nil
	})
	return m
}

// raising is a hub with its antenna at another height.
type raising struct {
	hub    int
	height float64
}

// lifted is the net with one hub's antenna raised.
type lifted struct {
	antenna antenna
	spare   *radio.Hubs
}

// mendHub tries the antennas of the repeaters and the receiver on the sensor's route,
// the nearest to the sensor first.
func (r *Result) mendHub(l *linker, i int, nets map[raising]*lifted) (m *Mend) {
	n := &r.net
	for _, v := range n.routes[i].Nodes {
		hub := n.hubs[v]
		heights(hub.height, func(h float64) bool {
			net := nets[raising{v, h}]
			if net == nil {
				net = r.lift(l, v, h)
				nets[raising{v, h}] = net
			}
			var above []radio.Uplink
			for j := range n.hubs {
				k, ok := n.rows[i][j], n.rows[i][j].From != ""
				if j == v {
					k, ok = l.rate(r.works[i].antenna, net.antenna)
				}
				if ok && n.hubs[j].hears() {
					above = append(above, radio.Uplink{Hub: j, MarginDB: k.Margin - k.Required})
				}
			}
			if spare, ok := net.spare.Best(above); ok && spare >= 0 {
				m = &Mend{hub.feature.ID, hub.height, h, spare}
			}
			return m != nil
		})
		if m != nil {
			return m
		}
	}
	return nil
}

// lift solves the net with the antenna of hub v at height h.
func (r *Result) lift(l *linker, v int, h float64) *lifted {
	n := &r.net
	out := &lifted{antenna: r.raised(n.hubs[v], h)}
	var kinds []radio.Kind
	for _, a := range n.hubs {
		kinds = append(kinds, a.kind)
	}
	var above []radio.Link
	for _, k := range n.hubLinks() {
		spare := k.MarginDB - k.RequiredDB
		if k.A == v || k.B == v {
			a, b := n.hubs[k.A], n.hubs[k.B]
			if k.A == v {
				a = out.antenna
			} else {
				b = out.antenna
			}
			again, ok := l.rate(a, b)
			if !ok {
				continue
			}
			spare = again.Margin - again.Required
		}
		above = append(above, radio.Link{A: k.A, B: k.B, MarginDB: spare})
	}
	out.spare = radio.NewHubs(kinds, above, r.Plan.Settings.MaxHops)
	return out
}

// tellMends puts into the findings of failing sensors what would mend them.
func (r *Result) tellMends() {
	place := map[string]int{}
	for i := range r.Sensors {
		place[r.Sensors[i].ID] = i
	}
	for k := range r.Findings {
		f := &r.Findings[k]
		if f.Rule != "link" || f.Severity != model.Fault {
			continue
		}
		m := r.Study.Mends[place[f.Subject[0]]]
		if m == nil {
			continue
		}
		if m.ID != "" {
			f.Remedy = fmt.Sprintf("Raise the antenna of %s from %s to %s: its best route then has the required margin, with %s to spare. Or move past the obstacle, or add a repeater.",
				r.title(m.ID), height(m.From), height(m.To), decibels(math.Floor(m.Spare)))
			if m.ID != f.Subject[0] {
				f.Remedy = fmt.Sprintf("No antenna of its own up to %g m would do. ", mendMost) + f.Remedy
			}
		} else {
			f.Remedy = fmt.Sprintf("No antenna up to %g m, its own or one on its route, would mend it: move past the obstacle, or add a repeater.", mendMost)
		}
	}
}

// height writes the height of an antenna: "5.5 m".
func height(v float64) string { return fmt.Sprintf("%g m", math.Round(100*v)/100) }
