package drawing

import (
	"image/color"
	"testing"
)

var media = map[string]Medium{
	"light": {}, "dark": {Dark: true}, "mono screen": {Mono: true}, "sheet": {Paper: true}, "mono sheet": {Paper: true, Mono: true},
	"installer": {Paper: true, Installer: true},
}

func TestEveryMeaningHasALookInEveryMedium(t *testing.T) {
	for name, medium := range media {
		th := NewTheme(medium)
		for m := None + 1; m < meanings; m++ {
			st := th.Style(m)
			if st.Meaning != m {
				t.Errorf("%s: %v has no row", name, m)
			}
			if st.Fill.A == 0 && st.Pen.Width == 0 && st.Hatch.Spacing == 0 && st.Dots.Spacing == 0 && st.Symbol == NoSymbol &&
				st.Ticks.Length == 0 && st.Font.Size == 0 {
				t.Errorf("%s: %v would be invisible", name, m)
			}
			if meaningNames[m] == "" {
				t.Errorf("meaning %d has no name", m)
			}
		}
	}
}

func TestEveryLegendLineIsSaidOnce(t *testing.T) {
	seen := map[string]Meaning{}
	th := NewTheme(Medium{})
	for m := None + 1; m < meanings; m++ {
		text := th.Style(m).Legend
		if o, ok := seen[text]; ok && text != "" {
			t.Errorf("%v and %v are both %q", m, o, text)
		}
		seen[text] = m
	}
}

func TestTheSheetWithoutColourHasNone(t *testing.T) {
	th := NewTheme(Medium{Paper: true, Mono: true})
	for m := None + 1; m < meanings; m++ {
		s := th.Style(m)
		for _, c := range []color.NRGBA{s.Fill, s.Hatch.Colour, s.Dots.Colour, s.Casing.Colour, s.Pen.Colour, s.Ticks.Colour,
			s.Ink, s.Body, s.Tag.Fill, s.Tag.Border.Colour, s.Tag.Leader.Colour, th.Link(m, 1).Colour} {
			if c.R != c.G || c.G != c.B {
				t.Errorf("%v has the colour %v", m, c)
			}
		}
	}
}

// Meanings that would be told apart by colour alone must differ in something a
// photocopy keeps.
func TestEveryMeaningIsToldApartWithoutColour(t *testing.T) {
	type look struct {
		width, offset, hatch, dots, ticks float64
		falling                           bool
		dashes                            int
		dash                              float64
		filled                            bool
		symbol, middle                    Symbol
	}
	for _, group := range [][]Meaning{
		{Covered, Overlap, Shallow, HeadOn, Gap, GapAccepted, Excluded, Boundary},
		{LinkHeld, LinkThin, LinkFails},
		{WayIn, WayInSeen, WalkLine, Gap, Boundary},
		{WayCrosses, WayMeets, Sensor, Finding, Receiver, Reading},
		{OverspillRoad, OverspillFootpath, OverspillNeighbour, OverspillOpen, OverspillVehicle, Footprint, FootprintLookDown, Screened},
		{RoadPublic, RoadPrivate, Footpath, FootpathPrivate, Neighbour, Premises, Foliage, Building, CameraView, Asset},
		{Obstacle, ObstacleMesh, Hazard, Premises, CameraView},
		{Sensor, SensorFlagged, Repeater, Receiver, Reading, Finding, FindingAccepted, Asset, Hazard, Gate},
	} {
		th := NewTheme(Medium{Paper: true, Mono: true})
		seen := map[look]Meaning{}
		for _, m := range group {
			s := th.Style(m)
			l := look{width: s.Pen.Width, offset: s.Pen.Offset, hatch: s.Hatch.Spacing, dots: s.Dots.Spacing, ticks: s.Ticks.Spacing,
				falling: s.Hatch.Falling, dashes: len(s.Pen.Dash), filled: s.Fill.A > 0, symbol: s.Symbol, middle: s.Middle}
			if len(s.Pen.Dash) > 0 {
				l.dash = s.Pen.Dash[0]
			}
			if o, ok := seen[l]; ok {
				t.Errorf("%v and %v look the same without colour: %+v", m, o, l)
			}
			seen[l] = m
		}
	}
}

// LOOK: the pens of boundary and gap on paper.
func TestTheBoundaryIsHalfAMillimetreAndAGapHeavier(t *testing.T) {
	th := NewTheme(Medium{Paper: true})
	if w := th.Style(Boundary).Pen.Width; w != 0.5 {
		t.Errorf("the boundary is %v mm, want 0.5", w)
	}
	if w := th.Style(Gap).Pen.Width; w != 1.2 {
		t.Errorf("a gap is %v mm, want 1.2", w)
	}
}

func TestCapitalsOnPaperAreTwoMillimetresHigh(t *testing.T) {
	th := NewTheme(Medium{Paper: true})
	for _, m := range []Meaning{DeviceName, GapNumber, MarginFigure, ChainageFigure, FeatureName, Note} {
		if h := th.Style(m).Font.Size * capHeight; h < 2 {
			t.Errorf("capitals of %v are %.2f mm high, under 2", m, h)
		}
	}
	if h := th.Style(BarName).Font.Size * capHeight; h < 1.8 {
		t.Errorf("capitals of a bar's name are %.2f mm high, under 1.8", h)
	}
}

func TestThinnerMarginsAreHeavierAndStandOffThePaper(t *testing.T) {
	for name, medium := range media {
		th := NewTheme(medium)
		lastWidth, lastContrast := 99.0, 99.0
		for e := 0.0; e <= AmpleDB; e++ {
			p := th.Link(LinkHeld, e)
			c := contrast(p.Colour, th.Paper)
			if p.Width > lastWidth || c > lastContrast+0.05 {
				t.Errorf("%s: at %v dB width %.2f contrast %.2f, before %.2f, %.2f", name, e, p.Width, c, lastWidth, lastContrast)
			}
			lastWidth, lastContrast = p.Width, c
		}
	}
}

// Over a picture of any tone an edge shows only where the paper's colour runs beside
// it; a hatch shows and yet leaves the picture to be seen where its lines take less
// than a tenth of the ground and what is filled between them a quarter.
func TestNeighboursLandAndFoliageShowOverAPictureWithoutHidingIt(t *testing.T) {
	for name, medium := range media {
		th := NewTheme(medium)
		for _, m := range []Meaning{Neighbour, Foliage} {
			st := th.Style(m)
			if st.Casing.Width <= st.Pen.Width || contrast(st.Casing.Colour, st.Pen.Colour) < 3 {
				t.Errorf("%s: the edge of %v does not stand off", name, m)
			}
			if share := st.Hatch.Width / st.Hatch.Spacing; !(share > 0.02 && share < 0.1) || st.Hatch.Colour.A < 150 || st.Fill.A > 64 {
				t.Errorf("%s: %v has the hatch %+v over %v", name, m, st.Hatch, st.Fill)
			}
		}
	}
}
