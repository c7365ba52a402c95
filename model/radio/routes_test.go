package radio

import (
	"fmt"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// The nodes of the small examples.
const (
	s0, s1, r2, r3, x4 = 0, 1, 2, 3, 4
)

var few = []Kind{Sensor, Sensor, Repeater, Repeater, Receiver}

func TestTheBestRouteHasTheStrongestWeakestLink(t *testing.T) {
	links := []Link{
		{A: s0, B: x4, MarginDB: 3},
		{A: s0, B: r2, MarginDB: 20}, {A: r2, B: x4, MarginDB: 9},
		{A: r2, B: r3, MarginDB: 15}, {A: r3, B: x4, MarginDB: 30},
	}
	for _, row := range []struct {
		maxHops int
		want    *Route
	}{
		{0, nil},
		{1, &Route{[]int{s0, x4}, 3}},
		{2, &Route{[]int{s0, r2, x4}, 9}},
		{3, &Route{[]int{s0, r2, r3, x4}, 15}},
		{8, &Route{[]int{s0, r2, r3, x4}, 15}},
	} {
		t.Run(fmt.Sprint(row.maxHops, " hops"), func(t *testing.T) {
			got := Routes(few, links, row.maxHops)
			if !reflect.DeepEqual(got[s0], row.want) {
				t.Errorf("%+v, want %+v", got[s0], row.want)
			}
			for v := range few[1:] {
				if got[v+1] != nil {
					t.Errorf("node %d has route %+v, want none", v+1, got[v+1])
				}
			}
		})
	}
}

func TestAtEqualMarginsFewestHopsThenStatedOrder(t *testing.T) {
	links := []Link{
		{A: x4, B: r3, MarginDB: 10}, {A: x4, B: r2, MarginDB: 12}, // stated backwards on purpose
		{A: s0, B: r3, MarginDB: 11}, {A: s0, B: r2, MarginDB: 10},
		{A: s1, B: x4, MarginDB: 5}, {A: s1, B: r2, MarginDB: 5},
	}
	got := Routes(few, links, 3)
	if want := (&Route{[]int{s0, r2, x4}, 10}); !reflect.DeepEqual(got[s0], want) {
		t.Errorf("%+v, want %+v: r2 is stated first", got[s0], want)
	}
	if want := (&Route{[]int{s1, x4}, 5}); !reflect.DeepEqual(got[s1], want) {
		t.Errorf("%+v, want %+v: it is shorter", got[s1], want)
	}
}

func TestASensorNeverForwards(t *testing.T) {
	links := []Link{
		{A: s0, B: s1, MarginDB: 40}, {A: s1, B: x4, MarginDB: 40},
		{A: s1, B: r2, MarginDB: 40}, {A: s0, B: r2, MarginDB: 40},
	}
	got := Routes(few, links, 8)
	if got[s0] != nil {
		t.Errorf("route %+v by way of a sensor", got[s0])
	}
	if served := Served(few, links, 8); served[s0] || !served[s1] {
		t.Errorf("served %v, want sensor 1 alone", served)
	}
}

func TestAWeakRouteIsStillARouteButServesNobody(t *testing.T) {
	links := []Link{{A: s0, B: x4, MarginDB: -12, RequiredDB: 14}, {A: s1, B: x4, MarginDB: 14, RequiredDB: 14}}
	if got := Routes(few, links, 3); got[s0] == nil || got[s0].MarginDB != -12 {
		t.Errorf("%+v, want the weak route", got[s0])
	}
	if served := Served(few, links, 3); served[s0] || !served[s1] {
		t.Errorf("served %v, want sensor 1 alone, whose link just holds", served)
	}
}

func TestEachLinkIsHeldToItsOwnRequiredMargin(t *testing.T) {
	// The strong way leads past an obstacle and needs more than it has, the weak
	// way is open and holds.
	links := []Link{
		{A: s0, B: r2, MarginDB: 16, RequiredDB: 18.6}, {A: r2, B: x4, MarginDB: 30, RequiredDB: 14},
		{A: s0, B: r3, MarginDB: 15, RequiredDB: 14}, {A: r3, B: x4, MarginDB: 30, RequiredDB: 14},
	}
	if served := Served(few, links, 3); !served[s0] {
		t.Error("sensor 0 has a route that holds, by way of r3")
	}
	if lost := Lost(few, links, 3); lost[r2] != nil || !slices.Equal(lost[r3], []int{s0}) || !slices.Equal(lost[x4], []int{s0}) {
		t.Errorf("lost %v, want sensor 0 with r3 or x4", lost)
	}
}

func TestLostNamesWhoDependsOnADevice(t *testing.T) {
	links := []Link{
		{A: s0, B: r2, MarginDB: 9}, {A: s0, B: r3, MarginDB: 9},
		{A: s1, B: r3, MarginDB: 9},
		{A: r2, B: x4, MarginDB: 9}, {A: r3, B: x4, MarginDB: 9},
	}
	got := Lost(few, links, 3)
	want := [][]int{nil, nil, nil, {s1}, {s0, s1}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}

func TestASensorOutOfReachIsNotLostAgain(t *testing.T) {
	links := []Link{{A: s0, B: x4, MarginDB: 9}, {A: s1, B: x4, MarginDB: 1, RequiredDB: 2}}
	if got := Lost(few, links, 3); !slices.Equal(got[x4], []int{s0}) {
		t.Errorf("%v, want sensor 0 alone", got[x4])
	}
}

func drawNet(t *rapid.T) ([]Kind, []Link, int) {
	n := rapid.IntRange(1, 8).Draw(t, "nodes")
	nodes := make([]Kind, n)
	for i := range nodes {
		nodes[i] = Kind(rapid.IntRange(0, 2).Draw(t, "kind"))
	}
	var links []Link
	for range rapid.IntRange(0, 24).Draw(t, "links") {
		links = append(links, Link{
			A: rapid.IntRange(0, n-1).Draw(t, "a"), B: rapid.IntRange(0, n-1).Draw(t, "b"),
			MarginDB:   float64(rapid.IntRange(-2, 6).Draw(t, "margin")),
			RequiredDB: float64(rapid.IntRange(0, 3).Draw(t, "required")),
		})
	}
	return nodes, links, rapid.IntRange(0, 5).Draw(t, "hops")
}

// every calls f with every way from a sensor to a receiver over repeaters, in
// at most maxHops links, and the links it uses.
func every(nodes []Kind, links []Link, maxHops, sensor int, f func(way []int, used []Link)) {
	var walk func(way []int, used []Link)
	walk = func(way []int, used []Link) {
		v := way[len(way)-1]
		if nodes[v] == Receiver {
			f(way, used)
			return
		}
		if len(used) == maxHops {
			return
		}
		for _, l := range links {
			w := l.B
			if l.B == v {
				w = l.A
			} else if l.A != v {
				continue
			}
			if nodes[w] != Sensor && !slices.Contains(way, w) {
				walk(append(slices.Clip(way), w), append(slices.Clip(used), l))
			}
		}
	}
	walk([]int{sensor}, nil)
}

func TestRoutesAreTheBestOfAllWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nodes, links, maxHops := drawNet(t)
		got := Routes(nodes, links, maxHops)
		shuffled := rapid.Permutation(links).Draw(t, "order")
		if again := Routes(nodes, shuffled, maxHops); !reflect.DeepEqual(got, again) {
			t.Fatalf("links in another order: %v, not %v", again, got)
		}
		for s := range nodes {
			want := bestWay(nodes, links, maxHops, s, func([]int) bool { return true })
			if !reflect.DeepEqual(got[s], want) {
				t.Fatalf("node %d: %+v, want %+v", s, got[s], want)
			}
		}
	})
}

// bestWay returns the best of all ways of a node that fit, nil where there is
// none or the node is no sensor.
func bestWay(nodes []Kind, links []Link, maxHops, s int, fits func(way []int) bool) (want *Route) {
	if nodes[s] != Sensor {
		return nil
	}
	every(nodes, links, maxHops, s, func(way []int, used []Link) {
		margin := used[0].MarginDB
		for _, l := range used {
			margin = min(margin, l.MarginDB)
		}
		if fits(way) && (want == nil || margin > want.MarginDB || margin == want.MarginDB &&
			(len(way) < len(want.Nodes) || len(way) == len(want.Nodes) && slices.Compare(way, want.Nodes) < 0)) {
			want = &Route{slices.Clone(way), margin}
		}
	})
	return want
}

func TestRoutesWithoutADeviceAreTheBestOfTheWaysThatAvoidIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nodes, links, maxHops := drawNet(t)
		failed := rapid.IntRange(0, len(nodes)-1).Draw(t, "failed")
		got := RoutesWithout(nodes, links, maxHops, failed)
		for s := range nodes {
			want := bestWay(nodes, links, maxHops, s, func(way []int) bool { return !slices.Contains(way, failed) })
			if !reflect.DeepEqual(got[s], want) {
				t.Fatalf("node %d without %d: %+v, want %+v", s, failed, got[s], want)
			}
		}
	})
}

func TestASecondRouteSharesNoRepeaterWithTheBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nodes, links, maxHops := drawNet(t)
		best := Routes(nodes, links, maxHops)
		got := SecondRoutes(nodes, links, maxHops, best)
		for s := range nodes {
			var want *Route
			if best[s] != nil {
				first := best[s].Nodes
				want = bestWay(nodes, links, maxHops, s, func(way []int) bool {
					if len(first) == 2 {
						return !slices.Equal(way, first)
					}
					return !slices.ContainsFunc(way[1:len(way)-1], func(v int) bool { return slices.Contains(first, v) })
				})
			}
			if !reflect.DeepEqual(got[s], want) {
				t.Fatalf("node %d, best %+v: second %+v, want %+v", s, best[s], got[s], want)
			}
		}
	})
}

func TestSinglePointsOfFailureComeWorstFirst(t *testing.T) {
	links := []Link{
		{A: s0, B: r2, MarginDB: 9}, {A: s0, B: r3, MarginDB: 9},
		{A: s1, B: r3, MarginDB: 9},
		{A: r2, B: x4, MarginDB: 9}, {A: r3, B: x4, MarginDB: 9},
	}
	got := SinglePoints(few, links, 3)
	want := []Failure{{x4, []int{s0, s1}}, {r3, []int{s1}}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	if got := SinglePoints(few, nil, 3); got != nil {
		t.Errorf("%v without links, want none", got)
	}
}

func TestServedAndLostAgreeWithAllWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nodes, links, maxHops := drawNet(t)
		hasWay := func(s, without int) bool {
			found := false
			every(nodes, links, maxHops, s, func(way []int, used []Link) {
				good := !slices.Contains(way, without)
				for _, l := range used {
					good = good && l.MarginDB >= l.RequiredDB
				}
				found = found || good
			})
			return found
		}
		served, lost := Served(nodes, links, maxHops), Lost(nodes, links, maxHops)
		for s, kind := range nodes {
			if want := kind == Sensor && hasWay(s, -1); served[s] != want {
				t.Fatalf("node %d served: %v, want %v", s, served[s], want)
			}
		}
		for v, kind := range nodes {
			var want []int
			for s := range nodes {
				if kind != Sensor && served[s] && !hasWay(s, v) {
					want = append(want, s)
				}
			}
			if !slices.Equal(lost[v], want) {
				t.Fatalf("node %d lost: %v, want %v", v, lost[v], want)
			}
		}
	})
}

// largeNet returns 200 sensors, 10 repeaters and a receiver, all in reach of
// one another.
func largeNet() ([]Kind, []Link) {
	var nodes []Kind
	for range 200 {
		nodes = append(nodes, Sensor)
	}
	for range 10 {
		nodes = append(nodes, Repeater)
	}
	nodes = append(nodes, Receiver)
	var links []Link
	for a := range nodes {
		for b := max(a+1, 200); b < len(nodes); b++ {
			links = append(links, Link{A: a, B: b, MarginDB: float64((a*7919+b*104729)%40 - 5), RequiredDB: 14})
		}
	}
	return nodes, links
}

func BenchmarkRoutes(b *testing.B) {
	nodes, links := largeNet()
	b.ReportAllocs()
	for b.Loop() {
		Routes(nodes, links, 8)
	}
}

func BenchmarkLost(b *testing.B) {
	nodes, links := largeNet()
	b.ReportAllocs()
	for b.Loop() {
		Lost(nodes, links, 8)
	}
}

func BenchmarkSecondRoutes(b *testing.B) {
	nodes, links := largeNet()
	best := Routes(nodes, links, 8)
	b.ReportAllocs()
	for b.Loop() {
		SecondRoutes(nodes, links, 8, best)
	}
}
