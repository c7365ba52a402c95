package drawing

import (
	"math"

	"github.com/paulmach/orb"

	"pleach/model/contour"
)

// contourStep is between two lines of equal margin, decibels. Chosen.
const contourStep = 10.0

// shortContour is the length in cells below which a contour has no figure. Chosen.
const shortContour = 16

// margins draws the margin a device would have as contours: one every ten
// decibels, and that of the margin required.
func (c *composer) margins() {
	m := c.in.Margins
	if m == nil {
		return
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range m.Values {
		if !math.IsNaN(v) {
			low, high = math.Min(low, v), math.Max(high, v)
		}
	}
	draw := func(values []float64, level float64, as Meaning, figure string) {
		for i, line := range contour.Lines(values, m.Cols, level) {
			long := len(line) >= shortContour
			for k, p := range line {
				line[k] = orb.Point{m.Origin[0] + p[0]*m.Asked.Cell, m.Origin[1] + p[1]*m.Asked.Cell}
			}
			c.list.Add(Item{Layer: LinkLayer, Kind: LineKind, Meaning: as, Part: "margin", Index: i, Line: line})
			if long {
				c.label(Item{Meaning: MarginFigure, Part: "margin", Text: figure, Line: line, Prefer: OnLine, Priority: marginPriority})
			}
		}
	}
	for level := math.Ceil(low/contourStep) * contourStep; level <= high; level += contourStep {
		draw(m.Values, level, MarginLine, decibels(level))
	}
	draw(m.Spare, 0, MarginWanted, "required")
}
