package paper

import (
	"fmt"
	"slices"
	"strings"

	"pleach/model"
	"pleach/model/analysis"
)

// mostListed is how many stretches the summary lists by chainage; where there are
// more a further sheet has all of them. Chosen.
const mostListed = 4

// stretch is a part of a boundary that the map does not show: a gap for a posture
// other than the target, or one that is crossed head-on.
type stretch struct {
	what             string // the posture, or "head-on"
	boundary         string // id
	from, to, length float64
	why              string
}

const headOnName = "Head-on"

// stretches lists the gaps of each further posture in the plan's order, then what
// is crossed head-on, along each boundary.
func stretches(res *analysis.Result) (out []stretch) {
	if res == nil {
		return nil
	}
	for _, name := range postures(res) {
		for _, b := range res.Boundaries {
			for _, c := range b.Postures {
				if c.Name != name {
					continue
				}
				for _, g := range c.Gaps {
					out = append(out, stretch{capital(name), b.ID, g.From, g.To, g.Length, why(res, b.ID, name, g.From)})
				}
			}
		}
	}
	for _, b := range res.Boundaries {
		for _, s := range res.HeadOn(b.ID) {
			out = append(out, stretch{headOnName, b.ID, s.From, s.To, s.Length(b.Length), "crossed towards " + seers(res, b.ID, s.From)})
		}
	}
	return out
}

// postures names the further postures in the plan's order.
func postures(res *analysis.Result) (names []string) {
	for _, b := range res.Boundaries {
		for _, c := range b.Postures {
			if !slices.Contains(names, c.Name) {
				names = append(names, c.Name)
			}
		}
	}
	return names
}

// why is what a finding says of a gap's cause.
func why(res *analysis.Result, boundary, posture string, from float64) string {
	for i := range res.Findings {
		f := &res.Findings[i]
		if f.Rule == "gap" && f.Posture == posture && f.From != nil && *f.From == from && slices.Contains(f.Subject, boundary) {
			if _, cause, ok := strings.Cut(f.Text, ": "); ok {
				cause = strings.TrimSuffix(cause, ".")
				if f.Accepted != nil {
					cause += "; accepted"
				}
				return clean(cause)
			}
		}
	}
	return none
}

// seers is the sensor that a head-on finding names.
func seers(res *analysis.Result, boundary string, from float64) string {
	for i := range res.Findings {
		f := &res.Findings[i]
		if f.Rule == "head-on" && f.From != nil && *f.From == from && len(f.Subject) > 1 && slices.Contains(f.Subject, boundary) {
			if s := res.Plan.Feature(f.Subject[1]); s != nil && s.Name != "" && s.Name != s.ID {
				return clean(s.Name + " (" + s.ID + ")")
			}
			return clean(f.Subject[1])
		}
	}
	return "the sensor"
}

func capital(s string) string {
	r := []rune(s)
	if len(r) == 0 {
		return s
	}
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}

// stretchFacts are the summary's lines of each further posture and of what is
// crossed head-on.
func stretchFacts(res *analysis.Result) (out []fact) {
	all := stretches(res)
	chosen := func(what string) (list []stretch, sum float64) {
		for _, s := range all {
			if s.what == what {
				list = append(list, s)
				sum += s.length
			}
		}
		return list, sum
	}
	for _, name := range postures(res) {
		covered, open := 0.0, 0.0
		for _, b := range res.Boundaries {
			open += b.Length - b.Closed
			for _, c := range b.Postures {
				if c.Name == name {
					covered += c.Covered
				}
			}
		}
		if open <= 0 {
			continue
		}
		v := fmt.Sprintf("%s, %s %%; ", metres(covered), share(covered/open))
		list, sum := chosen(capital(name))
		if len(list) == 0 {
			v += "no gap"
		} else {
			v += fmt.Sprintf("%s, %s in all%s", count(len(list), "gap"), metres(sum), along(list, len(res.Boundaries) > 1))
		}
		label, who := clean(capital(name)), ""
		for _, p := range res.Plan.Settings.Postures {
			if p.Name == name {
				who = unit(p.Height, 2, "m") + " tall"
			}
		}
		if width(label, sizeBody, false) > factLabel-1.5 {
			label, v = "Posture", label+": "+v
		}
		if who != "" {
			v = who + ": " + v
		}
		out = append(out, fact{label, v})
	}
	if list, sum := chosen(headOnName); len(list) > 0 {
		out = append(out, fact{headOnName, fmt.Sprintf("%s crossed towards the sensor, %s in all%s", count(len(list), "stretch"), metres(sum), along(list, len(res.Boundaries) > 1))})
	}
	return out
}

func count(n int, word string) string {
	switch {
	case n == 1:
		return "1 " + word
	case strings.HasSuffix(word, "ch"):
		return fmt.Sprintf("%d %ses", n, word)
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// along lists stretches by chainage, or says where they are listed.
func along(list []stretch, several bool) string {
	if len(list) > mostListed {
		return ", listed on a further sheet"
	}
	var parts []string
	for _, s := range list {
		p := chainages(s)
		if several {
			p = clean(s.boundary) + " " + p
		}
		parts = append(parts, p)
	}
	return ": " + strings.Join(parts, ", ")
}

// chainages is from where to where a stretch runs, to a tenth where it is short.
func chainages(s stretch) string {
	decimals := 0
	if s.length < 10 {
		decimals = 1
	}
	return figure(s.from, decimals) + " to " + figure(s.to, decimals) + string(hardSpace) + "m"
}

const stretchHeading = "Gaps for further postures, and where a crossing is head-on"

// stretchColumns are the columns of the schedule of stretches.
var stretchColumns = []column{
	{head: "For"},
	{head: "Boundary"},
	{head: "From", unit: "m", right: true},
	{head: "To", unit: "m", right: true},
	{head: "Length", unit: "m", right: true},
	{head: "Why", give: 1},
}

// stretchRows are the rows of the schedule of stretches: none where the summary
// lists them all.
func stretchRows(res *analysis.Result) (out []row) {
	all := stretches(res)
	counts := map[string]int{}
	most := 0
	for _, s := range all {
		counts[s.what]++
		most = max(most, counts[s.what])
	}
	if most <= mostListed {
		return nil
	}
	for _, s := range all {
		out = append(out, row{cells: []string{clean(s.what), clean(title(res.Plan, s.boundary)), figure(s.from, 1), figure(s.to, 1), figure(s.length, 1), s.why}})
	}
	return out
}

// title is a feature's name, or its id.
func title(p *model.Plan, id string) string {
	if f := p.Feature(id); f != nil {
		return f.Title()
	}
	return id
}
