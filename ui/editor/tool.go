package editor

import "pleach/model"

// Tool is what a press of the pointer does. The zero value selects and moves.
type Tool struct {
	Kind  model.Kind   // of the feature it makes, "" for none
	Shape model.Shapes // of the feature it makes: Point, Line or Area
	Mask  bool         // drags a span of azimuths out of the selected sensor's pattern
}

// Tools of their own name.
var (
	SelectTool   = Tool{}
	MaskTool     = Tool{Mask: true}
	SensorTool   = Tool{Kind: model.KindSensor, Shape: model.Point}
	RepeaterTool = Tool{Kind: model.KindRepeater, Shape: model.Point}
	ReceiverTool = Tool{Kind: model.KindReceiver, Shape: model.Point}
)

// Tools lists every tool, in the order of the tool list.
var Tools = []Tool{
	SelectTool, SensorTool, RepeaterTool, ReceiverTool, MaskTool,
	{Kind: model.KindBoundary, Shape: model.Area},
	{Kind: model.KindBoundary, Shape: model.Line},
	{Kind: model.KindGate, Shape: model.Point},
	{Kind: model.KindExcluded, Shape: model.Line},
	{Kind: model.KindPremises, Shape: model.Area},
	{Kind: model.KindRoad, Shape: model.Line},
	{Kind: model.KindFootpath, Shape: model.Line},
	{Kind: model.KindNeighbour, Shape: model.Area},
	{Kind: model.KindBuilding, Shape: model.Area},
	{Kind: model.KindObstacle, Shape: model.Line},
	{Kind: model.KindObstacle, Shape: model.Area},
	{Kind: model.KindFoliage, Shape: model.Area},
	{Kind: model.KindAsset, Shape: model.Point},
	{Kind: model.KindAsset, Shape: model.Area},
	{Kind: model.KindHazard, Shape: model.Point},
	{Kind: model.KindHazard, Shape: model.Line},
	{Kind: model.KindHazard, Shape: model.Area},
	{Kind: model.KindView, Shape: model.Area},
}

// Draws reports whether the tool makes an outline of several vertices.
func (t Tool) Draws() bool { return t.Shape == model.Line || t.Shape == model.Area }

// Places reports whether the tool makes a feature of one point.
func (t Tool) Places() bool { return t.Shape == model.Point }

// Label names the tool in a word or two.
func (t Tool) Label() string {
	if t.Mask {
		return "Mask"
	}
	if t.Kind == "" {
		return "Select and move"
	}
	info, _ := model.Info(t.Kind)
	switch {
	case t.Kind == model.KindBoundary && t.Shape == model.Line:
		return "Open boundary"
	case t.Kind == model.KindObstacle && t.Shape == model.Line:
		return "Wall or fence"
	case t.Kind == model.KindHazard && t.Shape == model.Line:
		return "Hazard line"
	case (t.Kind == model.KindHazard || t.Kind == model.KindAsset) && t.Shape == model.Area:
		return info.Label + " area"
	}
	return info.Label
}

// Key is the letter that takes the tool in hand, 0 for none.
func (t Tool) Key() rune {
	switch t {
	case SelectTool:
		return 'v'
	case SensorTool:
		return 's'
	case RepeaterTool:
		return 'r'
	case ReceiverTool:
		return 'c'
	case MaskTool:
		return 'm'
	case Tool{Kind: model.KindBoundary, Shape: model.Area}:
		return 'b'
	case Tool{Kind: model.KindGate, Shape: model.Point}:
		return 'g'
	case Tool{Kind: model.KindBuilding, Shape: model.Area}:
		return 'h'
	case Tool{Kind: model.KindObstacle, Shape: model.Line}:
		return 'o'
	case Tool{Kind: model.KindFoliage, Shape: model.Area}:
		return 'f'
	case Tool{Kind: model.KindRoad, Shape: model.Line}:
		return 'w'
	case Tool{Kind: model.KindNeighbour, Shape: model.Area}:
		return 'n'
	}
	return 0
}

// Hint says how the tool is used, in one line.
func (t Tool) Hint() string {
	switch {
	case t.Mask:
		return "Drag round a selected sensor, across the part of its pattern to be masked."
	case t.Kind == "":
		return "Click selects, dragging moves. Drag empty ground to pan, turn the wheel to zoom."
	case t.Kind == model.KindSensor:
		return "Press where the sensor stands and drag towards what it shall watch. Shift places several."
	case t.Kind == model.KindGate:
		return "Click on the boundary where the gate is: within 5 m of it is on it."
	case t.Places():
		return "Click where it stands. Shift places several."
	case t.Kind == model.KindExcluded:
		return "Click where the stretch begins on the boundary and where it ends, then press Enter."
	case t.Kind == model.KindBoundary && t.Shape == model.Line:
		return "Click along the line, the inside on the left. Enter or a double click ends it, Backspace takes the last point back."
	case t.Shape == model.Line:
		return "Click along the line. Enter or a double click ends it, Backspace takes the last point back."
	}
	return "Click the corners. Enter or a double click closes the outline, Backspace takes the last corner back."
}

// Tool returns the tool in hand.
func (e *Editor) Tool() Tool { return e.tool }

// Take takes another tool in hand. An outline that was being drawn is forgotten.
func (e *Editor) Take(t Tool) {
	if t == e.tool {
		return
	}
	e.letGo()
	e.tool, e.outline = t, nil
	e.hover = Target{}
	e.tell(ToolChanged | OverlayChanged | e.say(""))
}

// AreaShape is the shape of tools that draw a closed outline.
const AreaShape = model.Area
