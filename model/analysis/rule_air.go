package analysis

import (
	"fmt"
	"math"
	"strconv"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/radio"
	"pleach/model/scene"
	"pleach/model/terrain"
)

// Overloaded is the level in dBm from which a receiver may no longer follow what it
// hears (from memory).
const Overloaded = -20.0

// ruleOverload: a link in use so short that its receiver may be overloaded.
func ruleOverload(r *Result) (out []model.Finding) {
	for _, k := range r.Links {
		if !k.InUse || k.Received <= Overloaded {
			continue
		}
		out = append(out, model.Finding{Rule: "overload", Severity: model.Warning, Subject: []string{k.From, k.To}, At: r.lonLat(k.A),
			Text: fmt.Sprintf("%s stands %s from %s: %.0f dBm arrive there, and above %.0f dBm (from memory) a radio may no longer follow what it hears.",
				r.title(k.From), metres(k.Distance), r.title(k.To), k.Received, Overloaded),
			Remedy: "Move one of the two some metres, or lower the power, and read the signal on site."})
	}
	return out
}

// ruleSensitivity: devices that are said to hear signals below the noise of their own
// receivers. One finding tells of all with the same sensitivity.
func ruleSensitivity(r *Result) (out []model.Finding) {
	b := r.Plan.Settings.Traffic.Bandwidth
	if b == nil {
		return nil
	}
	floor := radio.NoiseFloor(*b*1000, radio.NoiseFigureDB)
	at := map[float64]int{}
	tell := func(a antenna) {
		s := a.radio.SensitivityDBm
		if s == nil || *s >= floor {
			return
		}
		i, known := at[*s]
		if !known {
			i = len(out)
			at[*s] = i
			out = append(out, model.Finding{Rule: "sensitivity", Severity: model.Warning, At: r.lonLat(a.at),
				Remedy: "Ask for which bit rate, bandwidth and share of errors it is stated, and put the figure for the radio as it is used."})
		}
		out[i].Subject = append(out[i].Subject, a.feature.ID)
	}
	for _, w := range r.works {
		tell(w.antenna)
	}
	for _, a := range r.net.hubs {
		tell(a)
	}
	for s, i := range at {
		who := r.title(out[i].Subject[0])
		if n := len(out[i].Subject); n > 1 {
			who = fmt.Sprintf("%s and %d more", who, n-1)
		}
		out[i].Text = fmt.Sprintf("%s: a sensitivity of %.0f dBm is below the receiver's own noise in %s kHz, %.0f dBm with a noise figure of %.0f dB (from memory): every margin at it is too good, unless the radio spreads its signal.",
			who, s, strconv.FormatFloat(*b, 'f', -1, 64), floor, radio.NoiseFigureDB)
	}
	return out
}

// UnknownGround returns the first place on the straight line from a to b whose ground
// the terrain model does not know: it lies beyond its edge, or in a hole; ok is false
// where it knows all of it, and where there is no terrain model.
func UnknownGround(sc *scene.Scene, a, b orb.Point) (at orb.Point, ok bool) {
	dx, dy := b[0]-a[0], b[1]-a[1]
	d := math.Hypot(dx, dy)
	if sc.Terrain == nil {
		return at, false
	}
	if d == 0 || !sc.Terrain.Known(a) {
		return a, !sc.Terrain.Known(a)
	}
	var ray terrain.Ray
	sc.Terrain.Profile(a, dx/d, dy/d, d, &ray)
	if u := ray.Unknown; u < d {
		return orb.Point{a[0] + u/d*dx, a[1] + u/d*dy}, true
	}
	return at, false
}

// ruleLinkTerrain: a link in use over ground the terrain model does not know.
func ruleLinkTerrain(r *Result) (out []model.Finding) {
	for _, k := range r.Links {
		if !k.InUse {
			continue
		}
		if at, unknown := UnknownGround(r.Scene, k.A, k.B); unknown {
			out = append(out, model.Finding{Rule: "terrain-edge", Severity: model.Warning, Subject: []string{k.From, k.To}, At: r.lonLat(at),
				Text:   fmt.Sprintf("The radio link from %s to %s runs over ground the terrain model does not know: the nearest known height is taken there.", r.title(k.From), r.title(k.To)),
				Remedy: "Get a terrain model that covers the ground between them, or read the signal on site before relying on it."})
		}
	}
	return out
}
