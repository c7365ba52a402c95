package analysis

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/radio"
)

// Goal is what a repeater is wanted for.
type Goal int

// The goals, each for the sensors that lack it.
const (
	Served      Goal = iota // a route with the required margin
	Survives                // one that is left when any one repeater fails, or any one of several receivers
	SecondRoute             // a second route with the required margin, as Second in a Study
)

// Prospect is the radio net of a result in which one more repeater is tried, place
// by place. It is read only once made.
type Prospect struct {
	r       *Result
	goal    Goal
	reserve float64     // dB above the required margin that is asked for
	device  antenna     // the repeater, still without a place
	needy   []int       // sensors that lack the goal
	onward  []float64   // by hub: what its own way on has above what is required
	inner   []float64   // the same with a link less
	bridges [][]float64 // by needy sensor and hub: the weakest link on the way from one to the other, dB above what is required
	failing []int       // hubs whose failing is to be outlived; -1 is none of them
	fewest  float64     // dB, the least margin any link is asked for
}

// Prospect returns the net as it is before a repeater with such a radio is tried in
// it. A sensor is mended when its route has reserve decibels above the required
// margin.
func (r *Result) Prospect(goal Goal, reserve float64, fitted model.Radio) *Prospect {
	n, s := &r.net, r.Plan.Settings
	p := &Prospect{r: r, goal: goal, reserve: reserve, device: antenna{feature: nowhere, kind: radio.Repeater, radio: rated(fitted, model.KindRepeater)}}
	p.fewest = radio.RequiredMargin(s.RequiredMargin, radio.ShadowingSD(s.ShadowingSD, false), s.Reliability)
	if fit := r.Calibration.fit(); fit != nil && s.RequiredMargin == nil {
		for _, class := range []string{ClassOpen, ClassObstacles, ClassTrees} {
			if g, ok := fit.For(class); ok {
				p.fewest = math.Min(p.fewest, g.Margin(s.Reliability))
			}
		}
	}
	receivers := 0
	var kinds []radio.Kind
	var above []radio.Link
	for _, a := range n.hubs {
		kinds = append(kinds, a.kind)
	}
	for _, k := range n.hubLinks() {
		above = append(above, radio.Link{A: k.A, B: k.B, MarginDB: k.MarginDB - k.RequiredDB})
	}
	shorter := radio.NewHubs(kinds, above, s.MaxHops-2)
	for j, hub := range n.hubs {
		best := math.Inf(-1)
		if hub.hears() {
			best, _ = n.spare.Best([]radio.Uplink{{Hub: j, MarginDB: math.MaxFloat64}})
		}
		p.onward = append(p.onward, best)
		least := math.Inf(-1)
		if hub.hears() {
			least, _ = shorter.Best([]radio.Uplink{{Hub: j, MarginDB: math.MaxFloat64}})
		}
		p.inner = append(p.inner, least)
		if hub.kind == radio.Receiver {
			receivers++
		}
	}
	switch goal {
	case Survives:
		for j, hub := range n.hubs {
			if hub.kind == radio.Repeater || receivers > 1 {
				p.failing = append(p.failing, j)
			}
		}
		p.failing = append(p.failing, len(n.hubs)) // the one that is tried
	default:
		p.failing = []int{-1}
	}
	for i := range r.Sensors {
		if p.spare(i, nil) >= reserve {
			continue
		}
		p.needy = append(p.needy, i)
		p.bridges = append(p.bridges, n.reached(i))
	}
	return p
}

// reached returns what the weakest link on the best way from sensor i to each hub
// has above its required margin, by way of any number of repeaters.
func (n *net) reached(i int) []float64 {
	out := make([]float64, len(n.hubs))
	for j, hub := range n.hubs {
		out[j] = math.Inf(-1)
		if k := &n.rows[i][j]; k.From != "" && hub.hears() {
			out[j] = k.Margin - k.Required
		}
	}
	links := n.hubLinks()
	for range n.hubs {
		for _, k := range links {
			spare := k.MarginDB - k.RequiredDB
			if n.hubs[k.B].kind == radio.Repeater {
				out[k.A] = math.Max(out[k.A], math.Min(out[k.B], spare))
			}
			out[k.B] = math.Max(out[k.B], math.Min(out[k.A], spare))
		}
	}
	return out
}

// Needy are the sensors that lack the goal, in file order.
func (p *Prospect) Needy() (ids []string) {
	for _, i := range p.needy {
		ids = append(ids, p.r.Sensors[i].ID)
	}
	return ids
}

// SpareOf returns by how many decibels the best route of sensor i exceeds the margin
// its links have to have; ok is false where it has none.
func (r *Result) SpareOf(i int) (db float64, ok bool) {
	db = r.net.routes[i].spare
	return db, !math.IsInf(db, -1)
}

// A Trial is what a repeater at a place would do.
type Trial struct {
	Mended  []int   // of the needy sensors, by place in Needy
	Weakest float64 // dB that the weakest of their routes has above its required margin; +Inf where none is mended
	Length  float64 // metres of the links from them to the repeater that hold, added up
}

// tried are the links of the repeater that is tried, each with what it has above
// its required margin.
type tried struct {
	hubs    []radio.Link   // A is the hub; MarginDB and RequiredDB as they are
	sensors []radio.Uplink // by place among the needy; Hub is -1 where neither end can hear the other
}

// spare returns what sensor i has above the required margin in what the goal asks
// for, -Inf where it lacks it; t, nil for none, are the links of a repeater that is
// tried, and at its place among the needy sensors.
func (p *Prospect) spare(i int, t *tried) float64 {
	at := slices.Index(p.needy, i)
	return p.spareIn(p.nets(t), i, at, t)
}

// nets solves the net by margin above what is required, for each hub that fails.
func (p *Prospect) nets(t *tried) (nets []*radio.Hubs) {
	if p.goal == SecondRoute {
		return nil
	}
	n := &p.r.net
	kinds := make([]radio.Kind, len(n.hubs)+1)
	for j, a := range n.hubs {
		kinds[j] = a.kind
	}
	kinds[len(n.hubs)] = radio.Repeater
	for _, failed := range p.failing {
		if failed < 0 && t == nil {
			nets = append(nets, n.spare)
			continue
		}
		var links []radio.Link
		for _, k := range n.hubLinks() {
			if k.A != failed && k.B != failed {
				links = append(links, radio.Link{A: k.A, B: k.B, MarginDB: k.MarginDB - k.RequiredDB})
			}
		}
		if t != nil && failed != len(n.hubs) {
			for _, k := range t.hubs {
				if k.A != failed {
					links = append(links, radio.Link{A: k.A, B: len(n.hubs), MarginDB: k.MarginDB - k.RequiredDB})
				}
			}
		}
		nets = append(nets, radio.NewHubs(kinds, links, p.r.Plan.Settings.MaxHops))
	}
	return nets
}

// spareIn is spare in nets that are solved.
func (p *Prospect) spareIn(nets []*radio.Hubs, i, at int, t *tried) float64 {
	n := &p.r.net
	if p.goal == SecondRoute {
		return p.second(i, at, t)
	}
	least := math.Inf(1)
	for k, failed := range p.failing {
		var above []radio.Uplink
		for j := range n.rows[i] {
			if l := &n.rows[i][j]; l.From != "" && n.hubs[j].hears() && j != failed {
				above = append(above, radio.Uplink{Hub: j, MarginDB: l.Margin - l.Required})
			}
		}
		if t != nil && failed != len(n.hubs) {
			if u := t.sensors[at]; u.Hub >= 0 {
				above = append(above, radio.Uplink{Hub: len(n.hubs), MarginDB: u.MarginDB - u.RequiredDB})
			}
		}
		best, _ := nets[k].Best(above)
		least = math.Min(least, best)
	}
	return least
}

// second is what the links of sensor i's second route have above their required
// margins.
func (p *Prospect) second(i, at int, t *tried) float64 {
	n := &p.r.net
	var kinds []radio.Kind
	for _, a := range n.hubs {
		kinds = append(kinds, a.kind)
	}
	self := len(n.hubs) + 1
	kinds = append(kinds, radio.Repeater, radio.Sensor)
	links := n.hubLinks()
	if t != nil {
		for _, k := range t.hubs {
			links = append(links, radio.Link{A: k.A, B: len(n.hubs), MarginDB: k.MarginDB, RequiredDB: k.RequiredDB})
		}
		if u := t.sensors[at]; u.Hub >= 0 {
			links = append(links, radio.Link{A: self, B: len(n.hubs), MarginDB: u.MarginDB, RequiredDB: u.RequiredDB})
		}
	}
	for j := range n.rows[i] {
		if k := &n.rows[i][j]; k.From != "" && n.hubs[j].hears() {
			links = append(links, radio.Link{A: self, B: j, MarginDB: k.Margin, RequiredDB: k.Required})
		}
	}
	hops := p.r.Plan.Settings.MaxHops
	route := radio.SecondRoutes(kinds, links, hops, radio.Routes(kinds, links, hops))[self]
	if route == nil {
		return math.Inf(-1)
	}
	least := math.Inf(1)
	for k := 1; k < len(route.Nodes); k++ {
		a, b := route.Nodes[k-1], route.Nodes[k]
		of := slices.IndexFunc(links, func(l radio.Link) bool { return l.A == a && l.B == b || l.A == b && l.B == a })
		least = math.Min(least, links[of].MarginDB-links[of].RequiredDB)
	}
	return least
}

// A Scout tries places. It holds the memory that takes; use one a goroutine.
type Scout struct {
	p *Prospect
	l *linker
}

// Scout returns one.
func (p *Prospect) Scout() *Scout { return &Scout{p, p.r.linker()} }

// place is the repeater at a place.
func (s *Scout) place(at orb.Point, height float64) antenna {
	a := s.p.device
	a.at, a.height = at, height
	return a
}

// Try returns what the repeater would do at a place, height metres above the ground,
// by every way.
func (s *Scout) Try(at orb.Point, height float64) Trial {
	p, none := s.p, Trial{Weakest: math.Inf(1)}
	n := &p.r.net
	a := within(p.r.Scene, s.place(at, height))
	t := &tried{}
	holds := false
	for j, hub := range n.hubs {
		x, y := hub, a
		if hub.kind == radio.Receiver {
			x, y = a, hub
		}
		if k, ok := s.l.rate(x, y); ok && hub.hears() {
			t.hubs = append(t.hubs, radio.Link{A: j, B: len(n.hubs), MarginDB: k.Margin, RequiredDB: k.Required})
			holds = holds || min(k.Margin-k.Required, p.onward[j]) >= p.reserve
		}
	}
	if !holds {
		return none // it would have no way on
	}
	for _, i := range p.needy {
		u := radio.Uplink{Hub: -1}
		if k, ok := s.l.rate(p.r.works[i].antenna, a); ok {
			u = radio.Uplink{MarginDB: k.Margin, RequiredDB: k.Required}
		}
		t.sensors = append(t.sensors, u)
	}
	out, nets := none, p.nets(t)
	for at, i := range p.needy {
		spare := p.spareIn(nets, i, at, t)
		if !(spare >= p.reserve) {
			continue
		}
		out.Mended = append(out.Mended, at)
		out.Weakest = math.Min(out.Weakest, spare)
		if u := t.sensors[at]; u.Hub >= 0 && u.MarginDB >= u.RequiredDB {
			b := p.r.works[i].antenna.at
			out.Length += math.Hypot(b[0]-a.at[0], b[1]-a.at[1])
		}
	}
	return out
}

// AtMost returns how many sensors the repeater could mend at a place at most, and
// what the weakest of their routes could have above its required margin at most, if
// it mends as many. It goes by the distances alone or, closely, by a few points of
// the bare ground too.
func (s *Scout) AtMost(at orb.Point, height float64, closely bool) (count int, weakest float64) {
	p := s.p
	n := &p.r.net
	a := s.place(at, height)
	hubs := make([]float64, len(n.hubs))
	onward := math.Inf(-1)
	for j, hub := range n.hubs {
		hubs[j] = math.Inf(-1)
		if hub.hears() {
			hubs[j] = s.l.atMost(a, hub, closely) - p.fewest
			onward = math.Max(onward, math.Min(hubs[j], p.onward[j]))
		}
	}
	weakest = math.Inf(1)
	if !(onward >= p.reserve) {
		return 0, weakest
	}
	for k, i := range p.needy {
		best := math.Min(s.l.atMost(p.r.works[i].antenna, a, closely)-p.fewest, onward)
		for j, reached := range p.bridges[k] {
			best = math.Max(best, min(hubs[j], reached, onward))
		}
		if best >= p.reserve {
			count++
			if p.goal == Served {
				weakest = math.Min(weakest, best)
			}
		}
	}
	return count, weakest
}

// Rank orders trials: more sensors mended first, then the weakest route by whole
// tenths of a decibel, then the shorter links.
func (t Trial) Rank(o Trial) int {
	tenths := func(t Trial) float64 { return math.Floor(10 * t.Weakest) }
	switch {
	case len(t.Mended) != len(o.Mended):
		return len(o.Mended) - len(t.Mended)
	case tenths(t) != tenths(o):
		if tenths(t) > tenths(o) {
			return -1
		}
		return 1
	case t.Length != o.Length:
		if t.Length < o.Length {
			return -1
		}
		return 1
	}
	return 0
}

// WayOn returns the best way of a repeater to a receiver in one link less than a
// route may have, from the repeater itself on, and what its weakest link has above
// the required margin, nil where there is none; and the devices without which it has
// none that holds.
func (r *Result) WayOn(id string) (route []string, spare float64, needs []string) {
	n := &r.net
	kinds := make([]radio.Kind, len(n.hubs))
	self := -1
	for j, a := range n.hubs {
		kinds[j] = a.kind
		if a.feature.ID == id {
			self = j
		}
	}
	var links []radio.Link
	var up []radio.Uplink
	for _, k := range n.hubLinks() {
		switch spare := k.MarginDB - k.RequiredDB; self {
		case k.A:
			up = append(up, radio.Uplink{Hub: k.B, MarginDB: spare})
		case k.B:
			up = append(up, radio.Uplink{Hub: k.A, MarginDB: spare})
		default:
			links = append(links, radio.Link{A: k.A, B: k.B, MarginDB: spare})
		}
	}
	solved := radio.NewHubs(kinds, links, r.Plan.Settings.MaxHops-1)
	best := solved.Route(up)
	if best == nil {
		return nil, math.Inf(-1), nil
	}
	for _, v := range solved.Lost(up) {
		needs = append(needs, n.hubs[v].feature.ID)
	}
	route = []string{id}
	for _, v := range best.Nodes {
		route = append(route, n.hubs[v].feature.ID)
	}
	return route, best.MarginDB, needs
}

// Legs returns what the links of a repeater at a place have above their required
// margins: to each needy sensor, and the way on to a receiver that leaves a link for
// another repeater before it; -Inf where there is none. It is for two repeaters in
// a row, the outer one of which hears the sensors and the inner one has the way on.
func (s *Scout) Legs(at orb.Point, height float64) (sensors []float64, onward float64) {
	p := s.p
	n := &p.r.net
	a := within(p.r.Scene, s.place(at, height))
	onward = math.Inf(-1)
	for j, hub := range n.hubs {
		if !hub.hears() || !(s.l.atMost(a, hub, false)-p.fewest >= p.reserve) {
			continue
		}
		if k, ok := s.l.rate(a, hub); ok {
			onward = math.Max(onward, math.Min(k.Margin-k.Required, p.inner[j]))
		}
	}
	for _, i := range p.needy {
		spare := math.Inf(-1)
		if b := p.r.works[i].antenna; s.l.atMost(b, a, false)-p.fewest >= p.reserve {
			if k, ok := s.l.rate(b, a); ok {
				spare = k.Margin - k.Required
			}
		}
		sensors = append(sensors, spare)
	}
	return sensors, onward
}

// Between returns what the link between two repeaters that are tried has above its
// required margin; BetweenAtMost what it can have at most, by the distance alone.
func (s *Scout) Between(a, b orb.Point, height float64) float64 {
	x, y := within(s.p.r.Scene, s.place(a, height)), within(s.p.r.Scene, s.place(b, height))
	if k, ok := s.l.rate(x, y); ok {
		return k.Margin - k.Required
	}
	return math.Inf(-1)
}

// BetweenAtMost is told with Between.
func (s *Scout) BetweenAtMost(a, b orb.Point, height float64) float64 {
	return s.l.atMost(s.place(a, height), s.place(b, height), false) - s.p.fewest
}

// MayHear tells for each needy sensor whether its link to a repeater at a place could
// have the required margin, by the distance and a few points of the bare ground.
func (s *Scout) MayHear(at orb.Point, height float64) []bool {
	a := s.place(at, height)
	out := make([]bool, len(s.p.needy))
	for k, i := range s.p.needy {
		b := s.p.r.works[i].antenna
		out[k] = s.l.atMost(b, a, false)-s.p.fewest >= s.p.reserve && s.l.atMost(b, a, true)-s.p.fewest >= s.p.reserve
	}
	return out
}

// Alone tells for each needy sensor whether it reaches no repeater of the plan: then
// it takes a new one that hears it.
func (p *Prospect) Alone() []bool {
	out := make([]bool, len(p.needy))
	for k, reached := range p.bridges {
		out[k] = !slices.ContainsFunc(reached, func(spare float64) bool { return spare >= p.reserve })
	}
	return out
}
