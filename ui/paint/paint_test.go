package paint

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"pleach/assets/fonts"
	"pleach/ui/drawing"
	"pleach/ui/drawing/drawingtest"
)

// golden compares an image with a file of testdata, a pixel being the same
// within 3 levels; with PLEACH_GOLDEN=1 it writes the file instead. An image
// that differs is left in testdata/failed.
func golden(t *testing.T, name string, got *image.RGBA) {
	t.Helper()
	save := func(file string) {
		var b bytes.Buffer
		if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, got); err != nil {
			t.Fatal(err)
		}
		if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	file := filepath.Join("testdata", name)
	if os.Getenv("PLEACH_GOLDEN") == "1" {
		save(file)
		return
	}
	f, err := os.Open(file)
	if err != nil {
		t.Fatalf("%v: PLEACH_GOLDEN=1 writes it", err)
	}
	defer f.Close()
	want, err := png.Decode(f)
	if err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	if want.Bounds() != got.Bounds() {
		save(filepath.Join("testdata", "failed", name))
		t.Fatalf("%s is %v, now %v", name, want.Bounds(), got.Bounds())
	}
	bad := 0
	for y := 0; y < got.Rect.Dy(); y++ {
		for x := 0; x < got.Rect.Dx(); x++ {
			r, g, b, _ := want.At(x, y).RGBA()
			p := got.Pix[y*got.Stride+4*x:]
			for i, v := range [3]uint32{r >> 8, g >> 8, b >> 8} {
				if d := int(v) - int(p[i]); d > 3 || d < -3 {
					bad++
					break
				}
			}
		}
	}
	// Rounding may differ between machines at a few edges.
	if limit := got.Rect.Dx() * got.Rect.Dy() / 20000; bad > limit {
		save(filepath.Join("testdata", "failed", name))
		t.Errorf("%d pixels differ from %s, more than %d: see testdata/failed/%s", bad, file, limit, name)
	}
}

func TestTheDepotLooksAsTheGoldenShows(t *testing.T) {
	sc, r := drawingtest.Depot()
	l := drawing.Compose(drawing.Input{Scene: sc, Result: r, Selected: []string{"S2"}, Hovered: "S4"})
	ground := orb.Bound{Min: orb.Point{-145, -120}, Max: orb.Point{145, 110}}
	for name, m := range map[string]drawing.Medium{"light": {}, "dark": {Dark: true}, "mono": {Paper: true, Mono: true}} {
		t.Run(name, func(t *testing.T) {
			v := drawing.View{Width: 720, Height: 560}.Fit(ground, 8)
			if m.Paper {
				v = drawing.View{Width: 120, Height: 93, Scale: 6}.Fit(ground, 2)
			}
			golden(t, "depot-"+name+".png", Image(l, v, drawing.NewTheme(m)))
		})
	}
}

func TestTheStraightLineDiagramLooksAsTheGoldenShows(t *testing.T) {
	sc, r := drawingtest.Depot()
	th := drawing.NewTheme(drawing.Medium{})
	s, ok := drawing.Unroll(drawing.StraightInput{Scene: sc, Result: r, Width: 800, Selected: []string{"S2"}}, th)
	if !ok {
		t.Fatal("no diagram")
	}
	golden(t, "straight.png", Image(s.List.With(s.Cursor(150)), s.View, th))
}

func TestTheLegendLooksAsTheGoldenShows(t *testing.T) {
	sc, r := drawingtest.Depot()
	all := drawing.Compose(drawing.Input{Scene: sc, Result: r, Show: drawing.AllLinks | drawing.AllOverspill})
	for name, m := range map[string]drawing.Medium{"light": {}, "mono": {Mono: true}} {
		t.Run(name, func(t *testing.T) {
			th := drawing.NewTheme(m)
			lines := th.Legend(all, nil)
			img := image.NewRGBA(image.Rect(0, 0, 2*350, (len(lines)+1)/2*28))
			Fill(img, th.Paper)
			for i, line := range lines {
				x, y := i%2*350, i/2*28
				l, v := th.Sample(line.Meaning, 48, 24)
				over(img, Image(l, v, th), x+4, y+2)
				New().On(img, 1).Text(orb.Point{float64(x) + 60, float64(y) + 18}, line.Text, th.Style(drawing.FeatureName).Font, th.Ink)
			}
			golden(t, "legend-"+name+".png", img)
		})
	}
}

// Every mark, plain, under the pointer, selected and greyed, then the lines of
// editing.
func TestTheMarksLookAsTheGoldenShows(t *testing.T) {
	marks := []drawing.Meaning{drawing.Sensor, drawing.SensorFlagged, drawing.Repeater, drawing.Receiver, drawing.Asset, drawing.Hazard, drawing.Gate,
		drawing.Reading, drawing.Finding, drawing.FindingAccepted, drawing.AimHandle, drawing.MaskHandle, drawing.VertexHandle, drawing.MidHandle,
		drawing.ControlPoint, drawing.CrossingCursor}
	l := &drawing.List{}
	for i, m := range marks {
		for k, s := range []drawing.State{0, drawing.Hovered, drawing.Selected, drawing.Muted} {
			l.Add(drawing.Item{Layer: drawing.DeviceLayer, Kind: drawing.MarkKind, Meaning: m, State: s, At: orb.Point{20 + float64(i)*36, -20 - float64(k)*36},
				Bearing: 30 * float64(k), Length: 12})
		}
	}
	for i, m := range []drawing.Meaning{drawing.Draft, drawing.Measure, drawing.WalkLine, drawing.CrossingLine, drawing.AimArm} {
		x := 20 + float64(i)*116
		l.Add(drawing.Item{Layer: drawing.HandleLayer, Kind: drawing.LineKind, Meaning: m, Line: orb.LineString{{x, -190}, {x + 50, -170}, {x + 90, -195}}})
	}
	l.Add(drawing.Item{Layer: drawing.LabelLayer, Kind: drawing.LabelKind, Meaning: drawing.Note, Text: "53.9 m", At: orb.Point{170, -180}, Must: true})
	for name, m := range map[string]drawing.Medium{"light": {}, "dark": {Dark: true}, "sheet": {Paper: true}} {
		t.Run(name, func(t *testing.T) {
			v := drawing.View{Centre: orb.Point{296, -105}, MetresPerUnit: 1, Width: 592, Height: 210}
			if m.Paper {
				v.MetresPerUnit, v.Width, v.Height, v.Scale = 4, 148, 52.5, 6
			}
			golden(t, "marks-"+name+".png", Image(l, v, drawing.NewTheme(m)))
		})
	}
}

func TestLayersPaintedOneAfterTheOtherMakeTheWholePicture(t *testing.T) {
	sc, r := drawingtest.Depot()
	l := drawing.Compose(drawing.Input{Scene: sc, Result: r, Live: []string{"S4"}})
	v := drawing.View{Width: 500, Height: 400}.Fit(orb.Bound{Min: orb.Point{-145, -120}, Max: orb.Point{145, 110}}, 8)
	th := drawing.NewTheme(drawing.Medium{})
	p := New()
	whole, parts := image.NewRGBA(image.Rect(0, 0, 500, 400)), image.NewRGBA(image.Rect(0, 0, 500, 400))
	p.Paint(whole, l, v, th, nil, drawing.AllLayers)
	placed := drawing.PlaceLabels(l, v, th)
	p.Paint(parts, l, v, th, placed, drawing.Resting)
	p.Paint(parts, l, v, th, placed, drawing.Moving)
	if !bytes.Equal(whole.Pix, parts.Pix) {
		t.Error("resting and moving layers do not add up to all layers")
	}
}

func TestPanningByWholePixelsMovesThePicture(t *testing.T) {
	sc, r := drawingtest.Depot()
	l := drawing.Compose(drawing.Input{Scene: sc, Result: r, Show: drawing.AllOverspill})
	th, p := drawing.NewTheme(drawing.Medium{}), New()
	v := drawing.View{MetresPerUnit: 0.5, Width: 500, Height: 400}
	w := v
	w.Centre = orb.Point{12 * 0.5, -7 * 0.5}
	layers := drawing.AllLayers &^ drawing.Layers(drawing.LabelLayer)
	a, b := image.NewRGBA(image.Rect(0, 0, 500, 400)), image.NewRGBA(image.Rect(0, 0, 500, 400))
	p.Paint(a, l, v, th, nil, layers)
	p.Paint(b, l, w, th, nil, layers)
	bad := 0
	for y := 30; y < 360; y++ {
		for x := 30; x < 460; x++ {
			for c := 0; c < 4; c++ {
				if d := int(a.Pix[y*a.Stride+4*x+c]) - int(b.Pix[(y-7)*b.Stride+4*(x-12)+c]); d > 3 || d < -3 {
					bad++
					break
				}
			}
		}
	}
	if bad > 20 {
		t.Errorf("%d pixels did not move with the ground", bad)
	}
}

func TestASecondPaintingIsTheSame(t *testing.T) {
	sc, r := drawingtest.Depot()
	l := drawing.Compose(drawing.Input{Scene: sc, Result: r})
	th, p := drawing.NewTheme(drawing.Medium{Dark: true}), New()
	v := drawing.View{MetresPerUnit: 0.5, Width: 500, Height: 400, Scale: 1.5}
	a, b := image.NewRGBA(image.Rect(0, 0, 750, 600)), image.NewRGBA(image.Rect(0, 0, 750, 600))
	p.Paint(a, l, v, th, nil, drawing.AllLayers)
	p.Paint(b, l, v, th, nil, drawing.AllLayers)
	if !bytes.Equal(a.Pix, b.Pix) {
		t.Error("two paintings of one painter differ")
	}
}

func TestTextIsAsWideAsItsMeasure(t *testing.T) {
	for _, size := range []float64{11, 13, 24} {
		for _, medium := range []bool{false, true} {
			for _, s := range []string{"S12 gate lodge", "−14 dB", "412 m along", "Граница", "Ωμέγα", "0123456789"} {
				t.Run(fmt.Sprint(size, medium, s), func(t *testing.T) {
					img := image.NewRGBA(image.Rect(0, 0, 400, 60))
					New().On(img, 1).Text(orb.Point{20, 40}, s, drawing.Font{Size: size, Medium: medium}, black)
					first, last := 400, 0
					for y := 0; y < 60; y++ {
						for x := 0; x < 400; x++ {
							if img.Pix[y*img.Stride+4*x+3] > 60 {
								first, last = min(first, x), max(last, x)
							}
						}
					}
					// Less the space at both ends of the first and last letter.
					want := fonts.Advance(medium, s) * size
					if got := float64(last - first + 1); got > want+1 || got < want-0.25*size {
						t.Errorf("%v px wide, its measure is %.1f", got, want)
					}
				})
			}
		}
	}
}
