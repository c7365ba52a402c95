package report

import (
	"fmt"

	"pleach/model/analysis"
	"pleach/model/calibration"
)

// calibration writes what the readings of signal say of the links; nothing where there
// are none, or where it was not asked.
func (j *jsonReport) calibration() {
	c := j.r.Calibration
	if c == nil {
		return
	}
	j.line()
	j.key("calibration")
	j.open('{')
	j.key("in_use")
	j.flag(c.InUse)
	j.key("all")
	j.group(c, c.Fit.All)
	j.line()
	j.key("classes")
	list(j, c.Fit.Groups, func(g calibration.Group) { j.group(c, g) })
	j.line()
	j.key("points")
	list(j, c.Fit.Points, func(p calibration.Point) {
		j.open('{')
		j.reading(c, p.Reading)
		j.key("corrected_dbm")
		if p.Calibrated {
			j.number(p.CorrectedDBm)
		} else {
			j.null()
		}
		j.key("held_back_dbm")
		if p.Calibrated {
			j.number(p.HeldBackDBm)
		} else {
			j.null()
		}
		j.close('}')
	})
	j.line()
	j.key("aside")
	j.open('[')
	for _, a := range c.Fit.Aside {
		j.line()
		j.open('{')
		j.reading(c, a.Reading)
		j.keyText("reason", a.Reason)
		j.close('}')
	}
	for _, a := range c.Aside {
		j.line()
		j.open('{')
		j.keyText("reading", a.ID)
		j.keyText("reason", a.Reason)
		j.close('}')
	}
	j.close(']')
	j.key("at_limit")
	j.integer(c.Fit.AtLimit)
	j.close('}')
}

func (j *jsonReport) reading(c *analysis.Calibration, r calibration.Reading) {
	j.keyText("reading", r.ID)
	j.keyText("from", c.Ends[r.ID][0])
	j.keyText("to", c.Ends[r.ID][1])
	j.keyText("class", r.Class)
	j.keyNumber("predicted_dbm", r.PredictedDBm)
	j.keyNumber("measured_dbm", r.MeasuredDBm)
}

// group writes what a class's readings say; the margin they ask for where there are
// enough of them.
func (j *jsonReport) group(c *analysis.Calibration, g calibration.Group) {
	j.open('{')
	if g.Class != "" {
		j.keyText("class", g.Class)
	}
	j.key("readings")
	j.integer(g.N)
	j.keyNumber("bias_db", g.Bias)
	j.keyNumber("sd_db", g.SD)
	j.keyNumber("rms_before_db", g.RMSBefore)
	j.keyNumber("rms_after_db", g.RMSAfter)
	j.keyNumber("rms_held_back_db", g.RMSHeldBack)
	used, enough := c.Fit.For(g.Class)
	j.key("corrected_by")
	switch {
	case !enough:
		j.text("nothing")
	case used.Class == "":
		j.text("all")
	default:
		j.text(used.Class)
	}
	j.key("required_margin_db")
	if enough {
		j.number(used.Margin(j.r.Plan.Settings.Reliability))
	} else {
		j.null()
	}
	j.close('}')
}

// calibration prints what the readings of signal say of the links.
func (t *textReport) calibration() {
	c := t.r.Calibration
	if c == nil {
		return
	}
	t.heading("Signal read on site against what is predicted")
	if len(c.Fit.Points) > 0 {
		rows := table{head: []string{"class of link", "readings", "bias", "spread", "error before", "after", "held back", "required", "corrected by"},
			right: []bool{false, true, true, true, true, true, true, true, false}}
		groups := append(append([]calibration.Group{}, c.Fit.Groups...), c.Fit.All)
		for _, g := range groups {
			name, spread, held, required, by := g.Class, "-", "-", "-", "nothing: too few"
			if name == "" {
				name = "all together"
			}
			if g.N > 1 {
				spread, held = tenths(g.SD), tenths(g.RMSHeldBack)
			}
			if used, enough := c.Fit.For(g.Class); enough {
				required, by = decibels(used.Margin(t.r.Plan.Settings.Reliability)), "its own readings"
				if used.Class == "" && g.Class != "" {
					by = "all together"
				}
			}
			rows.add(name, fmt.Sprint(g.N), tenths(g.Bias), spread, tenths(g.RMSBefore), tenths(g.RMSAfter), held, required, by)
		}
		t.lines(rows.lines("  "))
		points := table{head: []string{"reading", "of", "at", "class", "predicted", "measured", "held back"}, right: []bool{false, false, false, false, true, true, true}}
		for _, p := range c.Fit.Points {
			corrected := "-"
			if p.Calibrated {
				corrected = level(p.HeldBackDBm)
			}
			points.add(p.Reading.ID, c.Ends[p.Reading.ID][0], c.Ends[p.Reading.ID][1], p.Reading.Class, level(p.Reading.PredictedDBm), level(p.Reading.MeasuredDBm), corrected)
		}
		t.line("")
		t.lines(points.lines("  "))
	}
	for _, a := range c.Fit.Aside {
		t.wrapped(fmt.Sprintf("Set aside: %s, %s.", a.Reading.ID, a.Reason), "  ")
	}
	for _, a := range c.Aside {
		t.wrapped(fmt.Sprintf("Set aside: %s, %s.", a.ID, a.Reason), "  ")
	}
	if c.Fit.AtLimit > 0 {
		t.wrapped(fmt.Sprintf("%s at the sensitivity limit: weaker ones beside them were never heard, so that what is left flatters the prediction.",
			count(c.Fit.AtLimit, "reading was", "readings were")), "  ")
	}
	use := "No link is corrected by this: the plan's radio.calibration does not ask for it."
	if c.InUse {
		use = "Every link of a class with enough readings is rated with its bias; the required margin is that of Student's t for so few."
	}
	t.wrapped(use+" Bias: measured less predicted, positive where a link is better than predicted. Held back: of each reading against the correction the others give, which is the error to expect.", "  ")
}

// tenths says decibels where whole ones say too little: of readings.
func tenths(v float64) string { return fmt.Sprintf("%.1f dB", round(v, 1)) }

// level says a signal level.
func level(v float64) string { return fmt.Sprintf("%.0f dBm", v) }
