// Package calibration learns from signal levels read on site how far a site's
// radio links lie from what was predicted, by class of link, and how much margin
// they still need for that.
//
// A few readings prove little: what a link needs is worked out with Student's t
// for the number of readings there are, and how well the correction does is
// judged on readings held back from it.
package calibration

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// A Reading is a signal level read on site beside the level predicted. A level
// is best the median of ten packets or more.
type Reading struct {
	ID             string
	Class          string // of its link, in the caller's words: "open", "through trees", with the radio's type where several are in use
	PredictedDBm   float64
	MeasuredDBm    float64
	SensitivityDBm *float64 // of the radio that read it; nil where it is not known
}

// Error returns measured less predicted, decibels: positive where the link is
// better than predicted.
func (r Reading) Error() float64 { return r.MeasuredDBm - r.PredictedDBm }

// Options are what a fit goes by. The zero value of each is its default.
type Options struct {
	SaturatedDBm *float64 // readings above it are set aside; default -30 (from memory: about where a receiver's level indication ends)
	LimitDB      *float64 // readings less than this above the sensitivity are set aside; default 3, chosen
	Least        int      // readings a class needs for a correction of its own; default 6, chosen; at least 2
}

const (
	defaultSaturated = -30.0
	defaultLimit     = 3.0
	defaultLeast     = 6
)

// Defaults returns what holds where nothing is stated.
func Defaults() Options {
	saturated, limit := defaultSaturated, defaultLimit
	return Options{&saturated, &limit, defaultLeast}
}

func (o Options) saturated() float64 { return or(o.SaturatedDBm, defaultSaturated) }
func (o Options) limit() float64     { return or(o.LimitDB, defaultLimit) }

func (o Options) least() int {
	if o.Least == 0 {
		return defaultLeast
	}
	return max(2, o.Least)
}

func or(v *float64, def float64) float64 {
	if v == nil {
		return def
	}
	return *v
}

// An Aside is a reading that takes no part, and why.
type Aside struct {
	Reading Reading
	Reason  string
}

// A Group is what a class's readings say, or those of all classes together.
type Group struct {
	Class string // empty for all together
	N     int
	Bias  float64 // mean of measured less predicted, dB: add it to a prediction
	SD    float64 // standard deviation of the errors about it, dB, with n-1; 0 for fewer than two

	// Root mean squares of the errors, dB: of the prediction as it was, of the
	// prediction with Bias added, and of each reading against the correction that
	// all the others of its group give. The last is the one to believe; it is 0
	// for fewer than two readings.
	RMSBefore, RMSAfter, RMSHeldBack float64
}

// A Point is a reading that took part.
type Point struct {
	Reading      Reading
	CorrectedDBm float64 // the prediction with the correction of its class
	HeldBackDBm  float64 // the prediction with the correction the other readings give; as predicted where there is none
	Group        string  // class whose correction it has, empty for that of all together
	Calibrated   bool    // false where there are too few readings for any correction
}

// A Result is a fit.
type Result struct {
	Groups  []Group // classes by name
	All     Group
	Points  []Point // in the order of the readings
	Aside   []Aside // in the order of the readings
	AtLimit int     // of these, readings at the sensitivity limit

	least int
}

// apart is how many standard deviations off the mean of its class a reading lies
// apart: chosen, as one in twenty lies farther by chance.
const apart = 2.0

// Apart reports whether a reading lies more than two standard deviations off the
// mean of its class. Of two readings neither does.
func (r *Result) Apart(x Reading) bool {
	return slices.ContainsFunc(r.Groups, func(g Group) bool {
		return g.Class == x.Class && g.N > 2 && math.Abs(x.Error()-g.Bias) > apart*g.SD
	})
}

// Fit sets aside the readings that tell nothing and works out the corrections
// from the rest. A class of fewer than Least readings has the correction of all
// readings together, if those are enough.
//
// Readings at the sensitivity limit are set aside because weaker ones beside
// them were never heard: where there are any, what is left flatters the
// prediction, and AtLimit says how many.
//
// Source: the mean and standard deviation of a sample; a new value of a normal
// distribution against n others has Student's t distribution times
// s·√(1+1/n).
func Fit(readings []Reading, o Options) Result {
	r := Result{least: o.least()}
	var kept []Reading
	for _, g := range readings {
		reason, atLimit := o.aside(g)
		if reason == "" {
			kept = append(kept, g)
			continue
		}
		r.Aside = append(r.Aside, Aside{g, reason})
		if atLimit {
			r.AtLimit++
		}
	}
	byClass := map[string][]Reading{}
	for _, g := range kept {
		byClass[g.Class] = append(byClass[g.Class], g)
	}
	for class, of := range byClass {
		r.Groups = append(r.Groups, group(class, of))
	}
	slices.SortFunc(r.Groups, func(a, b Group) int { return strings.Compare(a.Class, b.Class) })
	r.All = group("", kept)
	for _, g := range kept {
		p := Point{Reading: g, CorrectedDBm: g.PredictedDBm, HeldBackDBm: g.PredictedDBm}
		if c, ok := r.For(g.Class); ok {
			p.Calibrated, p.Group = true, c.Class
			p.CorrectedDBm += c.Bias
			p.HeldBackDBm = g.MeasuredDBm - heldBack(g.Error(), c)
		}
		r.Points = append(r.Points, p)
	}
	return r
}

// aside returns why a reading takes no part, or nothing.
func (o Options) aside(g Reading) (reason string, atLimit bool) {
	finite := func(v float64) bool { return v-v == 0 }
	switch {
	case !finite(g.MeasuredDBm):
		return "no level was read", false
	case !finite(g.PredictedDBm):
		return "no level is predicted for its link", false
	case g.MeasuredDBm > o.saturated():
		return fmt.Sprintf("saturated: %g dBm is above %g dBm, where a receiver's reading no longer rises", g.MeasuredDBm, o.saturated()), false
	case g.SensitivityDBm != nil && g.MeasuredDBm < *g.SensitivityDBm+o.limit():
		return fmt.Sprintf("at the sensitivity limit: %g dBm is less than %g dB above %g dBm, where weaker packets are not heard", g.MeasuredDBm, o.limit(), *g.SensitivityDBm), true
	}
	return "", false
}

func group(class string, of []Reading) Group {
	g := Group{Class: class, N: len(of)}
	if g.N == 0 {
		return g
	}
	n := float64(g.N)
	var before, after, held float64
	for _, r := range of {
		g.Bias += r.Error() / n
		before += r.Error() * r.Error()
	}
	for _, r := range of {
		e := r.Error() - g.Bias
		after += e * e
		if g.N > 1 {
			h := heldBack(r.Error(), g)
			held += h * h
		}
	}
	if g.N > 1 {
		g.SD = math.Sqrt(after / (n - 1))
	}
	g.RMSBefore, g.RMSAfter, g.RMSHeldBack = math.Sqrt(before/n), math.Sqrt(after/n), math.Sqrt(held/n)
	return g
}

// heldBack returns the error of one reading of a group against the mean of the
// others: their mean is (n·bias - e)/(n-1).
func heldBack(e float64, g Group) float64 {
	n := float64(g.N)
	return (e - g.Bias) * n / (n - 1)
}

// For returns the correction of a class: its own where it has enough readings,
// else that of all together. It reports false where there are too few even then:
// the link stays as predicted.
func (r Result) For(class string) (Group, bool) {
	for _, g := range r.Groups {
		if g.Class == class && g.N >= r.least {
			return g, true
		}
	}
	return r.All, r.least > 0 && r.All.N >= r.least
}

// Factor returns how many standard deviations of the readings a link whose
// prediction has been corrected needs as margin, to work with probability
// reliability (above 0, below 1): t·√(1+1/n), with Student's t of n-1 degrees of
// freedom. The fewer the readings the larger it is; it goes towards the quantile of
// the normal distribution. The group has at least two readings.
func (g Group) Factor(reliability float64) float64 {
	return StudentQuantile(reliability, g.N-1) * math.Sqrt(1+1/float64(g.N))
}

// spread is the standard deviation of a new link's error against the bias of n
// readings.
func (g Group) spread() float64 { return g.SD * math.Sqrt(1+1/float64(g.N)) }

// Margin returns the margin in decibels that a link whose prediction has been
// corrected needs, to work with probability reliability (above 0, below 1): Factor
// times SD. The group has at least two readings.
func (g Group) Margin(reliability float64) float64 { return g.Factor(reliability) * g.SD }

// Probability returns the probability that a link works whose corrected margin
// is marginDB. Where all readings erred alike it is 1 at margin 0 and above,
// else 0. The group has at least two readings.
func (g Group) Probability(marginDB float64) float64 {
	if g.SD == 0 {
		if marginDB < 0 {
			return 0
		}
		return 1
	}
	return StudentCDF(marginDB/g.spread(), g.N-1)
}
