package drawing

import (
	"fmt"
	"math"
	"strings"

	"pleach/model/analysis"
	"pleach/model/calibration"
)

// LevelTable is what readings say by class of link, in words: for each class a
// column.
type LevelTable struct {
	Heads []string // "In the open", …, "All"
	Rows  []LevelRow
}

// LevelRow is one figure of every class.
type LevelRow struct {
	Label, Unit string
	Cells       []string
}

// LevelNotes say how the figures of a LevelTable are to be read.
const LevelNotes = "Bias: read less predicted, above 0 where a link is better than predicted. Errors are root mean squares: before, with the bias taken off, and of each reading held back from the bias that the others give, which is the error to expect. The margin required is the deviation times the factor."

// levelNone stands where a figure cannot be told.
const levelNone = "–"

// TellLevels makes the table of a calibration for a reliability, above 0 and below 1.
func TellLevels(c *analysis.Calibration, reliability float64) LevelTable {
	groups := c.Fit.Groups
	if len(groups) != 1 {
		groups = append(append([]calibration.Group{}, groups...), c.Fit.All)
	}
	tenths := func(v float64) string {
		return strings.Replace(fmt.Sprintf("%.1f", math.Round(v*10)/10+0), "-", "−", 1)
	}
	t := LevelTable{Rows: []LevelRow{{Label: "Readings"}, {Label: "Bias", Unit: "dB"}, {Label: "Standard deviation", Unit: "dB"}, {Label: "Small-sample factor"},
		{Label: "Error before", Unit: "dB"}, {Label: "Error after", Unit: "dB"}, {Label: "Error held back", Unit: "dB"}, {Label: "Margin required", Unit: "dB"}, {Label: "Corrected by"}}}
	for _, g := range groups {
		head := map[string]string{analysis.ClassOpen: "Open", analysis.ClassObstacles: "Obstacles", analysis.ClassTrees: "Trees", "": "All"}[g.Class]
		if head == "" {
			head = g.Class
		}
		t.Heads = append(t.Heads, head)
		cells := []string{fmt.Sprint(g.N), levelNone, levelNone, levelNone, levelNone, levelNone, levelNone, levelNone, "nothing"}
		if g.N > 0 {
			cells[1], cells[4], cells[5] = tenths(g.Bias), tenths(g.RMSBefore), tenths(g.RMSAfter)
		}
		if g.N > 1 {
			cells[2], cells[3], cells[6] = tenths(g.SD), fmt.Sprintf("%.2f", g.Factor(reliability)), tenths(g.RMSHeldBack)
		}
		if by, ok := c.Fit.For(g.Class); ok {
			cells[7], cells[8] = fmt.Sprintf("%.0f", by.Margin(reliability)), "its own"
			if by.Class != g.Class {
				cells[8] = "all"
			}
		}
		for i := range t.Rows {
			t.Rows[i].Cells = append(t.Rows[i].Cells, cells[i])
		}
	}
	return t
}
