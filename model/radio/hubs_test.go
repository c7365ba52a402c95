package radio

import (
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestHubsSayOfEachSensorWhatTheWholeNetSays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nodes, links, maxHops := drawNet(t)
		var kinds []Kind
		var node []int // of each hub
		hub := make([]int, len(nodes))
		for v, k := range nodes {
			if hub[v] = -1; k != Sensor {
				hub[v] = len(kinds)
				kinds, node = append(kinds, k), append(node, v)
			}
		}
		var between []Link
		up := make([][]Uplink, len(nodes))
		for _, l := range links {
			a, b := hub[l.A], hub[l.B]
			if a < 0 {
				a, b, l.A, l.B = b, a, l.B, l.A
			}
			switch {
			case a < 0:
			case b < 0:
				up[l.B] = append(up[l.B], Uplink{a, l.MarginDB, l.RequiredDB})
			default:
				between = append(between, Link{a, b, l.MarginDB, l.RequiredDB})
			}
		}
		h := NewHubs(kinds, between, maxHops)
		routes, lost := Routes(nodes, links, maxHops), Lost(nodes, links, maxHops)
		for s, k := range nodes {
			if k != Sensor {
				continue
			}
			got := h.Route(up[s])
			if got != nil {
				got.Nodes = append([]int{s}, got.Nodes...)
				for i, v := range got.Nodes[1:] {
					got.Nodes[1+i] = node[v]
				}
			}
			if !reflect.DeepEqual(got, routes[s]) {
				t.Fatalf("node %d: %+v, in the whole net %+v", s, got, routes[s])
			}
			if margin, ok := h.Best(up[s]); ok != (got != nil) || ok && margin != got.MarginDB {
				t.Fatalf("node %d: margin %v, %v of the route %+v", s, margin, ok, got)
			}
			mine := h.Lost(up[s])
			for i, v := range node {
				if slices.Contains(mine, i) != slices.Contains(lost[v], s) {
					t.Fatalf("node %d depends on hubs %v, in the whole net node %d loses %v", s, mine, v, lost[v])
				}
			}
		}
	})
}
