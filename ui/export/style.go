package export

import (
	"pleach/model/handover"
	"pleach/model/layer"
	"pleach/ui/drawing"
)

// A drawn class is one that a layer draws, as the map draws a meaning.
type drawn struct {
	class   string
	meaning drawing.Meaning
}

// drawnBy lists the classes of each layer from the ground up.
var drawnBy = map[string][]drawn{
	"site_areas":         {{handover.Neighbour, drawing.Neighbour}, {handover.Premises, drawing.Premises}, {handover.View, drawing.CameraView}, {handover.Asset, drawing.Asset}, {handover.Hazard, drawing.Hazard}},
	"roads":              {{handover.RoadPublic, drawing.RoadPublic}, {handover.RoadPrivate, drawing.RoadPrivate}, {handover.Footpath, drawing.Footpath}, {handover.FootpathPrivate, drawing.FootpathPrivate}},
	"foliage":            {{handover.Foliage, drawing.Foliage}},
	"buildings":          {{handover.Building, drawing.Building}},
	"obstacle_areas":     {{handover.Obstacle, drawing.Obstacle}, {handover.ObstacleMesh, drawing.ObstacleMesh}},
	"obstacles":          {{handover.Obstacle, drawing.Obstacle}, {handover.ObstacleMesh, drawing.ObstacleMesh}},
	"site_lines":         {{handover.Hazard, drawing.Hazard}, {handover.Closed, drawing.Excluded}},
	"site_points":        {{handover.Asset, drawing.Asset}, {handover.Hazard, drawing.Hazard}},
	"footprints":         {{handover.Footprint, drawing.Footprint}, {handover.Screened, drawing.Screened}},
	"overspill":          {{handover.OverspillOpen, drawing.OverspillOpen}, {handover.OverspillNeighbour, drawing.OverspillNeighbour}, {handover.OverspillFootpath, drawing.OverspillFootpath}, {handover.OverspillRoad, drawing.OverspillRoad}, {handover.OverspillVehicle, drawing.OverspillVehicle}},
	"links":              {{handover.LinkUnused, drawing.LinkHeld}, {handover.LinkHeld, drawing.LinkHeld}, {handover.LinkThin, drawing.LinkThin}, {handover.LinkFails, drawing.LinkFails}},
	"boundaries":         {{handover.Boundary, drawing.Boundary}},
	"boundary_stretches": stretches,
	"posture_stretches":  stretches,
	"ways_in":            {{handover.WayIn, drawing.WayIn}, {handover.WayInSeen, drawing.WayInSeen}},
	"gates":              {{handover.Gate, drawing.Gate}},
	"devices":            {{handover.Sensor, drawing.Sensor}, {handover.Repeater, drawing.Repeater}, {handover.Receiver, drawing.Receiver}},
	"findings":           {{handover.Finding, drawing.Finding}},
}

var stretches = []drawn{{handover.Covered, drawing.Covered}, {handover.Overlap, drawing.Overlap}, {handover.Shallow, drawing.Shallow}, {handover.HeadOn, drawing.HeadOn}, {handover.Closed, drawing.Excluded},
	{handover.Gap, drawing.Gap}, {handover.GapAccepted, drawing.GapAccepted}}

// marks are the forms of points.
var marks = map[string]layer.Mark{handover.Sensor: layer.HalfDisc, handover.Repeater: layer.Lozenge, handover.Receiver: layer.Square,
	handover.Hazard: layer.Triangle, handover.Finding: layer.Triangle}

// styled gives every layer its styles, from the table that draws the map.
func styled(s layer.Set) layer.Set {
	theme := drawing.NewTheme(drawing.Medium{Paper: true})
	for i := range s.Layers {
		l := &s.Layers[i]
		for _, d := range drawnBy[l.Name] {
			l.Styles = append(l.Styles, style(theme, l.Shape, d))
		}
	}
	return s
}

// ample is the margin above what is required at which the one colour of a class
// of links is taken: chosen, in the middle of the sequence.
const ample = 10.0

func style(theme *drawing.Theme, shape layer.Shape, d drawn) layer.Style {
	st := theme.Style(d.meaning)
	pen := st.Pen
	out := layer.Style{Class: d.class, Title: st.Legend, Fill: st.Fill, Mark: marks[d.class], Size: st.Size}
	switch d.class {
	case handover.LinkHeld, handover.LinkUnused:
		pen = theme.Link(d.meaning, ample)
	case handover.LinkThin:
		pen = theme.Link(d.meaning, drawing.ThinDB/2)
	case handover.LinkFails:
		pen = theme.Link(d.meaning, 0)
	case handover.Footprint, handover.Screened:
		if out.Fill.A == 0 {
			out.Fill = st.Dots.Colour
			out.Fill.A /= 3 // dots, seen from afar
		}
	case handover.Covered, handover.Overlap:
		// A band about the line, which shows through: beside it on our own map.
		pen.Width, pen.Colour.A = 2*pen.Width, 140
	}
	if d.class == handover.LinkUnused {
		out.Title = "Radio link, not in use"
		pen.Width, pen.Colour.A, pen.Dash = pen.Width/2, 110, []float64{0.5, 1}
	}
	if st.Hatch.Spacing > 0 {
		out.Hatch = st.Hatch.Spacing
		if pen.Width == 0 {
			pen.Colour = st.Hatch.Colour
		}
	}
	out.Stroke, out.Width, out.Dash = pen.Colour, pen.Width, pen.Dash
	switch {
	case shape == layer.Points:
		out.Fill, out.Stroke = st.Body, st.Ink
		if d.class == handover.Sensor {
			out.Fill = st.Ink
		}
		if out.Width == 0 {
			out.Width = 0.3
		}
		if out.Mark == "" {
			out.Mark = layer.Disc
		}
	case d.class == handover.Gate:
		out.Stroke, out.Width = st.Ink, 1.2
	}
	return out
}
