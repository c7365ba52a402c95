package paint

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"pleach/ui/drawing"
)

// sector is a detection pattern on level ground as a polygon: bearing in
// degrees from north, width in degrees, n points along the arc.
func sector(at orb.Point, bearing, width, near, far float64, n int) orb.MultiPolygon {
	var r orb.Ring
	put := func(d, a float64) {
		s, c := math.Sincos(a * math.Pi / 180)
		r = append(r, orb.Point{at[0] + d*s, at[1] + d*c})
	}
	for i := 0; i <= n; i++ {
		put(far, bearing-width/2+width*float64(i)/float64(n))
	}
	if near > 0 {
		for i := n; i >= 0; i-- {
			put(near, bearing-width/2+width*float64(i)/float64(n))
		}
	} else {
		r = append(r, at)
	}
	return orb.MultiPolygon{{append(r, r[0])}}
}

func rect(x0, y0, x1, y1 float64) orb.MultiPolygon {
	return orb.MultiPolygon{{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}}
}

// sample is an invented depot of some 300 by 200 metres with one of everything
// that can be drawn.
func sample() *drawing.List {
	l := &drawing.List{}
	type I = drawing.Item
	area := func(layer drawing.Layer, m drawing.Meaning, id string, a orb.MultiPolygon) {
		l.Add(I{Layer: layer, Kind: drawing.AreaKind, Meaning: m, ID: id, Area: a})
	}
	line := func(layer drawing.Layer, m drawing.Meaning, id string, pts ...orb.Point) {
		l.Add(I{Layer: layer, Kind: drawing.LineKind, Meaning: m, ID: id, Line: pts, Inside: drawing.Left})
	}
	mark := func(layer drawing.Layer, m drawing.Meaning, id string, at orb.Point, bearing float64, st drawing.State) {
		l.Add(I{Layer: layer, Kind: drawing.MarkKind, Meaning: m, ID: id, At: at, Bearing: bearing, State: st})
	}
	name := func(m drawing.Meaning, id, text string, at orb.Point, prefer drawing.Prefer, dir float64, priority int8, must bool) {
		l.Add(I{Layer: drawing.LabelLayer, Kind: drawing.LabelKind, Meaning: m, ID: id, Text: text, At: at, Prefer: prefer, Bearing: dir, Priority: priority, Must: must})
	}
	area(drawing.SiteLayer, drawing.Neighbour, "N1", rect(152, -60, 230, 90))
	area(drawing.SiteLayer, drawing.Premises, "L1", rect(-160, -112, 150, 108))
	area(drawing.SiteLayer, drawing.RoadPublic, "R1", rect(-230, -128, 230, -121))
	area(drawing.SiteLayer, drawing.Footpath, "P1", orb.MultiPolygon{{{{-230, 112}, {-40, 112}, {230, 140}, {230, 142}, {-40, 114}, {-230, 114}, {-230, 112}}}})
	area(drawing.SiteLayer, drawing.RoadPrivate, "R2", rect(-4, -121, 4, -20))
	var wood orb.Ring
	for i := 0; i <= 40; i++ {
		a := float64(i) / 40 * 2 * math.Pi
		r := 1 + 0.12*math.Sin(5*a) + 0.06*math.Cos(11*a)
		if i == 40 {
			wood = append(wood, wood[0])
			break
		}
		wood = append(wood, orb.Point{-120 + 34*r*math.Cos(a), 78 + 24*r*math.Sin(a)})
	}
	area(drawing.SiteLayer, drawing.Foliage, "F1", orb.MultiPolygon{{wood}})
	area(drawing.SiteLayer, drawing.Asset, "A1", rect(40, 10, 90, 40))
	area(drawing.SiteLayer, drawing.Building, "H1", rect(-70, -30, -20, 10))
	area(drawing.SiteLayer, drawing.Building, "H2", orb.MultiPolygon{{{{60, -70}, {110, -60}, {106, -38}, {88, -42}, {86, -30}, {54, -37}, {60, -70}}}})
	line(drawing.SiteLayer, drawing.Obstacle, "O1", orb.Point{-130, -60}, orb.Point{-100, -20}, orb.Point{-100, 20})
	line(drawing.SiteLayer, drawing.ObstacleMesh, "O2", orb.Point{20, 60}, orb.Point{120, 60})
	line(drawing.SiteLayer, drawing.Hazard, "Z1", orb.Point{-230, 20}, orb.Point{-10, 60}, orb.Point{230, 50})
	mark(drawing.SiteLayer, drawing.Hazard, "Z1", orb.Point{-10, 60}, 0, 0)
	area(drawing.SiteLayer, drawing.CameraView, "V1", sector(orb.Point{0, -100}, 20, 50, 0, 90, 10))

	fence := orb.LineString{{-150, -100}, {-5, -100}, {5, -100}, {140, -100}, {140, 60}, {100, 98}, {-150, 98}, {-150, -100}}
	type dev struct {
		id         string
		at         orb.Point
		brg, w, r  float64
		selected   bool
		hit, names string
	}
	devs := []dev{
		{"S1", orb.Point{-148, -98}, 90, 8, 63, false, "", "S1"},
		{"S2", orb.Point{-85, -98}, 90, 8, 63, false, "", "S2"},
		{"S3", orb.Point{20, -96}, 60, 90, 25, false, "", "S3 gate lodge"},
		{"S4", orb.Point{138, -98}, 270, 8, 100, false, "", "S4"},
		{"S5", orb.Point{136, -90}, 0, 8, 63, false, "", "S5"},
		{"S6", orb.Point{137, -25}, 0, 8, 63, false, "", "S6"},
		{"S7", orb.Point{120, 77}, 300, 30, 40, false, "", "S7 pump house"},
		{"S8", orb.Point{60, 95}, 268, 8, 100, false, "", "S8"},
		{"S9", orb.Point{-148, 94}, 180, 90, 25, true, "", "S9"},
		{"S10", orb.Point{-147, 60}, 180, 8, 100, false, "", "S10"},
		{"S11", orb.Point{-72, 12}, 320, 90, 40, false, "", "S11 store"},
	}
	for _, d := range devs {
		layer, m := drawing.PatternLayer, drawing.Footprint
		if d.selected {
			layer, m = drawing.LiveLayer, drawing.FootprintSelected
		}
		area(layer, m, d.id, sector(d.at, d.brg, d.w, 2.5, d.r, 24))
		area(layer, drawing.FootprintLookDown, d.id, sector(d.at, d.brg, d.w+10, 0.8, math.Min(9, d.r/4), 12))
	}
	area(drawing.PatternLayer, drawing.Screened, "S11", sector(orb.Point{-72, 12}, 325, 40, 25, 40, 12))
	area(drawing.PatternLayer, drawing.OverspillRoad, "S3", rect(-60, -128, -30, -121))
	area(drawing.PatternLayer, drawing.OverspillFootpath, "S8", orb.MultiPolygon{{{{-40, 112}, {60, 122.4}, {60, 124.4}, {-40, 114}, {-40, 112}}}})
	area(drawing.PatternLayer, drawing.OverspillNeighbour, "S6", rect(152, -10, 168, 24))
	area(drawing.PatternLayer, drawing.OverspillOpen, "S10", rect(-185, -20, -161, 30))

	line(drawing.BoundaryLayer, drawing.Boundary, "B1", fence...)
	part := func(m drawing.Meaning, idx int, pts ...orb.Point) {
		l.Add(I{Layer: drawing.BoundaryLayer, Kind: drawing.LineKind, Meaning: m, ID: "B1", Part: "gap", Index: idx, Line: pts, Inside: drawing.Left})
	}
	part(drawing.Covered, 0, orb.Point{-150, -100}, orb.Point{-20, -100})
	part(drawing.Gap, 1, orb.Point{-20, -100}, orb.Point{16, -100})
	part(drawing.Covered, 0, orb.Point{16, -100}, orb.Point{140, -100}, orb.Point{140, 38})
	part(drawing.Overlap, 0, orb.Point{38, -100}, orb.Point{75, -100})
	part(drawing.Excluded, 0, orb.Point{140, 38}, orb.Point{140, 60}, orb.Point{124, 75.2})
	part(drawing.Covered, 0, orb.Point{124, 75.2}, orb.Point{100, 98}, orb.Point{-38, 98})
	part(drawing.Gap, 2, orb.Point{-38, 98}, orb.Point{-124, 98})
	part(drawing.Shallow, 0, orb.Point{-124, 98}, orb.Point{-150, 98})
	part(drawing.Covered, 0, orb.Point{-150, 98}, orb.Point{-150, -40})
	part(drawing.GapAccepted, 3, orb.Point{-150, -40}, orb.Point{-150, -52})
	part(drawing.Gap, 4, orb.Point{-150, -52}, orb.Point{-150, -58})
	part(drawing.Covered, 0, orb.Point{-150, -58}, orb.Point{-150, -100})
	line(drawing.BoundaryLayer, drawing.ChainageTick, "", fence...)
	l.Add(I{Layer: drawing.BoundaryLayer, Kind: drawing.MarkKind, Meaning: drawing.Gate, ID: "G1", At: orb.Point{0, -100}, Bearing: 0, Length: 8})

	rx, rp := orb.Point{-30, -10}, orb.Point{86, -31}
	link := func(m drawing.Meaning, a, b orb.Point, margin, over float64, ids string) {
		l.Add(I{Layer: drawing.LinkLayer, Kind: drawing.LineKind, Meaning: m, ID: ids, Line: orb.LineString{a, b}, Margin: over})
		l.Add(I{Layer: drawing.LabelLayer, Kind: drawing.LabelKind, Meaning: drawing.MarginFigure, ID: ids, Line: orb.LineString{a, b}, Prefer: drawing.OnLine, Text: fmt.Sprintf("%.0f dB", margin)})
	}
	link(drawing.LinkHeld, devs[0].at, rx, 24, 10, "S1-RX")
	link(drawing.LinkHeld, devs[1].at, rx, 31, 17, "S2-RX")
	link(drawing.LinkHeld, devs[2].at, rx, 29, 15, "S3-RX")
	link(drawing.LinkHeld, devs[3].at, rp, 36, 22, "S4-RP1")
	link(drawing.LinkHeld, devs[4].at, rp, 35, 21, "S5-RP1")
	link(drawing.LinkHeld, devs[5].at, rp, 38, 24, "S6-RP1")
	link(drawing.LinkThin, devs[6].at, rp, 16, 2, "S7-RP1")
	link(drawing.LinkHeld, devs[7].at, rx, 19, 5, "S8-RX")
	link(drawing.LinkFails, devs[8].at, rx, 9, -5, "S9-RX")
	link(drawing.LinkThin, devs[9].at, rx, 15, 1, "S10-RX")
	link(drawing.LinkHeld, devs[10].at, rx, 40, 26, "S11-RX")
	link(drawing.LinkHeld, rp, rx, 27, 13, "RP1-RX")
	for _, d := range devs {
		st := drawing.State(0)
		if d.selected {
			st = drawing.Selected
		} else if d.id == "S6" {
			st = drawing.Hovered
		}
		mark(drawing.DeviceLayer, drawing.Sensor, d.id, d.at, d.brg, st)
	}
	mark(drawing.DeviceLayer, drawing.SensorFlagged, "S12", orb.Point{0, 30}, 45, drawing.Muted)
	mark(drawing.DeviceLayer, drawing.Repeater, "RP1", rp, 0, 0)
	mark(drawing.DeviceLayer, drawing.Receiver, "RX", rx, 0, 0)
	mark(drawing.DeviceLayer, drawing.Asset, "A2", orb.Point{20, 20}, 0, 0)
	mark(drawing.DeviceLayer, drawing.Reading, "M1", orb.Point{-60, 40}, 0, 0)
	mark(drawing.DeviceLayer, drawing.Finding, "M2", orb.Point{-50, 40}, 0, 0)
	mark(drawing.DeviceLayer, drawing.FindingAccepted, "M3", orb.Point{-40, 40}, 0, 0)
	for _, d := range devs {
		name(drawing.DeviceName, d.id, d.names, d.at, drawing.Outward, d.brg+180, 50, true)
	}
	name(drawing.DeviceName, "S12", "S12", orb.Point{0, 30}, drawing.Beside, 0, 40, true)
	name(drawing.DeviceName, "RP1", "RP1", rp, drawing.Beside, 0, 60, true)
	name(drawing.DeviceName, "RX", "RX control room", rx, drawing.Beside, 0, 60, true)
	name(drawing.GapNumber, "B1", "1", orb.Point{-2, -100}, drawing.Outward, 180, 100, true)
	name(drawing.GapNumber, "B1", "2", orb.Point{-80, 98}, drawing.Outward, 0, 100, true)
	name(drawing.GapNumber, "B1", "4", orb.Point{-150, -55}, drawing.Outward, 270, 100, true)
	name(drawing.FeatureName, "H1", "Store", orb.Point{-45, -10}, drawing.Centred, 0, 10, false)
	name(drawing.FeatureName, "H2", "Pump house", orb.Point{82, -50}, drawing.Centred, 0, 10, false)
	name(drawing.FeatureName, "N1", "Orchard Lane 4", orb.Point{190, 20}, drawing.Centred, 0, 10, false)
	name(drawing.FeatureName, "A1", "Cable drums", orb.Point{65, 25}, drawing.Centred, 0, 10, false)
	name(drawing.FeatureName, "G1", "Main gate", orb.Point{0, -100}, drawing.Outward, 0, 20, false)
	name(drawing.FeatureName, "Z1", "Overhead line", orb.Point{-10, 60}, drawing.Beside, 0, 20, false)

	line(drawing.HandleLayer, drawing.AimArm, "", devs[8].at, orb.Point{-148, 66})
	mark(drawing.HandleLayer, drawing.AimHandle, "S9", orb.Point{-148, 66}, 0, 0)
	mark(drawing.HandleLayer, drawing.MaskHandle, "S9", orb.Point{-132, 78}, 0, 0)
	line(drawing.HandleLayer, drawing.Draft, "", orb.Point{0, 70}, orb.Point{20, 85}, orb.Point{50, 70}, orb.Point{30, 66})
	for _, q := range []orb.Point{{0, 70}, {20, 85}, {50, 70}} {
		mark(drawing.HandleLayer, drawing.VertexHandle, "D", q, 0, 0)
	}
	mark(drawing.HandleLayer, drawing.MidHandle, "D", orb.Point{10, 77.5}, 0, 0)
	mark(drawing.HandleLayer, drawing.MidHandle, "D", orb.Point{35, 77.5}, 0, 0)
	mark(drawing.HandleLayer, drawing.CrossingCursor, "", orb.Point{30, 66}, 0, 0)
	mark(drawing.HandleLayer, drawing.ControlPoint, "C1", orb.Point{110, 20}, 0, 0)
	line(drawing.HandleLayer, drawing.WalkLine, "", orb.Point{-145, 90}, orb.Point{-145, -94}, orb.Point{-10, -94})
	line(drawing.HandleLayer, drawing.Measure, "", orb.Point{40, 10}, orb.Point{90, -10})
	name(drawing.Note, "", "53.9 m", orb.Point{65, 0}, drawing.Beside, 0, 90, true)
	l.Arrange()
	return l
}
