package mapview

import (
	"bytes"
	"context"
	"image"
	"image/draw"
	_ "image/jpeg"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/paulmach/orb"

	"pleach/gis/planfile"
	"pleach/model"
	"pleach/model/analysis"
	"pleach/model/picture"
	"pleach/model/scene"
	"pleach/model/sitegrid"
	"pleach/ui/drawing"
)

const wide, high = 1600, 1000

// demoFolder holds the demo.
var demoFolder = filepath.Join("..", "..", "assets", "demo")

// photograph is the demo's picture, put about the middle of the site: where it
// lies matters to none of these tests.
var photograph = sync.OnceValues(func() (*picture.Picture, error) {
	data, err := os.ReadFile(filepath.Join(demoFolder, "aerial.jpg"))
	if err != nil {
		return nil, err
	}
	img, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	rgba := image.NewRGBA(img.Bounds())
	draw.Draw(rgba, rgba.Rect, img, img.Bounds().Min, draw.Src)
	return picture.New(rgba, orb.Point{-600, 500}, 0.45), nil
})

// analysed is the demo plan with its result.
var analysed = sync.OnceValues(func() (*analysis.Result, error) {
	p, err := planfile.Read(filepath.Join(demoFolder, "demo.geojson"))
	if err != nil {
		return nil, err
	}
	return analysis.Run(context.Background(), p, nil)
})

// laid is layers that show the demo at a scale, sensor S1 selected.
func laid(tb testing.TB, unit float64) (*Layers, *analysis.Result) {
	tb.Helper()
	r, err := analysed()
	if err != nil {
		tb.Fatal(err)
	}
	pic, err := photograph()
	if err != nil {
		tb.Fatal(err)
	}
	l := NewLayers(drawing.NewTheme(drawing.Medium{}))
	l.Grid = r.Scene.Grid
	l.Veil = 0.25
	l.SetPicture(pic, r.Scene.Grid)
	l.View = drawing.View{MetresPerUnit: unit, Width: wide, Height: high, Scale: 1}
	l.SetList(compose(r, firstSensor(r)), r.Scene.Grid)
	return l, r
}

func firstSensor(r *analysis.Result) string { return r.Sensors[0].ID }

func compose(r *analysis.Result, selected string) *drawing.List {
	return drawing.Compose(drawing.Input{Scene: r.Scene, Result: r, Selected: []string{selected}})
}

func TestTheRasterHasNoGapBetweenItsRows(t *testing.T) {
	l, _ := laid(t, 0.5)
	for _, size := range []struct{ w, h int }{{300, 200}, {200, 150}, {301, 77}, {1, 1}} {
		img := l.Frame(size.w, size.h, false)
		if img.Stride != 4*size.w || img.Rect != image.Rect(0, 0, size.w, size.h) || len(img.Pix) != 4*size.w*size.h {
			t.Errorf("%d by %d pixels: stride %d, %v, %d bytes: it would be uploaded garbled", size.w, size.h, img.Stride, img.Rect, len(img.Pix))
		}
	}
}

func TestNothingIsPaintedTwiceForTheSameView(t *testing.T) {
	l, r := laid(t, 0.5)
	l.Frame(400, 300, false)
	before := l.Painted
	l.Frame(400, 300, false)
	if l.Painted != before {
		t.Errorf("the same view was painted again: %+v, then %+v", before, l.Painted)
	}
	l.SetList(compose(r, firstSensor(r)), r.Scene.Grid)
	l.Frame(400, 300, false)
	if l.Painted.Whole != before.Whole+1 || l.Painted.Rest != before.Rest || l.Painted.Ground != before.Ground {
		t.Errorf("an equal list painted %+v after %+v: what rests should be kept", l.Painted, before)
	}
	l.Veil = 0.6
	l.Frame(400, 300, false)
	if l.Painted.Ground != before.Ground+1 {
		t.Error("another veil did not paint the picture again")
	}
}

func TestDraggingASensorPaintsOnlyWhatMoves(t *testing.T) {
	l, r := laid(t, 0.5)
	l.Frame(wide, high, false)
	before := l.Painted
	id := firstSensor(r)
	f := r.Plan.Feature(id)
	at := r.Scene.Grid.ToSite(f.Geometry.(orb.Point))
	for i := range 5 {
		to := r.Scene.Grid.ToLonLat(orb.Point{at[0] + float64(i+1), at[1]})
		p, err := model.Reshape{ID: id, To: to}.Apply(r.Plan)
		if err != nil {
			t.Fatal(err)
		}
		next, err := analysis.RunOn(context.Background(), scene.On(p, r.Scene.Grid), r)
		if err != nil {
			t.Fatal(err)
		}
		l.SetList(compose(next, id), r.Scene.Grid)
		l.Frame(wide, high, false)
	}
	if l.Painted.Whole != before.Whole+5 {
		t.Errorf("%d frames for 5 steps", l.Painted.Whole-before.Whole)
	}
	if l.Painted.Rest != before.Rest {
		t.Errorf("what rests was painted %d times during the drag", l.Painted.Rest-before.Rest)
	}
}

// TestPanningShowsWhatPaintingAfreshWould holds the shifted layers and their
// strips against a fresh painting, labels left out: they are placed at rest.
func TestPanningShowsWhatPaintingAfreshWould(t *testing.T) {
	for _, c := range []struct{ dx, dy float64 }{{37, 0}, {-24, 0}, {0, 19}, {0, -41}, {13, 8}, {-7, -90}, {60, -60}} {
		l, r := laid(t, 0.5)
		l.Wants = drawing.AllLayers &^ drawing.Layers(drawing.LabelLayer)
		l.View.Width, l.View.Height = 500, 400
		l.Frame(500, 400, false)
		l.View.Centre = orb.Point{l.View.Centre[0] - c.dx*0.5, l.View.Centre[1] + c.dy*0.5}
		got := l.Frame(500, 400, true)
		if l.Painted.Shifted != 1 {
			t.Fatalf("by %v, %v: not shifted", c.dx, c.dy)
		}
		fresh, _ := laid(t, 0.5)
		fresh.Wants, fresh.View = l.Wants, l.View
		want := fresh.Frame(500, 400, false)
		bad := 0
		for i := range got.Pix {
			if d := int(got.Pix[i]) - int(want.Pix[i]); d > 40 || d < -40 { // the strips take the nearest pixel of the picture
				bad++
			}
		}
		if share := float64(bad) / float64(len(got.Pix)); share > 0.012 {
			t.Errorf("by %v, %v: %.2f %% of the bytes differ", c.dx, c.dy, 100*share)
		}
		_ = r
	}
}

func TestAMovingViewComesToRestAsIfPaintedAfresh(t *testing.T) {
	l, _ := laid(t, 0.5)
	l.View.Width, l.View.Height = 500, 400
	l.Frame(500, 400, false)
	l.View.Centre[0] += 20
	l.Frame(500, 400, true)
	l.View = l.View.ZoomAt(orb.Point{100, 100}, 1.7)
	l.Frame(500, 400, true)
	if l.Painted.Scaled == 0 {
		t.Error("zooming did not show what was there")
	}
	got := l.Frame(500, 400, false)
	fresh, _ := laid(t, 0.5)
	fresh.View = l.View
	if want := fresh.Frame(500, 400, false); !bytes.Equal(got.Pix, want.Pix) {
		t.Error("at rest it is not what a fresh painting shows")
	}
}

func TestAListOnAnotherGridLiesOnTheSameGround(t *testing.T) {
	l, r := laid(t, 0.5)
	l.SetPicture(nil, sitegrid.Grid{})
	l.View.Width, l.View.Height = 500, 400
	want := append([]byte(nil), l.Frame(500, 400, false).Pix...)
	// The view's grid is 30 m aside; the same ground is in its middle.
	aside := r.Scene.Grid.ToLonLat(orb.Point{30, 20})
	l.Grid = sitegrid.New(aside[0], aside[1])
	l.View.Centre = l.Grid.ToSite(r.Scene.Grid.ToLonLat(orb.Point{}))
	got := l.Frame(500, 400, false).Pix
	bad := 0
	for i := range got {
		if d := int(got[i]) - int(want[i]); d > 24 || d < -24 {
			bad++
		}
	}
	if bad > len(got)/1000 {
		t.Errorf("%d of %d bytes differ", bad, len(got))
	}
}

func TestAnEmptyMapIsPaper(t *testing.T) {
	theme := drawing.NewTheme(drawing.Medium{})
	l := NewLayers(theme)
	img := l.Frame(40, 30, false)
	for i := 0; i < len(img.Pix); i += 4 {
		if img.Pix[i] != theme.Paper.R || img.Pix[i+1] != theme.Paper.G || img.Pix[i+2] != theme.Paper.B || img.Pix[i+3] != 255 {
			t.Fatalf("pixel %d is %v", i/4, img.Pix[i:i+4])
		}
	}
}

func TestTheVeilGoesFromThePictureToThePaper(t *testing.T) {
	theme := drawing.NewTheme(drawing.Medium{})
	for _, c := range []struct {
		share float64
		want  uint8
	}{{0, 10}, {1, theme.Paper.R}, {0.5, uint8((10 + int(theme.Paper.R)) / 2)}} {
		img := image.NewRGBA(image.Rect(0, 0, 2, 1))
		for i := range img.Pix {
			img.Pix[i] = 10
		}
		img.Pix[3], img.Pix[7] = 255, 255
		veil(img, theme, c.share)
		if d := int(img.Pix[0]) - int(c.want); d < -1 || d > 1 || img.Pix[3] != 255 {
			t.Errorf("veil %v makes %v, want %d", c.share, img.Pix[:4], c.want)
		}
	}
}

func BenchmarkRepaint(b *testing.B) {
	l, _ := laid(b, 0.42)
	views := [2]drawing.View{l.View, l.View}
	views[1].Centre[0] += 0.42 / 2
	for i := 0; b.Loop(); i++ {
		l.View = views[i%2]
		l.Frame(wide, high, false)
	}
}

func BenchmarkPan(b *testing.B) {
	l, _ := laid(b, 0.42)
	l.Frame(wide, high, false)
	for i := 0; b.Loop(); i++ {
		d := 0.42 * 12
		if i%40 >= 20 {
			d = -d
		}
		l.View.Centre[0] += d
		l.Frame(wide, high, true)
	}
}

func BenchmarkZoom(b *testing.B) {
	l, _ := laid(b, 0.42)
	l.Frame(wide, high, false)
	for i := 0; b.Loop(); i++ {
		l.View.MetresPerUnit = 0.42 * (1 + 0.01*float64(i%30))
		l.Frame(wide, high, true)
	}
}

// BenchmarkDrag is one step of dragging a sensor: the analysis, the drawing, the
// painting of what moves. The upload to the screen is not in it.
func BenchmarkDrag(b *testing.B) {
	l, r := laid(b, 0.42)
	id := firstSensor(r)
	at := r.Scene.Grid.ToSite(r.Plan.Feature(id).Geometry.(orb.Point))
	l.Frame(wide, high, false)
	last := r
	for i := 0; b.Loop(); i++ {
		p, err := model.Reshape{ID: id, To: r.Scene.Grid.ToLonLat(orb.Point{at[0] + float64(i%50)*0.4, at[1]})}.Apply(r.Plan)
		if err != nil {
			b.Fatal(err)
		}
		if last, err = analysis.RunOn(context.Background(), scene.On(p, r.Scene.Grid), last); err != nil {
			b.Fatal(err)
		}
		l.SetList(compose(last, id), r.Scene.Grid)
		l.Frame(wide, high, false)
	}
}
