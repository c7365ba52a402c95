package drawing

import "testing"

// A photocopy tells a target that is seen from one that is not, and a lobe from
// a look-down lobe.
func TestASectionIsReadWithoutColour(t *testing.T) {
	for name, medium := range map[string]Medium{"screen": {Mono: true}, "sheet": {Paper: true, Mono: true}} {
		th := NewTheme(medium)
		seen, unseen := th.Style(SectionSeen).Fill, th.Style(SectionUnseen).Fill
		if int(unseen.R)-int(seen.R) < 100 {
			t.Errorf("%s: a target seen is filled with %v, one not seen with %v", name, seen, unseen)
		}
		if len(th.Style(SectionEdge).Pen.Dash) != 0 || len(th.Style(SectionEdgeDown).Pen.Dash) == 0 {
			t.Errorf("%s: the limits of lobes and look-down lobes look the same", name)
		}
		if th.Style(SectionLobe).Dots.Spacing != 0 || th.Style(SectionLookDown).Dots.Spacing == 0 {
			t.Errorf("%s: lobes and look-down lobes look the same", name)
		}
		if g, h := th.Style(SectionGround).Hatch, th.Style(SectionHidden).Hatch; g.Falling == h.Falling {
			t.Errorf("%s: the ground and what is hidden are hatched alike", name)
		}
	}
}
