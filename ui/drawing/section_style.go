package drawing

// section makes the rows of the section on an axis and of a link's profile: w is a line's width and pick
// a length, on the screen and on paper.
func (t *Theme) section(w, pick func(screen, paper float64) float64) {
	dark := t.Medium.Dark
	ink, seen := t.Ink, blue
	if dark {
		seen = skyBlue
	}
	veg, zone := olive, Cividis(0.3)
	if dark {
		veg, zone = olivePale, Cividis(0.75)
	}
	soft, pale := mix(ink, t.Paper, 0.35), mix(ink, t.Paper, 0.6)
	dash := func(pattern ...float64) []float64 {
		for i := range pattern {
			pattern[i] *= pick(1, 0.25)
		}
		return pattern
	}
	for _, st := range []Style{
		{Meaning: SectionGround, Fill: fade(ink, 0.05), Hatch: Hatch{Spacing: pick(5, 1.25), Width: pick(1, 0.2), Colour: fade(soft, 0.8)}},
		{Meaning: SectionSurface, Pen: Pen{Width: w(1.8, 0.45), Colour: ink}},
		{Meaning: SectionHidden, Fill: fade(ink, 0.05), Hatch: Hatch{Spacing: pick(9, 2.2), Width: pick(0.8, 0.16), Falling: true, Colour: fade(pale, 0.75)},
			Legend: "Hidden, below the horizon"},
		{Meaning: SectionHorizon, Pen: Pen{Width: w(1, 0.2), Colour: soft, Dash: dash(5, 3)}},
		{Meaning: SectionLobe, Fill: fade(skyBlue, onDarkF(dark, 0.26, 0.22))},
		{Meaning: SectionLookDown, Fill: fade(skyBlue, onDarkF(dark, 0.14, 0.12)), Dots: Dots{Spacing: pick(7, 1.7), Diameter: pick(1.3, 0.3), Colour: fade(seen, 0.6)}},
		{Meaning: SectionEdge, Pen: Pen{Width: w(1.5, 0.3), Colour: seen}, Legend: "Limits of a lobe"},
		{Meaning: SectionEdgeDown, Pen: Pen{Width: w(1, 0.2), Colour: fade(seen, 0.85), Dash: dash(6, 3)}, Legend: "Limits of a look-down lobe"},
		{Meaning: SectionSeen, Fill: seen, Pen: Pen{Width: w(1, 0.2), Colour: seen}, Legend: "Target, seen"},
		{Meaning: SectionUnseen, Fill: fade(t.Paper, 0.9), Pen: Pen{Width: w(1, 0.2), Colour: soft}, Legend: "Target, not seen"},
		{Meaning: SectionReach, Pen: Pen{Width: w(4, 0.9), Colour: seen}},
		{Meaning: SectionLevel, Pen: Pen{Width: w(1, 0.2), Colour: pale, Dash: dash(1.5, 4)}},
		{Meaning: SectionAxis, Casing: Pen{Width: w(3.2, 0.7), Colour: fade(t.Paper, 0.6)},
			Pen: Pen{Width: w(1.3, 0.28), Colour: ink, Dash: dash(14, 3, 2, 3)}, Legend: "Axis"},
		{Meaning: SectionMet, Symbol: TargetMark, Size: pick(15, 3.6), Ink: ink, Body: t.Paper, Pen: Pen{Width: w(1.4, 0.3)}},
		{Meaning: SectionMount, Casing: Pen{Width: w(5.4, 1.2), Colour: fade(t.Paper, 0.8)}, Pen: Pen{Width: w(3, 0.7), Colour: ink}},
		{Meaning: SectionScale, Pen: Pen{Width: w(1, 0.18), Colour: pale}},
		{Meaning: Dimension, Pen: Pen{Width: w(1, 0.18), Colour: soft}},
		{Meaning: LinkZone, Fill: fade(zone, onDarkF(dark, 0.16, 0.14)), Pen: Pen{Width: w(1, 0.2), Colour: fade(zone, 0.9)}, Legend: "First Fresnel zone"},
		{Meaning: LinkWanted, Pen: Pen{Width: w(1.2, 0.25), Colour: soft, Dash: dash(7, 4)}, Legend: "0.6 of the first Fresnel zone"},
		{Meaning: LinkTrees, Fill: fade(veg, 0.18), Dots: Dots{Spacing: pick(6, 1.5), Diameter: pick(2.1, 0.5), Colour: fade(veg, 0.9)},
			Pen: Pen{Width: w(1, 0.18), Colour: fade(veg, 0.9)}, Legend: "Trees on the line"},
		{Meaning: DimensionFigure, Font: Font{Size: pick(11.5, 2.9)}, Ink: ink, Tag: Tag{Fill: fade(t.Paper, 0.92), Pad: pick(3, 0.7)}},
	} {
		t.styles[st.Meaning] = st
	}
}
