package drawing

import (
	"math"

	"github.com/paulmach/orb"
)

// LegendLine is one line of the legend.
type LegendLine struct {
	Meaning Meaning
	Text    string
}

// Legend returns the lines for what list shows within window, in the order of
// the meanings; with a nil window for all of it.
func (t *Theme) Legend(list *List, window *orb.Bound) []LegendLine {
	var seen [meanings]bool
	for i := range list.Items {
		it := &list.Items[i]
		if it.Kind != LabelKind && (window == nil || window.Intersects(it.bound)) {
			seen[it.Meaning] = true
			if it.Meaning == FootprintSelected {
				seen[Footprint] = true
			}
		}
	}
	var out []LegendLine
	for m := range seen {
		if text := t.styles[m].Legend; seen[m] && text != "" {
			out = append(out, LegendLine{Meaning(m), text})
		}
	}
	return out
}

// Sample is the picture beside a line of the legend: a list to be rendered
// with the view that comes with it, width by height units. It is drawn by the
// same rows of the table as the map. Every mark fits where height is at least
// 22 pixels or 5.5 mm, half as much again for the installer's sheet.
func (t *Theme) Sample(m Meaning, width, height float64) (*List, View) {
	// One metre a unit, the origin in the middle.
	v := View{MetresPerUnit: 1, Width: width, Height: height}
	l := &List{}
	st := t.Style(m)
	w := width/2 - math.Min(width*0.06, height*0.2)
	line := orb.LineString{{-w, 0}, {w, 0}}
	add := func(it Item) {
		if it.Meaning == None {
			it.Meaning = m
		}
		l.Add(it)
	}
	area := func(dx, dy float64) {
		add(Item{Kind: AreaKind, Area: orb.MultiPolygon{{{{-dx, -dy}, {dx, -dy}, {dx, dy}, {-dx, dy}, {-dx, -dy}}}}})
	}
	switch m {
	case Sensor, SensorFlagged, Repeater, Receiver, Reading, Finding, FindingAccepted, ControlPoint, WayCrosses, WayMeets,
		LevelOpen, LevelPast, LevelTrees, LevelOpenAside, LevelPastAside, LevelTreesAside:
		add(Item{Kind: MarkKind, Bearing: 90})
	case LevelOpenFit, LevelPastFit, LevelTreesFit:
		levelSample(m, w, height, add)
	case Gate:
		add(Item{Kind: LineKind, Meaning: Boundary, Line: line})
		add(Item{Kind: MarkKind, Length: w * 0.8})
	case Hazard:
		add(Item{Kind: LineKind, Line: line})
		add(Item{Kind: MarkKind})
	case LinkHeld:
		// From ample to nearly thin, as it is drawn.
		n := 6
		for i := 0; i < n; i++ {
			a, b := -w+2*w*float64(i)/float64(n), -w+2*w*float64(i+1)/float64(n)
			add(Item{Kind: LineKind, Line: orb.LineString{{a, 0}, {b, 0}}, Margin: AmpleDB + (ThinDB-AmpleDB)*float64(i)/float64(n-1)})
		}
	case LinkThin:
		add(Item{Kind: LineKind, Line: line, Margin: ThinDB / 2})
	case LinkFails:
		add(Item{Kind: LineKind, Line: line, Margin: -1})
	case Covered, Shallow, Overlap, HeadOn, Gap, GapAccepted, Excluded, ChainageTick:
		y := 0.0
		if m == Covered || m == Shallow || m == Overlap {
			y = -height * 0.2
		}
		l0 := orb.LineString{{-w, y}, {w, y}}
		// The line runs east with its inside, on the left, up.
		add(Item{Kind: LineKind, Meaning: Boundary, Line: l0, Inside: Left})
		if m == Overlap || m == HeadOn {
			add(Item{Kind: LineKind, Meaning: Covered, Line: l0, Inside: Left})
		}
		if m == ChainageTick {
			for i := -2.0; i <= 2; i++ {
				x := i * w / 2.5
				add(Item{Kind: LineKind, Meaning: AimArm, Line: orb.LineString{{x, 0}, {x, -st.Ticks.Length * 1.5}}})
			}
			break
		}
		add(Item{Kind: LineKind, Line: l0, Inside: Left})
		if m == Gap {
			add(Item{Layer: LabelLayer, Kind: LabelKind, Meaning: GapNumber, Text: "1", Prefer: Centred, Must: true})
		}
	case Obstacle, ObstacleMesh, WalkLine, Boundary, Premises, CameraView:
		add(Item{Kind: LineKind, Line: line})
	default:
		if st.Fill.A > 0 || st.Hatch.Spacing > 0 || st.Dots.Spacing > 0 {
			if m == FootprintLookDown || m == Screened {
				add(Item{Kind: AreaKind, Meaning: Footprint, Area: orb.MultiPolygon{{{{-w, -height * 0.42}, {w, -height * 0.42}, {w, height * 0.42}, {-w, height * 0.42}, {-w, -height * 0.42}}}}})
			}
			area(w, height*0.42)
		} else {
			add(Item{Kind: LineKind, Line: line})
		}
	}
	return l, v
}
