package analysis

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model"
)

// Sizes below which a finding is a note (contract, section 6).
const (
	smallGap   = 0.5 // metres
	smallSpill = 1.0 // square metres
	smallDepth = 0.5 // metres
	acceptTol  = 0.5 // metres by which a gap may exceed the accepted chainage
)

// rule makes findings: of all there is, anew or, kept with what they are of, as the
// result before has them, nil standing for none; or of one sensor, what follows from
// that sensor and its surroundings alone.
type rule struct {
	all  func(*Result) []model.Finding
	kept func(*Result) []*model.Finding
	own  func(*Result, *work) []model.Finding
}

// rules are everything that makes findings, in the order of the contract.
var rules = []rule{
	{kept: ruleGap}, {kept: ruleShallow}, {kept: ruleAngle}, {kept: ruleHeadOn}, {own: ruleOverspill}, {own: ruleFoliage}, {all: ruleGate},
	{kept: ruleThroughMesh}, {own: ruleOutsideView}, {all: ruleNotOnPremises}, {own: ruleMountHeight}, {kept: ruleLink}, {all: ruleRepeaterLoss},
	{all: ruleAddress}, {all: ruleOutputs}, {own: ruleInsideBuilding}, {all: ruleAntennaIndoors}, {all: ruleTerrain}, {all: ruleLowSun}, {all: ruleAssumed}, {all: ruleUnproved},
}

// find runs all rules, sets aside what was accepted, and sorts.
func (r *Result) find() {
	var found []*model.Finding
	if r.since.known() {
		found = make([]*model.Finding, 0, len(r.since.Findings)+few)
	}
	place := make([]int, 1+len(severities)) // how many of each severity, then where the next goes
	severity := func(f *model.Finding) int { return slices.Index(severities, f.Severity) }
	put := func(f *model.Finding) {
		if f != nil {
			found = append(found, f)
			place[1+severity(f)]++
		}
	}
	r.owned = make([]owned, len(rules))
	for i, rule := range rules {
		var list []*model.Finding
		switch {
		case rule.own != nil:
			r.owned[i] = r.own(i, rule.own)
			list = r.owned[i].found
		case rule.kept != nil:
			list = rule.kept(r)
		default:
			all := rule.all(r)
			for k := range all {
				put(&all[k])
			}
		}
		for _, f := range list {
			put(f)
		}
	}
	for k := range severities {
		place[k+1] += place[k]
	}
	r.Findings = make([]model.Finding, len(found))
	for _, f := range found {
		at := &place[severity(f)]
		r.Findings[*at] = *f
		*at++
	}
	if len(r.Plan.Settings.Accepted) > 0 {
		for i := range r.Findings {
			r.Findings[i].Accepted = r.accepted(r.Findings[i])
		}
	}
}

// owned is what a rule says of sensors one by one, and in the order of works of
// which.
type owned struct {
	found []*model.Finding
	of    []int
}

// own asks a rule of the new sensors; what it said of the others still holds.
func (r *Result) own(rule int, ask func(*Result, *work) []model.Finding) owned {
	var old owned
	if r.since.known() {
		old = r.since.owned[rule]
	}
	out := owned{make([]*model.Finding, 0, len(old.found)+4), make([]int, 0, len(old.found)+4)}
	next := 0
	for i, at := range r.since.from {
		if at < 0 {
			list := ask(r, r.works[i])
			for k := range list {
				out.found, out.of = append(out.found, &list[k]), append(out.of, i)
			}
			continue
		}
		for ; next < len(old.of) && old.of[next] <= at; next++ {
			if old.of[next] == at {
				out.found, out.of = append(out.found, old.found[next]), append(out.of, i)
			}
		}
	}
	return out
}

// severities in the order of findings.
var severities = []model.Severity{model.Fault, model.Warning, model.Note}

// addFindings sets aside what was accepted and sorts findings in, behind those
// of their severity. What r.Findings held before stays as it is.
func (r *Result) addFindings(more []model.Finding) {
	all := slices.Concat(r.Findings, more)
	for i := len(r.Findings); i < len(all); i++ {
		all[i].Accepted = r.accepted(all[i])
	}
	r.Findings = make([]model.Finding, 0, len(all))
	for _, sev := range severities {
		for _, f := range all {
			if f.Severity == sev {
				r.Findings = append(r.Findings, f)
			}
		}
	}
}

// accepted returns the acceptance that holds for a finding: the same rule and
// subject, and for a stretch lying within the accepted chainage plus 0.5 m. One that
// names a posture holds for that alone.
func (r *Result) accepted(f model.Finding) *model.Accepted {
	list := r.Plan.Settings.Accepted
	for i, a := range list {
		if a.Rule != f.Rule || !sameIDs(a.Subject, f.Subject) || a.Posture != "" && a.Posture != f.Posture {
			continue
		}
		if f.From == nil {
			return &list[i]
		}
		if a.From == nil || a.To == nil {
			continue
		}
		if spanWithin(*f.From, *f.To, *a.From, *a.To, r.ringOf(f.Subject)) {
			return &list[i]
		}
	}
	return nil
}

// ringOf returns the length of the closed boundary among ids, 0 where there is none.
func (r *Result) ringOf(ids []string) float64 {
	for _, f := range r.fences {
		if f.Boundary.Closed && slices.Contains(ids, f.Feature.ID) {
			return f.Length()
		}
	}
	return 0
}

// spanWithin reports whether from to to lies within lo to hi and the tolerance at
// both ends. On a ring of the given length either may run through chainage 0; on an
// open line, of length 0, neither does.
func spanWithin(from, to, lo, hi, ring float64) bool {
	if ring == 0 {
		return from <= to && lo-acceptTol <= from && to <= hi+acceptTol
	}
	if hi < lo {
		hi += ring
	}
	if to < from {
		to += ring
	}
	ahead := math.Mod(from-lo+acceptTol, ring)
	if ahead < 0 {
		ahead += ring
	}
	room := hi - lo + 2*acceptTol
	return room >= ring || ahead+to-from <= room
}

func sameIDs(a, b []string) bool {
	a, b = slices.Clone(a), slices.Clone(b)
	slices.Sort(a)
	slices.Sort(b)
	return slices.Equal(a, b)
}

// lonLat returns a place of the site grid as longitude and latitude.
func (r *Result) lonLat(p orb.Point) *orb.Point {
	q := r.Scene.Grid.ToLonLat(p)
	return &q
}

// title names a feature: "pump house (H2)", or its id alone.
func (r *Result) title(id string) string {
	f := r.Plan.Feature(id)
	if f == nil {
		return model.Shown(id)
	}
	return f.Titled()
}

func (r *Result) titles(ids []string) string { return several(ids, r.title) }

// several lists names as shown, the first three and how many more there are.
func several(names []string, shown func(string) string) string {
	var out []string
	for i, name := range names {
		if i == 3 && len(names) > 4 {
			out = append(out, fmt.Sprintf("%d more", len(names)-3))
			break
		}
		out = append(out, shown(name))
	}
	switch n := len(out); n {
	case 0:
		return ""
	case 1:
		return out[0]
	default:
		return strings.Join(out[:n-1], ", ") + " and " + out[n-1]
	}
}

// metres writes a length as an engineer says it.
func metres(v float64) string {
	if v < 100 {
		return fmt.Sprintf("%.1f m", v)
	}
	return fmt.Sprintf("%.0f m", v)
}

func squareMetres(v float64) string {
	if v < 10 {
		return fmt.Sprintf("%.1f m²", v)
	}
	return fmt.Sprintf("%.0f m²", v)
}

func decibels(v float64) string {
	s := fmt.Sprintf("%.0f dB", v)
	if s == "-0 dB" {
		return "0 dB"
	}
	return s
}
