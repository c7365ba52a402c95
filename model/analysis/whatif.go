package analysis

import (
	"context"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/radio"
)

// lorryHeight is how high a parked lorry is taken to be, metres: the greatest
// height that EU Directive 96/53/EC lets a lorry have (from memory).
const lorryHeight = 4.0

// What may befall a link, by the names the report has for it.
const (
	AsPlanned = "as planned"
	Lorry     = "lorry"
	Winter    = "winter"
	Summer    = "summer"
	SummerWet = "summer wet"
)

// Worst is what may befall a link that leaves it the least above its required
// margin.
type Worst struct {
	Name        string  // AsPlanned where nothing that may befall it is worse
	On          string  // id of the parking area, for a lorry
	Margin      float64 // dB
	Required    float64 // dB
	Probability float64
}

// seasons are the leaves that a plan has to live through.
var seasons = []struct {
	name   string
	season season
}{{Winter, bare}, {Summer, inLeaf}, {SummerWet, inWetLeaf}}

// worst rates every link in use in each of the things that may befall it: leaf off,
// leaf on, wet leaf, and a row of lorries wherever it crosses a parking area. nil
// for links not in use. It returns early when ctx ends.
func (r *Result) worst(ctx context.Context) []*Worst {
	out := make([]*Worst, len(r.Links))
	var used []int
	for i := range r.Links {
		if r.Links[i].InUse {
			used = append(used, i)
		}
	}
	antennas := map[string]antenna{}
	for _, w := range r.works {
		antennas[w.feature.ID] = w.antenna
	}
	for _, a := range r.net.hubs {
		antennas[a.feature.ID] = a
	}
	yards := r.parking()
	each(len(used), func() func(int) {
		l := r.linker()
		return func(k int) {
			if ctx.Err() != nil {
				return
			}
			link := &r.Links[used[k]]
			a, b := antennas[link.From], antennas[link.To]
			w := &Worst{AsPlanned, "", link.Margin, link.Required, link.Probability}
			try := func(name, on string, k Link, ok bool) {
				if ok && k.Margin-k.Required < w.Margin-w.Required {
					*w = Worst{name, on, k.Margin, k.Required, k.Probability}
				}
			}
			if link.Past != nil && link.Past.InTrees > 0 {
				for _, s := range seasons {
					l.season = s.season
					again, ok := l.rate(a, b)
					try(s.name, "", again, ok)
				}
				l.season = asPlanned
			}
			for _, p := range yards {
				again, ok := l.lorry(a, b, p)
				try(Lorry, p.id, again, ok)
			}
			out[used[k]] = w
		}
	})
	return out
}

// yard is a part of a place where lorries may stand.
type yard struct {
	id    string
	shape orb.Polygon
	bound orb.Bound
}

// parking lists the places where lorries may stand: private roads drawn as areas.
func (r *Result) parking() (out []yard) {
	for _, w := range r.Scene.Ways {
		if _, area := w.Feature.Geometry.(orb.Polygon); !area || w.Class != model.KindRoad || !w.Private {
			continue
		}
		for i, shape := range w.Shape {
			out = append(out, yard{w.Feature.ID, shape, w.Bounds[i]})
		}
	}
	return out
}

// lorry rates the link from a to b with a row of lorries across it, so that there
// is no way round, at the place in the parking area where it takes most; ok is
// false where the link does not cross it. What the row takes of the way over is
// taken of all ways.
func (l *linker) lorry(a, b antenna, yard yard) (k Link, ok bool) {
	d := math.Hypot(b.at[0]-a.at[0], b.at[1]-a.at[1])
	if d == 0 || !(orb.MultiPoint{a.at, b.at}).Bound().Intersects(yard.bound) {
		return k, false
	}
	var stretches [][2]float64
	l.through(yard.shape, a.at, b.at, func(s, t float64) { stretches = append(stretches, [2]float64{s * d, t * d}) })
	if len(stretches) == 0 {
		return k, false
	}
	p := l.path(a, b)
	ground := l.sc.Terrain.Along(a.at, (b.at[0]-a.at[0])/d, (b.at[1]-a.at[1])/d)
	step := math.Min(profileStep, l.sc.Terrain.Cell())
	worst, n := p.diff, len(l.inserts)
	for _, s := range stretches {
		steps := radio.Steps(s[1]-s[0], profileStep)
		for i := range steps + 1 {
			x := s[0] + (s[1]-s[0])*float64(i)/float64(steps)
			if x < lorryClear || x > d-lorryClear {
				continue
			}
			l.inserts = append(l.inserts[:n], radio.Insert{From: x, To: x, Top: lorryHeight, AboveGround: true})
			with := radio.Diffract(l.crowns.Build(d, step, ground.Height, l.inserts), a.height, b.height, l.cond)
			if with.DeltaBullingtonDB > worst.DeltaBullingtonDB {
				worst = with
			}
		}
	}
	l.inserts = l.inserts[:n]
	p.diff = worst
	return l.judge(a, b, p)
}

// lorryClear is how near to an antenna, in metres in plan, no lorry comes. Chosen:
// posts on a yard are guarded.
const lorryClear = 2.0

// ruleWorstCase: a link in use that holds as planned and not in all that may befall
// it.
func ruleWorstCase(r *Result) (out []model.Finding) {
	for i, w := range r.Study.Worst {
		k := &r.Links[i]
		if w == nil || !k.Holds() || w.Margin >= w.Required {
			continue
		}
		when, remedy := "", "Raise an antenna, thin the trees, or plan a way round them."
		switch w.Name {
		case Lorry:
			when = "with lorries parked on " + r.title(w.On)
			remedy = "Raise an antenna, keep the line across the parking area clear, or plan another way."
		case Winter:
			when = "in winter, the leaf off"
		case Summer:
			when = "in summer, in leaf"
		case SummerWet:
			when = "in summer after rain, in wet leaf"
		}
		out = append(out, model.Finding{Rule: "worst-case", Severity: model.Warning, Subject: []string{k.From, k.To},
			At: r.lonLat(orb.Point{(k.A[0] + k.B[0]) / 2, (k.A[1] + k.B[1]) / 2}),
			Text: fmt.Sprintf("%s to %s holds as planned (%s, %s), but not %s: %s, %s, where %s is required.", r.title(k.From), r.title(k.To),
				decibels(k.Margin), Percent(k.Probability), when, decibels(w.Margin), Percent(w.Probability), decibels(w.Required)),
			Remedy: remedy})
	}
	return out
}
