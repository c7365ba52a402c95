package drawing_test

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"pleach/model/analysis"
	"pleach/ui/drawing"
	"pleach/ui/drawing/drawingtest"
)

func TestMarginsAreDrawnAsContoursWithTheOneRequired(t *testing.T) {
	sc, r := drawingtest.Depot()
	in := drawing.Input{Scene: sc, Result: r}
	m := &analysis.Margins{Asked: analysis.MarginsAsked{Height: 2, Cell: 5}, Origin: orb.Point{-50, -40}, Cols: 21, Wanted: 14}
	for r := range 21 {
		for c := range 21 {
			v := 40 - 5*math.Hypot(float64(c-10), float64(r-10))
			if c == 0 {
				v = math.NaN()
			}
			m.Values = append(m.Values, v)
			m.Spare = append(m.Spare, v-14)
		}
	}
	in.Margins = m
	list := drawing.Compose(in)
	lines, wanted, figures := 0, 0, map[string]bool{}
	for _, it := range list.Items {
		switch {
		case it.Meaning == drawing.MarginLine:
			lines++
		case it.Meaning == drawing.MarginWanted:
			wanted++
			for _, p := range it.Line {
				// The margin is 14 dB 5.2 cells from the middle.
				if d := math.Hypot(p[0], p[1]-10); math.Abs(d-26) > 0.4 {
					t.Fatalf("the required margin is drawn at %v, %v m from the middle", p, d)
				}
			}
		case it.Kind == drawing.LabelKind && it.Part == "margin":
			figures[it.Text] = true
		}
	}
	if lines < 5 || wanted != 1 || !figures["required"] || !figures["20 dB"] {
		t.Errorf("%d lines, %d of the margin required, figures %v", lines, wanted, figures)
	}
}
