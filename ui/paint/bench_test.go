package paint

import (
	"fmt"
	"image"
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"

	"pleach/ui/drawing"
	"pleach/ui/drawing/drawingtest"
)

// crowd is a site of n sensors along a ring, with patterns of 100 to 400
// vertices, their links and names.
func crowd(n int) *drawing.List {
	rng := rand.New(rand.NewSource(7))
	l := &drawing.List{}
	const r = 420.0
	var fence orb.LineString
	for i := 0; i <= 300; i++ {
		s, c := math.Sincos(2 * math.Pi * float64(i%300) / 300)
		fence = append(fence, orb.Point{r * 1.4 * c, r * s})
	}
	add := func(it drawing.Item) { l.Add(it) }
	for i := 0; i < n; i++ {
		a := 2 * math.Pi * float64(i) / float64(n)
		s, c := math.Sincos(a)
		at := orb.Point{r * 1.4 * c * 0.99, r * s * 0.99}
		id := fmt.Sprintf("S%d", i+1)
		brg := -a*180/math.Pi + 10
		width, reach := 30.0, 40.0
		switch i % 3 {
		case 1:
			width, reach = 90, 25
		case 2:
			width, reach = 4, 63
		}
		layer, m := drawing.PatternLayer, drawing.Footprint
		if i == 0 {
			layer, m = drawing.LiveLayer, drawing.FootprintSelected
		}
		add(drawing.Item{Layer: layer, Kind: drawing.AreaKind, Meaning: m, ID: id, Area: drawingtest.Sector(at, brg, width, 3, reach, 50+rng.Intn(150))})
		add(drawing.Item{Layer: layer, Kind: drawing.AreaKind, Meaning: drawing.FootprintLookDown, ID: id, Area: drawingtest.Sector(at, brg, width, 1, 9, 20)})
		add(drawing.Item{Layer: drawing.LinkLayer, Kind: drawing.LineKind, Meaning: drawing.LinkHeld, ID: id + "-RX", Line: orb.LineString{at, {float64(i%5-2) * 150, float64(i%3-1) * 150}}, Margin: float64(i % 25)})
		add(drawing.Item{Layer: drawing.DeviceLayer, Kind: drawing.MarkKind, Meaning: drawing.Sensor, ID: id, At: at, Bearing: brg})
		add(drawing.Item{Layer: drawing.LabelLayer, Kind: drawing.LabelKind, Meaning: drawing.DeviceName, ID: id, Text: id, At: at, Prefer: drawing.Outward, Bearing: brg + 180, Must: true})
	}
	for i := 0; i < 300; i += 10 {
		m := drawing.Covered
		if i%50 == 0 {
			m = drawing.Gap
			add(drawing.Item{Layer: drawing.LabelLayer, Kind: drawing.LabelKind, Meaning: drawing.GapNumber, ID: "B1", Text: fmt.Sprint(i/50 + 1), At: fence[i+5], Prefer: drawing.Outward, Bearing: 90 - 360*float64(i+5)/300, Must: true, Priority: 100})
		}
		add(drawing.Item{Layer: drawing.BoundaryLayer, Kind: drawing.LineKind, Meaning: m, ID: "B1", Line: fence[i : i+11], Inside: drawing.Left})
	}
	add(drawing.Item{Layer: drawing.BoundaryLayer, Kind: drawing.LineKind, Meaning: drawing.Boundary, ID: "B1", Line: fence, Inside: drawing.Left})
	add(drawing.Item{Layer: drawing.BoundaryLayer, Kind: drawing.LineKind, Meaning: drawing.ChainageTick, Line: fence, Inside: drawing.Left})
	l.Arrange()
	return l
}

func benchView(l *drawing.List) drawing.View {
	b, _ := l.Bound()
	return drawing.View{Width: 1600, Height: 1000}.Fit(b, 20)
}

func BenchmarkRepaint(b *testing.B) {
	for _, c := range []struct {
		name   string
		layers drawing.LayerSet
		scale  float64
	}{
		{"all", drawing.AllLayers, 1}, {"resting", drawing.Resting, 1}, {"moving", drawing.Moving, 1}, {"all-2x", drawing.AllLayers, 2},
	} {
		b.Run(c.name, func(b *testing.B) {
			l := crowd(200)
			v := benchView(l)
			v.Scale = c.scale
			img := image.NewRGBA(image.Rect(0, 0, int(1600*c.scale), int(1000*c.scale)))
			p, th := New(), drawing.NewTheme(drawing.Medium{})
			p.Paint(img, l, v, th, nil, c.layers)
			b.ReportAllocs()
			for b.Loop() {
				p.Paint(img, l, v, th, nil, c.layers)
			}
		})
	}
}

func BenchmarkLayer(b *testing.B) {
	l := crowd(200)
	v := benchView(l)
	img := image.NewRGBA(image.Rect(0, 0, 1600, 1000))
	p, th := New(), drawing.NewTheme(drawing.Medium{})
	placed := drawing.PlaceLabels(l, v, th)
	for _, la := range []drawing.Layer{drawing.PatternLayer, drawing.LiveLayer, drawing.BoundaryLayer, drawing.LinkLayer, drawing.DeviceLayer, drawing.LabelLayer} {
		b.Run(la.String(), func(b *testing.B) {
			for b.Loop() {
				p.Paint(img, l, v, th, placed, drawing.Layers(la))
			}
		})
	}
}

func BenchmarkPlaceLabels(b *testing.B) {
	l := crowd(200)
	v := benchView(l)
	th := drawing.NewTheme(drawing.Medium{})
	b.ReportAllocs()
	for b.Loop() {
		drawing.PlaceLabels(l, v, th)
	}
}
