package paper

import (
	"fmt"
	"strings"

	"pleach/model"
	"pleach/model/analysis"
)

// fact is a line of the summary: what, and how much of it.
type fact struct{ label, value string }

// summary is what the analysis found, in figures.
type summary struct {
	look
	facts     []fact
	elsewhere bool // they are listed on the next sheet
}

const factLabel = 22.0

// lines returns the lines of fact i. Room is kept for saying that the findings
// stand elsewhere.
func (s summary) lines(i int, w float64, elsewhere bool) []string {
	v := s.facts[i].value
	if elsewhere && s.facts[i].label == findingsLabel {
		v += "; those that count are listed on the next sheet"
	}
	if l := wrap(v, w-factLabel, sizeBody, false, 0); l != nil {
		return l
	}
	return []string{""}
}

func (s summary) height(w float64) float64 {
	h := headRow
	for i := range s.facts {
		h += float64(len(s.lines(i, w, true))) * bodyRow
	}
	return h
}

func (s summary) draw(d *document, x, y, w float64) {
	d.left(x, y, headRow-1, "What the plan achieves", s.head, s.ink)
	y += headRow
	for i, f := range s.facts {
		d.left(x, y, bodyRow, f.label, s.body, s.soft)
		for _, l := range s.lines(i, w, s.elsewhere) {
			d.left(x+factLabel, y, bodyRow, l, s.body, s.ink)
			y += bodyRow
		}
	}
}

// facts returns the summary's figures. res may be nil: the plan was not
// analysed.
func facts(res *analysis.Result) []fact {
	if res == nil {
		return []fact{{"Analysis", "none yet of this plan"}}
	}
	var out []fact
	var length, closed, covered, overlap, gapLength, accepted float64
	gaps, acceptedGaps := 0, 0
	for _, b := range res.Boundaries {
		length, closed = length+b.Length, closed+b.Closed
		covered, overlap = covered+b.Target.Covered, overlap+b.Target.Overlap
		for _, g := range b.Target.Gaps {
			gaps++
			gapLength += g.Length
		}
	}
	for _, f := range res.Findings {
		if f.Rule == "gap" && f.Posture == "" && f.Accepted != nil && f.From != nil && f.To != nil {
			acceptedGaps++
			accepted += *f.To - *f.From
		}
	}
	switch len(res.Boundaries) {
	case 0:
		out = append(out, fact{"Boundary", "none is drawn"})
	default:
		v := metres(length)
		if n := len(res.Boundaries); n > 1 {
			v = fmt.Sprintf("%d, %s in all", n, v)
		}
		if closed > 0 {
			v += ", of it " + metres(closed) + " that need no detection"
		}
		out = append(out, fact{"Boundary", v})
		if open := length - closed; open > 0 {
			v = fmt.Sprintf("%s, %s %%", metres(covered), share(covered/open))
			if overlap > 0 {
				v += "; " + metres(overlap) + " by two sensors or more"
			}
			out = append(out, fact{"Covered", v})
		}
		v = "none"
		if gaps > 0 {
			v = fmt.Sprintf("%d, %s in all", gaps, metres(gapLength))
			if acceptedGaps > 0 {
				v += fmt.Sprintf("; %d accepted", acceptedGaps)
			}
		}
		out = append(out, fact{"Gaps", v})
		out = append(out, stretchFacts(res)...)
	}
	if len(res.Sensors) == 0 {
		out = append(out, fact{"Sensors", "none is placed"})
	} else {
		out = append(out, fact{"Overspill", overspill(res)}, fact{"Radio", radioFact(res)})
	}
	return append(out, fact{findingsLabel, findings(res)})
}

const findingsLabel = "Findings"

// findings counts the findings that nobody has accepted, and those that somebody
// has.
func findings(res *analysis.Result) string {
	count := map[model.Severity]int{}
	accepted := 0
	for _, f := range res.Findings {
		if f.Accepted != nil {
			accepted++
			continue
		}
		count[f.Severity]++
	}
	var parts []string
	for _, s := range []model.Severity{model.Fault, model.Warning, model.Note} {
		if n := count[s]; n == 1 {
			parts = append(parts, "1 "+string(s))
		} else if n > 1 {
			parts = append(parts, fmt.Sprintf("%d %ss", n, s))
		}
	}
	if accepted > 0 {
		parts = append(parts, fmt.Sprintf("%d accepted", accepted))
	}
	if parts == nil {
		return "none"
	}
	return strings.Join(parts, ", ")
}

// share writes a share of one in per cent, rounded down so that 100 means all
// of it.
func share(v float64) string {
	p := int(v*100 + 1e-9)
	return fmt.Sprint(p)
}

// overspill counts what the findings say of it: onto public ways where a person
// is seen, and onto neighbours. Notes do not count.
func overspill(res *analysis.Result) string {
	count := map[model.Kind]int{}
	accepted := 0
	for _, f := range res.Findings {
		if f.Rule != "overspill" || f.Severity == model.Note || len(f.Subject) < 2 {
			continue
		}
		on := res.Plan.Feature(f.Subject[1])
		if on == nil || f.Severity == model.Warning && on.Kind != model.KindNeighbour {
			continue
		}
		if count[on.Kind]++; f.Accepted != nil {
			accepted++
		}
	}
	var parts []string
	for _, c := range []struct {
		kind model.Kind
		text string
	}{
		{model.KindRoad, "onto a public road"}, {model.KindFootpath, "onto a public footpath"}, {model.KindNeighbour, "onto a neighbour"},
	} {
		if n := count[c.kind]; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, c.text))
		}
	}
	if parts == nil {
		return "none"
	}
	out := strings.Join(parts, ", ")
	if accepted > 0 {
		out += fmt.Sprintf("; %d accepted", accepted)
	}
	return out
}

func radioFact(res *analysis.Result) string {
	var fail, thin []string
	for _, l := range res.Links {
		switch {
		case !l.InUse:
		case !l.Holds():
			fail = append(fail, l.From)
		case l.Margin < l.Required+3:
			thin = append(thin, l.From)
		}
	}
	for _, s := range res.Sensors {
		if s.Route == nil {
			fail = append(fail, s.ID)
		}
	}
	used := 0
	for _, l := range res.Links {
		if l.InUse {
			used++
		}
	}
	out := fmt.Sprintf("%d links in use", used)
	if used == 1 {
		out = "1 link in use"
	}
	if len(fail) == 0 && len(thin) == 0 {
		return out + ", all held"
	}
	if len(fail) > 0 {
		out += fmt.Sprintf("; %d fail: %s", len(fail), some(fail))
	}
	if len(thin) > 0 {
		out += fmt.Sprintf("; %d within 3 dB of what is required: %s", len(thin), some(thin))
	}
	return clean(out)
}

// some lists ids, the first dozen of them.
func some(ids []string) string {
	const most = 12
	if len(ids) > most {
		return strings.Join(ids[:most], ", ") + fmt.Sprintf(" and %d more", len(ids)-most)
	}
	return strings.Join(ids, ", ")
}
