package analysis

import (
	"fmt"
	"math"
	"reflect"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/calibration"
	"pleach/model/radio"
	"pleach/model/scene"
)

// Classes of links, by what stands in their way: each may be corrected by itself.
const (
	ClassOpen      = "open"
	ClassObstacles = "past obstacles" // an obstacle or the ground cuts 0.6 of the first Fresnel zone, or an antenna stands indoors
	ClassTrees     = "through trees"
)

// Calibration is what a plan's readings of signal say of its links.
type Calibration struct {
	InUse bool // every link is corrected by it
	Fit   calibration.Result
	Ends  map[string][2]string // by reading that took part or was set aside by Fit: from and to
	Aside []Unused             // readings that could not be held against a link, in file order
}

// Unused is a reading of signal that says nothing of a link, and why.
type Unused struct{ ID, Reason string }

// ByReading returns by id the readings that were held against their links, and of
// those that were set aside, these among them, why. Both are empty for nil.
func (c *Calibration) ByReading() (held map[string]calibration.Reading, aside map[string]string) {
	held, aside = map[string]calibration.Reading{}, map[string]string{}
	if c == nil {
		return held, aside
	}
	for _, p := range c.Fit.Points {
		held[p.Reading.ID] = p.Reading
	}
	for _, a := range c.Fit.Aside {
		held[a.Reading.ID], aside[a.Reading.ID] = a.Reading, a.Reason
	}
	for _, a := range c.Aside {
		aside[a.ID] = a.Reason
	}
	return held, aside
}

// calibrate holds the readings of signal of a plan against what is predicted for
// their links without correction; nil for a plan without any.
func calibrate(sc *scene.Scene) *Calibration {
	s := sc.Plan.Settings.Calibration
	var c *Calibration
	var readings []calibration.Reading
	var l *linker
	for _, f := range sc.Plan.Of(model.KindReading) {
		reading := f.Value.(*model.Reading)
		if reading.What != "signal" {
			continue
		}
		if c == nil {
			c = &Calibration{InUse: s.Use, Ends: map[string][2]string{}}
			l = newLinker(sc)
		}
		aside := func(format string, args ...any) {
			c.Aside = append(c.Aside, Unused{f.ID, fmt.Sprintf(format, args...)})
		}
		level, ok := f.Number("value")
		switch {
		case !ok:
			aside("its value is not a number")
			continue
		case reading.Unit != "" && reading.Unit != "dBm":
			aside("its unit is %s, not dBm", reading.Unit)
			continue
		case len(reading.Of) != 2 || reading.Of[0] == reading.Of[1]:
			aside("it is not of two devices: the one that sent and the one that read")
			continue
		}
		from, err := antennaOf(sc, reading.Of[0])
		var to antenna
		if err == nil {
			to, err = antennaOf(sc, reading.Of[1])
		}
		if err != nil {
			aside("%v", err)
			continue
		}
		p := l.path(from, to)
		loss := radio.FreeSpaceLoss(p.distance, l.cond.FreqMHz) + p.diff.DeltaBullingtonDB + p.vegetation + p.building
		predicted, _, _ := radio.Budget(from.radio, to.radio, loss)
		c.Ends[f.ID] = [2]string{reading.Of[0], reading.Of[1]}
		readings = append(readings, calibration.Reading{ID: f.ID, Class: p.class(), PredictedDBm: predicted, MeasuredDBm: level, SensitivityDBm: to.radio.SensitivityDBm})
	}
	if c != nil {
		c.Fit = calibration.Fit(readings, calibration.Options{SaturatedDBm: s.Saturated, LimitDB: s.Limit, Least: s.Least})
	}
	return c
}

// fit is what links are corrected by, nil for nothing.
func (c *Calibration) fit() *calibration.Result {
	if c == nil || !c.InUse {
		return nil
	}
	return &c.Fit
}

// sameCorrections reports whether two results correct links alike.
func sameCorrections(a, b *Calibration) bool {
	x, y := a.fit(), b.fit()
	return x == nil && y == nil || x != nil && y != nil && reflect.DeepEqual(x.Groups, y.Groups) && reflect.DeepEqual(x.All, y.All)
}

// class is what kind of link a path makes.
func (p *path) class() string {
	switch {
	case p.past != nil && p.past.InTrees > 0:
		return ClassTrees
	case p.diff.Cut() || p.past != nil:
		return ClassObstacles
	}
	return ClassOpen
}

// correct puts into a rated link what the readings say of its class.
func (l *linker) correct(k *Link) {
	if l.fit == nil {
		return
	}
	g, ok := l.fit.For(k.Class)
	if !ok {
		return
	}
	s := l.sc.Plan.Settings
	k.Corrected, k.Correction = true, g.Bias
	k.Received += g.Bias
	k.Margin += g.Bias
	k.SD = g.SD
	if s.RequiredMargin == nil {
		k.Required = g.Margin(s.Reliability)
	}
	k.Probability = g.Probability(k.Margin)
	for _, d := range []*Direction{&k.There, &k.Back} {
		if d.Rated {
			d.Received += g.Bias
			d.Margin += g.Bias
			d.Probability = g.Probability(d.Margin)
		}
	}
}

// bias is what the readings say of a path of p's class, dB to be added to a level.
func (l *linker) bias(p *path) float64 {
	if l.fit != nil {
		if g, ok := l.fit.For(p.class()); ok {
			return g.Bias
		}
	}
	return 0
}

// mostBias is the most by which readings raise a margin, dB.
func (l *linker) mostBias() (most float64) {
	if l.fit != nil {
		for _, class := range []string{ClassOpen, ClassObstacles, ClassTrees} {
			if g, ok := l.fit.For(class); ok {
				most = math.Max(most, g.Bias)
			}
		}
	}
	return most
}

// apartSDs is from how many standard deviations on a reading that lies apart from
// its prediction is told. Chosen: one in twenty does by chance.
const apartSDs = 2.0

// ruleReading: a reading far from what is predicted, and readings that nothing is
// made of.
func ruleReading(r *Result) (out []model.Finding) {
	c := r.Calibration
	if c == nil {
		return nil
	}
	s := r.Plan.Settings
	at := func(id string) *orb.Point { return point(r.Plan.Feature(id).Geometry) }
	for _, p := range c.Fit.Points {
		sd := radio.ShadowingSD(s.ShadowingSD, p.Reading.Class != ClassOpen)
		predicted := p.Reading.PredictedDBm
		if c.InUse && p.Calibrated {
			predicted = p.HeldBackDBm
			if g, ok := c.Fit.For(p.Reading.Class); ok {
				sd = g.SD
			}
		}
		off := p.Reading.MeasuredDBm - predicted
		if math.Abs(off) <= apartSDs*sd {
			continue
		}
		ends := c.Ends[p.Reading.ID]
		word, remedy := "more", "Read again some steps aside: a lucky spot does not last, and the next reading may be lower."
		if off < 0 {
			word, remedy = "less", "Look for what the plan does not show: an obstacle, metal beside the antenna, its orientation, a weak battery. Then read again."
		}
		out = append(out, model.Finding{Rule: "reading", Severity: model.Warning, Subject: []string{p.Reading.ID, ends[0], ends[1]}, At: at(p.Reading.ID),
			Text: fmt.Sprintf("%s reads %.0f dBm of %s at %s, where %.0f dBm is predicted: %s %s.", r.title(p.Reading.ID), p.Reading.MeasuredDBm,
				r.title(ends[0]), r.title(ends[1]), predicted, decibels(math.Abs(off)), word),
			Remedy: remedy})
	}
	if g, ok := c.Fit.For(""); ok && !c.InUse {
		word := "more"
		if g.Bias < 0 {
			word = "less"
		}
		var ids []string
		for _, p := range c.Fit.Points {
			ids = append(ids, p.Reading.ID)
		}
		out = append(out, model.Finding{Rule: "calibration", Severity: model.Note, Subject: ids, At: at(ids[0]),
			Text: fmt.Sprintf("%s of signal lie %s %s than predicted on average, with a standard deviation of %s: no link is corrected by them.",
				count(g.N, "reading", "readings"), decibels(math.Abs(g.Bias)), word, decibels(g.SD)),
			Remedy: "Set radio.calibration to true to rate every link by the readings."})
	}
	return out
}
