package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"pleach/model"
	"pleach/model/coverage"
)

// metres says a length as an engineer does: 8.4 m, 412 m, 1 240 m.
func metres(v float64) string {
	if math.Abs(v) < 9.95 {
		return strconv.FormatFloat(round(v, 1), 'f', -1, 64) + " m"
	}
	return grouped(v) + " m"
}

// squareMetres says an area: 0.8 m², 412 m².
func squareMetres(v float64) string {
	if v > 0 && v < 9.95 {
		return strconv.FormatFloat(round(v, 1), 'f', -1, 64) + " m²"
	}
	return grouped(v) + " m²"
}

// grouped writes a whole number with its thousands apart.
func grouped(v float64) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', 0, 64)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + " " + s[i:]
	}
	if v <= -0.5 {
		return "-" + s
	}
	return s
}

func round(v float64, places int) float64 {
	f := math.Pow(10, float64(places))
	if r := math.Round(v*f) / f; r != 0 {
		return r
	}
	return 0
}

// degrees says an angle: 4°, 2.5°.
func degrees(v float64) string { return strconv.FormatFloat(round(v, 1), 'f', -1, 64) + "°" }

// decibels says a whole number of decibels.
func decibels(v float64) string { return strconv.FormatFloat(round(v, 0), 'f', 0, 64) + " dB" }

// share says a fraction as a percentage. What is not all is never said to be,
// nor what is not nothing.
func share(v float64) string {
	switch p := round(100*v, 0); {
	case p == 100 && v < 1:
		return strconv.FormatFloat(math.Min(math.Floor(1000*v)/10, 99.9), 'f', 1, 64) + " %"
	case p == 0 && v > 0:
		return "under 1 %"
	default:
		return strconv.FormatFloat(p, 'f', 0, 64) + " %"
	}
}

// number says a setting's figure as short as it can be.
func number(v float64) string { return strconv.FormatFloat(v, 'g', 10, 64) }

// count says how many of something there are.
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// chainage says a stretch of boundary. Short ones are said to a tenth of a
// metre.
func chainage(from, to, length float64) string {
	places := 0
	if length < 9.95 {
		places = 1
	}
	f, t := strconv.FormatFloat(round(from, places), 'f', places, 64), strconv.FormatFloat(round(to, places), 'f', places, 64)
	s := f + " to " + t + " m"
	if to < from {
		s += ", through 0"
	}
	return s
}

// why says the cause of a gap.
func why(p *model.Plan, cause coverage.Cause, by []string) string {
	names := named(p, by)
	switch cause {
	case coverage.Hidden:
		if names == "" {
			return "hidden"
		}
		return "hidden by " + names
	case coverage.Screened:
		if names == "" {
			return "screened by foliage"
		}
		return "screened by " + names
	case coverage.Thin:
		return "pattern too thin there"
	case coverage.Under:
		return "too near the mount, under the pattern"
	case coverage.Over:
		return "pattern passes overhead"
	case coverage.OutOfReach:
		return "out of reach"
	}
	return string(cause)
}

// named lists features by id and, where they have one, name.
func named(p *model.Plan, ids []string) string {
	var out []string
	for _, id := range ids {
		shown := model.Shown(id)
		if f := p.Feature(id); f != nil && f.Name != "" && f.Name != id {
			shown += " " + model.Shown(f.Name)
		}
		out = append(out, shown)
	}
	return strings.Join(out, "; ") // names may have commas
}

// visible says a fraction of the target in words.
func visible(v float64) string {
	switch v {
	case 0.5:
		return "half of it"
	case 1:
		return "all of it"
	}
	return fmt.Sprintf("%s of it", share(v))
}
