package report

import (
	"encoding/json"
	"fmt"
	"math"

	"pleach/model"
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

// Worst is the worst that may befall a link in use, as the report tells it.
type Worst struct {
	Name        string  `json:"name"`
	On          string  `json:"on,omitempty"`
	Margin      float64 `json:"margin_db"`
	Required    float64 `json:"required_margin_db"`
	Probability float64 `json:"probability"`
}

// WorstOf returns what is told of w; nil for nothing.
func WorstOf(w *analysis.Worst) *Worst {
	if w == nil {
		return nil
	}
	return &Worst{w.Name, w.On, places(w.Margin), places(w.Required), math.Round(w.Probability*1e9) / 1e9}
}

// worst writes the worst that may befall link i, where it was looked for.
func (j *jsonReport) worst(i int) {
	w := WorstOf(j.r.WorstOf(i))
	if w == nil {
		return
	}
	j.key("worst_case")
	text, err := json.Marshal(w)
	if err != nil {
		panic(err) // it holds nothing but text and finite numbers
	}
	j.raw(text)
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

// mostNamed is how many lost sensors are named in a row. Chosen.
const mostNamed = 4

// losses prints what is lost with each repeater and receiver, and which sensors
// have a second route.
func (t *textReport) losses() {
	s := t.r.Study
	if s == nil {
		return
	}
	t.heading("If a radio device fails")
	rows := table{head: []string{"device that fails", "sensors lost", "which"}, right: []bool{false, true, false}}
	for _, l := range s.Losses {
		which := ""
		switch n := len(l.Sensors); {
		case n == 0:
		case n == len(t.r.Sensors):
			which = "all"
		case n <= mostNamed:
			which = named(t.r.Plan, l.Sensors)
		default:
			which = fmt.Sprintf("%s; and %d more: see --json", named(t.r.Plan, l.Sensors[:mostNamed-1]), n-mostNamed+1)
		}
		rows.add(named(t.r.Plan, []string{l.ID}), fmt.Sprintf("%d of %d", len(l.Sensors), len(t.r.Sensors)), which)
	}
	t.lines(rows.lines("  "))
	t.wrapped(t.r.LossWords(), "  ")
	t.wrapped(t.r.SecondRouteWords(), "  ")
}

// dutyBasis says what a device is taken to send, as far as it is judgement.
const dutyBasis = "A busy hour is reckoned: supervision as each sensor model states it (else one message an hour, as for a repeater), and a tenth of a day's alarms. " +
	"Acknowledgements are not counted, and devices are taken not to listen before they talk."

// rulesBasis says where the rules are from and what they are worth.
func rulesBasis(c *analysis.Compliance) string {
	text := fmt.Sprintf("Rules: %s (%s, taken down %s; %s).", c.Rules.Name, c.Rules.Country, c.Rules.Date, c.Rules.Source)
	if c.FromMemory() {
		text += " Some figures that decide here are from memory."
	}
	return text + " The conditions of the licence in force hold, not these."
}

// radioRules writes what the plan's radio rules say to its devices; nothing where it
// states none.
func (j *jsonReport) radioRules() {
	if j.r.Study == nil || j.r.Study.Compliance == nil {
		return
	}
	c := j.r.Study.Compliance
	j.line()
	j.key("radio_rules")
	j.open('{')
	for _, m := range [][2]string{{"id", c.Rules.ID}, {"name", c.Rules.Name}, {"country", c.Rules.Country}, {"date", c.Rules.Date}, {"source", c.Rules.Source}} {
		j.keyText(m[0], m[1])
	}
	j.key("from_memory")
	j.flag(c.FromMemory())
	j.keyText("basis", dutyBasis)
	j.line()
	j.key("devices")
	list(j, c.Devices, func(d analysis.OnAir) {
		j.open('{')
		j.keyText("device", d.ID)
		j.keyNumber("erp_dbm", d.ERP)
		j.keyNumber("own_s_per_hour", d.Load.Own)
		j.keyNumber("forwarded_s_per_hour", d.Load.Forwarded)
		j.keyNumber("supervision_s_per_hour", d.Load.Supervision)
		j.key("forwards")
		j.integer(d.Load.Sources)
		j.keyNumber("duty", d.Load.Duty())
		j.key("allowed")
		j.flag(d.Verdict.Allowed)
		if d.Verdict.Allowed {
			j.keyText("rule", c.Rules.Quote(d.Verdict.By))
		} else if d.Verdict.Held {
			j.keyText("rule", c.Rules.Quote(d.Verdict.Breaches[0].Band))
		}
		j.key("breaches")
		j.open('[')
		for _, b := range d.Verdict.Breaches {
			j.open('{')
			j.keyText("what", b.What)
			j.keyNumber("is", b.Is)
			j.keyNumber("limit", b.Limit)
			j.close('}')
		}
		j.close(']')
		j.close('}')
	})
	j.line()
	j.key("storm")
	j.open('{')
	j.key("alarms")
	j.integer(c.Storm.Alarms)
	j.keyNumber("within_s", c.Storm.Window)
	j.keyNumber("message_s", c.Storm.Airtime)
	j.key("copies")
	j.integer(c.Storm.Copies)
	j.key("links")
	j.integer(c.Storm.Links)
	j.keyNumber("success", c.Success)
	j.close('}')
	j.close('}')
}

// radioRules prints what the plan's radio rules say to its devices: the repeaters, the
// receivers, what is not allowed, and of the sensors the one that is on the air most.
func (t *textReport) radioRules() {
	if t.r.Study == nil || t.r.Study.Compliance == nil {
		return
	}
	c := t.r.Study.Compliance
	t.heading("Radio rules")
	rows := table{head: []string{"device", "power", "on the air", "of it forwarded", "devices behind it", ""}, right: []bool{false, true, true, true, true, false}}
	most, sensors := -1, 0
	for i, d := range c.Devices {
		if d.Kind == model.KindSensor {
			sensors++
			if d.Verdict.Allowed && (most < 0 || d.Load.Total() > c.Devices[most].Load.Total()) {
				most = i
			}
		}
	}
	quoted := map[string]bool{}
	var quotes []string
	for i, d := range c.Devices {
		if d.Kind == model.KindSensor && d.Verdict.Allowed && i != most {
			continue
		}
		said, quote := "no band", ""
		switch {
		case d.Verdict.Allowed:
			said, quote = "allowed", c.Rules.Quote(d.Verdict.By)
			if d.Verdict.By.Condition != "" {
				quote += "; " + d.Verdict.By.Condition
			}
		case d.Verdict.Held:
			said, quote = "not allowed", c.Rules.Quote(d.Verdict.Breaches[0].Band)
		}
		if quote != "" && !quoted[quote] {
			quoted[quote] = true
			quotes = append(quotes, quote)
		}
		air, forwarded, behind := "-", "-", "-"
		if d.Kind != model.KindReceiver {
			air = fmt.Sprintf("%.2g s an hour", d.Load.Total())
		}
		if d.Load.Sources > 0 {
			forwarded, behind = fmt.Sprintf("%.2g s", d.Load.Forwarded), fmt.Sprint(d.Load.Sources)
		}
		rows.add(d.ID, fmt.Sprintf("%.3g dBm ERP", d.ERP), air, forwarded, behind, said)
	}
	t.lines(rows.lines("  "))
	if sensors > 1 && most >= 0 {
		t.wrapped("Of the sensors that are allowed only the one most on the air is listed.", "  ")
	}
	for _, q := range quotes {
		t.wrapped(q+".", "  ")
	}
	t.wrapped(fmt.Sprintf("When %d sensors alarm within %s s, a message gets through with %s.", c.Storm.Alarms, number(c.Storm.Window), analysis.Percent(c.Success)), "  ")
	t.wrapped(dutyBasis+" "+rulesBasis(c), "  ")
}
