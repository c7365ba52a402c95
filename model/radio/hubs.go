package radio

import "math"

// Hubs are the repeaters and receivers of a net and the links between them,
// solved once. A sensor never forwards, so what holds for one follows from its
// own links and the hubs alone: one sensor's route costs nothing for the others.
// It is read only once made.
type Hubs struct {
	kinds []Kind
	hops  int       // links in a route, at most
	reach []float64 // as in find
	at    [][]hop
	far   [][]int // [1+failed hub, or 0 for none][hub]: links to a receiver over links that hold; beyond hops for none
}

// An Uplink is a link of a sensor to a hub, which goes by its index.
type Uplink struct {
	Hub        int
	MarginDB   float64
	RequiredDB float64
}

// NewHubs solves a net without sensors: kinds are those of repeaters and
// receivers, links those between them. It panics on a link to a hub that is not
// there.
func NewHubs(kinds []Kind, links []Link, maxHops int) *Hubs {
	h := &Hubs{kinds: kinds, hops: maxHops, at: neighbours(kinds, links, allLinks)}
	h.reach = reaches(kinds, h.at, maxHops, nil)
	holding := neighbours(kinds, links, Link.holds)
	for failed := -1; failed < len(kinds); failed++ {
		h.far = append(h.far, h.walk(holding, failed))
	}
	return h
}

// walk counts the links from each hub to the nearest receiver but the failed one.
func (h *Hubs) walk(at [][]hop, failed int) []int {
	far := make([]int, len(h.kinds))
	var front, next []int
	for v, kind := range h.kinds {
		far[v] = h.hops + 1
		if kind == Receiver && v != failed {
			far[v] = 0
			front = append(front, v)
		}
	}
	for n := 1; n < h.hops && len(front) > 0; n++ {
		next = next[:0]
		for _, v := range front {
			for _, e := range at[v] {
				if e.to != failed && far[e.to] > n {
					far[e.to] = n
					next = append(next, e.to)
				}
			}
		}
		front, next = next, front
	}
	return far
}

// Best returns the margin of the weakest link of a sensor's best route; ok is
// false where it has none.
func (h *Hubs) Best(up []Uplink) (marginDB float64, ok bool) {
	marginDB = h.onward(up, h.hops)
	return marginDB, !math.IsInf(marginDB, -1)
}

// onward is the margin of the best route of at most n links.
func (h *Hubs) onward(up []Uplink, n int) float64 {
	best := math.Inf(-1)
	if n < 1 {
		return best
	}
	for _, u := range up {
		best = max(best, min(u.MarginDB, h.reach[(n-1)*len(h.kinds)+u.Hub]))
	}
	return best
}

// Route returns the best route of a sensor with the given links as [Routes]
// does, nil for none. Its nodes are hubs: the sensor itself is not among them.
func (h *Hubs) Route(up []Uplink) *Route {
	margin, ok := h.Best(up)
	if !ok {
		return nil
	}
	hops, n := 1, len(h.kinds)
	for h.onward(up, hops) < margin {
		hops++
	}
	fits := func(e hop, left int) bool { return e.margin >= margin && h.reach[left*n+e.to] >= margin }
	first := -1
	for _, u := range up {
		if fits(hop{u.Hub, u.MarginDB}, hops-1) && (first < 0 || u.Hub < first) {
			first = u.Hub
		}
	}
	r := &Route{Nodes: append(make([]int, 0, hops), first), MarginDB: margin}
	for v, left := first, hops-1; left > 0; left-- {
		v = firstOf(h.at[v], func(e hop) bool { return fits(e, left-1) })
		r.Nodes = append(r.Nodes, v)
	}
	return r
}

// Lost returns the hubs a sensor with the given links depends on: it is served
// now and would not be if that one failed.
func (h *Hubs) Lost(up []Uplink) []int {
	if !h.served(up, -1) {
		return nil
	}
	var lost []int
	for v := range h.kinds {
		if !h.served(up, v) {
			lost = append(lost, v)
		}
	}
	return lost
}

func (h *Hubs) served(up []Uplink, failed int) bool {
	far := h.far[1+failed]
	for _, u := range up {
		if u.MarginDB >= u.RequiredDB && u.Hub != failed && far[u.Hub] < h.hops {
			return true
		}
	}
	return false
}
