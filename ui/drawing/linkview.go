package drawing

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/aim"
	"pleach/model/analysis"
	"pleach/model/radio"
	"pleach/model/scene"
	"pleach/model/terrain"
)

// LinkInput is what CutLink draws from.
type LinkInput struct {
	Scene    *scene.Scene
	From, To string // ids of two devices
	// Width and Height of the drawing, in units. From 520 by 190 pixels or 150 by
	// 50 mm up there is room for all of it.
	Width, Height float64
	Hovered       Handle
	Chosen        Handle // the antenna that the keys move
	// Like keeps the frame of an earlier view of the same size and link, so that
	// nothing slides under the pointer while an antenna is dragged.
	Like *LinkView
}

// LinkView is the profile of one radio link: the ground and what stands on it,
// the direct line, the first Fresnel zone and where it is least clear.
//
// The list's x is the distance from the first antenna in metres; its y is the
// height in metres, in the height system of the ground, times Exaggeration. The
// ground and all that stands on it are raised by the bulge of the effective
// Earth between the antennas, so that the direct line is straight.
type LinkView struct {
	List         *List
	View         View
	Exaggeration float64
	Link         analysis.Link
	From, To     *model.Feature
	Ground       [2]float64 // height at the two antennas
	Antenna      [2]float64 // metres above it
	Worst        Worst

	width, height float64
	top           float64
}

// Worst is where the direct line has the least of the first Fresnel zone free.
type Worst struct {
	Share  float64 // of the zone's radius; negative where the line is blocked
	Metres float64 // of clearance, negative likewise
	At     float64 // metres from the first antenna
	On     string  // id of what stands there, "" for the ground
}

// freeShare is the share of the first Fresnel zone's radius that is wanted free:
// the usual rule, ITU-R P.530 (from memory).
const freeShare = 0.6

// CutLink draws the profile of a link in lengths of the theme's medium. It
// returns an error where an id is not that of a sound device, and where both
// only transmit.
func CutLink(in LinkInput, theme *Theme) (*LinkView, error) {
	k, p, d, err := analysis.LinkBetween(in.Scene, in.From, in.To)
	if err != nil {
		return nil, err
	}
	n := len(p.D) - 1
	v := &LinkView{Link: k, List: &List{}, width: in.Width, height: in.Height,
		From: in.Scene.Plan.Feature(in.From), To: in.Scene.Plan.Feature(in.To), Ground: [2]float64{p.H[0], p.H[n]}}
	v.Antenna = [2]float64{analysis.AntennaHeight(v.From), analysis.AntennaHeight(v.To)}
	v.Worst = Worst{Share: d.Clearance, At: d.ClearanceAt}
	c := &linkCutter{v: v, in: in, z: [2]float64{v.Ground[0] + v.Antenna[0], v.Ground[1] + v.Antenna[1]}}
	c.theme, c.list, c.s = theme, v.List, &Section{}
	c.cutter.in = SectionInput{Scene: in.Scene, Width: in.Width, Height: in.Height}
	// Two devices on one post have a line too short to be drawn.
	c.far = math.Max(math.Hypot(k.B[0]-k.A[0], k.B[1]-k.A[1]), 0.01)
	v.Worst.Metres = d.Clearance * c.zone(d.ClearanceAt)
	c.lay()
	c.frame()
	c.worst()
	c.heights()
	c.scale()
	c.fresnel()
	c.stand()
	c.earth()
	c.direct()
	c.antenna(0)
	c.antenna(1)
	c.words()
	v.List.Arrange()
	return v, nil
}

// linkCutter draws a link with the means of the section on an axis.
type linkCutter struct {
	cutter
	v     *LinkView
	in    LinkInput
	z     [2]float64 // heights of the antennas
	out   [2]string  // ids of buildings that the antennas stand in
	right float64    // end of the drawing along x, metres
}

// linkMargins are those about the profile, units.
func (c *linkCutter) linkMargins() (side, top, bottom float64) {
	return c.u(112, 28), c.u(56, 14), c.u(64, 16)
}

// direct height and zone radius at a distance from the first antenna.
func (c *linkCutter) line0(d float64) float64 { return c.z[0] + (c.z[1]-c.z[0])*d/c.far }

func (c *linkCutter) zone(d float64) float64 {
	return radio.FresnelRadius(1, d, c.far-d, c.in.Scene.Plan.Settings.Frequency)
}

func (c *linkCutter) bulge(d float64) float64 {
	if d <= 0 || d >= c.far {
		return 0
	}
	return radio.EarthBulge(d, c.far-d, c.in.Scene.Plan.Settings.EffectiveRadius)
}

// lay lays the ground from the left edge to the right one, and what stands there.
func (c *linkCutter) lay() {
	side, _, _ := c.linkMargins()
	beyond := side / math.Max(c.in.Width-2*side, 1) * c.far
	if l := c.like(); l != nil {
		beyond = side * l.View.MetresPerUnit
	}
	k, sc := &c.v.Link, c.in.Scene
	az := math.Atan2(k.B[0]-k.A[0], k.B[1]-k.A[1])
	c.line, c.back = aim.Along(sc, c.v.Link.A, az, c.far+beyond), aim.Along(sc, c.v.Link.A, az+math.Pi, beyond)
	mpu := c.far / math.Max(c.in.Width, 1)
	if c.line.Unknown > c.far {
		c.line.Unknown = math.Inf(1) // beyond the antennas it does not matter
	}
	c.line.Ground = c.bent(thin(c.line.Ground, mpu/2))
	for i := range c.line.Things {
		t := &c.line.Things[i]
		t.Top += c.bulge((math.Max(t.From, 0) + math.Min(t.To, c.far)) / 2)
		if t.Kind == model.KindBuilding && t.Level {
			if t.From == 0 && c.z[0] < t.Top {
				c.out[0] = t.ID
			}
			if t.From < c.far && t.To >= c.far && c.z[1] < t.Top {
				c.out[1] = t.ID
			}
		}
	}
	for _, t := range c.back.Things {
		if t.From > 0 || t.Kind != model.KindBuilding { // those at the antenna are of the line
			t.From, t.To = -t.To, -t.From
			c.line.Things = append(c.line.Things, t)
		}
	}
}

// bent returns the ground raised by the bulge of the Earth, in pieces that look
// as it bends.
func (c *linkCutter) bent(ks []terrain.Knot) []terrain.Knot {
	const pieces = 60
	out := make([]terrain.Knot, 0, len(ks)+pieces)
	step := c.far / pieces
	bends := c.bulge(c.far/2) > 0.02
	for i, k := range ks {
		if i > 0 && bends {
			a := ks[i-1]
			for n := math.Floor(a.D/step) + 1; n*step < k.D-step/10; n++ {
				if d := n * step; d > a.D+step/10 && d < c.far {
					out = append(out, terrain.Knot{D: d, H: a.H + (d-a.D)/(k.D-a.D)*(k.H-a.H) + c.bulge(d)})
				}
			}
		}
		out = append(out, terrain.Knot{D: k.D, H: k.H + c.bulge(k.D)})
	}
	return out
}

// thin leaves of the knots within each step of metres the first, the highest, the
// lowest and the last: what a pixel shows.
func thin(ks []terrain.Knot, step float64) []terrain.Knot {
	if len(ks) < 4 || !(step > 0) {
		return ks
	}
	var out []terrain.Knot
	for i := 0; i < len(ks); {
		j, low, high := i, i, i
		for ; j < len(ks) && math.Floor(ks[j].D/step) == math.Floor(ks[i].D/step); j++ {
			if ks[j].H < ks[low].H {
				low = j
			}
			if ks[j].H > ks[high].H {
				high = j
			}
		}
		last := -1
		for _, k := range []int{i, min(low, high), max(low, high), j - 1} {
			if k > last {
				out = append(out, ks[k])
				last = k
			}
		}
		i = j
	}
	return out
}

// like is the earlier view whose frame is kept, nil for none.
func (c *linkCutter) like() *LinkView {
	l := c.in.Like
	if l == nil || l.width != c.in.Width || l.height != c.in.Height || l.Link.From != c.in.From || l.Link.To != c.in.To {
		return nil
	}
	return l
}

// frame chooses the scales.
func (c *linkCutter) frame() {
	side, top, bottom := c.linkMargins()
	w, h := math.Max(c.in.Width-2*side, 1), math.Max(c.in.Height-top-bottom, 1)
	if l := c.like(); l != nil {
		c.ex, c.mpu, c.v.top, c.v.View = l.Exaggeration, l.View.MetresPerUnit, l.top, l.View
	} else {
		low, high := math.Inf(1), math.Max(c.z[0], c.z[1])
		for _, k := range c.line.Ground {
			if k.D > c.far {
				break
			}
			low, high = math.Min(low, k.H), math.Max(high, k.H+1)
		}
		for i := range c.line.Things {
			t := &c.line.Things[i]
			if c.stands(t) && t.To >= 0 && t.From <= c.far {
				high = math.Max(high, math.Max(c.line.TopAt(t, t.From), c.line.TopAt(t, t.To)))
			}
		}
		for i := range 21 {
			d := c.far * float64(i) / 20
			high = math.Max(high, c.line0(d)+c.zone(d))
		}
		rise := (high - low) * 1.08 // room for a mast to grow
		c.mpu = math.Max(c.far/w, rise/h)
		c.ex = exaggerations[0]
		for _, e := range exaggerations {
			if rise*e <= h*c.mpu {
				c.ex = e
			}
		}
		// The ground stands on the bottom margin; what is left over is sky.
		c.v.View = View{MetresPerUnit: c.mpu, Width: c.in.Width, Height: c.in.Height}
		c.v.View.Centre = orb.Point{c.far / 2, low*c.ex + (c.in.Height/2-bottom)*c.mpu}
		c.v.top = low + (c.in.Height-bottom-top*0.75)*c.mpu/c.ex
	}
	c.v.Exaggeration = c.ex
	c.s.View, c.s.top = c.v.View, c.v.top
	c.left = c.v.View.ToGrid(orb.Point{c.u(42, 10.5), 0})[0] // the scale of heights is left of it
	c.right = c.v.View.ToGrid(orb.Point{c.in.Width - c.u(2, 0.5), 0})[0]
}

// stands reports whether a thing stands on the ground and matters to a link.
func (c *linkCutter) stands(t *aim.Thing) bool {
	return t.Kind == model.KindBuilding || t.Kind == model.KindFoliage || t.Kind == model.KindObstacle
}

// worst names what stands where the line is least clear.
func (c *linkCutter) worst() {
	const near = 0.01 // metres: ends of outlines are points of the profile
	w := &c.v.Worst
	best := c.line.Height(w.At) + near
	for i := range c.line.Things {
		t := &c.line.Things[i]
		if !t.Hides() || t.ID == c.out[0] || t.ID == c.out[1] || w.At < t.From-near || w.At > t.To+near {
			continue
		}
		if top := c.line.TopAt(t, w.At); top > best {
			best, w.On = top, t.ID
		}
	}
}

// heights draws the scale of heights along the left edge.
func (c *linkCutter) heights() {
	x := c.left
	least := c.u(26, 6.5) * c.mpu / c.ex
	step := 0.0
	for _, s := range append([]float64{0.1, 0.2, 0.5}, niceSteps...) {
		if step = s; s >= least {
			break
		}
	}
	_, _, bottom := c.linkMargins()
	low := c.v.View.ToGrid(orb.Point{0, c.in.Height - bottom + c.u(1, 0.2)})[1] / c.ex
	c.stroke(SiteLayer, SectionScale, c.pt(x, low), c.pt(x, c.v.top))
	last := math.Floor((c.v.top - c.dy(8, 2)) / step)
	for n := math.Ceil(low / step); n <= last; n++ {
		h := n*step + 0 // no negative zero
		c.stroke(SiteLayer, SectionScale, c.pt(x-c.dx(5, 1.2), h), c.pt(x, h))
		text := strings.Replace(trimmed(h), "-", "−", 1)
		if n == last {
			text += " m"
		}
		c.text(ChainageFigure, text, x-c.dx(6, 1.5), h, Left)
	}
}

// fresnel draws the first Fresnel zone and the part of it that is wanted free,
// above the ground.
func (c *linkCutter) fresnel() {
	const pieces = 72
	at := make([]float64, 0, pieces+1)
	for i := range pieces + 1 {
		// Closer together where the ellipse bends.
		at = append(at, c.far*(1-math.Cos(math.Pi*float64(i)/pieces))/2)
	}
	for _, k := range c.line.Ground {
		if k.D > 0 && k.D < c.far {
			at = append(at, k.D)
		}
	}
	slices.Sort(at)
	upper, lower, wanted, ground := make([]float64, len(at)), make([]float64, len(at)), make([]float64, len(at)), make([]float64, len(at))
	for i, d := range at {
		r := c.zone(d)
		upper[i] = math.Min(c.line0(d)+r, c.v.top)
		wanted[i] = c.line0(d) - freeShare*r
		ground[i] = c.line.Height(d)
		lower[i] = math.Max(c.line0(d)-r, ground[i])
	}
	c.between(at, upper, lower, func(r orb.Ring) { c.area(PatternLayer, LinkZone, r) })
	c.between(at, wanted, ground, func(r orb.Ring) { c.stroke(BoundaryLayer, LinkWanted, r[:len(r)/2]...) })
}

// stand draws what stands on the line. Trees are no building; what an antenna
// stands in is left out of the profile and drawn pale.
func (c *linkCutter) stand() {
	for i := range c.line.Things {
		t := c.line.Things[i]
		if !c.stands(&t) || t.To < c.left || t.From > c.right {
			continue
		}
		t.From, t.To = math.Max(t.From, c.left), math.Min(t.To, c.right)
		first := len(c.list.Items)
		c.thing(&t)
		for j := first; j < len(c.list.Items); j++ {
			it := &c.list.Items[j]
			switch {
			case it.Kind == LabelKind:
				if t.ID == c.out[0] || t.ID == c.out[1] {
					it.Text += ", left out"
				}
			case it.Meaning == Foliage:
				it.Meaning = LinkTrees
			case t.ID == c.out[0] || t.ID == c.out[1]:
				it.State |= Muted
			}
		}
	}
}

// earth draws the ground as far as the drawing goes.
func (c *linkCutter) earth() {
	far := c.far
	c.far = c.right
	c.cutter.earth()
	c.far = far
}

// direct draws the direct line as the map does, and where it is least clear.
func (c *linkCutter) direct() {
	m, excess := LinkMeaning(c.v.Link)
	c.add(BoundaryLayer, m, Item{Kind: LineKind, Line: orb.LineString{c.pt(0, c.z[0]), c.pt(c.far, c.z[1])}, Margin: excess})
	w := &c.v.Worst
	row := c.row(38, 9.6)
	if w.Share >= radio.MaxClearance || w.At <= 0 || w.At >= c.far {
		c.text(DimensionFigure, c.v.WorstWords(c.in.Scene.Plan), c.dx(6, 1.5), row, Right)
		return
	}
	line := c.line0(w.At)
	top := line - w.Metres
	c.stroke(BoundaryLayer, SectionScale, c.pt(w.At, math.Min(top, line)), c.pt(w.At, row-c.dy(5, 1.2)))
	c.stroke(BoundaryLayer, Dimension, c.pt(w.At, line), c.pt(w.At, top))
	c.oblique(c.pt(w.At, line))
	c.add(DeviceLayer, SectionMet, Item{Kind: MarkKind, At: c.pt(w.At, top)})
	c.stroke(BoundaryLayer, Dimension, c.pt(0, row), c.pt(w.At, row))
	c.oblique(c.pt(0, row))
	c.oblique(c.pt(w.At, row))
	text := c.v.WorstWords(c.in.Scene.Plan)
	tw, _ := c.theme.LabelSize(DimensionFigure, text)
	half := tw / 2 * c.mpu
	switch {
	case w.At > 2*half+c.dx(24, 6):
		c.text(DimensionFigure, text, w.At/2, row, Neither)
	default:
		at := math.Min(w.At+c.dx(8, 2), c.right-2*half)
		c.text(DimensionFigure, text, at, row, Right)
	}
}

// antenna draws the mast, the device, its handle and its height: i is 0 at the
// left, 1 at the right.
func (c *linkCutter) antenna(i int) {
	f, d, out, side, h := c.v.From, 0.0, -1.0, Right, FromHandle
	if i == 1 {
		f, d, out, side, h = c.v.To, c.far, 1, Left, ToHandle
	}
	z, g := c.z[i], c.v.Ground[i]
	foot := g
	for k := range c.line.Things { // on a roof
		if t := &c.line.Things[k]; t.Level && t.From <= d && d <= t.To && t.Top <= z {
			foot = math.Max(foot, t.Top)
		}
	}
	c.stroke(DeviceLayer, SectionMount, c.pt(d, foot), c.pt(d, z))
	m, bearing := Sensor, -out*90
	switch f.Kind {
	case model.KindRepeater:
		m, bearing = Repeater, 0
	case model.KindReceiver:
		m, bearing = Receiver, 0
	}
	mark := Item{Kind: MarkKind, At: c.pt(d, z), Bearing: bearing, ID: f.ID, Part: handleParts[h]}
	grip := Item{Kind: MarkKind, At: c.pt(d+out*c.dx(19, 4.7), z), ID: f.ID, Part: handleParts[h]}
	if c.in.Hovered == h {
		mark.State |= Hovered
		grip.State |= Hovered
	}
	if c.in.Chosen == h {
		grip.State |= Selected
	}
	c.add(DeviceLayer, m, mark)
	if !c.theme.Medium.Paper {
		c.stroke(HandleLayer, AimArm, c.pt(d+out*c.dx(19, 4.7), z), c.pt(d, z))
		c.add(HandleLayer, AimHandle, grip)
	}
	x := d + out*c.dx(42, 10.5)
	c.stroke(BoundaryLayer, SectionScale, c.pt(x+out*c.dx(5, 1.2), z), c.pt(d+out*c.dx(26, 6.5), z))
	c.stroke(BoundaryLayer, Dimension, c.pt(x, g), c.pt(x, z))
	c.oblique(c.pt(x, g))
	c.oblique(c.pt(x, z))
	tall := shortMetres(c.v.Antenna[i])
	_, high := c.theme.LabelSize(DimensionFigure, tall)
	at := (z + g) / 2
	if (z-g)*c.ex/c.mpu < high+c.u(12, 3) { // no room between its ends
		at = z + (high/2+c.u(5, 1.2))*c.mpu/c.ex
	}
	c.text(DimensionFigure, tall, x, at, Neither)
	_, high = c.theme.LabelSize(DeviceName, f.Title())
	c.text(DeviceName, f.Title(), d-out*c.dx(8, 2), z+(high/2+c.u(10, 2.5))*c.mpu/c.ex, side)
}

// words says what the drawing is of and what the link loses.
func (c *linkCutter) words() {
	k := &c.v.Link
	left := c.v.View.ToGrid(orb.Point{c.u(14, 3.5), 0})[0]
	right := c.v.View.ToGrid(orb.Point{c.in.Width - c.u(14, 3.5), 0})[0]
	head := c.v.MarginWords()
	first, second := c.top(12, 3), c.top(31, 7.4)
	c.text(DeviceName, head, left, first, Right)
	used, _ := c.theme.LabelSize(DeviceName, head)
	notes := []string{metresText(k.Distance), strconv.FormatFloat(c.in.Scene.Plan.Settings.Frequency, 'f', -1, 64) + " MHz", "heights to scale", "Earth curvature counted"}
	if c.ex != 1 {
		notes[2] = fmt.Sprintf("heights drawn %s times", strconv.FormatFloat(c.ex, 'f', -1, 64))
	}
	c.fitted(notes, right, first, Left, c.in.Width-used-c.u(44, 11))
	c.fitted(c.v.losses(), left, second, Right, c.in.Width-c.u(28, 7))
}

// top is the height of a row of the head, so many units below the upper edge.
func (c *linkCutter) top(screen, paper float64) float64 {
	return c.v.View.ToGrid(orb.Point{0, c.u(screen, paper)})[1] / c.ex
}

// fitted writes what of the parts has room in width units.
func (c *linkCutter) fitted(parts []string, d, height float64, side Side, width float64) {
	for n := len(parts); n > 0; n-- {
		text := strings.Join(parts[:n], "  ·  ")
		if w, _ := c.theme.LabelSize(ChainageFigure, text); w <= width {
			c.text(ChainageFigure, text, d, height, side)
			return
		}
	}
}

// MarginWords says what the link comes to: "S1 to RX: 14 dB, 99 %".
func (v *LinkView) MarginWords() string {
	m, _ := LinkMeaning(v.Link)
	word := map[Meaning]string{LinkHeld: "", LinkThin: ", within 3 dB of it", LinkFails: ": fails"}
	return fmt.Sprintf("%s to %s: %s, %s required%s", v.From.Title(), v.To.Title(), MarginText(v.Link), decibels(v.Link.Required), word[m])
}

// MarginText is the margin of a link and the probability that it works, without
// false decimals: "14 dB, 99 %".
func MarginText(l analysis.Link) string {
	return decibels(l.Margin) + ", " + analysis.Percent(l.Probability)
}

// losses lists the parts of the loss.
func (v *LinkView) losses() []string {
	k := &v.Link
	out := []string{"Loss with installation " + decibels(k.Loss+k.Installation), "free space " + decibels(k.FreeSpace)}
	for _, p := range []struct {
		name string
		db   float64
	}{{"ground and obstacles", k.Diffraction}, {"foliage", k.Vegetation}, {"buildings", k.Building}, {"installation", k.Installation}} {
		if math.Round(p.db) != 0 {
			out = append(out, p.name+" "+decibels(p.db))
		}
	}
	return out
}

// WorstWords says where the direct line is least clear and what stands there.
func (v *LinkView) WorstWords(p *model.Plan) string {
	w := &v.Worst
	if w.Share >= radio.MaxClearance {
		return "nothing stands near the direct line"
	}
	on := "the ground"
	if w.On != "" {
		on = aim.Title(p, w.On)
	}
	share := strings.TrimSuffix(fmt.Sprintf("%.2f", math.Abs(w.Share)), "0")
	if math.Abs(w.Share) >= 10 {
		share = fmt.Sprintf("%.0f", math.Abs(w.Share))
	}
	if w.Share < 0 {
		return fmt.Sprintf("blocked at %s by %s, %s above the line: %s of the first Fresnel zone", metresText(w.At), on, metresText(-w.Metres), share)
	}
	return fmt.Sprintf("least clear at %s: %s over %s, %s of the first Fresnel zone", metresText(w.At), metresText(w.Metres), on, share)
}

// Hit returns the antenna within tolUnits of the unit point u.
func (v *LinkView) Hit(u orb.Point, tolUnits float64) Handle {
	return (&Section{List: v.List, View: v.View}).Hit(u, tolUnits)
}

// HandleAt returns the unit point at which an antenna's handle is drawn.
func (v *LinkView) HandleAt(h Handle, near orb.Point) (u orb.Point, ok bool) {
	return (&Section{List: v.List, View: v.View}).HandleAt(h, near)
}

// antennaStep is the step of an antenna's height that is dragged, metres: chosen.
const antennaStep = 0.1

// AntennaAt returns the height in metres, above the ground at its post, that puts
// the antenna of a handle level with the unit point u, to 10 cm and within the
// range an antenna height may have.
func (v *LinkView) AntennaAt(h Handle, u orb.Point) float64 {
	i := 0
	if h == ToHandle {
		i = 1
	}
	y := v.View.ToGrid(u)[1] / v.Exaggeration
	return clamp(math.Round((y-v.Ground[i])/antennaStep)*antennaStep, antennaStep, maxMount)
}
