package drawing

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model/analysis"
	"pleach/model/calibration"
)

// LevelsInput is what DrawLevels draws from.
type LevelsInput struct {
	Calibration *analysis.Calibration
	// Width and Height of the drawing, in units. From 240 by 240 pixels or 70 by 70
	// mm up there is room for all of it.
	Width, Height   float64
	Hovered, Chosen string // ids of readings
}

// Levels is the signal levels read on site, upwards, against those predicted, to
// the right: a mark each, its shape and colour those of the class of its link,
// hollow where the reading was set aside. Both axes have one scale, so that the
// line of readings as predicted rises at 45 degrees.
//
// The list's x is the level predicted without correction and its y the level read,
// dBm.
type Levels struct {
	List *List
	View View

	theme *Theme
}

// levelMeanings are those of a class of links.
type levelMeanings struct{ mark, aside, fit, band Meaning }

// levelsOf returns the meanings of a class.
func levelsOf(class string) levelMeanings {
	switch {
	case strings.HasPrefix(class, analysis.ClassTrees):
		return levelMeanings{LevelTrees, LevelTreesAside, LevelTreesFit, LevelTreesBand}
	case strings.HasPrefix(class, analysis.ClassObstacles):
		return levelMeanings{LevelPast, LevelPastAside, LevelPastFit, LevelPastBand}
	}
	return levelMeanings{LevelOpen, LevelOpenAside, LevelOpenFit, LevelOpenBand}
}

// LevelMeaning is how the mark of a reading of a class is drawn.
func LevelMeaning(class string, aside bool) Meaning {
	if m := levelsOf(class); aside {
		return m.aside
	} else {
		return m.mark
	}
}

// DrawLevels draws the readings of a calibration in lengths of the theme's medium;
// nil for one without a reading that has a place in it.
func DrawLevels(in LevelsInput, theme *Theme) *Levels {
	if in.Calibration == nil {
		return nil
	}
	fit := &in.Calibration.Fit
	v := &Levels{List: &List{}, theme: theme}
	c := &levelCutter{in: in}
	c.theme, c.list, c.ex = theme, v.List, 1
	for _, p := range fit.Points {
		c.all = append(c.all, p.Reading)
	}
	for _, a := range fit.Aside {
		if r := a.Reading; finite(r.PredictedDBm) && finite(r.MeasuredDBm) {
			c.all = append(c.all, r)
		}
	}
	if len(c.all) == 0 {
		return nil
	}
	v.View = c.frame()
	c.grid()
	for _, g := range fit.Groups {
		c.group(g)
	}
	over := func(r calibration.Reading) bool { return r.ID == in.Chosen || r.ID == in.Hovered }
	for _, above := range []bool{false, true} {
		for i, r := range c.all {
			if over(r) == above {
				c.mark(r, i >= len(fit.Points))
			}
		}
	}
	v.List.Arrange()
	return v
}

// Hit returns the id of the reading within tolUnits of the unit point u, "" for
// none.
func (v *Levels) Hit(u orb.Point, tolUnits float64) string {
	if hits := v.List.Hit(v.View.ToGrid(u), tolUnits*v.View.MetresPerUnit, v.View.MetresPerUnit); len(hits) > 0 {
		return hits[0].ID
	}
	return ""
}

// Legend returns the lines for what is drawn.
func (v *Levels) Legend() []LegendLine { return v.theme.Legend(v.List, nil) }

func finite(f float64) bool { return f-f == 0 }

// levelCutter draws levels with the means of a section: a metre is a decibel.
type levelCutter struct {
	cutter
	in        LevelsInput
	all       []calibration.Reading // those that took part first
	low, high float64               // of both axes, dBm
}

// frame chooses the scale, one for both axes.
func (c *levelCutter) frame() View {
	low, high := math.Inf(1), math.Inf(-1)
	for _, r := range c.all {
		low, high = min(low, r.PredictedDBm, r.MeasuredDBm), max(high, r.PredictedDBm, r.MeasuredDBm)
	}
	const whole, least = 10.0, 30.0 // dB: chosen
	c.low, c.high = math.Floor((low-2)/whole)*whole, math.Ceil((high+2)/whole)*whole
	if c.high-c.low < least {
		c.low = c.high - least
	}
	left, right, top, bottom := c.u(44, 11), c.u(14, 3.5), c.u(34, 8.5), c.u(50, 12.5)
	side := math.Max(math.Min(c.in.Width-left-right, c.in.Height-top-bottom), 1)
	c.mpu = (c.high - c.low) / side
	v := View{MetresPerUnit: c.mpu, Width: c.in.Width, Height: c.in.Height}
	// The square stands at the upper left.
	v.Centre = orb.Point{c.low + (c.in.Width/2-left)*c.mpu, c.high - (c.in.Height/2-top)*c.mpu}
	return v
}

// grid draws the frame, its figures and the line of readings as predicted.
func (c *levelCutter) grid() {
	step := 10.0
	for step < c.u(30, 8)*c.mpu {
		step += 10
	}
	for at := math.Ceil(c.low/step) * step; at <= c.high+1e-9; at += step {
		if at > c.low && at < c.high {
			c.stroke(SiteLayer, SectionScale, orb.Point{at, c.low}, orb.Point{at, c.high})
			c.stroke(SiteLayer, SectionScale, orb.Point{c.low, at}, orb.Point{c.high, at})
		}
		figure := strings.Replace(strconv.FormatFloat(at+0, 'f', -1, 64), "-", "−", 1)
		c.text(ChainageFigure, figure, at, c.low-c.dy(17, 4.2), Neither)
		c.text(ChainageFigure, figure, c.low-c.dx(6, 1.5), at, Left)
	}
	c.stroke(SiteLayer, Dimension, orb.Point{c.low, c.low}, orb.Point{c.high, c.low}, orb.Point{c.high, c.high}, orb.Point{c.low, c.high}, orb.Point{c.low, c.low})
	c.stroke(BoundaryLayer, LevelEqual, orb.Point{c.low, c.low}, orb.Point{c.high, c.high})
	c.text(ChainageFigure, "Predicted, dBm", c.high, c.low-c.dy(37, 9), Left)
	c.text(ChainageFigure, "Read, dBm", c.low-c.dx(38, 9.5), c.high+c.dy(23, 5.7), Right)
}

// group draws what the readings of a class say: their mean as far as they go, and
// a standard deviation either side of it. It is pale where there are too few for a
// correction of their own.
func (c *levelCutter) group(g calibration.Group) {
	if g.N < 2 {
		return
	}
	from, to := math.Inf(1), math.Inf(-1)
	for _, p := range c.in.Calibration.Fit.Points {
		if r := p.Reading; r.Class == g.Class {
			from, to = min(from, r.PredictedDBm), max(to, r.PredictedDBm)
		}
	}
	const beyond = 3 // dB: chosen
	from, to = max(from-beyond, c.low), min(to+beyond, c.high)
	m, s := levelsOf(g.Class), State(0)
	if by, ok := c.in.Calibration.Fit.For(g.Class); !ok || by.Class != g.Class {
		s = Muted
	}
	at := []float64{from, to}
	for _, off := range []float64{g.Bias - g.SD, g.Bias, g.Bias + g.SD} {
		for _, edge := range []float64{c.low - off, c.high - off} {
			if edge > from && edge < to {
				at = append(at, edge)
			}
		}
	}
	slices.Sort(at)
	line := func(off float64) []float64 {
		out := make([]float64, len(at))
		for i, x := range at {
			out[i] = clamp(x+off, c.low, c.high)
		}
		return out
	}
	first := len(c.list.Items)
	c.between(at, line(g.Bias+g.SD), line(g.Bias-g.SD), func(r orb.Ring) { c.area(PatternLayer, m.band, r) })
	if a, b := max(from, c.low-g.Bias), min(to, c.high-g.Bias); a < b {
		c.stroke(BoundaryLayer, m.fit, orb.Point{a, a + g.Bias}, orb.Point{b, b + g.Bias})
	}
	for i := first; i < len(c.list.Items); i++ {
		c.list.Items[i].State |= s
	}
}

// mark draws a reading. It is named where it is chosen, was set aside or lies apart
// from its class.
func (c *levelCutter) mark(r calibration.Reading, aside bool) {
	it := Item{Kind: MarkKind, ID: r.ID, At: orb.Point{r.PredictedDBm, r.MeasuredDBm}}
	name := Item{Kind: LabelKind, ID: r.ID, Text: r.ID, At: it.At, Prefer: Beside, Priority: namePriority}
	named := aside || c.in.Calibration.Fit.Apart(r)
	if r.ID == c.in.Hovered {
		it.State |= Hovered
	}
	if r.ID == c.in.Chosen {
		it.State |= Selected
	}
	if it.State != 0 {
		named, name.Must, name.Priority = true, true, sensorPriority
	}
	c.add(DeviceLayer, LevelMeaning(r.Class, aside), it)
	if named {
		c.add(LabelLayer, FeatureName, name)
	}
}

// levelSample is the sample of a fit in the legend: the mean in its band.
func levelSample(m Meaning, w, height float64, add func(Item)) {
	band := map[Meaning]Meaning{LevelOpenFit: LevelOpenBand, LevelPastFit: LevelPastBand, LevelTreesFit: LevelTreesBand}[m]
	h := height * 0.3
	add(Item{Kind: AreaKind, Meaning: band, Area: orb.MultiPolygon{{{{-w, -h}, {w, -h}, {w, h}, {-w, h}, {-w, -h}}}}})
	add(Item{Kind: LineKind, Line: orb.LineString{{-w, 0}, {w, 0}}})
}

// levels makes the rows of levels read on site: w is a line's width, s a mark's
// size and pick a length, on the screen and on paper.
func (t *Theme) levels(w, s, pick func(screen, paper float64) float64) {
	dark := t.Medium.Dark
	open, veg := blue, olive
	if dark {
		open, veg = skyBlue, olivePale
	}
	row := func(st Style) { t.styles[st.Meaning] = st }
	row(Style{Meaning: LevelEqual, Pen: Pen{Width: w(1.6, 0.35), Colour: t.Ink}, Legend: "Read as predicted"})
	for _, class := range []struct {
		levelMeanings
		name         string
		full, hollow Symbol
		dash         []float64
		size, onPap  float64
	}{
		{levelsOf(analysis.ClassOpen), "in the open", DotMark, RoundHandle, nil, 8, 2},
		{levelsOf(analysis.ClassObstacles), "past obstacles", SquareMark, SquareHandle, []float64{6, 3}, 7.5, 1.9},
		{levelsOf(analysis.ClassTrees), "through trees", TriangleMark, TriangleOpenMark, []float64{9, 3, 2, 3}, 9.5, 2.4},
	} {
		colour := open
		switch class.mark {
		case LevelPast:
			colour = t.Ink
		case LevelTrees:
			colour = veg
		}
		var dash []float64
		for _, v := range class.dash {
			dash = append(dash, v*pick(1, 0.25))
		}
		row(Style{Meaning: class.band, Fill: fade(colour, onDarkF(dark, 0.16, 0.14)), Pen: Pen{Width: w(0.8, 0.15), Colour: fade(colour, 0.55), Dash: dash}})
		row(Style{Meaning: class.fit, Casing: Pen{Width: w(3.2, 0.7), Colour: fade(t.Paper, 0.6)}, Pen: Pen{Width: w(1.8, 0.4), Colour: colour, Dash: dash, Cap: Butt},
			Legend: "Mean " + class.name + ", and one standard deviation"})
		row(Style{Meaning: class.mark, Symbol: class.full, Size: s(class.size, class.onPap), Ink: colour, Body: t.Paper, Pen: Pen{Width: w(1.4, 0.3)}, Legend: "Reading " + class.name})
		row(Style{Meaning: class.aside, Symbol: class.hollow, Size: s(class.size, class.onPap), Ink: colour, Body: t.Paper, Pen: Pen{Width: w(1.4, 0.3)}, Legend: "Set aside, " + class.name})
	}
}

// levelPieces are the marks of levels.
func levelPieces(s Symbol) []piece {
	triangle := closed(orb.Point{0, -0.5}, orb.Point{0.52, 0.4}, orb.Point{-0.52, 0.4})
	switch s {
	case SquareMark:
		return []piece{{path: box(0.5), filled: inkRole}}
	case TriangleMark:
		return []piece{{path: triangle, filled: inkRole}}
	}
	return []piece{{path: triangle, filled: bodyRole, stroke: inkRole}}
}
