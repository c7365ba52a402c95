package panel

import (
	"fmt"
	"strings"

	"pleach/model/analysis"
	"pleach/model/wayin"
)

// wayFacts are the figures of the way in to an asset.
func wayFacts(w *analysis.Way) []fact {
	if !w.Reached {
		return []fact{{"Way in", "none"}}
	}
	out := []fact{{"Way in", Metres(w.Length) + " on foot"}}
	switch ids := w.SensorIDs(); {
	case w.Undetected:
		out = append(out, fact{"Crosses", "no footprint"})
	case len(ids) > 0:
		out = append(out, fact{"Crosses", strings.Join(ids, ", ")})
	}
	if !w.Undetected {
		out = append(out, fact{"Cumulative figure", analysis.TwoDigits(w.Detection)})
	}
	delay := 0.0
	for _, d := range w.Delays {
		delay += d.Seconds
	}
	if delay > 0 {
		out = append(out, fact{"Held up by obstacles", fmt.Sprintf("%.0f s", delay)})
	}
	if t := w.Timing; t != nil {
		out = append(out, fact{"Response takes", fmt.Sprintf("%.0f s", t.Response)})
		if !w.Undetected {
			out = append(out, fact{"Left at first detection", fmt.Sprintf("%.0f s", t.Remains)})
		}
		out = append(out, fact{"Interrupted in time", analysis.TwoDigits(t.Interruption)})
		if c := t.Critical; c != nil {
			out = append(out, fact{"Critical point, in " + c.Sensors, Metres(c.Along) + " along"},
				fact{"Left there", fmt.Sprintf("%.0f s", c.Remains)},
				fact{"Detected up to it", analysis.TwoDigits(c.Timely)})
		}
	}
	return out
}

// wayWords say what the figures of a way in rest on.
func wayWords(r *analysis.Result, w *analysis.Way) string {
	said := r.WayWords(w)
	if w.Reached && !w.Undetected {
		said += ". " + wayin.Independence
	}
	return strings.ReplaceAll(said, "..", ".")
}
