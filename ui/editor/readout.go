package editor

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
)

// readout says in figures what the drag has done so far.
func (e *Editor) readout(h *held) string {
	switch h.grip {
	case gripAim, gripPlace:
		if f := e.Plan().Feature(h.id); f != nil {
			if s, ok := f.Value.(*model.Sensor); ok {
				return fmt.Sprintf("%s: bearing %s", h.id, degrees(s.Bearing))
			}
		}
	case gripMaskEnd, gripMaskNew:
		if f := e.Plan().Feature(h.id); f != nil {
			return h.id + ": " + MaskWords(f.Value.(*model.Sensor).Masked)
		}
	case gripShapes:
		return fmt.Sprintf("%s: moved %s", title(h.ids), metres(distance(h.press, e.pointer)))
	case gripNudge:
		return fmt.Sprintf("%s: moved %s", title(h.ids), metres(math.Hypot(h.shift[0], h.shift[1])))
	case gripTune:
		if v, ok := e.Plan().Feature(h.id).Number("antenna_height_m"); ok && h.property == "antenna_height_m" {
			return h.id + ": antenna height " + metres(v)
		}
		if s, ok := e.Plan().Feature(h.id).Value.(*model.Sensor); ok {
			return fmt.Sprintf("%s: %s, mount height %s", h.id, tiltWords(s.Tilt), metres(s.MountHeight))
		}
	case gripVertex, gripMiddle:
		if f := e.Plan().Feature(h.id); f != nil {
			return h.id + ": " + e.measure(f.Geometry)
		}
	}
	return ""
}

// Measure says the length or the area of what is being drawn, with the leg to
// the pointer; "" where nothing is drawn.
func (e *Editor) Measure() string {
	n := len(e.outline)
	if n == 0 {
		return ""
	}
	last := e.outline[n-1]
	out := []string{"leg " + metres(distance(last, e.pointer)) + ", bearing " + degrees(math.Round(e.trueBearing(last, e.pointer)))}
	line := append(append(orb.LineString(nil), e.outline...), e.pointer)
	if e.tool.Shape == model.Area && n >= 2 {
		ring := append(orb.Ring(line), line[0])
		out = append(out, "round "+metres(length(orb.LineString(ring))), area(math.Abs(scene.SignedArea(ring))))
	} else if n >= 2 {
		out = append(out, "together "+metres(length(line)))
	}
	return strings.Join(out, ", ")
}

func (e *Editor) measure(g orb.Geometry) string {
	switch g := e.grid.Geometry(g).(type) {
	case orb.LineString:
		return metres(length(g)) + " long"
	case orb.Polygon:
		return metres(length(orb.LineString(g[0]))) + " round, " + area(math.Abs(scene.SignedArea(g[0])))
	}
	return ""
}

// MaskWords lists masked spans for a reader, relative to the bearing.
func MaskWords(m []model.Sector) string {
	if len(m) == 0 {
		return "nothing masked"
	}
	var out []string
	for _, s := range m {
		out = append(out, signed(s.From)+" to "+signed(s.To))
	}
	return "masked " + strings.Join(out, ", ")
}

func signed(v float64) string {
	s := strings.TrimSuffix(fmt.Sprintf("%.1f", math.Abs(v)), ".0") + "°"
	switch {
	case v < 0:
		return "−" + s
	case v > 0:
		return "+" + s
	}
	return s
}

func title(ids []string) string {
	if len(ids) == 1 {
		return ids[0]
	}
	return fmt.Sprintf("%d features", len(ids))
}

func tiltWords(v float64) string {
	switch {
	case v > 0:
		return "tilt " + degrees(v) + " down"
	case v < 0:
		return "tilt " + degrees(-v) + " up"
	}
	return "level"
}

func degrees(v float64) string { return strings.TrimSuffix(fmt.Sprintf("%.1f", v), ".0") + "°" }

func metres(v float64) string {
	switch {
	case v < 10:
		return fmt.Sprintf("%.2f m", v)
	case v < 100:
		return fmt.Sprintf("%.1f m", v)
	}
	return fmt.Sprintf("%.0f m", v)
}

func area(v float64) string {
	if v >= 1e5 {
		return fmt.Sprintf("%.1f ha", v/1e4)
	}
	return fmt.Sprintf("%.0f m²", v)
}

func distance(a, b orb.Point) float64 { return math.Hypot(b[0]-a[0], b[1]-a[1]) }

func length(l orb.LineString) float64 {
	sum := 0.0
	for i := 1; i < len(l); i++ {
		sum += distance(l[i-1], l[i])
	}
	return sum
}
