package drawing_test

import (
	"math"
	"testing"

	"pleach/ui/drawing"
	"pleach/ui/drawing/drawingtest"
)

// A stretch through chainage 0 is one line on the map, of the stretch's length, and
// two in the diagram, at its ends.
func TestAHeadOnStretchThroughChainageZeroIsDrawnWhole(t *testing.T) {
	sc, r := drawingtest.Depot()
	for i := range r.Findings {
		if f := &r.Findings[i]; f.Rule == "head-on" {
			from, to := r.Boundaries[0].Length-30, 12.0
			f.From, f.To = &from, &to
		}
	}
	length := func(l *drawing.List) (n int, sum float64) {
		for _, it := range l.Items {
			if it.Meaning != drawing.HeadOn {
				continue
			}
			n++
			for i := 1; i < len(it.Line); i++ {
				sum += math.Hypot(it.Line[i][0]-it.Line[i-1][0], it.Line[i][1]-it.Line[i-1][1])
			}
		}
		return n, sum
	}
	in := drawing.Input{Scene: sc, Result: r}
	if n, l := length(drawing.Compose(in)); n != 1 || math.Abs(l-42) > 1e-3 {
		t.Errorf("the map has %d lines of %v m together, want 1 of 42", n, l)
	}
	s, ok := drawing.Unroll(drawing.StraightInput{Scene: sc, Result: r, Width: 1000}, drawing.NewTheme(drawing.Medium{}))
	if !ok {
		t.Fatal("no diagram")
	}
	if n, l := length(s.List); n != 2 || math.Abs(l-42) > 1e-3 {
		t.Errorf("the diagram has %d lines of %v m together, want 2 of 42", n, l)
	}
	in.Posture = 1
	r.Boundaries[0].Postures = append(r.Boundaries[0].Postures, r.Boundaries[0].Target)
	if n, _ := length(drawing.Compose(in)); n != 0 {
		t.Errorf("a posture's map has %d head-on stretches, which are known of the target alone", n)
	}
}
