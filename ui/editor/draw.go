package editor

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/model/scene"
)

// snap is how near to a boundary, in device-independent pixels, something that
// belongs on one is put onto it. Chosen.
const snap = 40.0

// atGate is how near to a boundary, in metres, a gate is put onto it. Chosen.
const atGate = 5.0

// placed is where a point feature is put: a gate goes onto its boundary, and
// follows it while it is dragged. refused says why it cannot stand there, "" where
// it can.
func (e *Editor) placed(p Pointer) (at orb.Point, refused string) {
	if e.tool.Kind != model.KindGate {
		return p.At, ""
	}
	b, s, d := e.nearestBoundary(e.Settled(), p.At)
	switch {
	case b == nil:
		return p.At, "A gate stands on a boundary: draw the boundary first."
	case d > math.Max(atGate, grasp*p.Unit) && !(e.held != nil && e.held.add != nil):
		return p.At, fmt.Sprintf("A gate stands on a boundary: click within %.0f m of it. %s is %.0f m from here.", atGate, b.Feature.Title(), d)
	}
	return b.Point(s), ""
}

// onBoundary returns the nearest place on a boundary within reach, else at.
func (e *Editor) onBoundary(p *model.Plan, at orb.Point, reach float64) orb.Point {
	if b, s, d := e.nearestBoundary(p, at); b != nil && d <= reach {
		return b.Point(s)
	}
	return at
}

// snapped is where a corner of an outline is put.
func (e *Editor) snapped(p Pointer) orb.Point {
	if e.tool.Kind == model.KindExcluded {
		return e.onBoundary(e.Settled(), p.At, snap*p.Unit)
	}
	return p.At
}

func (e *Editor) pressPlace(p Pointer, h *held, c *Change) bool {
	at, refused := e.placed(p)
	if refused != "" {
		e.held = nil
		*c |= e.say(refused)
		return false
	}
	f := e.newFeature(h.base, e.tool, e.grid.ToLonLat(at), at)
	h.grip, h.id, h.add = gripPlace, f.ID, f
	h.edit = model.Add{Features: []*model.Feature{f}}
	next, err := h.edit.Apply(h.base)
	if err != nil {
		e.held = nil
		*c |= e.say(err.Error())
		return false
	}
	e.draft = next
	e.selected, e.vertex = []string{f.ID}, -1
	*c |= PlanChanged | SelectionChanged | OverlayChanged
	return true
}

func (e *Editor) finishPlace(h *held, p Pointer) Change {
	c := e.commit(h.edit)
	if !p.More {
		e.tool = SelectTool
		c |= ToolChanged
	}
	return c
}

// Outline returns the corners drawn so far.
func (e *Editor) Outline() []orb.Point { return e.outline }

// pressCorner adds a corner, or closes an outline that is pressed on its first.
func (e *Editor) pressCorner(p Pointer) {
	at := e.snapped(p)
	if n := len(e.outline); n > 0 {
		near := func(q orb.Point) bool { return math.Hypot(p.At[0]-q[0], p.At[1]-q[1]) <= touch*p.Unit }
		if near(e.outline[n-1]) {
			return // the second press of a double click
		}
		if e.tool.Shape == model.Area && n >= 3 && near(e.outline[0]) {
			e.held = nil
			e.Finish()
			return
		}
	}
	e.outline = append(e.outline, at)
}

// Back takes the last corner of the outline back; it reports false where there
// is none.
func (e *Editor) Back() bool {
	n := len(e.outline)
	if n == 0 {
		return false
	}
	e.outline = e.outline[:n-1]
	e.tell(OverlayChanged | e.say(""))
	return true
}

// Finish ends the outline being drawn and makes its feature. Where it cannot,
// the outline stays and Message says why; it then reports false.
func (e *Editor) Finish() bool {
	e.letGo()
	if !e.tool.Draws() || len(e.outline) == 0 {
		return false
	}
	need, word := 2, "a line needs at least 2 points"
	if e.tool.Shape == model.Area {
		need, word = 3, "an outline needs at least 3 corners"
	}
	if len(e.outline) < need {
		e.tell(e.say(fmt.Sprintf("%s has %d: %s.", e.tool.Label(), len(e.outline), word)))
		return false
	}
	p := e.Settled()
	f := e.newFeature(p, e.tool, e.grid.Back(e.drawnShape(p)), e.outline[0])
	if len(f.Flaws) > 0 {
		e.tell(e.say(f.Flaws[0].Error()))
		return false
	}
	e.outline = nil
	e.tool = SelectTool
	c := e.commit(model.Add{Features: []*model.Feature{f}}) | ToolChanged | SelectionChanged
	e.selected, e.vertex = []string{f.ID}, -1
	e.tell(c | e.say(""))
	return true
}

// drawnShape is the outline as a geometry on the site grid. Outer rings run
// anticlockwise (RFC 7946, section 3.1.6) from the first corner.
func (e *Editor) drawnShape(p *model.Plan) orb.Geometry {
	if e.tool.Shape == model.Line {
		if e.tool.Kind == model.KindExcluded {
			if l := e.boundaryPart(p); l != nil {
				return l
			}
		}
		return append(orb.LineString(nil), e.outline...)
	}
	ring := append(append(orb.Ring(nil), e.outline...), e.outline[0])
	if scene.SignedArea(ring) < 0 {
		for i, j := 0, len(ring)-1; i < j; i, j = i+1, j-1 {
			ring[i], ring[j] = ring[j], ring[i]
		}
	}
	return orb.Polygon{ring}
}

// boundaryPart is the stretch of boundary between the two ends drawn, the
// shorter way; nil where they do not lie on one boundary.
func (e *Editor) boundaryPart(p *model.Plan) orb.LineString {
	if len(e.outline) != 2 {
		return nil
	}
	a, s, da := e.nearestBoundary(p, e.outline[0])
	b, t, db := e.nearestBoundary(p, e.outline[1])
	const on = 0.5 // metres, as near as the contract asks of an excluded stretch
	if a == nil || a.Feature != b.Feature || da > on || db > on || s == t {
		return nil
	}
	if s > t {
		s, t = t, s
	}
	if a.Closed && t-s > a.Length()/2 {
		s, t = t, s
	}
	return a.Part(s, t)
}
