package app

import (
	"bytes"
	"image"
	"image/png"

	"fyne.io/fyne/v2"
	"github.com/paulmach/orb"

	"pleach/ui/drawing"
	"pleach/ui/paint"
)

// icon is the program's mark, drawn by the table of styles: a sensor that
// watches along a boundary.
func icon() fyne.Resource {
	const size = 256
	theme := drawing.NewTheme(drawing.Medium{})
	img := image.NewRGBA(image.Rect(0, 0, size, size))
	paint.Fill(img, theme.Paper)
	l := &drawing.List{}
	line := orb.LineString{{-20, -7}, {20, -7}}
	wedge := orb.Ring{{-9, -4}, {20, 2}, {20, -10}, {-9, -4}}
	l.Add(drawing.Item{Kind: drawing.AreaKind, Meaning: drawing.FootprintSelected, Area: orb.MultiPolygon{{wedge}}})
	l.Add(drawing.Item{Kind: drawing.LineKind, Meaning: drawing.Boundary, Line: line, Inside: drawing.Left})
	l.Add(drawing.Item{Kind: drawing.LineKind, Meaning: drawing.Covered, Line: line, Inside: drawing.Left})
	l.Add(drawing.Item{Kind: drawing.MarkKind, Meaning: drawing.Sensor, At: orb.Point{-9, -1}, Bearing: 90})
	view := drawing.View{MetresPerUnit: 1, Width: 32, Height: 32, Scale: size / 32}
	paint.New().Paint(img, l, view, theme, &drawing.Placement{}, drawing.AllLayers)
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		return nil // an image in memory can always be written
	}
	return fyne.NewStaticResource("pleach.png", b.Bytes())
}
