package radio

import (
	"fmt"
	"math"
	"slices"
)

// Kind is what part a device plays in a route.
type Kind int

// A sensor starts routes and never forwards, a repeater forwards, a receiver
// ends them.
const (
	Sensor Kind = iota
	Repeater
	Receiver
)

// A Link is a radio link between two nodes, the same both ways. Nodes go by
// their index in the list they are stated in.
type Link struct {
	A, B       int
	MarginDB   float64 // of the weaker direction
	RequiredDB float64 // the margin this link has to have
}

// holds reports whether the link has the margin it has to have.
func (l Link) holds() bool { return l.MarginDB >= l.RequiredDB }

// A Route is the way of a sensor's message to a receiver.
type Route struct {
	Nodes    []int   // from the sensor to the receiver
	MarginDB float64 // that of its weakest link
}

// Routes returns the best route of every node that is a sensor, nil for one
// that has none and for every other node. A route has at most maxHops links;
// only repeaters stand between its ends. The best route is the one whose weakest
// link has the largest margin, of these the one with fewest links, of these the
// one whose next node is stated first. A route is returned even where a link of
// it has not the margin it has to have: see [Served].
//
// The result does not depend on the order of links. Of several links between
// two nodes the strongest counts; links no route can use, as between two
// sensors, are left alone. Routes panics on a link to a node that is not
// there.
//
// The work is of the order maxHops x links.
func Routes(nodes []Kind, links []Link, maxHops int) []*Route {
	routes := make([]*Route, len(nodes))
	find(nodes, neighbours(nodes, links, allLinks), maxHops, nil, nil, routes)
	return routes
}

// RoutesWithout is [Routes] while the node failed is out of order: none passes
// it, and if it is a sensor it has none.
func RoutesWithout(nodes []Kind, links []Link, maxHops, failed int) []*Route {
	routes := make([]*Route, len(nodes))
	find(nodes, neighbours(nodes, links, allLinks), maxHops, []int{failed}, nil, routes)
	return routes
}

// SecondRoutes returns for every sensor the best of the routes that are
// independent of its best one, nil where there is none: routes by none of the
// repeaters of the best one, so that it stands whichever of them fails; where
// the best one is a single link, routes by any other. Both may end at the same
// receiver. What best holds is what [Routes] returned for the same net.
//
// A sensor without a second route may still be served when one repeater fails,
// by a route that shares another: see [RoutesWithout] and [Lost].
func SecondRoutes(nodes []Kind, links []Link, maxHops int, best []*Route) []*Route {
	at := neighbours(nodes, links, allLinks)
	second := make([]*Route, len(nodes))
	done := make([]bool, len(nodes))
	for s, r := range best {
		if r == nil || done[s] {
			continue
		}
		// The sensors with the same repeaters to avoid are found in one go. Of
		// one with a single link that link is taken out: no other sensor uses it.
		between := r.Nodes[1 : len(r.Nodes)-1]
		var like []int
		for o := s; o < len(best); o++ {
			if best[o] == nil || done[o] || !sameNodes(between, best[o].Nodes[1:len(best[o].Nodes)-1]) {
				continue
			}
			done[o] = true
			like = append(like, o)
			if len(between) == 0 {
				end := best[o].Nodes[1]
				at[o] = slices.DeleteFunc(slices.Clone(at[o]), func(e hop) bool { return e.to == end })
			}
		}
		find(nodes, at, maxHops, between, like, second)
	}
	return second
}

// sameNodes reports whether two lists without repeats hold the same nodes.
func sameNodes(a, b []int) bool {
	if len(a) != len(b) {
		return false
	}
	for _, v := range a {
		if !slices.Contains(b, v) {
			return false
		}
	}
	return true
}

func allLinks(Link) bool { return true }

// reaches returns, at h*n+v, the margin of the weakest link on the best way of
// at most h links from v, a receiver or a repeater, to a receiver, for h below
// maxHops. No way goes by a node of out.
func reaches(nodes []Kind, at [][]hop, maxHops int, out []int) []float64 {
	n := len(nodes)
	reach := make([]float64, max(1, maxHops)*n)
	for v, kind := range nodes {
		reach[v] = math.Inf(-1)
		if kind == Receiver && !slices.Contains(out, v) {
			reach[v] = math.Inf(1)
		}
	}
	for h := 1; h < maxHops; h++ {
		copy(reach[h*n:(h+1)*n], reach[(h-1)*n:])
		for v, kind := range nodes {
			if kind == Repeater && !slices.Contains(out, v) {
				for _, e := range at[v] {
					reach[h*n+v] = max(reach[h*n+v], min(e.margin, reach[(h-1)*n+e.to]))
				}
			}
		}
	}
	return reach
}

// find puts the best routes of the sensors, nil for all, into routes. None goes
// by a node of out.
func find(nodes []Kind, at [][]hop, maxHops int, out, sensors []int, routes []*Route) {
	n := len(nodes)
	reach := reaches(nodes, at, maxHops, out)
	onward := func(v, h int) float64 { // by way of v's best neighbour, which has h-1 links left
		best := math.Inf(-1)
		for _, e := range at[v] {
			best = max(best, min(e.margin, reach[(h-1)*n+e.to]))
		}
		return best
	}
	for s, kind := range nodes {
		if kind != Sensor || maxHops < 1 || slices.Contains(out, s) || sensors != nil && !slices.Contains(sensors, s) {
			continue
		}
		margin := onward(s, maxHops)
		if math.IsInf(margin, -1) {
			continue
		}
		hops := 1
		for onward(s, hops) < margin {
			hops++
		}
		r := &Route{Nodes: append(make([]int, 0, hops+1), s), MarginDB: margin}
		for v, h := s, hops; h > 0; h-- {
			v = firstOf(at[v], func(e hop) bool {
				return e.margin >= margin && reach[(h-1)*n+e.to] >= margin
			})
			r.Nodes = append(r.Nodes, v)
		}
		routes[s] = r
	}
}

// Served reports for every node whether it is a sensor with a route of at most
// maxHops links each of which has the margin it has to have.
func Served(nodes []Kind, links []Link, maxHops int) []bool {
	return served(nodes, neighbours(nodes, links, Link.holds), maxHops, -1)
}

// Lost returns for every node that is a repeater or a receiver the sensors, in
// the order stated, that are served now and would not be if that node failed.
func Lost(nodes []Kind, links []Link, maxHops int) [][]int {
	at := neighbours(nodes, links, Link.holds)
	before := served(nodes, at, maxHops, -1)
	lost := make([][]int, len(nodes))
	for failed, kind := range nodes {
		if kind == Sensor {
			continue
		}
		after := served(nodes, at, maxHops, failed)
		for s, was := range before {
			if was && !after[s] {
				lost[failed] = append(lost[failed], s)
			}
		}
	}
	return lost
}

// A Failure is a device and the sensors that are served now and would not be if
// it failed.
type Failure struct {
	Node int
	Lost []int // in the order stated
}

// SinglePoints returns the single points of failure: every repeater and
// receiver some sensor depends on, the one that most depend on first, at a tie
// the one stated first.
func SinglePoints(nodes []Kind, links []Link, maxHops int) []Failure {
	var out []Failure
	for v, lost := range Lost(nodes, links, maxHops) {
		if len(lost) > 0 {
			out = append(out, Failure{v, lost})
		}
	}
	slices.SortStableFunc(out, func(a, b Failure) int { return len(b.Lost) - len(a.Lost) })
	return out
}

// served walks outwards from all receivers but the failed node, a link a
// round, and returns the sensors met within maxHops links.
func served(nodes []Kind, at [][]hop, maxHops, failed int) []bool {
	met := make([]bool, len(nodes))
	var front, next []int
	for v, kind := range nodes {
		if kind == Receiver && v != failed {
			met[v] = true
			front = append(front, v)
		}
	}
	for h := 0; h < maxHops && len(front) > 0; h++ {
		next = next[:0]
		for _, v := range front {
			for _, e := range at[v] {
				if met[e.to] || e.to == failed {
					continue
				}
				met[e.to] = true
				if nodes[e.to] == Repeater {
					next = append(next, e.to)
				}
			}
		}
		front, next = next, front
	}
	for v, kind := range nodes {
		met[v] = met[v] && kind == Sensor
	}
	return met
}

// A hop is a link as seen from one end.
type hop struct {
	to     int
	margin float64
}

// neighbours returns the hops of every node over the links that count: the
// sensors of a repeater or receiver among them, and for a sensor the repeaters
// and receivers.
func neighbours(nodes []Kind, links []Link, counts func(Link) bool) [][]hop {
	at := make([][]hop, len(nodes))
	for _, l := range links {
		if l.A < 0 || l.A >= len(nodes) || l.B < 0 || l.B >= len(nodes) {
			panic(fmt.Sprintf("radio: link between nodes %d and %d of %d", l.A, l.B, len(nodes)))
		}
		a, b := nodes[l.A], nodes[l.B]
		if l.A == l.B || a == b && a != Repeater || !counts(l) {
			continue
		}
		at[l.A] = append(at[l.A], hop{l.B, l.MarginDB})
		at[l.B] = append(at[l.B], hop{l.A, l.MarginDB})
	}
	return at
}

// firstOf returns the node stated first among the hops that fit; one does.
func firstOf(hops []hop, fits func(hop) bool) int {
	first := -1
	for _, e := range hops {
		if fits(e) && (first < 0 || e.to < first) {
			first = e.to
		}
	}
	return first
}
