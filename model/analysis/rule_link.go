package analysis

import (
	"fmt"
	"math"

	"pleach/model"
)

// ruleLink: a sensor has no route with the required margin, or barely.
func ruleLink(r *Result) (out []model.Finding) {
	receivers := len(r.Plan.Of(model.KindReceiver))
	for _, s := range r.Sensors {
		spare, known := r.spare[s.ID]
		if !known {
			spare = math.Inf(-1)
		}
		f := model.Finding{Rule: "link", Subject: []string{s.ID}, At: r.lonLat(s.At), Severity: model.Fault}
		switch {
		case receivers == 0:
			f.Text = fmt.Sprintf("%s has no route: the plan has no receiver.", r.title(s.ID))
			f.Remedy = "Place a receiver."
		case math.IsInf(spare, -1):
			f.Text = fmt.Sprintf("%s has no route to a receiver.", r.title(s.ID))
			f.Remedy = "Add a repeater, or move the receiver."
		case spare < 0:
			f.Text = fmt.Sprintf("%s has no route with the required margin: %s, %s short on its weakest link.", r.title(s.ID), r.routeText(s), decibels(math.Max(1, math.Round(-spare))))
			f.Remedy = "Raise an antenna (doubling a low one gains about 6 dB), move past the obstacle, or add a repeater."
		case spare < thinMargin:
			f.Severity = model.Warning
			f.Text = fmt.Sprintf("%s has a thin route: %s, %s above the required margin.", r.title(s.ID), r.routeText(s), decibels(spare))
			f.Remedy = "Read the signal on site before relying on it; raise an antenna or add a repeater."
		default:
			continue
		}
		out = append(out, f)
	}
	return out
}

// routeText writes a sensor's route and its margin: "S1 by RP1 to RX, 14 dB, 99 %".
func (r *Result) routeText(s Sensor) string {
	if len(s.Route) == 0 || s.Margin == nil {
		return "no route"
	}
	text := "to " + s.Route[len(s.Route)-1]
	for i := len(s.Route) - 2; i > 0; i-- {
		text = "by " + s.Route[i] + " " + text
	}
	for i := 0; i+1 < len(s.Route); i++ {
		l, ok := r.between[[2]string{s.Route[i], s.Route[i+1]}]
		if !ok {
			l, ok = r.between[[2]string{s.Route[i+1], s.Route[i]}]
		}
		if ok && l.Margin == *s.Margin {
			return fmt.Sprintf("%s, %s, %s", text, decibels(l.Margin), Percent(l.Probability))
		}
	}
	return fmt.Sprintf("%s, %s", text, decibels(*s.Margin))
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
		lost := r.lost[f.ID]
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
