package editor

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/ui/drawing"
)

// Pointer is a place under the pointer.
type Pointer struct {
	At   orb.Point // site grid of Editor.Grid, metres
	Unit float64   // metres a device-independent pixel
	More bool      // Shift: adds to the selection, places several, turns by 5°
}

// How near counts, in device-independent pixels. Chosen.
const (
	grasp = 9.0 // to a handle
	touch = 5.0 // to what is drawn
	still = 3.0 // a press that moves less is a click
)

// Target is what the pointer is over.
type Target struct {
	ID   string
	Part string // of a handle, or of what is drawn: "gap"
	Hit  drawing.Hit
}

// Hover returns what the pointer is over.
func (e *Editor) Hover() Target { return e.hover }

// At returns where the pointer was last, on the site grid.
func (e *Editor) At() orb.Point { return e.pointer }

type grip uint8

const (
	gripGround grip = iota // nothing: a click may still select
	gripShapes             // one or more whole features
	gripVertex
	gripMiddle // a new vertex
	gripAim
	gripMaskEnd
	gripMaskNew
	gripPlace // a new point feature, pressed and perhaps aimed
	gripCorner
	gripBox
	gripNudge
	gripTune // a number, from elsewhere than the map
)

// held is what a press took hold of.
type held struct {
	grip   grip
	base   *model.Plan // what the drag began on
	id     string
	ids    []string
	index  int
	offset orb.Point // from the pointer to the thing
	press  orb.Point
	moved  bool
	edit   model.Edit
	clear  bool // a click that goes nowhere clears the selection
	hit    drawing.Hit
	hasHit bool
	turn   float64 // degrees swept by a mask drag
	last   float64 // its azimuth before
	spans  []model.Sector
	add    *model.Feature
	corner orb.Point // of a box
	shift  orb.Point // of a nudge

	property string // that is tuned
	far      string // the other end of the link that was pressed
}

// Hand is what the pointer would do, for its shape.
type Hand uint8

// The hands.
const (
	Arrow Hand = iota
	Grab       // something can be taken hold of or selected
	Cross      // places or draws
)

// Hand returns what a press here would do.
func (e *Editor) Hand() Hand {
	switch {
	case e.tool.Kind != "" || e.tool.Mask && e.hover.ID == "":
		return Cross
	case e.hover.ID != "":
		return Grab
	}
	return Arrow
}

// Move follows the pointer while nothing is pressed.
func (e *Editor) Move(p Pointer) {
	e.pointer = p.At
	var c Change
	if len(e.outline) > 0 {
		c |= OverlayChanged
	}
	t := Target{}
	if h, ok := e.handleAt(p.At, p.Unit); ok {
		t = Target{ID: h.ID, Part: h.Part, Hit: drawing.Hit{Index: h.Index, ID: h.ID, Meaning: h.Meaning}}
	} else if e.tool.Kind == "" {
		if h, ok := e.hitAt(p); ok {
			t = Target{ID: h.ID, Part: h.Part, Hit: h}
		}
	}
	if t != e.hover {
		e.hover = t
		c |= OverlayChanged
	}
	e.tell(c)
}

// Leave forgets what the pointer was over.
func (e *Editor) Leave() {
	if e.hover != (Target{}) {
		e.hover = Target{}
		e.tell(OverlayChanged)
	}
}

func (e *Editor) hitAt(p Pointer) (drawing.Hit, bool) {
	if e.list == nil {
		return drawing.Hit{}, false
	}
	for _, h := range e.list.Hit(p.At, touch*p.Unit, p.Unit) {
		f := e.Plan().Feature(h.ID)
		if f == nil || f.Kind == model.KindPremises && !e.onOutline(f, p) {
			continue
		}
		return h, true
	}
	return drawing.Hit{}, false
}

// onOutline reports whether the pointer is on the outline of a feature. The
// premises are picked by it alone: all work on a site happens within them.
func (e *Editor) onOutline(f *model.Feature, p Pointer) bool {
	vs := vertices(f.Geometry)
	for _, ed := range edges(f.Geometry) {
		if toSegment(p.At, e.grid.ToSite(vs[ed.from]), e.grid.ToSite(vs[ed.to])) <= touch*p.Unit {
			return true
		}
	}
	return false
}

// toSegment is the distance from p to the segment from a to b.
func toSegment(p, a, b orb.Point) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = math.Max(0, math.Min(1, ((p[0]-a[0])*dx+(p[1]-a[1])*dy)/l))
	}
	return math.Hypot(a[0]+t*dx-p[0], a[1]+t*dy-p[1])
}

// Press takes hold of what is under the pointer. It reports false where there
// is nothing to hold: the view may pan, and still calls Drop or Cancel.
func (e *Editor) Press(p Pointer) bool {
	e.letGo()
	e.pointer = p.At
	h := &held{base: e.Settled(), press: p.At}
	e.held = h
	var c Change
	defer func() { e.tell(c) }()
	c |= e.say("")
	switch {
	case e.tool.Places():
		return e.pressPlace(p, h, &c)
	case e.tool.Draws():
		h.grip = gripCorner
		e.pressCorner(p)
		c |= OverlayChanged
		return true
	case e.tool.Mask:
		return e.pressMask(p, h, &c)
	}
	if hd, ok := e.handleAt(p.At, p.Unit); ok {
		e.pressHandle(hd, h, &c)
		return true
	}
	hit, ok := e.hitAt(p)
	h.hit, h.hasHit = hit, ok
	if ok {
		if hit.Part == "link" {
			h.far = e.list.Items[hit.Item].Text
		}
		f := e.Plan().Feature(hit.ID)
		mark := pickable(hit, f)
		was := e.IsSelected(hit.ID)
		if mark && !was && !p.More {
			e.selected, e.vertex = []string{hit.ID}, -1
			c |= SelectionChanged | OverlayChanged
			was = true
		}
		if !p.More && was && (mark || movable(hit, f)) {
			h.grip, h.ids = gripShapes, slices.Clone(e.selected)
			return true
		}
		return false
	}
	if p.More {
		h.grip, h.corner = gripBox, p.At
		return true
	}
	h.clear = true
	return false
}

// pickable reports whether a hit is the mark of a feature that stands on a
// point: those move when they are dragged at once.
func pickable(hit drawing.Hit, f *model.Feature) bool {
	_, point := f.Geometry.(orb.Point)
	if !point {
		return false
	}
	switch hit.Meaning {
	case drawing.Sensor, drawing.SensorFlagged, drawing.Repeater, drawing.Receiver, drawing.Gate, drawing.Asset, drawing.Hazard, drawing.Reading:
		return true
	}
	return false
}

// movable reports whether a selected outline moves as a whole when dragged by
// what was hit. Boundaries and what belongs to them do not: their vertices do.
func movable(hit drawing.Hit, f *model.Feature) bool {
	if _, point := f.Geometry.(orb.Point); point {
		return false
	}
	switch f.Kind {
	case model.KindBoundary, model.KindPremises, model.KindExcluded:
		return false
	}
	switch hit.Meaning {
	case drawing.Neighbour, drawing.RoadPublic, drawing.RoadPrivate, drawing.Footpath, drawing.FootpathPrivate, drawing.Foliage, drawing.Asset,
		drawing.Building, drawing.Obstacle, drawing.ObstacleMesh, drawing.Hazard, drawing.CameraView, drawing.Gate:
		return true
	}
	return false
}

func (e *Editor) pressHandle(hd Handle, h *held, c *Change) {
	h.id, h.index = hd.ID, hd.Index
	h.offset = orb.Point{hd.At[0] - h.press[0], hd.At[1] - h.press[1]}
	switch hd.Part {
	case "vertex":
		h.grip = gripVertex
		if e.vertex != hd.Index {
			e.vertex = hd.Index
			*c |= SelectionChanged | OverlayChanged
		}
	case "middle":
		h.grip = gripMiddle
	case "aim":
		h.grip = gripAim
	case "mask", "side":
		s := h.base.Feature(hd.ID).Value.(*model.Sensor)
		h.spans = slices.Clone(s.Masked)
		if hd.Part == "mask" {
			h.grip = gripMaskEnd
			sp := s.Masked[hd.Index/2]
			h.last = sp.From
			if hd.Index%2 == 1 {
				h.last = sp.To
			}
			return
		}
		h.grip = gripMaskNew
		m, _ := h.base.Model(s.Model)
		left, right, _ := sides(m)
		h.last = left
		if hd.Index == 1 {
			h.last = right
		}
	}
}

func (e *Editor) pressMask(p Pointer, h *held, c *Change) bool {
	if hd, ok := e.handleAt(p.At, p.Unit); ok {
		e.pressHandle(hd, h, c)
		return true
	}
	f := e.single()
	var s *model.Sensor
	if f != nil {
		s, _ = f.Value.(*model.Sensor)
	}
	if hit, ok := e.hitAt(p); ok && pickable(hit, e.Plan().Feature(hit.ID)) || s == nil && ok {
		h.hit, h.hasHit = hit, true // a click selects the sensor to be masked
		return false
	}
	if s == nil {
		*c |= e.say("Select the sensor whose pattern is to be masked first.")
		return false
	}
	h.grip, h.id, h.spans = gripMaskNew, f.ID, slices.Clone(s.Masked)
	at := e.grid.ToSite(f.Geometry.(orb.Point))
	h.last = tidy(turned(s.Bearing, e.trueBearing(at, p.At)), 0.5)
	return true
}

// Drag moves what is held: the draft is the edit applied afresh to the plan the
// drag began on.
func (e *Editor) Drag(p Pointer) {
	h := e.held
	e.pointer = p.At
	if h == nil {
		return
	}
	if !h.moved && math.Hypot(p.At[0]-h.press[0], p.At[1]-h.press[1]) < still*p.Unit {
		return
	}
	h.moved = true
	var c Change
	switch h.grip {
	case gripGround:
		return
	case gripBox:
		h.corner = p.At
		c |= OverlayChanged
	case gripCorner:
		if n := len(e.outline); n > 0 {
			e.outline[n-1] = e.snapped(p)
			c |= OverlayChanged
		}
	default:
		step := e.dragged(h, p)
		if step == nil {
			break
		}
		next, err := step.Apply(h.base)
		if err != nil {
			c |= e.say(err.Error())
			break
		}
		if id := h.id; id != "" {
			f, before := next.Feature(id), h.base.Feature(id)
			if f != nil && len(f.Flaws) > 0 && (before == nil || before.Sound()) {
				c |= e.say(f.Flaws[0].Error())
				break // what was last drafted stays
			}
		}
		h.edit, e.draft = step, next
		c |= PlanChanged | OverlayChanged | e.say(e.readout(h))
	}
	e.tell(c)
}

// dragged is the step that the drag amounts to so far, nil for none.
func (e *Editor) dragged(h *held, p Pointer) model.Edit {
	to := orb.Point{p.At[0] + h.offset[0], p.At[1] + h.offset[1]}
	switch h.grip {
	case gripShapes:
		return e.moveAll(h.base, h.ids, p.At[0]-h.press[0], p.At[1]-h.press[1])
	case gripVertex:
		f := h.base.Feature(h.id)
		return model.Reshape{ID: h.id, To: moveVertex(f.Geometry, h.index, e.grid.ToLonLat(to)), Name: "move a vertex of " + h.id}
	case gripMiddle:
		f := h.base.Feature(h.id)
		return model.Reshape{ID: h.id, To: insertVertex(f.Geometry, h.index, e.grid.ToLonLat(to)), Name: "add a vertex to " + h.id}
	case gripAim:
		f := h.base.Feature(h.id)
		return aimed(h.id, e.trueBearing(e.grid.ToSite(f.Geometry.(orb.Point)), to), p.More)
	case gripMaskEnd, gripMaskNew:
		return e.dragMask(h, p)
	case gripPlace:
		f := h.add
		if f.Kind == model.KindSensor {
			b := e.trueBearing(e.grid.ToSite(f.Geometry.(orb.Point)), p.At)
			f = f.WithProperty("bearing_deg", turnTo(b, p.More))
		} else {
			at, refused := e.placed(p)
			if refused != "" {
				return nil
			}
			f = f.WithGeometry(e.grid.ToLonLat(at))
		}
		return model.Add{Features: []*model.Feature{f}}
	}
	return nil
}

// aimed is the step that turns a sensor to a true bearing.
func aimed(id string, bearing float64, coarse bool) model.Edit {
	return model.Set{ID: id, Values: []model.Value{{Property: "bearing_deg", Value: turnTo(bearing, coarse)}}, Name: "aim " + id}
}

// turnTo rounds a bearing to 0.1 degrees, or to 5.
func turnTo(bearing float64, coarse bool) float64 {
	step := 0.1
	if coarse {
		step = 5
	}
	return math.Mod(tidy(bearing, step), 360)
}

// moveAll is the step that moves features by metres.
func (e *Editor) moveAll(base *model.Plan, ids []string, east, north float64) model.Edit {
	var steps []model.Edit
	for _, id := range ids {
		f := base.Feature(id)
		if f == nil || f.Geometry == nil {
			continue
		}
		g := e.shifted(f.Geometry, east, north)
		if f.Kind == model.KindGate {
			if at, ok := g.(orb.Point); ok {
				g = e.grid.ToLonLat(e.onBoundary(base, e.grid.ToSite(at), alongReach))
			}
		}
		steps = append(steps, model.Reshape{ID: id, To: g})
	}
	switch len(steps) {
	case 0:
		return nil
	case 1:
		return steps[0]
	}
	return model.Together{Name: fmt.Sprintf("move %d features", len(steps)), Edits: steps}
}

func (e *Editor) dragMask(h *held, p Pointer) model.Edit {
	f := h.base.Feature(h.id)
	s := f.Value.(*model.Sensor)
	at := e.grid.ToSite(f.Geometry.(orb.Point))
	az := turned(s.Bearing, e.trueBearing(at, orb.Point{p.At[0] + h.offset[0], p.At[1] + h.offset[1]}))
	// The drag is followed round, so that more than half a turn can be masked.
	h.turn += turned(h.last+h.turn, az)
	h.turn = math.Max(-360, math.Min(360, h.turn))
	turn := tidy(h.turn, 0.5)
	spans := slices.Clone(h.spans)
	if h.grip == gripMaskEnd {
		sp := &spans[h.index/2]
		width := math.Mod(sp.To-sp.From, 360)
		if width <= 0 {
			width += 360
		}
		if h.index%2 == 0 {
			sp.From, width = tidy(sp.From+turn, 0.1), width-turn
		} else {
			sp.To, width = tidy(sp.To+turn, 0.1), width+turn
		}
		if width <= 0 {
			spans = slices.Delete(spans, h.index/2, h.index/2+1)
		} else if width >= 360 {
			spans = []model.Sector{{From: -180, To: 180}}
		}
		return setMask(h.id, merged(spans))
	}
	switch {
	case turn == 0:
		return setMask(h.id, merged(spans))
	case turn > 0:
		spans = append(spans, model.Sector{From: h.last, To: h.last + turn})
	default:
		spans = append(spans, model.Sector{From: h.last + turn, To: h.last})
	}
	return setMask(h.id, merged(spans))
}

// Drop lets go: what was dragged becomes one step, a press that did not move is
// a click.
func (e *Editor) Drop(p Pointer) {
	h := e.held
	if h == nil {
		return
	}
	e.pointer = p.At
	var c Change
	defer func() { e.tell(c) }()
	switch h.grip {
	case gripGround:
		e.held = nil
		if h.moved {
			return
		}
		c |= e.click(h, p)
		return
	case gripBox:
		e.held = nil
		c |= e.pickBox(h) | OverlayChanged
		return
	case gripCorner:
		e.held = nil
		c |= OverlayChanged
		return
	case gripPlace:
		e.held = nil
		c |= e.finishPlace(h, p)
		return
	}
	e.held = nil
	if h.edit == nil {
		if h.grip == gripShapes && len(e.selected) > 1 && h.hasHit {
			e.selected = []string{h.hit.ID}
			c |= SelectionChanged
		}
		e.draft = nil
		c |= OverlayChanged
		return
	}
	if h.grip == gripMiddle {
		e.vertex = edges(h.base.Feature(h.id).Geometry)[h.index].from + 1
		c |= SelectionChanged
	}
	c |= e.commit(h.edit)
}

func (e *Editor) commit(step model.Edit) Change {
	err := e.history.Do(step)
	c := e.afterStep()
	if err != nil {
		c |= e.say(err.Error())
	}
	return c
}

// click selects what was pressed without moving.
func (e *Editor) click(h *held, p Pointer) Change {
	if !h.hasHit {
		if !h.clear || len(e.selected) == 0 && e.link[0] == "" {
			return 0
		}
		e.selected, e.vertex, e.link = nil, -1, [2]string{}
		return SelectionChanged | OverlayChanged
	}
	id := h.hit.ID
	if h.far != "" && !p.More {
		return e.chooseLink(id, h.far)
	}
	switch {
	case p.More && e.IsSelected(id):
		e.selected = slices.DeleteFunc(slices.Clone(e.selected), func(s string) bool { return s == id })
	case p.More:
		e.selected = append(slices.Clone(e.selected), id)
	default:
		e.selected = []string{id}
	}
	e.vertex = -1
	return SelectionChanged | OverlayChanged
}

// Box returns the corners of the box being drawn round things to be selected.
func (e *Editor) Box() (b orb.Bound, ok bool) {
	if e.held == nil || e.held.grip != gripBox || !e.held.moved {
		return b, false
	}
	return orb.MultiPoint{e.held.press, e.held.corner}.Bound(), true
}

// pickBox adds to the selection what lies wholly in the box.
func (e *Editor) pickBox(h *held) Change {
	if !h.moved {
		return 0
	}
	b := orb.MultiPoint{h.press, h.corner}.Bound()
	before := len(e.selected)
	for _, f := range e.Settled().Features {
		if f.Kind == "" || f.Geometry == nil || f.ID == "" || e.IsSelected(f.ID) {
			continue
		}
		in := true
		for _, v := range vertices(f.Geometry) {
			in = in && b.Contains(e.grid.ToSite(v))
		}
		if in {
			e.selected = append(e.selected, f.ID)
		}
	}
	if len(e.selected) == before {
		return 0
	}
	e.vertex = -1
	return SelectionChanged
}

// Cancel forgets what is held; with nothing held the outline being drawn, then
// the tool, then the selection.
func (e *Editor) Cancel() {
	var c Change
	switch {
	case e.held != nil:
		h := e.held
		e.held = nil
		if e.draft != nil {
			e.draft = nil
			c |= PlanChanged
		}
		if h.grip == gripCorner && len(e.outline) > 0 {
			e.outline = nil
		}
		c |= OverlayChanged
	case len(e.outline) > 0:
		e.outline = nil
		c |= OverlayChanged
	case e.tool != SelectTool:
		e.tool = SelectTool
		c |= ToolChanged | OverlayChanged
	case e.vertex >= 0:
		e.vertex = -1
		c |= SelectionChanged | OverlayChanged
	case e.link[0] != "":
		e.link = [2]string{}
		c |= SelectionChanged | OverlayChanged
	case len(e.selected) > 0:
		e.selected = nil
		c |= SelectionChanged | OverlayChanged
	}
	e.tell(c | e.say(""))
}

// Nudge moves what is selected by metres. Several nudges are one step until
// Settle or the next other event.
func (e *Editor) Nudge(east, north float64) {
	if len(e.selected) == 0 {
		return
	}
	h := e.held
	if h == nil || h.grip != gripNudge || !slices.Equal(h.ids, e.selected) || h.index != e.vertex {
		e.letGo()
		h = &held{grip: gripNudge, base: e.Settled(), ids: slices.Clone(e.selected), index: e.vertex}
		e.held = h
	}
	h.shift[0] += east
	h.shift[1] += north
	var step model.Edit
	if f := h.base.Feature(h.ids[0]); h.index >= 0 && f != nil {
		at := e.grid.ToSite(vertices(f.Geometry)[h.index])
		to := e.grid.ToLonLat(orb.Point{at[0] + h.shift[0], at[1] + h.shift[1]})
		step = model.Reshape{ID: f.ID, To: moveVertex(f.Geometry, h.index, to), Name: "move a vertex of " + f.ID}
	} else {
		step = e.moveAll(h.base, h.ids, h.shift[0], h.shift[1])
	}
	if step == nil {
		e.held = nil
		return
	}
	for _, id := range h.ids {
		if msg := e.spoils(h.base, step, id); msg != "" {
			h.shift[0] -= east
			h.shift[1] -= north
			e.tell(e.say(msg))
			return
		}
	}
	next, err := step.Apply(h.base)
	if err != nil {
		e.tell(e.say(err.Error()))
		return
	}
	h.edit, e.draft = step, next
	e.tell(PlanChanged | OverlayChanged | e.say(e.readout(h)))
}

// Settle ends a nudge or what Tune drafted: the draft becomes one step.
func (e *Editor) Settle() {
	if e.held == nil || e.held.grip != gripNudge && e.held.grip != gripTune {
		return
	}
	e.letGo()
}
