package analysis

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/pattern"
	"pleach/model/radio"
	"pleach/model/scene"
	"pleach/model/terrain"
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

// antennas lists the sound devices in file order, sensors where they are fixed.
func (r *Result) antennas() []antenna {
	eyes := map[string]*pattern.Eye{}
	for _, w := range r.works {
		eyes[w.feature.ID] = &w.eye
	}
	var out []antenna
	for _, d := range r.Scene.Devices {
		if s, ok := d.Feature.Value.(*model.Sensor); ok {
			e := eyes[d.Feature.ID]
			if e == nil {
				continue
			}
			m, _ := r.Plan.Model(s.Model)
			out = append(out, sensorAntenna(r.Scene, d.Feature, m, e.At))
			continue
		}
		out = append(out, otherAntenna(r.Scene, d))
	}
	return out
}

func sensorAntenna(sc *scene.Scene, f *model.Feature, m model.SensorModel, at orb.Point) antenna {
	s := f.Value.(*model.Sensor)
	return within(sc, antenna{feature: f, kind: radio.Sensor, at: at, height: s.Antenna, radio: rated(m.Radio, model.KindSensor)})
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

// path is the way between two antennas.
type path struct {
	profile  radio.Profile
	diff     radio.Diffraction
	distance float64 // slant
	foliage  bool    // the direct line runs through foliage
}

// linker rates links over a scene. It holds the memory that takes; use one a
// goroutine.
type linker struct {
	sc      *scene.Scene
	cond    radio.Conditions
	builder radio.Builder
	inserts []radio.Insert
	cross   []float64
}

func newLinker(sc *scene.Scene) *linker {
	s := sc.Plan.Settings
	l := &linker{sc: sc, cond: radio.Conditions{FreqMHz: s.Frequency, EffectiveRadiusKm: s.EffectiveRadius}}
	if s.Polarisation == "H" {
		l.cond.Polarisation = radio.Horizontal
	}
	return l
}

// path lays the profile from a to b and works out its diffraction.
func (l *linker) path(a, b antenna) path {
	d := math.Hypot(b.at[0]-a.at[0], b.at[1]-a.at[1])
	za, zb := l.sc.Ground(a.at)+a.height, l.sc.Ground(b.at)+b.height
	p := path{distance: math.Hypot(d, zb-za)}
	l.inserts = l.inserts[:0]
	bound := orb.MultiPoint{a.at, b.at}.Bound()
	for i := range l.sc.Buildings {
		h := &l.sc.Buildings[i]
		if bound.Intersects(h.Bound) && !slices.Contains(a.inside, h.Feature.ID) && !slices.Contains(b.inside, h.Feature.ID) {
			l.through(h.Shape, a.at, b.at, func(s, t float64) {
				l.inserts = append(l.inserts, radio.Insert{From: s * d, To: t * d, Top: h.Top})
			})
		}
	}
	for i := range l.sc.Obstacles {
		o := &l.sc.Obstacles[i]
		if o.SeeThrough {
			continue
		}
		if o.Shape != nil {
			if bound.Intersects(o.Bound) {
				l.through(o.Shape, a.at, b.at, func(s, t float64) {
					l.inserts = append(l.inserts, radio.Insert{From: s * d, To: t * d, Top: o.Height, AboveGround: true})
				})
			}
			continue
		}
		if !bound.Intersects(o.Bound) {
			continue
		}
		for j := 0; j+1 < len(o.Line); j++ {
			if s, ok := crossing(a.at, b.at, o.Line[j], o.Line[j+1]); ok {
				l.inserts = append(l.inserts, radio.Insert{From: s * d, To: s * d, Top: o.Height, AboveGround: true})
			}
		}
	}
	var along terrain.Line
	if d > 0 {
		along = l.sc.Terrain.Along(a.at, (b.at[0]-a.at[0])/d, (b.at[1]-a.at[1])/d)
	} else {
		along = l.sc.Terrain.Along(a.at, 0, 1)
	}
	ground := along.Height
	p.profile = l.builder.Build(d, math.Min(profileStep, l.sc.Terrain.Cell()), ground, l.inserts)
	p.diff = radio.Diffract(p.profile, a.height, b.height, l.cond)
	for i := range l.sc.Foliage {
		f := &l.sc.Foliage[i]
		if p.foliage {
			break
		}
		if !bound.Intersects(f.Bound) {
			continue
		}
		l.through(f.Shape, a.at, b.at, func(s, t float64) {
			for _, q := range []float64{s, t} {
				at := orb.Point{a.at[0] + q*(b.at[0]-a.at[0]), a.at[1] + q*(b.at[1]-a.at[1])}
				if za+q*(zb-za) < l.sc.Ground(at)+f.Height {
					p.foliage = true
				}
			}
		})
	}
	return p
}

// through calls add with the parts of the line from a to b that lie inside a
// polygon, as fractions of the line.
func (l *linker) through(poly orb.Polygon, a, b orb.Point, add func(s, t float64)) {
	cuts := l.cross[:0]
	for _, r := range poly {
		for i := 0; i+1 < len(r); i++ {
			if s, ok := crossing(a, b, r[i], r[i+1]); ok {
				cuts = append(cuts, s)
			}
		}
	}
	slices.Sort(cuts)
	l.cross = cuts
	prev := 0.0
	inside := func(s, t float64) bool {
		m := (s + t) / 2
		return pattern.Inside(poly, orb.Point{a[0] + m*(b[0]-a[0]), a[1] + m*(b[1]-a[1])})
	}
	for i := 0; i <= len(cuts); i++ {
		next := 1.0
		if i < len(cuts) {
			next = cuts[i]
		}
		if next > prev && inside(prev, next) {
			add(prev, next)
		}
		prev = next
	}
}

// crossing returns where the segment ab meets cd, as a fraction of ab.
func crossing(a, b, c, d orb.Point) (float64, bool) {
	rx, ry, sx, sy := b[0]-a[0], b[1]-a[1], d[0]-c[0], d[1]-c[1]
	den := rx*sy - ry*sx
	if den == 0 {
		return 0, false
	}
	s := ((c[0]-a[0])*sy - (c[1]-a[1])*sx) / den
	u := ((c[0]-a[0])*ry - (c[1]-a[1])*rx) / den
	return s, s >= 0 && s <= 1 && u >= 0 && u <= 1
}

// rate works out the link between two antennas; ok is false where neither end
// can hear the other.
func (l *linker) rate(a, b antenna) (k Link, ok bool) {
	s := l.sc.Plan.Settings
	p := l.path(a, b)
	k = Link{From: a.feature.ID, To: b.feature.ID, A: a.at, B: b.at, Distance: p.distance,
		FreeSpace: radio.FreeSpaceLoss(p.distance, s.Frequency), Diffraction: p.diff.DeltaBullingtonDB, SingleEdge: p.diff.SingleEdgeDB,
		Installation: a.radio.InstallationLossDB + b.radio.InstallationLossDB, Clearance: p.diff.Clearance}
	if n := len(p.profile.D); n > 0 && p.profile.D[n-1] > 0 {
		q := p.diff.ClearanceAt / p.profile.D[n-1]
		k.ClearanceAt = orb.Point{a.at[0] + q*(b.at[0]-a.at[0]), a.at[1] + q*(b.at[1]-a.at[1])}
	} else {
		k.ClearanceAt = a.at
	}
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
	sd := radio.ShadowingSD(s.ShadowingSD, p.diff.Obstructed() || p.foliage)
	k.SD = sd
	k.Required = radio.RequiredMargin(s.RequiredMargin, sd, s.Reliability)
	k.Probability = radio.Probability(k.Margin, sd)
	return k, true
}

// linkKey names the two ends of a link.
type linkKey struct{ a, b *model.Feature }

// link rates all links and finds the routes.
func (r *Result) link(previous *Result) {
	as := r.antennas()
	type pair struct{ i, j int }
	var pairs []pair
	wanted := func(a, b radio.Kind) bool {
		return a == radio.Sensor && b != radio.Sensor || a == radio.Repeater && (b == radio.Repeater || b == radio.Receiver)
	}
	for i := range as {
		for j := range as {
			switch {
			case i == j || !wanted(as[i].kind, as[j].kind):
			case as[i].kind == as[j].kind && i > j:
			default:
				pairs = append(pairs, pair{i, j})
			}
		}
	}
	links := make([]Link, len(pairs))
	rated := make([]bool, len(pairs))
	fresh := make([]int, 0, len(pairs))
	for n, p := range pairs {
		if previous != nil {
			if k, ok := previous.rated[linkKey{as[p.i].feature, as[p.j].feature}]; ok {
				links[n], rated[n] = k, k.From != ""
				continue
			}
		}
		fresh = append(fresh, n)
	}
	r.Rated = len(fresh)
	each(len(fresh), func() func(int) {
		l := newLinker(r.Scene)
		return func(i int) {
			n := fresh[i]
			links[n], rated[n] = l.rate(as[pairs[n].i], as[pairs[n].j])
		}
	})
	r.rated = make(map[linkKey]Link, len(pairs))
	kinds := make([]radio.Kind, len(as))
	for i, a := range as {
		kinds[i] = a.kind
	}
	var net []radio.Link
	for n, p := range pairs {
		k := linkKey{as[p.i].feature, as[p.j].feature}
		if !rated[n] {
			r.rated[k] = Link{}
			continue
		}
		r.rated[k] = links[n]
		// A link forwards only towards something that hears.
		if as[p.j].radio.SensitivityDBm == nil || as[p.i].kind == radio.Repeater && as[p.j].kind == radio.Repeater && as[p.i].radio.SensitivityDBm == nil {
			continue
		}
		net = append(net, radio.Link{A: p.i, B: p.j, MarginDB: links[n].Margin, RequiredDB: links[n].Required})
	}
	hops := r.Plan.Settings.MaxHops
	used := map[[2]string]bool{}
	routes := radio.Routes(kinds, net, hops)
	sensor := map[string]int{}
	for i := range r.Sensors {
		sensor[r.Sensors[i].ID] = i
	}
	for i, route := range routes {
		if route == nil || as[i].kind != radio.Sensor {
			continue
		}
		s := &r.Sensors[sensor[as[i].feature.ID]]
		for n, node := range route.Nodes {
			s.Route = append(s.Route, as[node].feature.ID)
			if n > 0 {
				a, b := as[route.Nodes[n-1]].feature.ID, as[node].feature.ID
				used[[2]string{a, b}], used[[2]string{b, a}] = true, true
			}
		}
		margin := route.MarginDB
		s.Margin = &margin
	}
	for n := range links {
		if !rated[n] {
			continue
		}
		k := links[n]
		k.InUse = used[[2]string{k.From, k.To}]
		if k.Margin >= showMargin || k.InUse {
			r.Links = append(r.Links, k)
		}
	}
	r.between = make(map[[2]string]*Link, len(r.Links))
	for i := range r.Links {
		r.between[[2]string{r.Links[i].From, r.Links[i].To}] = &r.Links[i]
	}
	// Excess over what each link is asked for, to tell whether a route holds.
	excess := slices.Clone(net)
	for i := range excess {
		excess[i].MarginDB -= excess[i].RequiredDB
	}
	r.spare = make(map[string]float64)
	for i, route := range radio.Routes(kinds, excess, hops) {
		if as[i].kind == radio.Sensor {
			if route == nil {
				r.spare[as[i].feature.ID] = math.Inf(-1)
			} else {
				r.spare[as[i].feature.ID] = route.MarginDB
			}
		}
	}
	r.lost = map[string][]string{}
	for i, list := range radio.Lost(kinds, net, hops) {
		for _, j := range list {
			r.lost[as[i].feature.ID] = append(r.lost[as[i].feature.ID], as[j].feature.ID)
		}
	}
	for _, a := range as {
		for _, id := range a.inside {
			r.indoors = append(r.indoors, [2]string{a.feature.ID, id})
		}
	}
}

// LinkBetween rates the link between two devices of a plan and returns its
// profile: ground heights and heights with obstacles against metres from the
// first device. It returns an error where an id is not that of a sound device.
func LinkBetween(sc *scene.Scene, from, to string) (Link, radio.Profile, radio.Diffraction, error) {
	var as [2]antenna
	for i, id := range []string{from, to} {
		f := sc.Plan.Feature(id)
		if f == nil {
			return Link{}, radio.Profile{}, radio.Diffraction{}, fmt.Errorf("there is no device %q in the plan", id)
		}
		if !f.Sound() || f.Kind != model.KindSensor && f.Kind != model.KindRepeater && f.Kind != model.KindReceiver {
			return Link{}, radio.Profile{}, radio.Diffraction{}, fmt.Errorf("%s is not a sensor, repeater or receiver", f.Who())
		}
		if s, ok := f.Value.(*model.Sensor); ok {
			m, known := sc.Plan.Model(s.Model)
			if !known {
				return Link{}, radio.Profile{}, radio.Diffraction{}, fmt.Errorf("%s: model %q is not known", f.Who(), s.Model)
			}
			e := pattern.Stand(sc, f, m)
			as[i] = sensorAntenna(sc, f, m, e.At)
			continue
		}
		as[i] = otherAntenna(sc, scene.Device{Feature: f, At: sc.Shape(id).(orb.Point)})
	}
	if from == to {
		return Link{}, radio.Profile{}, radio.Diffraction{}, fmt.Errorf("%s: a link has two ends", from)
	}
	l := newLinker(sc)
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
