package mapview

import (
	"fmt"
	"math"
	"strconv"

	"github.com/paulmach/orb"

	"pleach/ui/drawing"
	"pleach/ui/editor"
)

// under lists what the pointer is over, with a halo.
func (m *Map) under() *drawing.List {
	list := &drawing.List{}
	hovered(list, m.Layers.List(), m.Layers.listGrid == m.Layers.Grid, m.Editor.Hover(), m.Editor.Busy())
	return list
}

// over lists what is drawn above everything in each frame: the handles, the outline being drawn, figures beside the pointer.
func (m *Map) over() *drawing.List {
	list := &drawing.List{}
	e := m.Editor
	if arm, ok := e.Arm(m.Unit()); ok {
		list.Add(drawing.Item{Layer: drawing.HandleLayer, Kind: drawing.LineKind, Meaning: drawing.AimArm, Line: orb.LineString{arm.From, arm.Reach}})
		if at, ok := m.pointAt(arm.From); ok {
			list.Add(at)
		}
	}
	for _, h := range e.Handles(m.Unit()) {
		it := drawing.Item{Layer: drawing.HandleLayer, Kind: drawing.MarkKind, Meaning: h.Meaning, At: h.At}
		if hv := e.Hover(); hv.ID == h.ID && hv.Part == h.Part && hv.Hit.Index == h.Index {
			it.State |= drawing.Hovered
		}
		if i, ok := e.Vertex(); ok && h.Part == "vertex" && i == h.Index {
			it.State |= drawing.Selected
		}
		list.Add(it)
	}
	outline(list, e)
	if b, ok := e.Box(); ok {
		r := b.ToRing()
		list.Add(drawing.Item{Layer: drawing.HandleLayer, Kind: drawing.AreaKind, Meaning: drawing.Draft, Area: orb.MultiPolygon{{r}}})
	}
	if m.Overlay != nil {
		m.Overlay(list, m)
	}
	if text := m.figures(); text != "" {
		at := m.grid(m.pointer)
		list.Add(drawing.Item{Layer: drawing.LabelLayer, Kind: drawing.LabelKind, Meaning: drawing.Note, Text: text,
			At: orb.Point{at[0] + 14*m.Unit(), at[1] - 10*m.Unit()}, Priority: 127, Must: true})
	}
	list.Arrange()
	return list
}

// pointAt is the mark of a device that stands at a place, to be drawn again
// above its arm.
func (m *Map) pointAt(at orb.Point) (drawing.Item, bool) {
	l := m.Layers.List()
	if l == nil || m.Layers.listGrid != m.Layers.Grid {
		return drawing.Item{}, false
	}
	for i := range l.Items {
		it := l.Items[i]
		if it.Layer == drawing.DeviceLayer && it.Kind == drawing.MarkKind && it.State.Has(drawing.Selected) && near(it.At, at, 0.01) {
			return it, true
		}
	}
	return drawing.Item{}, false
}

func near(a, b orb.Point, d float64) bool { return math.Hypot(a[0]-b[0], a[1]-b[1]) <= d }

// figures are what the pointer carries: the readout of a drag or of drawing.
func (m *Map) figures() string {
	if !m.inside {
		return ""
	}
	if s := m.Editor.Measure(); s != "" {
		return s
	}
	if m.Editor.Busy() && m.Editor.Drafting() {
		return m.Editor.Message()
	}
	return ""
}

// outline draws the corners so far and the leg to the pointer.
func outline(list *drawing.List, e *editor.Editor) {
	pts := e.Outline()
	if len(pts) == 0 {
		return
	}
	line := append(append(orb.LineString(nil), pts...), e.At())
	if e.Tool().Shape == editor.AreaShape && len(line) > 3 {
		list.Add(drawing.Item{Layer: drawing.HandleLayer, Kind: drawing.AreaKind, Meaning: drawing.Draft, Area: orb.MultiPolygon{{append(orb.Ring(line), line[0])}}})
	} else {
		list.Add(drawing.Item{Layer: drawing.HandleLayer, Kind: drawing.LineKind, Meaning: drawing.Draft, Line: line})
	}
	for i, p := range pts {
		it := drawing.Item{Layer: drawing.HandleLayer, Kind: drawing.MarkKind, Meaning: drawing.VertexHandle, At: p}
		if i == 0 && e.Tool().Shape == editor.AreaShape && len(pts) >= 3 {
			it.Meaning = drawing.AimHandle // closes the outline
		}
		list.Add(it)
	}
}

// hovered draws what the pointer is over once more, with a halo.
func hovered(over, list *drawing.List, sameGrid bool, t editor.Target, busy bool) {
	if t.ID == "" || list == nil || busy || !sameGrid {
		return
	}
	for i := range list.Items {
		it := list.Items[i]
		if it.ID != t.ID || it.Kind == drawing.LabelKind || it.State.Has(drawing.Selected) {
			continue
		}
		if t.Hit.Meaning != it.Meaning && it.Kind != drawing.MarkKind {
			continue
		}
		if t.Hit.Part != "" && (it.Part != t.Hit.Part || it.Index != t.Hit.Index) {
			continue
		}
		it.State |= drawing.Hovered
		it.Layer = drawing.HandleLayer
		if it.Kind != drawing.AreaKind {
			over.Add(it)
			continue
		}
		for _, poly := range it.Area {
			for _, ring := range poly {
				over.Add(drawing.Item{Layer: drawing.HandleLayer, Kind: drawing.LineKind, Meaning: it.Meaning, State: drawing.Hovered, Line: orb.LineString(ring)})
			}
		}
	}
}

// lengthWords says a round length.
func lengthWords(v float64) string {
	switch {
	case v >= 1000:
		return strconv.FormatFloat(v/1000, 'f', -1, 64) + " km"
	case v >= 1:
		return strconv.FormatFloat(v, 'f', -1, 64) + " m"
	case v >= 0.01:
		return fmt.Sprintf("%.0f cm", v*100)
	}
	return fmt.Sprintf("%.0f mm", v*1000)
}
