package report

import (
	"fmt"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model/analysis"
	"pleach/model/wayin"
)

// ways writes how a person would come in to each asset, and what that rests on;
// nothing where it was not looked for.
func (j *jsonReport) ways() {
	w := j.r.Ways
	if w == nil {
		return
	}
	j.line()
	j.key("ways")
	list(j, w.List, j.way)
	j.line()
	s := j.r.Plan.Settings
	j.key("ways_rest_on")
	j.open('{')
	j.keyNumber("probability", s.WayIn.Probability)
	j.keyNumber("width_m", s.WayIn.Width)
	j.keyNumber("person_m", w.Person)
	j.keyNumber("cell_m", w.Cell)
	j.keyText("assumption", assumption(j.r))
	j.keyText("independence", wayin.Independence)
	j.close('}')
}

func (j *jsonReport) way(w analysis.Way) {
	j.open('{')
	j.keyText("asset", w.Asset)
	j.key("reached")
	j.flag(w.Reached)
	if !w.Reached {
		j.close('}')
		return
	}
	j.key("undetected")
	j.flag(w.Undetected)
	j.key("route")
	j.lineString(w.Line)
	j.keyNumber("length_m", w.Length)
	j.keyNumber("cost", w.Cost)
	j.key("detection")
	j.rounded(w.Detection, 2)
	j.key("passes")
	j.open('[')
	for _, p := range w.Passes {
		j.open('{')
		j.keyText("sensor", p.Sensor)
		j.keyNumber("from_m", p.From)
		j.keyNumber("to_m", p.To)
		j.keyNumber("cost", p.Cost)
		j.close('}')
	}
	j.close(']')
	j.key("crossings")
	j.open('[')
	for _, c := range w.Crossings {
		j.open('{')
		j.keyText("boundary", c.Boundary)
		j.keyNumber("chainage_m", c.Chainage)
		j.key("at")
		j.lonLat(j.r.Scene.Grid.ToLonLat(c.At))
		j.keyNumber("along_m", c.Along)
		j.key("inward")
		j.flag(c.Inward)
		j.key("gate")
		if c.Gate == "" {
			j.null()
		} else {
			j.text(c.Gate)
		}
		j.close('}')
	}
	j.close(']')
	j.key("delays")
	j.open('[')
	for _, d := range w.Delays {
		j.open('{')
		j.keyText("obstacle", d.Obstacle)
		j.keyNumber("delay_s", d.Seconds)
		j.keyNumber("along_m", d.Along)
		j.close('}')
	}
	j.close(']')
	j.key("narrow")
	if n := w.Narrow; n == nil {
		j.null()
	} else {
		j.open('{')
		j.keyNumber("width_m", n.Width)
		j.key("between")
		j.texts(n.Between[:])
		j.key("at")
		j.lonLat(j.r.Scene.Grid.ToLonLat(n.At))
		j.keyNumber("along_m", n.Along)
		j.close('}')
	}
	if w.Timing != nil {
		j.timing(w.Timing)
	}
	j.close('}')
}

// timing writes what a stated response comes to.
func (j *jsonReport) timing(t *analysis.Timing) {
	j.key("response")
	j.open('{')
	j.keyNumber("response_s", t.Response)
	j.keyNumber("remains_s", t.Remains)
	j.key("interruption")
	j.rounded(t.Interruption, 4)
	j.key("critical")
	if c := t.Critical; c == nil {
		j.null()
	} else {
		j.open('{')
		j.keyText("sensors", c.Sensors)
		j.key("at")
		j.lonLat(j.r.Scene.Grid.ToLonLat(c.At))
		j.keyNumber("along_m", c.Along)
		j.keyNumber("remains_s", c.Remains)
		j.key("timely")
		j.rounded(c.Timely, 2)
		j.close('}')
	}
	j.close('}')
}

// lineString writes a line on the site grid as a GeoJSON geometry.
func (j *jsonReport) lineString(l orb.LineString) {
	j.open('{')
	j.keyText("type", "LineString")
	j.key("coordinates")
	j.open('[')
	for _, p := range l {
		j.lonLat(j.r.Scene.Grid.ToLonLat(p))
	}
	j.close(']')
	j.close('}')
}

// assumption says what cumulative figures follow from.
func assumption(r *analysis.Result) string {
	s := r.Plan.Settings
	chosen := ""
	if !r.Plan.Stated("way_in.probability") || !r.Plan.Stated("way_in.width_m") {
		chosen = ", chosen,"
	}
	return fmt.Sprintf("Assumed%s and established by nothing here: a crossing of %s m of one footprint is detected with %s. Every figure along a way follows from that.",
		chosen, number(s.WayIn.Width), number(s.WayIn.Probability))
}

// waysIn prints how a person would come in to each asset.
func (t *textReport) waysIn() {
	if t.r.Ways == nil {
		return
	}
	t.heading("Ways in")
	for i := range t.r.Ways.List {
		if i > 0 {
			t.line("")
		}
		t.way(&t.r.Ways.List[i])
	}
	t.line("")
	s := t.r.Plan.Settings
	t.wrapped(assumption(t.r)+" "+wayin.Independence, "  ")
	least := fmt.Sprintf("Reckoned for a person %s m tall, footprints as far as no foliage screens them; what is narrower than %s m is no passage.", number(s.Target.Height), number(t.r.Ways.Person))
	if len(s.Postures) > 0 {
		least += " For a further posture footprints are smaller: see its gaps."
	}
	t.wrapped(least, "  ")
	if s.Response.Time != nil {
		t.wrapped("Interruption is that of the EASI model (SAND 76-0597), along this way; along another there may be less time.", "  ")
	}
}

func (t *textReport) way(w *analysis.Way) {
	p := t.r.Plan
	to := "  To " + named(p, []string{w.Asset})
	switch {
	case !w.Reached:
		t.line("%s: none. Buildings and impassable obstacles leave no way.", to)
		return
	case w.Undetected:
		t.line("%s: %s, crossing no footprint", to, metres(w.Length))
	default:
		t.lines(wrap(fmt.Sprintf("%s, cumulative figure %s by the assumption below", metres(w.Length), analysis.TwoDigits(w.Detection)), t.width, to+": ", "    "))
	}
	rows := table{head: []string{"along", "", ""}, right: []bool{true, false, false}}
	for _, e := range t.r.Events(w) {
		rows.add(metres(e.Along), e.What, e.More)
	}
	if len(rows.rows) > 0 {
		t.lines(rows.lines("    ")[1:])
	}
	if m := w.Timing; m != nil {
		t.timing(m)
	}
}

func (t *textReport) timing(m *analysis.Timing) {
	words := fmt.Sprintf("Response in %s s: interrupted with %s. ", number(m.Response), analysis.TwoDigits(m.Interruption))
	switch {
	case m.Critical != nil:
		words += fmt.Sprintf("The critical detection point is %s along, in the footprint of %s: %.0f s remain there; detected up to it with %s.",
			metres(m.Critical.Along), named(t.r.Plan, strings.Split(m.Critical.Sensors, ", ")), m.Critical.Remains, analysis.TwoDigits(m.Critical.Timely))
	case m.Remains > 0:
		words += fmt.Sprintf("There is no critical detection point: at the first detection %.0f s remain.", m.Remains)
	default:
		words += "Nothing detects the intruder."
	}
	t.wrapped(words, "    ")
}
