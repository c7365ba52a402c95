package report

import (
	"fmt"
	"strings"

	"pleach/model/analysis"
)

// second writes the second route of sensor i and what would mend a failing one;
// nothing where no study was made.
func (j *jsonReport) second(i int) {
	if j.r.Study == nil {
		return
	}
	j.key("second_route")
	if s := j.r.SecondOf(i); s != nil {
		j.texts(s.Route)
		j.keyNumber("second_margin_db", s.Margin)
		j.key("second_holds")
		j.flag(s.Holds)
	} else {
		j.null()
		j.key("second_margin_db")
		j.null()
	}
	switch m := j.r.MendOf(i); {
	case m == nil:
	case m.ID == "":
		j.key("mend_antenna_m")
		j.null()
	default:
		j.keyNumber("mend_antenna_m", m.To)
		j.keyText("mend_antenna_of", m.ID)
	}
}

// worst writes the worst that may befall link i, where it was looked for.
func (j *jsonReport) worst(i int) {
	w := j.r.WorstOf(i)
	if w == nil {
		return
	}
	j.key("worst_case")
	j.open('{')
	j.keyText("name", w.Name)
	if w.On != "" {
		j.keyText("on", w.On)
	}
	j.keyNumber("margin_db", w.Margin)
	j.keyNumber("required_margin_db", w.Required)
	j.key("probability")
	j.rounded(w.Probability, 9)
	j.close('}')
}

// worstWords says the worst that may befall link i, "-" where it was not looked for
// and where nothing is worse than the plan.
func (t *textReport) worstWords(i int) string {
	w := t.r.WorstOf(i)
	if w == nil || w.Name == analysis.AsPlanned {
		return "-"
	}
	return w.Name + " " + decibels(w.Margin)
}

// losses writes what is lost with each repeater and receiver.
func (j *jsonReport) losses() {
	if j.r.Study == nil {
		return
	}
	j.line()
	j.key("losses")
	j.open('[')
	for _, l := range j.r.Study.Losses {
		j.line()
		j.open('{')
		j.keyText("device", l.ID)
		j.keyText("kind", string(l.Kind))
		j.key("sensors")
		j.texts(l.Sensors)
		j.close('}')
	}
	j.close(']')
}

// losses prints what is lost with each repeater and receiver, and which sensors
// have a second route.
func (t *textReport) losses() {
	s := t.r.Study
	if s == nil {
		return
	}
	t.heading("If a radio device fails")
	rows := table{head: []string{"device", "sensors lost", ""}, right: []bool{false, true, false}}
	for _, l := range s.Losses {
		which := ""
		if n := len(l.Sensors); n > 0 && n < len(t.r.Sensors) {
			which = named(t.r.Plan, l.Sensors)
		} else if n > 0 {
			which = "all"
		}
		rows.add(named(t.r.Plan, []string{l.ID}), fmt.Sprintf("%d of %d", len(l.Sensors), len(t.r.Sensors)), which)
	}
	t.lines(rows.lines("  "))
	var without []string
	for i := range t.r.Sensors {
		if second := t.r.SecondOf(i); second == nil || !second.Holds {
			without = append(without, t.r.Sensors[i].ID)
		}
	}
	switch n := len(t.r.Sensors); {
	case len(without) == 0:
		t.wrapped("Every sensor has a second route with the required margin, by none of the repeaters of its first.", "  ")
	case len(without) == n:
		t.wrapped("No sensor has a second route with the required margin, by none of the repeaters of its first.", "  ")
	default:
		t.wrapped(fmt.Sprintf("%d of %d sensors have a second route with the required margin, by none of the repeaters of their first. Without: %s.",
			n-len(without), n, strings.Join(without, ", ")), "  ")
	}
}
