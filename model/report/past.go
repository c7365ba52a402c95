package report

import (
	"math"

	"pleach/model/analysis"
)

// Past is how a link passes what stands in its way, as the report tells it.
// Losses are decibels over free space; null is a way that is none.
type Past struct {
	Obstacles []string `json:"obstacles"` // what hides one antenna from the other
	Worst     string   `json:"worst,omitempty"`
	Ways      *Ways    `json:"ways,omitempty"`
	Foliage   []string `json:"foliage"`
	Trees     float64  `json:"trees_m"`
	Through   float64  `json:"through_trees_db"`
	Entry     float64  `json:"entry_db"`
}

// Ways are the ways past obstacles, the ground's own loss in each.
type Ways struct {
	Bare    *float64 `json:"bare_ground_db"`
	Over    *float64 `json:"over_db"`
	Left    *float64 `json:"round_left_db"`
	Right   *float64 `json:"round_right_db"`
	Through *float64 `json:"through_db"`
	Main    string   `json:"main"`
}

// PastOf returns what is told of p; nil for a link that nothing stands in.
func PastOf(p *analysis.Past) *Past {
	if p == nil {
		return nil
	}
	out := &Past{Obstacles: append([]string{}, p.Obstacles...), Worst: p.Worst, Foliage: append([]string{}, p.Foliage...),
		Trees: places(p.InTrees), Through: places(p.Through), Entry: places(p.Entry)}
	if len(p.Obstacles) > 0 {
		w := p.Ways
		out.Ways = &Ways{finite(w.BareDB), finite(w.OverDB), finite(w.LeftDB), finite(w.RightDB), finite(w.ThroughDB), string(w.Main())}
	}
	return out
}

// finite is a loss as the report tells it, nil for a way that is none.
func finite(v float64) *float64 {
	if math.IsInf(v, 1) {
		return nil
	}
	v = places(v)
	return &v
}

// places rounds to the decimals of the report; nought has no sign.
func places(v float64) float64 {
	k := math.Pow(10, decimals)
	return math.Round(v*k)/k + 0
}
