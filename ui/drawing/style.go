package drawing

import (
	"image/color"
	"math"
)

// Style is how a Meaning looks in one Medium. Lengths are in its units.
type Style struct {
	Meaning Meaning

	Fill   color.NRGBA
	Hatch  Hatch
	Dots   Dots
	Casing Pen // under Pen: the colour of the paper, so that the line stands off the picture
	Pen    Pen
	Ticks  Ticks
	Middle Symbol  // a mark at mid-length of a line
	Arrows float64 // arrowheads this far apart along a line

	Symbol Symbol
	Size   float64 // of a mark, across
	Ink    color.NRGBA
	Body   color.NRGBA // what an outlined mark is filled with

	Font  Font
	Tag   Tag
	Loose float64 // how far a label stands off its anchor beyond the mark

	Legend string // the line in the legend; "" keeps it out
}

// Ticks are short strokes across a line.
type Ticks struct {
	Spacing, Length, Width float64
	Cross                  bool // two strokes, crossed
	Side                   Side // Left: towards the inside only; Neither: across; Right: towards the outside only
	Colour                 color.NRGBA
}

// Tag is the plate under a label.
type Tag struct {
	Fill   color.NRGBA
	Border Pen
	Pad    float64 // left and right; above and below it is half of that
	Leader Pen
	Flag   bool // always on a leader, as a flag on its pole
}

// Theme is the table of styles for one Medium.
type Theme struct {
	Medium     Medium
	Ink, Paper color.NRGBA
	styles     [meanings]Style
}

// Style returns the row for m. Links want Link.
func (t *Theme) Style(m Meaning) *Style { return &t.styles[m] }

// AmpleDB is the margin above what is required from which a link looks no
// better: chosen, as 20 dB is far beyond the fade any design here allows for.
const AmpleDB = 20.0

// Link returns the pen of a link whose margin exceeds what is required by
// excess decibels: cividis by excess from the colour farthest from the paper
// (none left) towards the one nearest to it (AmpleDB), heavier when thinner.
// Dash and mid mark come from m.
func (t *Theme) Link(m Meaning, excess float64) Pen {
	p := t.styles[m].Pen
	share := clamp(excess/AmpleDB, 0, 1)
	p.Width *= 1.7 - 0.7*share
	c := Cividis(0.72 * share)
	if t.Medium.Dark {
		c = Cividis(1 - 0.6*share)
	}
	p.Colour = c
	if t.Medium.Mono {
		p.Colour = mix(t.Ink, mix(t.Ink, t.Paper, 0.45), share)
	}
	return p
}

// Veil is what is laid over the aerial image: the paper, at the given share
// (0 full picture, 1 bare paper).
func (t *Theme) Veil(share float64) color.NRGBA { return fade(t.Paper, share) }

// NewTheme makes the table for a medium. It is the one place where a meaning
// gets its look.
func NewTheme(m Medium) *Theme {
	t := &Theme{Medium: m, Ink: ink, Paper: paper}
	if m.Dark && !m.Paper {
		t.Ink, t.Paper = darkInk, darkPaper
	}
	if m.Paper {
		t.Paper = white
	}
	dark := m.Dark && !m.Paper
	m.Dark = dark
	t.Medium = m

	// u is a length: device-independent pixels on a screen, millimetres on
	// paper; the installer's map is heavier.
	line, mark := 1.0, 1.0
	if m.Installer {
		line, mark = 1.4, 1.4
	}
	pick := func(screen, paper float64) float64 {
		if m.Paper {
			return paper
		}
		return screen
	}
	w := func(screen, paper float64) float64 { return line * pick(screen, paper) }
	s := func(screen, paper float64) float64 { return mark * pick(screen, paper) }
	onDark := func(light, forDark color.NRGBA) color.NRGBA {
		if dark {
			return forDark
		}
		return light
	}

	var (
		inkC     = t.Ink
		soft     = mix(t.Ink, t.Paper, 0.35)
		pale     = mix(t.Ink, t.Paper, 0.6)
		casing   = fade(t.Paper, 0.75)
		veg      = onDark(olive, olivePale)
		seen     = onDark(blue, skyBlue)
		spill    = onDark(purpleDark, reddishPurple)
		gapC     = onDark(vermilion, color.NRGBA{0xF0, 0x7A, 0x1E, 0xFF})
		coveredC = onDark(bluishGreen, color.NRGBA{0x1F, 0xB8, 0x8A, 0xFF})
		halfPap  = fade(t.Paper, 0.88)
		screenDX = pick(1, 0.25) // a hairline's width
	)
	// dash is a pattern in screen units, a quarter of a millimetre each on paper.
	dash := func(screen, paper float64, pattern ...float64) []float64 {
		out := make([]float64, len(pattern))
		for i, v := range pattern {
			out[i] = v * pick(screen, paper)
		}
		return out
	}
	row := func(st Style) {
		t.styles[st.Meaning] = st
	}

	// The site. Neighbour's land and foliage have an edge that stands off a picture,
	// and a hatch so sparse that the picture shows.
	row(Style{Meaning: Neighbour, Fill: fade(inkC, 0.07), Hatch: Hatch{Spacing: pick(20, 5), Width: pick(1.1, 0.22), Falling: true, Colour: fade(soft, 0.75)},
		Casing: Pen{Width: w(4.4, 0.95), Colour: casing}, Pen: Pen{Width: w(1.7, 0.36), Colour: soft, Dash: dash(1, 0.25, 2.5, 3)},
		Legend: "Neighbour's land"})
	row(Style{Meaning: Premises, Casing: Pen{Width: w(3, 0.6), Colour: fade(t.Paper, 0.5)},
		Pen:    Pen{Width: w(1.1, 0.25), Colour: soft, Dash: dash(1, 0.25, 14, 4, 2, 4, 2, 4)},
		Legend: "Customer's land"})
	row(Style{Meaning: RoadPublic, Fill: fade(onDark(color.NRGBA{0x8A, 0x88, 0x80, 0xFF}, color.NRGBA{0x9A, 0x97, 0x8C, 0xFF}), 0.38),
		Pen: Pen{Width: w(1.1, 0.2), Colour: soft}, Legend: "Public road"})
	row(Style{Meaning: RoadPrivate, Fill: fade(color.NRGBA{0x9A, 0x97, 0x8C, 0xFF}, 0.18),
		Pen: Pen{Width: w(1, 0.18), Colour: pale, Dash: dash(1, 0.25, 7, 3)}, Legend: "Private road"})
	row(Style{Meaning: Footpath, Fill: fade(color.NRGBA{0x8A, 0x88, 0x80, 0xFF}, 0.30),
		Pen: Pen{Width: w(1, 0.18), Colour: soft, Dash: dash(1, 0.25, 3, 2)}, Legend: "Public footpath"})
	row(Style{Meaning: FootpathPrivate, Pen: Pen{Width: w(1, 0.18), Colour: pale, Dash: dash(1, 0.25, 1.5, 3)}, Legend: "Private footpath"})
	row(Style{Meaning: Foliage, Fill: fade(veg, 0.2), Hatch: Hatch{Spacing: pick(14, 3.5), Width: pick(1, 0.2), Colour: fade(veg, 0.75)},
		Casing: Pen{Width: w(4, 0.85), Colour: casing}, Pen: Pen{Width: w(1.5, 0.32), Colour: veg, Dash: dash(1, 0.25, 5, 2, 1, 2)},
		Legend: "Foliage"})
	row(Style{Meaning: Asset, Fill: fade(inkC, 0.05), Pen: Pen{Width: w(1.2, 0.25), Colour: inkC, Dash: dash(1, 0.25, 1.5, 2.5)},
		Symbol: AssetMark, Size: s(12, 3), Ink: inkC, Body: t.Paper, Legend: "To be protected"})
	row(Style{Meaning: Building, Fill: fade(inkC, onDarkF(dark, 0.24, 0.20)), Pen: Pen{Width: w(1.2, 0.25), Colour: inkC}, Legend: "Building"})
	row(Style{Meaning: Obstacle, Fill: fade(inkC, 0.2), Casing: Pen{Width: w(5, 1), Colour: casing},
		Pen: Pen{Width: w(2.6, 0.5), Colour: soft}, Legend: "Obstacle, opaque"})
	row(Style{Meaning: ObstacleMesh, Casing: Pen{Width: w(3, 0.7), Colour: casing}, Pen: Pen{Width: w(1, 0.2), Colour: soft},
		Ticks: Ticks{Spacing: pick(9, 2.4), Length: pick(5, 1.3), Width: w(1, 0.2), Cross: true, Colour: soft}, Legend: "Mesh, see-through"})
	row(Style{Meaning: Hazard, Casing: Pen{Width: w(3, 0.7), Colour: casing}, Pen: Pen{Width: w(1.1, 0.25), Colour: inkC, Dash: dash(1, 0.25, 8, 3, 1, 3)},
		Symbol: HazardMark, Size: s(14, 3.6), Ink: inkC, Body: t.Paper, Legend: "Hazard to the installer"})
	row(Style{Meaning: CameraView, Pen: Pen{Width: w(1, 0.2), Colour: soft, Dash: dash(1, 0.25, 9, 3, 1.5, 3)}, Legend: "Camera view"})

	// What the sensors see.
	row(Style{Meaning: Footprint, Fill: fade(skyBlue, onDarkF(dark, 0.28, 0.24)), Pen: Pen{Width: w(1, 0.2), Colour: fade(seen, 0.9)},
		Legend: "Detection pattern"})
	row(Style{Meaning: FootprintSelected, Fill: fade(skyBlue, onDarkF(dark, 0.36, 0.30)), Casing: Pen{Width: w(4.5, 0.9), Colour: fade(t.Paper, 0.8)},
		Pen: Pen{Width: w(2, 0.4), Colour: seen}})
	row(Style{Meaning: FootprintLookDown, Dots: Dots{Spacing: pick(7, 1.7), Diameter: pick(1.5, 0.33), Colour: fade(seen, 0.85)},
		Pen: Pen{Width: w(0.8, 0.15), Colour: fade(seen, 0.6)}, Legend: "Look-down part of the pattern"})
	row(Style{Meaning: Screened, Dots: Dots{Spacing: pick(6, 1.5), Diameter: pick(2.1, 0.5), Colour: fade(veg, 0.9)},
		Legend: "Screened by foliage"})
	hatch := func(sp, ps, width, pw float64, falling bool) Hatch {
		return Hatch{Spacing: pick(sp, ps), Width: pick(width, pw), Falling: falling, Colour: fade(spill, 0.9)}
	}
	row(Style{Meaning: OverspillRoad, Fill: fade(reddishPurple, 0.34), Hatch: hatch(6, 1.4, 1.3, 0.28, false),
		Pen: Pen{Width: w(1.2, 0.25), Colour: spill}, Legend: "Overspill onto a public road"})
	row(Style{Meaning: OverspillFootpath, Fill: fade(reddishPurple, 0.34), Hatch: hatch(4.5, 1.1, 1, 0.22, false),
		Pen: Pen{Width: w(1.2, 0.25), Colour: spill}, Legend: "Overspill onto a public footpath"})
	row(Style{Meaning: OverspillNeighbour, Fill: fade(reddishPurple, 0.24), Hatch: hatch(8, 2, 1, 0.22, true),
		Pen: Pen{Width: w(1, 0.2), Colour: spill}, Legend: "Overspill onto a neighbour"})
	row(Style{Meaning: OverspillOpen, Hatch: hatch(12, 3, 0.8, 0.16, true),
		Pen: Pen{Width: w(0.8, 0.15), Colour: fade(spill, 0.7)}, Legend: "Overspill onto open land"})
	row(Style{Meaning: OverspillVehicle, Hatch: hatch(12, 3, 1, 0.22, false),
		Pen: Pen{Width: w(1, 0.2), Colour: spill, Dash: dash(1, 0.25, 5, 3)}, Legend: "A vehicle would be seen on the road"})

	// The boundary.
	band, edge := w(3.2, 0.7), w(2.2, 0.55)
	row(Style{Meaning: Covered, Pen: Pen{Width: band, Colour: fade(coveredC, 0.82), Offset: edge + band/2 - w(0.6, 0.15)},
		Ticks:  Ticks{Spacing: pick(9, 2), Length: edge + band, Width: w(0.9, 0.18), Side: Left, Colour: fade(inkC, 0.45)},
		Legend: "Covered boundary"})
	row(Style{Meaning: Overlap, Pen: Pen{Width: band * 0.75, Colour: fade(coveredC, 0.82), Offset: edge + 1.62*band},
		Legend: "Covered by two sensors or more"})
	row(Style{Meaning: Shallow, Pen: Pen{Width: band, Colour: coveredC, Offset: edge + band/2 - w(0.6, 0.15), Dash: dash(1, 0.25, 5, 5)},
		Legend: "Covered, but shallow"})
	row(Style{Meaning: Excluded, Casing: Pen{Width: w(6, 1.3), Colour: casing}, Pen: Pen{Width: w(1.2, 0.25), Colour: pale},
		Ticks:  Ticks{Spacing: pick(6, 1.5), Length: pick(4, 1), Width: w(1, 0.2), Side: Right, Colour: pale},
		Legend: "No detection needed here"})
	row(Style{Meaning: Boundary, Casing: Pen{Width: w(4.6, 1.1), Colour: casing}, Pen: Pen{Width: w(2, 0.5), Colour: inkC},
		Legend: "Boundary"})
	row(Style{Meaning: ChainageTick, Ticks: Ticks{Length: pick(4, 1), Width: w(1, 0.2), Side: Right, Colour: inkC},
		Legend: "Chainage, metres along the boundary"})
	// Strokes across the line, as those who cross it walk, and a rail along their
	// outer ends.
	row(Style{Meaning: HeadOn, Pen: Pen{Width: w(1.2, 0.28), Colour: inkC, Offset: -w(8, 1.9)},
		Ticks:  Ticks{Spacing: pick(12, 2.9), Length: w(8, 1.9), Width: w(1.2, 0.28), Side: Right, Colour: inkC},
		Legend: "Covered, but crossed head-on"})
	row(Style{Meaning: Gap, Casing: Pen{Width: w(8.4, 2.1), Colour: fade(t.Paper, 0.92)}, Pen: Pen{Width: w(4.8, 1.2), Colour: gapC},
		Legend: "Gap, numbered"})
	row(Style{Meaning: GapAccepted, Casing: Pen{Width: w(7, 1.8), Colour: casing}, Pen: Pen{Width: w(3.6, 0.9), Colour: pale, Dash: dash(1, 0.25, 6, 3)},
		Legend: "Gap, accepted"})
	row(Style{Meaning: Gate, Symbol: GateMark, Size: s(17, 4.2), Ink: inkC, Body: t.Paper, Pen: Pen{Width: w(2, 0.45)}, Legend: "Gate"})

	// How a person would come in.
	way := func(m Meaning, pen, onPaper float64, c color.NRGBA, d []float64, legend string) {
		row(Style{Meaning: m, Casing: Pen{Width: w(pen+3.6, onPaper+0.9), Colour: fade(t.Paper, 0.88)}, Pen: Pen{Width: w(pen, onPaper), Colour: c, Dash: d},
			Arrows: pick(64, 17), Size: s(10, 2.5), Ink: c, Legend: legend})
	}
	way(WayIn, 2.8, 0.7, gapC, dash(1, 0.25, 8, 3), "Way in that crosses no footprint")
	way(WayInSeen, 1.8, 0.45, inkC, dash(1, 0.25, 4, 2.5), "Way in least detected")
	row(Style{Meaning: WayCrosses, Symbol: EntryMark, Size: s(14, 3.4), Ink: inkC, Body: t.Paper, Pen: Pen{Width: w(1.4, 0.3)}, Legend: "The way crosses a boundary"})
	row(Style{Meaning: WayMeets, Symbol: DotMark, Size: s(7, 1.7), Ink: inkC, Body: t.Paper, Legend: "The way enters a footprint"})

	// Radio.
	link := func(m Meaning, legend string, d []float64, mid Symbol) {
		row(Style{Meaning: m, Casing: Pen{Width: w(3.4, 0.75), Colour: casing}, Pen: Pen{Width: w(1.3, 0.28), Colour: inkC, Dash: d, Cap: Butt},
			Middle: mid, Size: s(8, 2), Ink: inkC, Legend: legend})
	}
	link(LinkHeld, "Radio link, margin in dB", nil, NoSymbol)
	link(LinkThin, "Radio link within 3 dB of what is required", dash(1, 0.25, 9, 3, 2, 3), NoSymbol)
	link(LinkFails, "Radio link that fails", dash(1, 0.25, 4, 3), CrossMark)
	row(Style{Meaning: MarginLine, Casing: Pen{Width: w(2.6, 0.6), Colour: fade(t.Paper, 0.55)}, Pen: Pen{Width: w(0.9, 0.18), Colour: soft},
		Legend: "One radio margin, in dB"})
	row(Style{Meaning: MarginWanted, Casing: Pen{Width: w(4, 0.9), Colour: casing}, Pen: Pen{Width: w(2, 0.42), Colour: inkC},
		Ticks:  Ticks{Spacing: pick(10, 2.5), Length: pick(6, 1.5), Width: w(1, 0.2), Side: Right, Colour: inkC},
		Legend: "The margin required; ticks where it is not reached"})

	// Devices and records.
	device := func(m Meaning, sym Symbol, size, onPaper float64, legend string) {
		row(Style{Meaning: m, Symbol: sym, Size: s(size, onPaper), Ink: inkC, Body: t.Paper, Pen: Pen{Width: w(1.5, 0.32)}, Legend: legend})
	}
	device(Sensor, SensorMark, 14, 3.4, "Sensor, its round side towards what it watches")
	device(SensorFlagged, SensorOpenMark, 14, 3.4, "Sensor left out of the analysis")
	device(Repeater, RepeaterMark, 14, 3.6, "Repeater")
	device(Receiver, ReceiverMark, 17, 4.2, "Receiver")
	device(ProposedRepeater, ProposedMark, 18, 4.4, "")
	row(Style{Meaning: ProposedLink, Casing: Pen{Width: w(3.4, 0.75), Colour: casing}, Pen: Pen{Width: w(1.6, 0.35), Colour: inkC, Dash: dash(1, 0.25, 2, 4)}})
	device(Reading, ReadingMark, 8, 2, "Reading made on site")
	device(Finding, FindingMark, 11, 2.6, "Finding")
	device(FindingAccepted, AcceptedMark, 11, 2.6, "Finding accepted")
	t.styles[FindingAccepted].Ink = pale

	// Editing: never on paper, but harmless there.
	row(Style{Meaning: Draft, Fill: fade(inkC, 0.08), Casing: Pen{Width: w(4, 0.9), Colour: casing}, Pen: Pen{Width: w(1.6, 0.35), Colour: inkC, Dash: dash(1, 0.25, 6, 4)}})
	row(Style{Meaning: Measure, Casing: Pen{Width: w(3.6, 0.8), Colour: casing}, Pen: Pen{Width: w(1.2, 0.25), Colour: inkC},
		Ticks: Ticks{}, Legend: ""})
	row(Style{Meaning: WalkLine, Casing: Pen{Width: w(3, 0.7), Colour: casing}, Pen: Pen{Width: w(1, 0.22), Colour: inkC, Dash: dash(1, 0.25, 6, 3)},
		Arrows: pick(42, 11), Size: s(7, 1.8), Ink: inkC, Legend: "Walk line"})
	row(Style{Meaning: CrossingLine, Casing: Pen{Width: w(3, 0.7), Colour: casing}, Pen: Pen{Width: w(1, 0.22), Colour: inkC, Dash: dash(1, 0.25, 2, 2)}})
	row(Style{Meaning: AimArm, Casing: Pen{Width: w(3.4, 0.7), Colour: casing}, Pen: Pen{Width: screenDX, Colour: inkC}})
	handle := func(m Meaning, sym Symbol, size float64) {
		row(Style{Meaning: m, Symbol: sym, Size: s(size, size/4), Ink: inkC, Body: t.Paper, Pen: Pen{Width: w(1.5, 0.32)}})
	}
	handle(AimHandle, RoundHandle, 12)
	handle(MaskHandle, LozengeHandle, 12)
	handle(VertexHandle, SquareHandle, 9)
	handle(MidHandle, SmallHandle, 6)
	handle(ControlPoint, TargetMark, 17)
	handle(CrossingCursor, CursorMark, 13)

	// Text: three sizes, two weights. On paper capitals are at least 2 mm
	// high: the typeface's are 0.72 of the size.
	small, normal := Font{Size: pick(11, 2.8)}, Font{Size: pick(12, 3.1), Medium: true}
	if m.Installer {
		small.Size, normal.Size = small.Size*1.2, normal.Size*1.2
	}
	label := func(m Meaning, f Font, c color.NRGBA, tag Tag, loose float64) {
		row(Style{Meaning: m, Font: f, Ink: c, Tag: tag, Loose: loose})
	}
	leader := Pen{Width: w(0.9, 0.18), Colour: soft}
	plate := Tag{Fill: halfPap, Pad: pick(3, 0.7), Leader: leader}
	label(DeviceName, normal, inkC, plate, pick(3, 0.7))
	label(MarginFigure, small, inkC, plate, 0)
	label(ChainageFigure, small, soft, Tag{Fill: fade(t.Paper, 0.7), Pad: pick(2, 0.5), Leader: leader}, pick(7, 1.8))
	label(FeatureName, small, soft, Tag{Fill: fade(t.Paper, 0.7), Pad: pick(3, 0.7), Leader: leader}, pick(3, 0.7))
	label(BarName, Font{Size: pick(10, 2.5)}, inkC, Tag{Pad: pick(2, 0.5)}, 0)
	label(Note, small, inkC, Tag{Fill: halfPap, Border: Pen{Width: w(0.8, 0.15), Colour: pale}, Pad: pick(4, 1), Leader: leader}, pick(6, 1.5))
	label(GapNumber, normal, onDark(white, darkPaper), Tag{Fill: onDark(mix(vermilion, ink, 0.12), gapC), Border: Pen{Width: w(1.4, 0.3), Colour: t.Paper},
		Pad: pick(4.5, 1.1), Leader: Pen{Width: w(1.4, 0.3), Colour: gapC}, Flag: true}, pick(12, 3))

	t.section(w, pick)
	t.levels(w, s, pick)

	if m.Mono {
		t.drain()
	}
	return t
}

func onDarkF(dark bool, light, onDark float64) float64 {
	if dark {
		return onDark
	}
	return light
}

// drain takes the colour out of every row. Meaning is left to weight, dash,
// hatch, dots, marks and numbers, which every medium has anyway.
func (t *Theme) drain() {
	for i := range t.styles {
		s := &t.styles[i]
		for _, c := range []*color.NRGBA{&s.Fill, &s.Hatch.Colour, &s.Dots.Colour, &s.Casing.Colour, &s.Pen.Colour,
			&s.Ticks.Colour, &s.Ink, &s.Body, &s.Tag.Fill, &s.Tag.Border.Colour, &s.Tag.Leader.Colour} {
			*c = grey(*c)
		}
	}
	t.Ink, t.Paper = grey(t.Ink), grey(t.Paper)
	black := t.Ink
	for _, m := range []Meaning{Gap, GapNumber, WayIn} {
		s := &t.styles[m]
		s.Pen.Colour, s.Tag.Leader.Colour = black, black
		if m == GapNumber {
			s.Tag.Fill, s.Ink = black, t.Paper
		}
		if m == WayIn {
			s.Ink = black
		}
	}
	// Covered is a pale ladder beside the line, so that the heavy black of a
	// gap stands alone.
	for _, m := range []Meaning{Covered, Overlap, Shallow} {
		t.styles[m].Pen.Colour = mix(t.Ink, t.Paper, 0.62)
	}
	for _, m := range []Meaning{OverspillRoad, OverspillFootpath, OverspillNeighbour, OverspillOpen, OverspillVehicle} {
		s := &t.styles[m]
		s.Hatch.Colour = fade(black, 0.8)
		s.Pen.Colour = black
		s.Fill = fade(s.Fill, 0.5)
	}
}

// roundTo returns v rounded to a whole number of steps.
func roundTo(v, step float64) float64 { return math.Round(v/step) * step }
