package drawing

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/aim"
	"pleach/model/scene"
)

// SectionInput is what Cut draws from.
type SectionInput struct {
	Scene   *scene.Scene
	Sensor  string // id
	Posture int    // whose bars stand on the ground: 0 the target, k the plan's k-th posture
	// Width and Height of the drawing, in units. Heights from 200 pixels or 50 mm
	// up leave room for all of it.
	Width, Height float64
	Hovered       Handle
	// Like keeps the frame of an earlier section of the same size, so that
	// nothing slides under the pointer while a handle is dragged.
	Like *Section
}

// Section is the section on a sensor's axis: the ground it looks along, what
// stands on it, the lobes' limits, and a bar of the target's height wherever one
// could stand, filled where it is seen.
//
// The list's x is the distance from the optical centre in metres; its y is the
// height in metres, in the height system of the ground, times Exaggeration.
// View shows it. Render it as any list.
type Section struct {
	List         *List
	View         View
	Exaggeration float64 // heights are drawn so many times
	Aim          *aim.Aim

	width, height float64 // of the input
	ground        float64 // height at the mount
	top           float64 // greatest height drawn
}

// Handle is a part of a section or a link view that can be dragged.
type Handle uint8

// The handles.
const (
	NoHandle Handle = iota
	HeightHandle
	TiltHandle
	FromHandle // a link's first antenna
	ToHandle   // and its last
)

var handleParts = [...]string{"", "height", "tilt", "from", "to"}

// exaggerations are the factors heights are drawn with: chosen, figures one can
// say.
var exaggerations = []float64{1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80, 100, 150, 200, 300, 400, 500}

// Cut draws the section on the axis of a sensor in lengths of the theme's
// medium. It returns an error where there is no such sensor or it is left out of
// the analysis.
func Cut(in SectionInput, theme *Theme) (*Section, error) {
	a, err := aim.Of(in.Scene, in.Sensor)
	if err != nil {
		return nil, err
	}
	return cut(in, theme, a), nil
}

func cut(in SectionInput, theme *Theme, a *aim.Aim) *Section {
	c := &cutter{in: in, theme: theme, a: a, list: &List{}}
	c.s = &Section{List: c.list, Aim: a, ground: a.Eye.Ground, width: in.Width, height: in.Height}
	c.reach = a.Target
	if k := in.Posture - 1; k >= 0 && k < len(a.Postures) {
		c.reach = a.Postures[k]
	}
	c.frame()
	c.scale()
	c.lobes()
	c.horizon()
	c.things()
	c.earth()
	c.bars()
	c.axis()
	c.mount()
	c.dimensions()
	c.words()
	c.list.Arrange()
	return c.s
}

type cutter struct {
	in    SectionInput
	theme *Theme
	a     *aim.Aim
	s     *Section
	list  *List
	line  *aim.Line
	back  *aim.Line // behind the mount
	reach aim.Reach // of the posture

	mpu, ex   float64 // metres a unit along x; exaggeration
	far, left float64 // ends of the drawing along x, metres
	base      float64 // height of the lowest ground, metres
}

// u is a length of the medium.
func (c *cutter) u(screen, paper float64) float64 {
	if c.theme.Medium.Paper {
		return paper
	}
	return screen
}

// dx and dy are units as metres along x and as metres of height.
func (c *cutter) dx(screen, paper float64) float64 { return c.u(screen, paper) * c.mpu }
func (c *cutter) dy(screen, paper float64) float64 { return c.u(screen, paper) * c.mpu / c.ex }

// pt is a place of the list.
func (c *cutter) pt(d, height float64) orb.Point { return orb.Point{d, height * c.ex} }

// Margins about the drawing, units.
func (c *cutter) margins() (left, right, top, bottom float64) {
	return c.u(66, 17), c.u(26, 6), c.u(34, 8.5), c.u(102, 25.5)
}

// frame chooses what is shown and how large.
func (c *cutter) frame() {
	left, right, top, bottom := c.margins()
	az := c.a.Azimuth()
	c.far = 10
	for _, l := range c.a.Eye.Limits(az) {
		c.far = math.Max(c.far, l.Range)
	}
	if c.far == 10 {
		c.far = math.Max(c.far, c.a.Eye.Reach())
	}
	c.far *= 1.06
	c.line = aim.Along(c.in.Scene, c.a.Eye.At, az, c.far)
	w, h := math.Max(c.in.Width-left-right, 1), math.Max(c.in.Height-top-bottom, 1)
	if l := c.in.Like; l != nil && l.width == c.in.Width && l.height == c.in.Height {
		c.ex, c.mpu, c.s.top, c.s.View = l.Exaggeration, l.View.MetresPerUnit, l.top, l.View
		c.base = (l.View.ToGrid(orb.Point{0, c.in.Height - bottom})[1]) / c.ex
	} else {
		low, high := math.Inf(1), math.Inf(-1)
		for _, k := range c.line.Ground {
			low, high = math.Min(low, k.H), math.Max(high, k.H)
		}
		c.base = low
		c.s.top = math.Max(c.a.Eye.Z, high+math.Max(c.reach.Target.Height, 1)) + 0.3
		rise := c.s.top - low
		c.mpu = math.Max(c.far/w, rise/h)
		c.ex = exaggerations[0]
		for _, e := range exaggerations {
			if rise*e <= h*c.mpu {
				c.ex = e
			}
		}
		// The ground stands on the bottom margin; what is left over is sky.
		c.s.View = View{MetresPerUnit: c.mpu, Width: c.in.Width, Height: c.in.Height}
		c.s.View.Centre = orb.Point{(c.in.Width/2 - left) * c.mpu, c.base*c.ex + (c.in.Height/2-bottom)*c.mpu}
		c.s.top = c.base + (c.in.Height-bottom-top*0.7)*c.mpu/c.ex
	}
	c.s.Exaggeration = c.ex
	c.left = c.s.View.ToGrid(orb.Point{c.u(2, 0.5), 0})[0]
	c.back = aim.Along(c.in.Scene, c.a.Eye.At, az+math.Pi, math.Max(-c.left, 0))
}

// ground is the height of the ground at distance d, behind the mount too.
func (c *cutter) ground(d float64) float64 {
	if d < 0 {
		return c.back.Height(-d)
	}
	return c.line.Height(d)
}

func (c *cutter) add(layer Layer, m Meaning, it Item) {
	it.Layer, it.Meaning = layer, m
	c.list.Add(it)
}

func (c *cutter) area(layer Layer, m Meaning, ring orb.Ring) {
	if len(ring) < 3 {
		return
	}
	c.add(layer, m, Item{Kind: AreaKind, Area: orb.MultiPolygon{{append(ring, ring[0])}}})
}

func (c *cutter) stroke(layer Layer, m Meaning, l ...orb.Point) {
	if len(l) > 1 {
		c.add(layer, m, Item{Kind: LineKind, Line: orb.LineString(l)})
	}
}

// text writes a label on a place: about it, or to its left or right.
func (c *cutter) text(m Meaning, s string, d, height float64, side Side) {
	w, _ := c.theme.LabelSize(m, s)
	d -= float64(side) * w / 2 * c.mpu
	c.add(LabelLayer, m, Item{Kind: LabelKind, Text: s, At: c.pt(d, height), Prefer: Centred, Priority: sensorPriority})
}

// surface is the ground's line between two distances, lowered by drop metres.
func (c *cutter) surface(from, to, drop float64) (out []orb.Point) {
	out = append(out, c.pt(from, c.ground(from)-drop))
	for i := len(c.back.Ground) - 1; i >= 0; i-- {
		if k := c.back.Ground[i]; -k.D > from && -k.D < to {
			out = append(out, c.pt(-k.D, k.H-drop))
		}
	}
	for _, k := range c.line.Ground[1:] {
		if k.D > from && k.D < to {
			out = append(out, c.pt(k.D, k.H-drop))
		}
	}
	return append(out, c.pt(to, c.ground(to)-drop))
}

// band is the area between the ground lowered by lower and by upper metres.
func (c *cutter) band(from, to, upper, lower float64) orb.Ring {
	ring := orb.Ring(c.surface(from, to, upper))
	under := c.surface(from, to, lower)
	for i := len(under) - 1; i >= 0; i-- {
		ring = append(ring, under[i])
	}
	return ring
}

// earth draws the ground.
func (c *cutter) earth() {
	c.area(LinkLayer, SectionGround, c.band(c.left, c.far, 0, c.dy(13, 3.2)))
	known := math.Min(c.far, c.line.Unknown)
	if known > 0 {
		c.stroke(LiveLayer, SectionSurface, c.surface(c.left, known, 0)...)
	}
	if known < c.far {
		c.add(LiveLayer, SectionSurface, Item{Kind: LineKind, Line: c.surface(known, c.far, 0), State: Muted})
		c.text(FeatureName, "ground not known", c.far, c.line.Height(c.far)+c.dy(10, 2.5), Left)
	}
}

// niceSteps are the distances between figures of the scale and between bars.
var niceSteps = []float64{1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000}

func (c *cutter) step(least float64) float64 {
	for _, s := range niceSteps {
		if s/c.mpu >= least {
			return s
		}
	}
	return niceSteps[len(niceSteps)-1]
}

// row returns the height of a row of the foot, so many units above the lower
// edge.
func (c *cutter) row(screen, paper float64) float64 {
	return c.s.View.ToGrid(orb.Point{0, c.in.Height - c.u(screen, paper)})[1] / c.ex
}

// scale draws the distances along the foot.
func (c *cutter) scale() {
	y := c.row(20, 5)
	c.stroke(SiteLayer, SectionScale, c.pt(0, y), c.pt(c.far, y))
	figure := c.step(c.u(50, 14))
	tick := figure / 5
	if lead := strconv.FormatFloat(figure, 'f', -1, 64); lead[0] == '2' {
		tick = figure / 4
	}
	for i := 0; float64(i)*tick <= c.far; i++ {
		d := float64(i) * tick
		length := c.dy(3, 0.7)
		if math.Abs(math.Remainder(d, figure)) < tick/10 {
			length *= 2
			s := strconv.FormatFloat(d, 'f', -1, 64)
			if c.far-d < figure {
				s += " m"
			}
			c.text(ChainageFigure, s, d, c.row(9, 2.2), Neither)
		}
		c.stroke(SiteLayer, SectionScale, c.pt(d, y), c.pt(d, y+length))
	}
}

// bars draws a target wherever one could stand.
func (c *cutter) bars() {
	seen := func(d float64) bool {
		for _, s := range c.reach.Seen {
			if s.From <= d && d <= s.To {
				return true
			}
		}
		return false
	}
	step, half := c.step(c.u(24, 6)), c.dx(2.5, 0.6)
	for i := 1; float64(i)*step < c.far-half; i++ {
		d := float64(i) * step
		if c.inside(d-half) || c.inside(d+half) || c.inside(d) {
			continue
		}
		g := c.line.Height(d)
		m := SectionUnseen
		if seen(d) {
			m = SectionSeen
		}
		top := g + c.reach.Target.Height
		c.area(LiveLayer, m, orb.Ring{c.pt(d-half, g), c.pt(d+half, g), c.pt(d+half, top), c.pt(d-half, top)})
	}
	for _, s := range c.reach.Seen {
		c.stroke(LiveLayer, SectionReach, c.surface(s.From, s.To, c.dy(3, 0.7))...)
	}
}

// inside reports whether an opaque thing stands at distance d.
func (c *cutter) inside(d float64) bool {
	for i := range c.line.Things {
		if t := &c.line.Things[i]; t.Hides() && t.From <= d && d <= t.To {
			return true
		}
	}
	return false
}

// thing draws one thing that stands on the line.
func (c *cutter) thing(t *aim.Thing) {
	from, to := t.From, t.To
	if t.From == 0 && t.Kind == model.KindBuilding {
		from = c.left
	}
	g := math.Max(c.line.Height(from), c.line.Height(to))
	top := math.Min(c.line.TopAt(t, from), c.s.top)
	switch t.Kind {
	case model.KindBuilding:
		ring := orb.Ring(c.surface(from, to, 0))
		c.area(LinkLayer, Building, append(ring, c.pt(to, top), c.pt(from, top)))
	case model.KindObstacle:
		m := Obstacle
		if t.Mesh {
			m = ObstacleMesh
		}
		if t.From == t.To {
			c.stroke(LinkLayer, m, c.pt(from, g), c.pt(from, top))
			break
		}
		fallthrough
	case model.KindFoliage:
		m, layer := Foliage, SiteLayer
		if t.Kind == model.KindObstacle {
			m, layer = Building, LinkLayer
			if t.Mesh {
				m = CameraView
			}
		}
		ring := orb.Ring(c.surface(from, to, 0))
		tops := c.surface(from, to, -t.Height)
		for k := len(tops) - 1; k >= 0; k-- {
			ring = append(ring, orb.Point{tops[k][0], math.Min(tops[k][1], c.s.top*c.ex)})
		}
		c.area(layer, m, ring)
	case model.KindBoundary:
		c.stroke(LinkLayer, Boundary, c.pt(from, g), c.pt(from, top))
	case model.KindRoad, model.KindFootpath:
		m := RoadPublic
		if t.Kind == model.KindFootpath {
			m = Footpath
		}
		c.area(LiveLayer, m, c.band(from, to, c.dy(7, 1.8), c.dy(13, 3.2)))
		top = g
	}
	name := t.ID
	if f := c.in.Scene.Plan.Feature(t.ID); f != nil {
		name = f.Title()
	}
	w, _ := c.theme.LabelSize(FeatureName, name)
	if (to-from)/c.mpu > w && (top-g)*c.ex/c.mpu > c.u(20, 5) {
		c.text(FeatureName, name, (from+to)/2, top-c.dy(11, 2.8), Neither)
		return
	}
	c.add(LabelLayer, FeatureName, Item{Kind: LabelKind, Text: name, Short: t.ID, At: c.pt((from+to)/2, top), Prefer: Outward, Priority: namePriority})
}

// things draws what stands on the line.
func (c *cutter) things() {
	for i := range c.line.Things {
		c.thing(&c.line.Things[i])
	}
	// The wall it is fixed to stands behind it.
	if id := c.a.Eye.Fixed; id != "" {
		top := c.a.Eye.Ground
		for _, b := range c.in.Scene.Buildings {
			if b.Feature.ID == id {
				top = b.Top
			}
		}
		for _, o := range c.in.Scene.Obstacles {
			if o.Feature.ID == id {
				top += o.Height
			}
		}
		ring := orb.Ring(c.surface(c.left, -c.dx(1.5, 0.35), 0))
		top = math.Min(top, c.s.top)
		c.area(SiteLayer, Building, append(ring, c.pt(-c.dx(1.5, 0.35), top), c.pt(c.left, top)))
	}
}

// axis draws the axis, the horizontal it is counted from, and where it ends.
func (c *cutter) axis() {
	z, fall := c.a.Eye.Z, c.a.Eye.Fall(c.a.Azimuth())
	c.stroke(PatternLayer, SectionLevel, c.pt(0, z), c.pt(c.far, z))
	what, _, d, _ := c.line.Meets(z, fall, 0)
	end := d
	if fall < 0 {
		end = math.Min(end, (c.s.top-z)/-fall)
	}
	c.stroke(BoundaryLayer, SectionAxis, c.pt(0, z), c.pt(end, z-end*fall))
	h := z - d*fall
	if what != aim.Nothing {
		// It can be taken hold of as the end of the arm can: the farther out, the finer.
		it := Item{Kind: MarkKind, At: c.pt(d, h), ID: c.a.Sensor.ID, Part: handleParts[TiltHandle]}
		if c.in.Hovered == TiltHandle {
			it.State = Hovered
		}
		c.add(DeviceLayer, SectionMet, it)
	}
}

// axisRow dimensions where the axis ends, beyond the drawing too.
func (c *cutter) axisRow(row float64) {
	what, _, d, _ := c.line.Meets(c.a.Eye.Z, c.a.Eye.Fall(c.a.Azimuth()), 0)
	word := map[aim.Met]string{aim.Ground: "axis on the ground ", aim.Wall: "axis stopped ", aim.Roof: "axis stopped "}
	if what != aim.Nothing {
		c.measure(d, row, word[what]+metresText(d))
		return
	}
	text := "axis never on the ground"
	if m := c.a.Axis; m.What != aim.Nothing {
		text = word[m.What] + metresText(m.Distance) + " →"
	}
	w, _ := c.theme.LabelSize(DimensionFigure, text)
	end := math.Max(c.far-w*c.mpu, c.dx(24, 6))
	c.stroke(BoundaryLayer, Dimension, c.pt(0, row), c.pt(end, row))
	c.oblique(c.pt(0, row))
	c.text(DimensionFigure, text, end, row, Right)
}

// measure dimensions a distance from the mount in a row of the foot.
func (c *cutter) measure(d, row float64, text string) {
	c.extension(d, row)
	c.stroke(BoundaryLayer, Dimension, c.pt(0, row), c.pt(d, row))
	c.oblique(c.pt(0, row))
	c.oblique(c.pt(d, row))
	if w, _ := c.theme.LabelSize(DimensionFigure, text); d/c.mpu > w+c.u(24, 6) {
		c.text(DimensionFigure, text, d/2, row, Neither)
	} else {
		c.text(DimensionFigure, text, d+c.dx(8, 2), row, Right)
	}
}

// mount draws the post, the sensor and the handles.
func (c *cutter) mount() {
	z, g := c.a.Eye.Z, c.a.Eye.Ground
	foot := g
	for i := range c.line.Things { // on a roof
		if t := &c.line.Things[i]; t.Level && t.From == 0 && t.Top < z {
			foot = math.Max(foot, t.Top)
		}
	}
	c.stroke(DeviceLayer, SectionMount, c.pt(0, foot), c.pt(0, z))
	fall := c.a.Eye.Fall(c.a.Azimuth())
	state := State(0)
	if c.in.Hovered == HeightHandle {
		state = Hovered
	}
	c.add(DeviceLayer, Sensor, Item{Kind: MarkKind, At: c.pt(0, z), Bearing: 90 + math.Atan(fall*c.ex)*180/math.Pi, ID: c.a.Sensor.ID, Part: handleParts[HeightHandle], State: state})
	// The arm of the tilt runs along the axis, as long as there is room.
	l := math.Hypot(1, fall*c.ex) // metres of the list for a metre along x
	arm := c.dx(150, 36) / l
	_, _, d, _ := c.line.Meets(z, fall, 0)
	arm = math.Max(math.Min(arm, d*0.7), c.dx(44, 11)/l)
	tip := c.pt(arm, z-arm*fall)
	c.text(DimensionFigure, tiltText(c.a.Tilt), arm+c.dx(10, 2.5), z-arm*fall+c.dy(11, 2.8), Right)
	if c.theme.Medium.Paper {
		return // nothing to drag
	}
	c.stroke(HandleLayer, AimArm, c.pt(0, z), tip)
	handle := func(h Handle, at orb.Point) {
		it := Item{Kind: MarkKind, At: at, ID: c.a.Sensor.ID, Part: handleParts[h]}
		if c.in.Hovered == h {
			it.State = Hovered
		}
		c.add(HandleLayer, AimHandle, it)
	}
	c.stroke(HandleLayer, AimArm, c.pt(-c.dx(17, 4.2), z), c.pt(0, z))
	handle(HeightHandle, c.pt(-c.dx(17, 4.2), z))
	handle(TiltHandle, tip)
}

// oblique draws the stroke that ends a dimension.
func (c *cutter) oblique(p orb.Point) {
	r := c.dx(3.5, 0.9)
	c.stroke(BoundaryLayer, Dimension, orb.Point{p[0] - r, p[1] - r}, orb.Point{p[0] + r, p[1] + r})
}

// extension draws a thin line from the ground down to a dimension.
func (c *cutter) extension(d, to float64) {
	c.stroke(BoundaryLayer, SectionScale, c.pt(d, c.line.Height(d)-c.dy(6, 1.5)), c.pt(d, to-c.dy(5, 1.2)))
}

// dimensions gives the mount's height, the dead zone and the reach.
func (c *cutter) dimensions() {
	z, g := c.a.Eye.Z, c.a.Eye.Ground
	x := -c.dx(38, 9.6)
	c.stroke(BoundaryLayer, SectionScale, c.pt(x-c.dx(5, 1.2), z), c.pt(-c.dx(24, 6), z))
	c.stroke(BoundaryLayer, Dimension, c.pt(x, g), c.pt(x, z))
	c.oblique(c.pt(x, g))
	c.oblique(c.pt(x, z))
	c.text(DimensionFigure, shortMetres(c.a.Mount), x, (z+g)/2, Neither)

	first, second, third := c.row(76, 19), c.row(57, 14.3), c.row(38, 9.6)
	c.extension(0, third)
	c.axisRow(second)
	dead, ok := c.reach.Dead()
	if !ok {
		c.text(DimensionFigure, "not seen along the axis: "+c.reach.Why, c.dx(6, 1.5), first, Right)
		return
	}
	if dead > 0.005 {
		c.measure(dead, first, "dead zone "+metresText(dead))
	} else {
		c.text(DimensionFigure, "no dead zone", c.dx(6, 1.5), first, Right)
	}
	far, _ := c.reach.Far()
	c.measure(far, third, "reach "+metresText(far))
}

// words says what the drawing is of.
func (c *cutter) words() {
	parts := []string{"along " + degrees(c.a.Bearing)}
	if c.a.Aside != 0 {
		side := "right"
		if c.a.Aside < 0 {
			side = "left"
		}
		parts[0] += fmt.Sprintf(", %s %s of the axis", degrees(math.Abs(c.a.Aside)), side)
	}
	height := shortMetres(c.reach.Target.Height)
	if c.reach.Name != "" {
		height = c.reach.Name + ", " + height
	} else {
		height = "target, " + height
	}
	parts = append(parts, "bars: "+height)
	if c.ex == 1 {
		parts = append(parts, "heights to scale")
	} else {
		parts = append(parts, fmt.Sprintf("heights drawn %s times", strconv.FormatFloat(c.ex, 'f', -1, 64)))
	}
	text := strings.Join(parts, "  ·  ")
	_, right, _, _ := c.margins()
	at := c.s.View.ToGrid(orb.Point{c.in.Width - right, c.u(11, 2.8)})
	c.text(ChainageFigure, text, at[0], at[1]/c.ex, Left)
}

// metresText prints a distance as one says it: 9.3 m, 43 m.
func metresText(v float64) string {
	if v < 20 {
		return fmt.Sprintf("%.1f m", v)
	}
	return fmt.Sprintf("%.0f m", v)
}

// shortMetres prints a height as it was given, to a centimetre.
func shortMetres(v float64) string { return trimmed(v) + " m" }

func trimmed(v float64) string {
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", v), "0"), ".")
}

func degrees(v float64) string { return trimmed(v) + "°" }

func tiltText(v float64) string {
	switch {
	case v > 0:
		return degrees(v) + " down"
	case v < 0:
		return degrees(-v) + " up"
	}
	return "level"
}

// Place returns the distance from the optical centre and the height, in the
// height system of the ground, at the unit point u.
func (s *Section) Place(u orb.Point) (distance, height float64) {
	p := s.View.ToGrid(u)
	return p[0], p[1] / s.Exaggeration
}

// Hit returns the handle within tolUnits of the unit point u. The sensor's mark
// is its height's handle too, and the mark where the axis ends its tilt's.
func (s *Section) Hit(u orb.Point, tolUnits float64) Handle {
	for _, h := range s.List.Hit(s.View.ToGrid(u), tolUnits*s.View.MetresPerUnit, s.View.MetresPerUnit) {
		for i, part := range handleParts {
			if i > 0 && h.Part == part {
				return Handle(i)
			}
		}
	}
	return NoHandle
}

// HandleAt returns the unit point at which a handle is drawn; of those that are
// drawn twice the one nearest to near.
func (s *Section) HandleAt(h Handle, near orb.Point) (u orb.Point, ok bool) {
	best := math.Inf(1)
	for i := range s.List.Items {
		it := &s.List.Items[i]
		if h == NoHandle || it.Kind != MarkKind || it.Part != handleParts[h] {
			continue
		}
		at := s.View.ToUnit(it.At)
		if d := math.Hypot(at[0]-near[0], at[1]-near[1]); d < best {
			best, u, ok = d, at, true
		}
	}
	return u, ok
}

// Steps of what is dragged, and the limits of the contract, section 2.
const (
	mountStep, minMount, maxMount = 0.05, 0.05, 60.0 // metres; the step chosen
	tiltDragStep                  = 0.1              // degrees; chosen, what a bracket can be set to
)

// MountAt returns the mount height in metres, above the ground at the mount, that
// puts the optical centre level with the unit point u, to 5 cm and within the
// range a mount height may have.
func (s *Section) MountAt(u orb.Point) float64 {
	_, h := s.Place(u)
	return clamp(math.Round((h-s.ground)/mountStep)*mountStep, minMount, maxMount)
}

// TiltAt returns the tilt in degrees that lets the axis run through the unit
// point u, to a tenth and within the range a tilt may have. Left of the mount it
// is as if u lay straight above or below it.
func (s *Section) TiltAt(u orb.Point) float64 {
	d, h := s.Place(u)
	deg := math.Atan2(s.Aim.Eye.Z-h, math.Max(d, 1e-9)) * 180 / math.Pi
	return clamp(math.Round(deg/tiltDragStep)*tiltDragStep, aim.MinTilt, aim.MaxTilt)
}
