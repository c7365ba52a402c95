package editor

import (
	"math"
	"sort"

	"pleach/model"
)

// span is an entry of a sensor's property "masked".
type span struct {
	From float64 `json:"from_deg"`
	To   float64 `json:"to_deg"`
}

// setMask is the step that gives a sensor masked spans, none to take them away.
func setMask(id string, spans []model.Sector) model.Set {
	var v any
	if len(spans) > 0 {
		list := make([]span, len(spans))
		for i, s := range spans {
			list[i] = span{s.From, s.To}
		}
		v = list
	}
	return model.Set{ID: id, Values: []model.Value{{Property: "masked", Value: v}}, Name: "mask " + id}
}

// merged joins spans that overlap or touch; From and To come out from -180 to
// 180, clockwise from From. A span of 360 degrees or more is -180 to 180.
func merged(spans []model.Sector) []model.Sector {
	type part struct{ from, to float64 } // from in [0, 360), to above from
	var ps []part
	for _, s := range spans {
		w := math.Mod(s.To-s.From, 360)
		if w <= 0 {
			w += 360
		}
		if s.To-s.From == 0 {
			continue
		}
		if w >= 360 || s.To-s.From >= 360 {
			return []model.Sector{{From: -180, To: 180}}
		}
		from := math.Mod(s.From, 360)
		if from < 0 {
			from += 360
		}
		if from+w > 360 {
			ps = append(ps, part{from, 360}, part{0, from + w - 360})
		} else {
			ps = append(ps, part{from, from + w})
		}
	}
	sort.Slice(ps, func(i, j int) bool { return ps[i].from < ps[j].from })
	var out []part
	for _, p := range ps {
		if n := len(out); n > 0 && p.from <= out[n-1].to {
			out[n-1].to = math.Max(out[n-1].to, p.to)
			continue
		}
		out = append(out, p)
	}
	n := len(out)
	if n == 1 && out[0].from == 0 && out[0].to == 360 {
		return []model.Sector{{From: -180, To: 180}}
	}
	if n > 1 && out[0].from == 0 && out[n-1].to == 360 { // one span through 0
		out[0].from = out[n-1].from - 360
		out = out[:n-1]
	}
	res := make([]model.Sector, len(out))
	for i, p := range out {
		if p.from >= 180 {
			p.from, p.to = p.from-360, p.to-360
		}
		if p.to > 180 {
			p.to -= 360
		}
		res[i] = model.Sector{From: tidy(p.from, 0.1), To: tidy(p.to, 0.1)}
	}
	sort.Slice(res, func(i, j int) bool { return res[i].From < res[j].From })
	return res
}

// turned returns the signed angle from a to b in degrees, from -180 up to 180.
func turned(a, b float64) float64 { return math.Remainder(b-a, 360) }
