package analysis

import (
	"fmt"
	"math"
	"slices"

	"pleach/model"
	"pleach/model/radio"
)

// ThinMargin is how many decibels above the required margin a route must have for no
// warning to be given (contract, section 6).
const ThinMargin = 3.0

// ruleLink: a sensor has no route with the required margin, or barely.
func ruleLink(r *Result) []*model.Finding {
	r.net.found = make([]*model.Finding, len(r.Sensors))
	for i := range r.Sensors {
		if at := r.since.from[i]; at >= 0 && r.net.same {
			r.net.found[i] = r.since.net.found[at]
		} else {
			r.net.found[i] = r.linkFinding(i)
		}
	}
	return r.net.found
}

// linkFinding tells of the route of sensor i; nil for one that holds.
func (r *Result) linkFinding(i int) *model.Finding {
	s, spare := &r.Sensors[i], r.net.routes[i].spare
	receivers := slices.ContainsFunc(r.net.hubs, func(a antenna) bool { return a.kind == radio.Receiver })
	if receivers && spare >= ThinMargin {
		return nil
	}
	f := model.Finding{Rule: "link", Subject: []string{s.ID}, At: r.lonLat(s.At), Severity: model.Fault}
	switch {
	case !receivers:
		f.Text = fmt.Sprintf("%s has no route: the plan has no receiver.", r.title(s.ID))
		f.Remedy = "Place a receiver."
	case math.IsInf(spare, -1):
		f.Text = fmt.Sprintf("%s has no route to a receiver.", r.title(s.ID))
		f.Remedy = "Add a repeater, or move the receiver."
	case spare < 0:
		f.Text = fmt.Sprintf("%s has no route with the required margin: %s, %s short on its weakest link.", r.title(s.ID), r.routeText(i), decibels(math.Max(1, math.Ceil(-spare))))
		f.Remedy = "Raise an antenna (doubling a low one gains about 6 dB), move past the obstacle, or add a repeater."
	default:
		f.Severity = model.Warning
		f.Text = fmt.Sprintf("%s has a thin route: %s, %s above the required margin.", r.title(s.ID), r.routeText(i), decibels(spare))
		f.Remedy = "Read the signal on site before relying on it; raise an antenna or add a repeater."
	}
	return &f
}

// routeText writes the route of sensor i and its margin: "by RP1 to RX, 14 dB, 99 %".
func (r *Result) routeText(i int) string {
	s, route := &r.Sensors[i], r.net.routes[i].Route
	if route == nil {
		return "no route"
	}
	text := "to " + s.Route[len(s.Route)-1]
	for k := len(s.Route) - 2; k > 0; k-- {
		text = "by " + s.Route[k] + " " + text
	}
	if l := r.net.weakest(i); l != nil {
		return fmt.Sprintf("%s, %s, %s", text, decibels(l.Margin), Percent(l.Probability))
	}
	return fmt.Sprintf("%s, %s", text, decibels(*s.Margin))
}

// weakest returns the weakest link of sensor i's route, the first of equals; nil
// when there is none.
func (n *net) weakest(i int) *Link {
	route := n.routes[i].Route
	if k := &n.rows[i][route.Nodes[0]]; k.Margin == route.MarginDB {
		return k
	}
	for m := 1; m < len(route.Nodes); m++ {
		if k := n.link(route.Nodes[m-1], route.Nodes[m]); k != nil && k.Margin == route.MarginDB {
			return k
		}
	}
	return nil
}

// Percent writes a probability without false decimals: never 100 %.
func Percent(p float64) string {
	switch {
	case p > 0.995:
		return "over 99 %"
	case p < 0.01:
		return "under 1 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

// ruleRepeaterLoss: sensors lost when a repeater fails.
func ruleRepeaterLoss(r *Result) (out []model.Finding) {
	for _, f := range r.Plan.Of(model.KindRepeater) {
		lost := r.net.lost[f.ID]
		if len(lost) == 0 {
			continue
		}
		out = append(out, model.Finding{Rule: "repeater-loss", Severity: model.Warning, Subject: append([]string{f.ID}, lost...), At: point(f.Geometry),
			Text:   fmt.Sprintf("If %s fails, %s lost: %s.", r.title(f.ID), count(len(lost), "sensor is", "sensors are"), r.titles(lost)),
			Remedy: "Add a second repeater that these sensors reach, or a second receiver."})
	}
	return out
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
