package panel

import (
	"unicode"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"github.com/paulmach/orb"

	"pleach/model"
	"pleach/ui/drawing"
	"pleach/ui/editor"
)

// Tools is the list of tools: the legend of the drawing, to be taken in hand.
type Tools struct {
	Object fyne.CanvasObject
	rows   map[editor.Tool]*Row
	ed     func() *editor.Editor
}

// toolGroups are the tools as they stand in the list.
var toolGroups = []struct {
	title string
	tools []editor.Tool
}{
	{"", []editor.Tool{editor.SelectTool}},
	{"Devices", []editor.Tool{editor.SensorTool, editor.RepeaterTool, editor.ReceiverTool, editor.MaskTool}},
	{"Boundary", []editor.Tool{{Kind: model.KindBoundary, Shape: model.Area}, {Kind: model.KindBoundary, Shape: model.Line}, {Kind: model.KindGate, Shape: model.Point}, {Kind: model.KindExcluded, Shape: model.Line}}},
	{"Site", []editor.Tool{{Kind: model.KindBuilding, Shape: model.Area}, {Kind: model.KindObstacle, Shape: model.Line}, {Kind: model.KindObstacle, Shape: model.Area},
		{Kind: model.KindFoliage, Shape: model.Area}, {Kind: model.KindRoad, Shape: model.Line}, {Kind: model.KindFootpath, Shape: model.Line},
		{Kind: model.KindNeighbour, Shape: model.Area}, {Kind: model.KindPremises, Shape: model.Area}, {Kind: model.KindAsset, Shape: model.Point}, {Kind: model.KindAsset, Shape: model.Area},
		{Kind: model.KindHazard, Shape: model.Point}, {Kind: model.KindHazard, Shape: model.Line}, {Kind: model.KindHazard, Shape: model.Area}, {Kind: model.KindView, Shape: model.Area}}},
}

// drawMask is the sample of the tool Mask: a pattern with a part taken out.
func drawMask(l *drawing.List) {
	wedge := func(up, down float64) {
		r := orb.Ring{{-11, 0}, {11, up}, {11, down}, {-11, 0}}
		l.Add(drawing.Item{Kind: drawing.AreaKind, Meaning: drawing.Footprint, Area: orb.MultiPolygon{{r}}})
	}
	wedge(7, 2.5)
	wedge(-2.5, -7)
}

// drawSelect is the sample of the tool that selects: a line with its handles.
func drawSelect(l *drawing.List) {
	a, b := orb.Point{-9, -3}, orb.Point{9, 3}
	l.Add(drawing.Item{Kind: drawing.LineKind, Meaning: drawing.AimArm, Line: orb.LineString{a, b}})
	for _, p := range []orb.Point{a, b} {
		l.Add(drawing.Item{Kind: drawing.MarkKind, Meaning: drawing.VertexHandle, At: p})
	}
}

// KindMeaning is the meaning of a sound feature of a kind.
func KindMeaning(k model.Kind) drawing.Meaning {
	switch k {
	case model.KindBoundary:
		return drawing.Boundary
	case model.KindExcluded:
		return drawing.Excluded
	case model.KindPremises:
		return drawing.Premises
	case model.KindGate:
		return drawing.Gate
	case model.KindAsset:
		return drawing.Asset
	case model.KindRoad:
		return drawing.RoadPublic
	case model.KindFootpath:
		return drawing.Footpath
	case model.KindNeighbour:
		return drawing.Neighbour
	case model.KindBuilding:
		return drawing.Building
	case model.KindFoliage:
		return drawing.Foliage
	case model.KindObstacle:
		return drawing.Obstacle
	case model.KindHazard:
		return drawing.Hazard
	case model.KindView:
		return drawing.CameraView
	case model.KindSensor:
		return drawing.Sensor
	case model.KindRepeater:
		return drawing.Repeater
	case model.KindReceiver:
		return drawing.Receiver
	case model.KindReading:
		return drawing.Reading
	}
	return drawing.None
}

// NewTools makes the list for the editor that ed returns.
func NewTools(look *Look, ed func() *editor.Editor) *Tools {
	t := &Tools{rows: map[editor.Tool]*Row{}, ed: ed}
	box := VBox(0)
	for i, g := range toolGroups {
		if g.title != "" {
			top := float32(10)
			if i == 0 {
				top = 0
			}
			box.Add(Inset(NewLine(g.title, ColorSoft, SizeNameSmall), 12, top, 8, 3))
		}
		for _, tool := range g.tools {
			swatch := NewSwatch(look, KindMeaning(tool.Kind), fyne.NewSize(30, 18))
			switch {
			case tool.Mask:
				swatch.Draw = drawMask
			case tool.Kind == "":
				swatch.Draw = drawSelect
			case tool.Places() && tool.Kind != model.KindGate:
				swatch.Draw = func(l *drawing.List) {
					l.Add(drawing.Item{Kind: drawing.MarkKind, Meaning: KindMeaning(tool.Kind), Bearing: 90})
				}
			}
			name := NewLine(tool.Label(), "", "").Cut()
			key := NewLine("", ColorSoft, SizeNameSmall)
			if k := tool.Key(); k != 0 {
				key.text = string(unicode.ToUpper(k))
			}
			row := NewRow(container.New(&padded{top: 3, bottom: 3}, container.NewBorder(nil, nil, container.NewCenter(swatch), Inset(key, 0, 1.5, 2, 0), Inset(name, 8, 1, 0, 0))), func() {
				t.ed().Take(tool)
			})
			row.Pad = 12
			t.rows[tool] = row
			box.Add(row)
		}
	}
	t.Object = Inset(container.NewVScroll(box), 0, 8, 0, 8)
	t.Update()
	return t
}

// Update marks the tool in hand.
func (t *Tools) Update() {
	now := t.ed().Tool()
	for tool, row := range t.rows {
		row.SetChosen(tool == now)
	}
}
