package analysis

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/calibration"
	"pleach/model/pattern"
	"pleach/model/radio"
	"pleach/model/scene"
	"pleach/model/terrain"
)

// path is the way between two antennas.
type path struct {
	profile    radio.Profile
	diff       radio.Diffraction
	distance   float64 // slant
	vegetation float64 // dB
	building   float64 // dB
	past       *Past   // nil where nothing stands in the way
}

// season is how the trees stand.
type season byte

const (
	asPlanned season = iota
	bare             // leaf off everywhere
	inLeaf           // leaf on everywhere
	inWetLeaf
)

// linker rates links over a scene. It holds the memory that takes; use one a
// goroutine.
type linker struct {
	sc      *scene.Scene
	cond    radio.Conditions
	season  season
	fit     *calibration.Result // links are corrected by; nil for nothing
	bare    bool                // by the way over alone
	brief   bool                // without what only the account of a single link tells
	builder radio.Builder
	crowns  radio.Builder
	inserts []radio.Insert
	cross   []float64
	crossed []crossed
	stands  []stand
}

// crossed is a stretch of the direct line over a building or an obstacle.
type crossed struct {
	feature  *model.Feature
	outline  orb.LineString // of its outer ring, or the line it is
	from, to float64        // metres from the first antenna
}

// stand is a stretch of the direct line within foliage, below its top.
type stand struct {
	from, to float64 // metres from the first antenna, in plan
	trees    radio.Trees
}

func newLinker(sc *scene.Scene) *linker {
	s := sc.Plan.Settings
	l := &linker{sc: sc, cond: radio.Conditions{FreqMHz: s.Frequency, EffectiveRadiusKm: s.EffectiveRadius}}
	if s.Polarisation == "H" {
		l.cond.Polarisation = radio.Horizontal
	}
	return l
}

// linker returns a linker over the result's scene, with its corrections.
func (r *Result) linker() *linker {
	l := newLinker(r.Scene)
	l.brief = true
	l.fit = r.Calibration.fit()
	return l
}

// path lays the profile from a to b and works out what the link loses on it.
func (l *linker) path(a, b antenna) path {
	d := math.Hypot(b.at[0]-a.at[0], b.at[1]-a.at[1])
	za, zb := l.sc.Ground(a.at)+a.height, l.sc.Ground(b.at)+b.height
	p := path{distance: math.Hypot(d, zb-za)}
	bound := orb.MultiPoint{a.at, b.at}.Bound()
	l.inserts, l.crossed = l.inserts[:0], l.crossed[:0]
	for i := range l.sc.Buildings {
		h := &l.sc.Buildings[i]
		if bound.Intersects(h.Bound) && !a.within(h.Feature) && !b.within(h.Feature) {
			l.through(h.Shape, a.at, b.at, func(s, t float64) {
				l.inserts = append(l.inserts, radio.Insert{From: s * d, To: t * d, Top: h.Top})
				l.crossed = append(l.crossed, crossed{h.Feature, orb.LineString(h.Shape[0]), s * d, t * d})
			})
		}
	}
	for i := range l.sc.Obstacles {
		o := &l.sc.Obstacles[i]
		if o.SeeThrough || !bound.Intersects(o.Bound) {
			continue
		}
		meet := func(s, t float64) {
			l.inserts = append(l.inserts, radio.Insert{From: s * d, To: t * d, Top: o.Height, AboveGround: true})
			l.crossed = append(l.crossed, crossed{o.Feature, outline(o), s * d, t * d})
		}
		if o.Shape != nil {
			l.through(o.Shape, a.at, b.at, meet)
			continue
		}
		for j := 0; j+1 < len(o.Line); j++ {
			if s, ok := crossing(a.at, b.at, o.Line[j], o.Line[j+1]); ok {
				meet(s, s)
			}
		}
	}
	var along terrain.Line
	if d > 0 {
		along = l.sc.Terrain.Along(a.at, (b.at[0]-a.at[0])/d, (b.at[1]-a.at[1])/d)
	} else {
		along = l.sc.Terrain.Along(a.at, 0, 1)
	}
	step := math.Min(profileStep, l.sc.Terrain.Cell())
	p.profile = l.builder.Build(d, step, along.Height, l.inserts)
	if l.brief {
		p.diff = radio.DiffractBriefly(p.profile, a.height, b.height, l.cond)
	} else {
		p.diff = radio.Diffract(p.profile, a.height, b.height, l.cond)
	}
	if l.bare {
		return p
	}
	if p.diff.ObstacleClearance < 0 {
		l.obstacles(&p, a, b, d, za, zb)
	}
	l.foliage(&p, a, b, d, za, zb, along.Height, step)
	l.entry(&p, a, b, math.Atan2(math.Abs(zb-za), d)*180/math.Pi)
	return p
}

// within reports whether an antenna stands inside a building below its top.
func (a *antenna) within(f *model.Feature) bool { return slices.Contains(a.inside, f.ID) }

// outline is the outer ring of an obstacle, or the line it is.
func outline(o *scene.Obstacle) orb.LineString {
	if o.Shape != nil {
		return orb.LineString(o.Shape[0])
	}
	return o.Line
}

// met returns what is told of a path that meets something.
func (p *path) met() *Past {
	if p.past == nil {
		p.past = new(Past)
	}
	return p.past
}

// obstacles works out the ways past what hides one antenna from the other: over,
// round either end and through, their powers added (method, radio 3).
func (l *linker) obstacles(p *path, a, b antenna, d, za, zb float64) {
	past := p.met()
	var outlines []orb.LineString
	var seen []*model.Feature // in the way
	through, worst := 0.0, math.Inf(1)
	slices.SortStableFunc(l.crossed, func(x, y crossed) int { return cmp.Compare(x.from, y.from) })
	for _, c := range l.crossed {
		if at := math.Max(c.from-p.diff.ClearanceAt, p.diff.ClearanceAt-c.to); at < math.Min(worst, sameSpot) {
			worst, past.Worst = at, c.feature.ID
		}
		if !l.hides(p.profile, c, d, za, zb) {
			continue
		}
		through += walls(c.feature, l.cond.FreqMHz)
		if !slices.Contains(seen, c.feature) {
			seen = append(seen, c.feature)
			outlines = append(outlines, c.outline)
			past.Obstacles = append(past.Obstacles, c.feature.ID)
		}
	}
	naked := p.profile
	naked.G = naked.H
	bare := radio.Diffract(naked, a.height, b.height, l.cond).DeltaBullingtonDB
	corners := radio.Corners(a.at, b.at, outlines)
	if more := l.beside(outlines, seen, corners, a, b, d, za, zb); len(more) > len(outlines) {
		corners = radio.Corners(a.at, b.at, more)
	}
	left, right := radio.Round(d, corners, l.cond.FreqMHz)
	past.Ways = radio.Past(bare, p.diff.DeltaBullingtonDB, left, right, through)
	p.building += past.Ways.DB() - p.diff.DeltaBullingtonDB
}

// sameSpot is how near the worst point a thing has to stand, in metres, to be
// named as what stands there. Chosen.
const sameSpot = 0.01

// hides reports whether a thing stands above the direct line.
func (l *linker) hides(p radio.Profile, c crossed, d, za, zb float64) bool {
	from, _ := slices.BinarySearch(p.D, c.from-sameSpot)
	for i := from; i < len(p.D) && p.D[i] <= c.to+sameSpot; i++ {
		x := p.D[i]
		if p.G[i] > p.H[i] && p.G[i]+radio.EarthBulge(x, d-x, l.cond.EffectiveRadiusKm) > za+(zb-za)*x/d {
			return true
		}
	}
	return false
}

// walls is what a link loses through a thing it meets, in decibels: through the
// two walls of a building of known material. Of anything else no loss is known;
// it is taken as opaque.
func walls(f *model.Feature, mhz float64) float64 {
	if h, ok := f.Value.(*model.Building); ok {
		if m, ok := radio.MaterialNamed(h.Material); ok {
			return radio.Walls{Material: m, Count: 2}.Loss(mhz)
		}
	}
	return math.Inf(1)
}

// beside adds to the outlines of what is in the way those of what stands as far
// aside as the ways round lead, and is too tall there to be seen over.
func (l *linker) beside(outlines []orb.LineString, seen []*model.Feature, corners []radio.Corner, a, b antenna, d, za, zb float64) []orb.LineString {
	aside := 0.0
	for _, c := range corners {
		aside = math.Max(aside, math.Abs(c.Aside))
	}
	near := orb.MultiPoint{a.at, b.at}.Bound().Pad(aside + 1)
	tall := func(bound orb.Bound, top float64) bool {
		c := bound.Center()
		off := math.Abs((c[0]-a.at[0])*(b.at[1]-a.at[1])-(c[1]-a.at[1])*(b.at[0]-a.at[0])) / d
		if off-math.Hypot(bound.Max[0]-bound.Min[0], bound.Max[1]-bound.Min[1])/2 > aside+1 {
			return false // farther aside than any way leads
		}
		q := ((c[0]-a.at[0])*(b.at[0]-a.at[0]) + (c[1]-a.at[1])*(b.at[1]-a.at[1])) / (d * d)
		q = math.Max(0, math.Min(1, q))
		return top > za+q*(zb-za)
	}
	crosses := func(f *model.Feature) bool {
		return slices.Contains(seen, f) || slices.ContainsFunc(l.crossed, func(c crossed) bool { return c.feature == f })
	}
	out := outlines
	for i := range l.sc.Buildings {
		h := &l.sc.Buildings[i]
		if near.Intersects(h.Bound) && tall(h.Bound, h.Top) && !crosses(h.Feature) && !a.within(h.Feature) && !b.within(h.Feature) {
			out = append(out, orb.LineString(h.Shape[0]))
		}
	}
	for i := range l.sc.Obstacles {
		o := &l.sc.Obstacles[i]
		if !o.SeeThrough && near.Intersects(o.Bound) && !crosses(o.Feature) && tall(o.Bound, l.sc.Ground(o.Bound.Center())+o.Height) {
			out = append(out, outline(o))
		}
	}
	return out
}

// foliage works out what the trees take that the direct line runs through: the way
// through them, or over their crowns where that loses less (method, radio 3).
func (l *linker) foliage(p *path, a, b antenna, d, za, zb float64, ground func(float64) float64, step float64) {
	bound := orb.MultiPoint{a.at, b.at}.Bound()
	l.stands = l.stands[:0]
	inserts := len(l.inserts)
	var ids []string
	for i := range l.sc.Foliage {
		f := &l.sc.Foliage[i]
		if !bound.Intersects(f.Bound) {
			continue
		}
		n := len(l.stands)
		l.through(f.Shape, a.at, b.at, func(s, t float64) {
			l.inserts = append(l.inserts, radio.Insert{From: s * d, To: t * d, Top: f.Height, AboveGround: true})
			l.below(s*d, t*d, step, func(x float64) float64 { return ground(x) + f.Height - (za + (zb-za)*x/d) }, l.trees(f))
		})
		if len(l.stands) > n {
			ids = append(ids, f.Feature.ID)
		}
	}
	if len(l.stands) > 0 {
		past := p.met()
		trees := once(l.stands, p.distance/d)
		past.Foliage = ids
		for _, t := range trees {
			past.InTrees += t.Depth
		}
		past.Through = radio.ThroughTrees(trees, l.cond.FreqMHz)
		crowned := radio.Diffract(l.crowns.Build(d, step, ground, l.inserts), a.height, b.height, l.cond)
		p.vegetation = radio.Vegetation(past.Through, crowned.DeltaBullingtonDB, p.diff.DeltaBullingtonDB)
	}
	l.inserts = l.inserts[:inserts]
}

// trees is what foliage is to a radio wave, in the season looked at.
func (l *linker) trees(f *scene.Foliage) radio.Trees {
	t := radio.Trees{InLeaf: f.InLeaf}
	switch f.Density {
	case model.Light:
		t.Density = radio.Light
	case model.Dense:
		t.Density = radio.Dense
	}
	switch l.season {
	case bare:
		t.InLeaf = false
	case inLeaf:
		t.InLeaf = true
	case inWetLeaf:
		t.InLeaf, t.Wet = true, true
	}
	return t
}

// below adds the stretches from s to t, in metres, where over is above 0.
func (l *linker) below(s, t, step float64, over func(x float64) float64, trees radio.Trees) {
	n := radio.Steps(t-s, step)
	x0, o0 := s, over(s)
	for i := 1; i <= n; i++ {
		x1 := s + (t-s)*float64(i)/float64(n)
		o1 := over(x1)
		from, to := x0, x1
		switch {
		case o0 <= 0 && o1 <= 0:
			to = from
		case o0 <= 0:
			from = x0 + (x1-x0)*o0/(o0-o1)
		case o1 <= 0:
			to = x0 + (x1-x0)*o0/(o0-o1)
		}
		if to > from {
			l.stands = append(l.stands, stand{from, to, trees})
		}
		x0, o0 = x1, o1
	}
}

// once adds stretches up by the kind of trees, each place once and there as the
// kind that takes most. slope is the length along the slope of one metre in plan.
func once(stands []stand, slope float64) []radio.Trees {
	var ends []float64
	for _, s := range stands {
		ends = append(ends, s.from, s.to)
	}
	slices.Sort(ends)
	var out []radio.Trees
	for i := 1; i < len(ends); i++ {
		m := (ends[i-1] + ends[i]) / 2
		at := -1
		for k, s := range stands {
			if s.from < m && m < s.to && (at < 0 || thicker(s.trees, stands[at].trees)) {
				at = k
			}
		}
		if at < 0 {
			continue
		}
		t := stands[at].trees
		k := slices.IndexFunc(out, func(o radio.Trees) bool { o.Depth = 0; return o == t })
		if k < 0 {
			k = len(out)
			out = append(out, t)
		}
		out[k].Depth += (ends[i] - ends[i-1]) * slope
	}
	return out
}

// thicker reports whether a metre of x takes more than one of y.
func thicker(x, y radio.Trees) bool {
	x.Depth, y.Depth = 1, 1
	const any = 1000 // MHz: the order is the same at every frequency
	return radio.ThroughTrees([]radio.Trees{x}, any) > radio.ThroughTrees([]radio.Trees{y}, any)
}

// entry adds the way into the buildings that the antennas stand in below their
// tops: the median of what is measured into such buildings.
func (l *linker) entry(p *path, a, b antenna, elevation float64) {
	for _, end := range []antenna{a, b} {
		for _, id := range end.inside {
			if slices.Contains(a.inside, id) && slices.Contains(b.inside, id) {
				continue // both in one building
			}
			h := l.sc.Plan.Feature(id).Value.(*model.Building)
			m, _ := radio.MaterialNamed(h.Material)
			past := p.met()
			past.Entry += radio.EntryLoss(radio.EntryClass(m), l.cond.FreqMHz, elevation, 0.5)
		}
	}
	if p.past != nil {
		p.building += p.past.Entry
	}
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

// PastWords says how a link passes what stands in its way, "" where nothing does:
// "past Workshop (H3): over 31 dB, round the left end 24 dB".
func (r *Result) PastWords(l Link) string {
	p := l.Past
	if p == nil {
		return ""
	}
	var said []string
	if len(p.Obstacles) > 0 {
		w := p.Ways
		ways := []string{"over " + decibels(w.OverDB)}
		for _, o := range []struct {
			name string
			loss float64
		}{{string(radio.Left), w.LeftDB}, {string(radio.Right), w.RightDB}, {string(radio.Through), w.ThroughDB}} {
			if !math.IsInf(o.loss, 1) {
				ways = append(ways, o.name+" "+decibels(o.loss))
			}
		}
		text := "past " + r.titles(p.Obstacles) + ": " + strings.Join(ways, ", ")
		if len(ways) > 1 {
			text += ", together " + decibels(w.DB())
		}
		said = append(said, text)
	}
	if p.InTrees > 0 {
		way := "through"
		if l.Vegetation < p.Through {
			way = "over"
		}
		said = append(said, fmt.Sprintf("%s of trees of %s, %s them %s", metres(p.InTrees), r.titles(p.Foliage), way, decibels(l.Vegetation)))
	}
	if p.Entry > 0 {
		said = append(said, "into the building "+decibels(p.Entry))
	}
	return strings.Join(said, "; ")
}
