package analysis

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"pleach/model"
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
