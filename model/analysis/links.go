package analysis

import (
	"fmt"
	"slices"
	"sync/atomic"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/pattern"
	"pleach/model/radio"
	"pleach/model/scene"
)

// profileStep is the greatest step of a radio profile, metres; on terrain of
// smaller cells it is a cell (method, radio 2).
const profileStep = 5.0

// showMargin is the margin in dB from which a link is listed (contract, section 6).
const showMargin = -20.0

// antenna is a device's antenna.
type antenna struct {
	feature *model.Feature
	kind    radio.Kind
	at      orb.Point
	height  float64 // above the ground
	radio   radio.Radio
	inside  []string // buildings it stands in below their tops
}

func sensorAntenna(sc *scene.Scene, f *model.Feature, m model.SensorModel, at orb.Point) antenna {
	s := f.Value.(*model.Sensor)
	return within(sc, antenna{feature: f, kind: radio.Sensor, at: at, height: s.Antenna, radio: rated(m.Radio.With(s.Radio), model.KindSensor)})
}

func otherAntenna(sc *scene.Scene, d scene.Device) antenna {
	switch v := d.Feature.Value.(type) {
	case *model.Repeater:
		return within(sc, antenna{feature: d.Feature, kind: radio.Repeater, at: d.At, height: v.Antenna, radio: rated(v.Radio, model.KindRepeater)})
	case *model.Receiver:
		return within(sc, antenna{feature: d.Feature, kind: radio.Receiver, at: d.At, height: v.Antenna, radio: rated(v.Radio, model.KindReceiver)})
	}
	panic("no antenna for kind " + string(d.Feature.Kind))
}

// within notes the buildings an antenna stands in below their tops.
func within(sc *scene.Scene, a antenna) antenna {
	z := sc.Ground(a.at) + a.height
	for _, b := range sc.Buildings {
		if z < b.Top && b.Bound.Contains(a.at) && pattern.Inside(b.Shape, a.at) {
			a.inside = append(a.inside, b.Feature.ID)
		}
	}
	return a
}

// rated fills in the contract's defaults.
func rated(m model.Radio, k model.Kind) radio.Radio {
	def := model.RadioDefaults(k)
	or := func(v *float64, def float64) float64 {
		if v == nil {
			return def
		}
		return *v
	}
	out := radio.Radio{ERPDBm: or(m.ERP, def.ERP), AntennaGainDBi: or(m.AntennaGain, def.AntennaGain),
		FeederLossDB: or(m.FeederLoss, def.FeederLoss), InstallationLossDB: or(m.Installation, def.Installation)}
	if !m.TransmitOnly {
		s := or(m.Sensitivity, def.Sensitivity)
		out.SensitivityDBm = &s
	}
	return out
}

// rate works out the link between two antennas; ok is false where neither end
// can hear the other.
func (l *linker) rate(a, b antenna) (k Link, ok bool) { return l.judge(a, b, l.path(a, b)) }

// judge works out the link between two antennas from what is lost on its path.
func (l *linker) judge(a, b antenna, p path) (k Link, ok bool) {
	s := l.sc.Plan.Settings
	k = Link{From: a.feature.ID, To: b.feature.ID, A: a.at, B: b.at, Distance: p.distance,
		FreeSpace: radio.FreeSpaceLoss(p.distance, s.Frequency), Diffraction: p.diff.DeltaBullingtonDB, SingleEdge: p.diff.SingleEdgeDB,
		Installation: a.radio.InstallationLossDB + b.radio.InstallationLossDB, Clearance: p.diff.Clearance}
	if n := len(p.profile.D); n > 0 && p.profile.D[n-1] > 0 {
		q := p.diff.ClearanceAt / p.profile.D[n-1]
		k.ClearanceAt = orb.Point{a.at[0] + q*(b.at[0]-a.at[0]), a.at[1] + q*(b.at[1]-a.at[1])}
	} else {
		k.ClearanceAt = a.at
	}
	k.Vegetation, k.Building, k.Past, k.Class = p.vegetation, p.building, p.past, p.class()
	k.Loss = k.FreeSpace + k.Diffraction + k.Vegetation + k.Building
	rating := radio.Rate(a.radio, b.radio, k.Loss)
	weaker, ok := rating.Weaker()
	if !ok {
		return k, false
	}
	k.Received, k.Margin = weaker.ReceivedDBm, weaker.MarginDB
	k.Weaker = a.feature.ID
	if weaker == rating.Back && (weaker != rating.Forward || !rating.Forward.Rated) {
		k.Weaker = b.feature.ID
	}
	sd := radio.ShadowingSD(s.ShadowingSD, p.diff.Obstructed() || p.past != nil && p.past.InTrees > 0)
	k.SD = sd
	k.Required = radio.RequiredMargin(s.RequiredMargin, sd, s.Reliability)
	k.Probability = radio.Probability(k.Margin, sd)
	for _, d := range []struct {
		to   *Direction
		from radio.Direction
	}{{&k.There, rating.Forward}, {&k.Back, rating.Back}} {
		if d.from.Rated {
			*d.to = Direction{true, d.from.ReceivedDBm, d.from.MarginDB, radio.Probability(d.from.MarginDB, sd)}
		}
	}
	l.correct(&k)
	return k, true
}

// net is the radio net of a plan: what of it still holds while neither a device
// nor the surroundings change.
type net struct {
	hubs    []antenna           // repeaters and receivers, in file order
	between map[[2]int]Link     // between hubs, by their places; not those of which neither end can hear the other
	solved  *radio.Hubs         // by margin
	spare   *radio.Hubs         // by margin above what each link is asked for
	rows    [][]Link            // for each sensor the links to the hubs; From is "" where neither end can hear the other
	routes  []routed            // for each sensor
	lost    map[string][]string // by repeater or receiver: sensors lost if it fails
	found   []*model.Finding    // for each sensor, of its route; nil for one that holds
	same    bool                // the hubs are those of the result before
}

// routed is how a sensor reaches a receiver.
type routed struct {
	*radio.Route         // by hubs; nil when there is none
	spare        float64 // dB above the required margin of its best route, -Inf without one
	lost         []int   // hubs it depends on
}

// hears reports whether a link forwards towards an antenna.
func (a antenna) hears() bool { return a.radio.SensitivityDBm != nil }

// link rates all links and finds the routes. What holds between devices that are
// the same as in the result before is taken over.
func (r *Result) link() {
	if r.Plan.Settings.Calibration.Use {
		r.Calibration = calibrate(r.Scene)
	}
	before := new(net)
	known := r.since.known() && sameCorrections(r.since.Calibration, r.Calibration)
	if known {
		before = &r.since.net
	}
	n := &r.net
	var old []int // the place of each hub in the result before, -1 for a new one
	same := known
	for i, f := range r.Plan.Of(model.KindRepeater, model.KindReceiver) {
		at := slices.IndexFunc(before.hubs, func(a antenna) bool { return a.feature == f })
		old = append(old, at)
		if at >= 0 {
			n.hubs = append(n.hubs, before.hubs[at])
		} else {
			n.hubs = append(n.hubs, otherAntenna(r.Scene, scene.Device{Feature: f, At: r.Scene.Grid.ToSite(f.Geometry.(orb.Point))}))
		}
		same = same && at == i
	}
	same = same && len(n.hubs) == len(before.hubs)
	n.same = same
	if same {
		n.hubs, n.between, n.solved, n.spare = before.hubs, before.between, before.solved, before.spare
	} else {
		r.linkHubs(before, old)
	}
	n.rows = make([][]Link, len(r.works))
	n.routes = make([]routed, len(r.works))
	var fresh []int
	kept := same && len(r.since.fresh) == 0 && len(r.since.gone) == 0
	for i, at := range r.since.from {
		if at >= 0 && same {
			n.rows[i], n.routes[i] = before.rows[at], before.routes[at]
		} else {
			fresh = append(fresh, i)
		}
	}
	var rated atomic.Int64
	each(len(fresh), func() func(int) {
		l := r.linker()
		return func(k int) {
			i := fresh[k]
			w := r.works[i]
			row := make([]Link, len(n.hubs))
			var up, above []radio.Uplink
			for j, hub := range n.hubs {
				if from := r.since.from[i]; from >= 0 && old[j] >= 0 {
					row[j] = before.rows[from][old[j]]
				} else {
					rated.Add(1)
					if k, ok := l.rate(w.antenna, hub); ok {
						row[j] = k
					}
				}
				if k := &row[j]; k.From != "" && hub.hears() {
					up = append(up, radio.Uplink{Hub: j, MarginDB: k.Margin, RequiredDB: k.Required})
					above = append(above, radio.Uplink{Hub: j, MarginDB: k.Margin - k.Required})
				}
			}
			n.rows[i] = row
			spare, _ := n.spare.Best(above)
			n.routes[i] = routed{n.solved.Route(up), spare, n.solved.Lost(up)}
		}
	})
	r.Rated += int(rated.Load())

	used := make([]bool, len(n.hubs)*len(n.hubs)) // links between hubs
	for i := range n.routes {
		route := n.routes[i].Route
		if at := r.since.from[i]; at < 0 || !same {
			r.Sensors[i].takes(route, n.hubs)
		}
		if route == nil {
			continue
		}
		for k := 1; k < len(route.Nodes); k++ {
			a, b := route.Nodes[k-1], route.Nodes[k]
			used[a*len(n.hubs)+b], used[b*len(n.hubs)+a] = true, true
		}
	}
	r.listLinks(used)
	if kept {
		n.lost = before.lost
	} else {
		n.lost = map[string][]string{}
		for i := range n.routes {
			for _, v := range n.routes[i].lost {
				id := n.hubs[v].feature.ID
				n.lost[id] = append(n.lost[id], r.Sensors[i].ID)
			}
		}
	}
}

// takes notes a sensor's route, nil for none.
func (s *Sensor) takes(route *radio.Route, hubs []antenna) {
	s.Route, s.Margin = nil, nil
	if route == nil {
		return
	}
	s.Route = append(make([]string, 0, 1+len(route.Nodes)), s.ID)
	for _, v := range route.Nodes {
		s.Route = append(s.Route, hubs[v].feature.ID)
	}
	s.Margin = &route.MarginDB
}

// linkHubs rates the links between repeaters and receivers and solves the net they
// make.
func (r *Result) linkHubs(before *net, old []int) {
	n := &r.net
	n.between = map[[2]int]Link{}
	kinds := make([]radio.Kind, len(n.hubs))
	var links, above []radio.Link
	l := r.linker()
	for i, a := range n.hubs {
		kinds[i] = a.kind
		for j, b := range n.hubs {
			if a.kind != radio.Repeater || i == j || b.kind == radio.Repeater && j < i {
				continue
			}
			var k Link
			ok := false
			if old[i] >= 0 && old[j] >= 0 && (b.kind == radio.Receiver || old[i] < old[j]) {
				k, ok = before.between[[2]int{old[i], old[j]}]
			} else {
				r.Rated++
				k, ok = l.rate(a, b)
			}
			if !ok {
				continue
			}
			n.between[[2]int{i, j}] = k
			if b.hears() && (a.hears() || b.kind == radio.Receiver) {
				links = append(links, radio.Link{A: i, B: j, MarginDB: k.Margin, RequiredDB: k.Required})
				above = append(above, radio.Link{A: i, B: j, MarginDB: k.Margin - k.Required})
			}
		}
	}
	hops := r.Plan.Settings.MaxHops
	n.solved, n.spare = radio.NewHubs(kinds, links, hops), radio.NewHubs(kinds, above, hops)
}

// listLinks lists the links that are shown, by their first device in file order,
// and the devices that stand in buildings.
func (r *Result) listLinks(used []bool) {
	n := &r.net
	show := func(k *Link, used bool) {
		if k.From != "" && (used || k.Margin >= showMargin) {
			r.Links = append(r.Links, *k)
			r.Links[len(r.Links)-1].InUse = used
		}
	}
	about := len(n.rows) + len(n.between)
	if s := r.since; s.known() {
		about = len(s.Links) + len(n.hubs)*(1+len(s.fresh))
	}
	r.Links = make([]Link, 0, about)
	sensor, hub := 0, 0
	for _, d := range r.Scene.Devices {
		var inside []string
		switch {
		case sensor < len(r.works) && r.works[sensor].feature == d.Feature:
			row, route := n.rows[sensor], n.routes[sensor].Route
			for j := range row {
				show(&row[j], route != nil && route.Nodes[0] == j)
			}
			inside = r.works[sensor].antenna.inside
			sensor++
		case hub < len(n.hubs) && n.hubs[hub].feature == d.Feature:
			for j := range n.hubs {
				if k, ok := n.between[[2]int{hub, j}]; ok {
					show(&k, used[hub*len(n.hubs)+j])
				}
			}
			inside = n.hubs[hub].inside
			hub++
		}
		for _, id := range inside {
			r.indoors = append(r.indoors, [2]string{d.Feature.ID, id})
		}
	}
}

// antennaOf returns the antenna of a device of the plan.
func antennaOf(sc *scene.Scene, id string) (antenna, error) {
	f := sc.Plan.Feature(id)
	switch {
	case f == nil:
		return antenna{}, fmt.Errorf("there is no device %q in the plan", id)
	case !f.Sound() || f.Kind != model.KindSensor && f.Kind != model.KindRepeater && f.Kind != model.KindReceiver:
		return antenna{}, fmt.Errorf("%s is not a sensor, repeater or receiver", f.Who())
	}
	if s, ok := f.Value.(*model.Sensor); ok {
		m, known := sc.Plan.Model(s.Model)
		if !known {
			return antenna{}, fmt.Errorf("%s: model %q is not known", f.Who(), s.Model)
		}
		e := pattern.Stand(sc, f, m)
		return sensorAntenna(sc, f, m, e.At), nil
	}
	return otherAntenna(sc, scene.Device{Feature: f, At: sc.Shape(id).(orb.Point)}), nil
}

// LinkBetween rates the link between two devices of a plan and returns its
// profile: ground heights and heights with obstacles against metres from the
// first device. It returns an error where an id is not that of a sound device.
func LinkBetween(sc *scene.Scene, from, to string) (Link, radio.Profile, radio.Diffraction, error) {
	var as [2]antenna
	for i, id := range []string{from, to} {
		var err error
		if as[i], err = antennaOf(sc, id); err != nil {
			return Link{}, radio.Profile{}, radio.Diffraction{}, err
		}
	}
	if from == to {
		return Link{}, radio.Profile{}, radio.Diffraction{}, fmt.Errorf("%s: a link has two ends", from)
	}
	l := newLinker(sc)
	if sc.Plan.Settings.Calibration.Use {
		l.fit = calibrate(sc).fit()
	}
	p := l.path(as[0], as[1])
	k, ok := l.rate(as[0], as[1])
	if !ok {
		return k, p.profile, p.diff, fmt.Errorf("%s and %s: both only transmit", from, to)
	}
	return k, l.path(as[0], as[1]).profile, p.diff, nil
}

// AntennaHeight returns a device's antenna height above the ground in metres.
func AntennaHeight(f *model.Feature) float64 {
	switch v := f.Value.(type) {
	case *model.Sensor:
		return v.Antenna
	case *model.Repeater:
		return v.Antenna
	case *model.Receiver:
		return v.Antenna
	}
	return 0
}
