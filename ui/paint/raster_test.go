package paint

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"
	"golang.org/x/image/vector"

	"pleach/ui/drawing"
)

var black = color.NRGBA{0, 0, 0, 255}

// mask paints rings in opaque black on nothing and returns the coverage.
func mask(w, h int, rings ...orb.Ring) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	New().On(img, 1).Fill(rings, black)
	return img
}

// oracle is the same by golang.org/x/image/vector, on a canvas with a border
// so wide that it need not clip, and over the 512 pixels below which it works
// in fixed point and long edges stray by a tenth of a pixel.
func oracle(w, h int, rings ...orb.Ring) *image.Alpha {
	const border = 260
	z := vector.NewRasterizer(w+2*border, h+2*border)
	for _, r := range rings {
		for i, p := range r {
			x, y := float32(p[0]+border), float32(p[1]+border)
			if i == 0 {
				z.MoveTo(x, y)
			} else {
				z.LineTo(x, y)
			}
		}
		z.ClosePath()
	}
	all := image.NewAlpha(image.Rect(0, 0, w+2*border, h+2*border))
	z.Draw(all, all.Rect, image.Opaque, image.Point{})
	out := image.NewAlpha(image.Rect(0, 0, w, h))
	draw.Draw(out, out.Rect, all, image.Pt(border, border), draw.Src)
	return out
}

func TestOutsideFillsCoverWhatTheGoTeamsRasteriserCovers(t *testing.T) {
	const source = "golang.org/x/image/vector v0.47.0"
	rng := rand.New(rand.NewSource(5))
	for k := 0; k < 300; k++ {
		w, h := 1+rng.Intn(120), 1+rng.Intn(90)
		// A star about a place that may lie outside: convex, concave, thin.
		n := 3 + rng.Intn(12)
		cx, cy := rng.Float64()*float64(w+40)-20, rng.Float64()*float64(h+40)-20
		var ring orb.Ring
		for i := 0; i < n; i++ {
			a := 2 * math.Pi * float64(i) / float64(n)
			r := rng.Float64() * 120
			ring = append(ring, orb.Point{cx + r*math.Cos(a), cy + r*math.Sin(a)})
		}
		got, want := mask(w, h, ring), oracle(w, h, ring)
		for y := 0; y < h; y++ {
			for x := 0; x < w; x++ {
				g, o := int(got.Pix[y*got.Stride+4*x+3]), int(want.Pix[y*want.Stride+x])
				if g-o > 2 || o-g > 2 {
					t.Fatalf("shape %d, %d by %d: pixel %d,%d is covered %d, want %d within 2 (%s)\n%v", k, w, h, x, y, g, o, source, ring)
				}
			}
		}
	}
}

func TestARasterIsEmptyAfterItsSweep(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 333, 77))
	p := New()
	p.On(img, 1).Fill([]orb.Ring{{{-50, -50}, {500, 20}, {100, 200}}}, black)
	for i, v := range p.ras.acc {
		if v != 0 {
			t.Fatalf("cell %d still holds %v", i, v)
		}
	}
	for i, v := range p.ras.bits {
		if v != 0 {
			t.Fatalf("word %d of the bitmap still holds %x", i, v)
		}
	}
}

func TestAHoleIsLeftOpen(t *testing.T) {
	img := mask(40, 40, orb.Ring{{4, 4}, {36, 4}, {36, 36}, {4, 36}}, orb.Ring{{12, 12}, {12, 28}, {28, 28}, {28, 12}})
	if a := img.Pix[20*img.Stride+4*20+3]; a != 0 {
		t.Errorf("the middle of the hole is covered %d", a)
	}
	if a := img.Pix[8*img.Stride+4*8+3]; a != 255 {
		t.Errorf("the rim is covered %d, want 255", a)
	}
}

func TestCoordinatesBeyondReasonDoNoHarm(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	for _, r := range []orb.Ring{
		{{-1e12, -1e12}, {1e12, -1e12}, {1e12, 1e12}, {-1e12, 1e12}},
		{{nan, 1}, {2, nan}, {5, 5}}, {{inf, 0}, {0, inf}, {-inf, 3}}, {{1e300, 1e300}, {-1e300, 2}, {3, -1e300}},
		{{0, 0}}, {}, {{5, 5}, {5, 5}, {5, 5}},
	} {
		img := image.NewRGBA(image.Rect(0, 0, 31, 17))
		p := New()
		c := p.On(img, 1)
		c.Fill([]orb.Ring{r}, black)
		c.Stroke(r, drawing.Pen{Width: 3, Colour: black})
		c.Stroke(r, drawing.Pen{Width: 3, Colour: black, Dash: []float64{4, 2}, Cap: drawing.Round})
		c.Text(orb.Point{1e9, -1e9}, "x", drawing.Font{Size: 12}, black)
	}
	img := mask(31, 17, orb.Ring{{-1e12, -1e12}, {1e12, -1e12}, {1e12, 1e12}, {-1e12, 1e12}})
	if img.Pix[3] != 255 || img.Pix[len(img.Pix)-1] != 255 {
		t.Error("a square far larger than the view does not cover it")
	}
}

// covered is the sum of coverage in pixels.
func covered(img *image.RGBA) float64 {
	sum := 0.0
	for i := 3; i < len(img.Pix); i += 4 {
		sum += float64(img.Pix[i]) / 255
	}
	return sum
}

func strokeOn(w, h int, pen drawing.Pen, path ...orb.Point) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	pen.Colour = black
	New().On(img, 1).Stroke(path, pen)
	return img
}

func TestAStrokeCoversItsLengthTimesItsWidth(t *testing.T) {
	for _, c := range []struct {
		name string
		pen  drawing.Pen
		path []orb.Point
		want float64
	}{
		{"flat ends", drawing.Pen{Width: 4}, []orb.Point{{20, 20.5}, {80, 50}}, 4 * math.Hypot(60, 29.5)},
		{"round ends", drawing.Pen{Width: 8, Cap: drawing.Round}, []orb.Point{{20, 20}, {80, 20}}, 8*60 + math.Pi*16},
		// The bend adds a quarter disc outside and counts its inside once.
		{"a bend", drawing.Pen{Width: 8}, []orb.Point{{20, 20}, {80, 20}, {80, 80}}, 8*120 + math.Pi*16/4 - 16},
		{"a ring", drawing.Pen{Width: 6}, []orb.Point{{20, 20}, {80, 20}, {80, 80}, {20, 80}, {20, 20}}, 6*240 + 4*(math.Pi*9/4-9)},
		{"dashes", drawing.Pen{Width: 4, Dash: []float64{6, 4}}, []orb.Point{{10, 30}, {110, 30}}, 4 * 60},
		{"dash and dot", drawing.Pen{Width: 2, Dash: []float64{9, 3, 2, 3}}, []orb.Point{{10, 30}, {112, 30}}, 2 * 11 * 6},
		{"dashes round a corner", drawing.Pen{Width: 2, Dash: []float64{7, 3}}, []orb.Point{{10, 10}, {65, 10}, {65, 55}}, 2*70 + math.Pi/4 - 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := covered(strokeOn(130, 100, c.pen, c.path...)); math.Abs(got-c.want) > 0.012*c.want {
				t.Errorf("covers %.1f pixels, want %.1f", got, c.want)
			}
		})
	}
}

func TestAHairlineIsPaleNotBroken(t *testing.T) {
	img := strokeOn(100, 20, drawing.Pen{Width: 0.5}, orb.Point{0, 10.5}, orb.Point{100, 10.5})
	for x := 0; x < 100; x++ {
		if a := img.Pix[10*img.Stride+4*x+3]; a < 120 || a > 136 {
			t.Fatalf("pixel %d is covered %d, want about half of 255", x, a)
		}
	}
}

func TestDashesStayOnTheGroundWhileTheViewMoves(t *testing.T) {
	pen := drawing.Pen{Width: 3, Dash: []float64{7.3, 4.1}}
	a := strokeOn(200, 20, pen, orb.Point{-1000, 10}, orb.Point{1000, 10})
	b := strokeOn(200, 20, pen, orb.Point{-1017, 10}, orb.Point{983, 10})
	for x := 20; x < 180; x++ {
		p, q := int(a.Pix[10*a.Stride+4*x+3]), int(b.Pix[10*b.Stride+4*(x-17)+3])
		if p-q > 2 || q-p > 2 {
			t.Fatalf("pixel %d: %d, moved by 17: %d", x, p, q)
		}
	}
}

func TestHatchAndDotsStayOnTheGroundWhileTheViewMoves(t *testing.T) {
	all := []orb.Ring{{{0, 0}, {100, 0}, {100, 100}, {0, 100}}}
	for name, put := range map[string]func(c drawing.Canvas, o orb.Point){
		"hatch": func(c drawing.Canvas, o orb.Point) {
			c.Hatch(all, drawing.Hatch{Spacing: 6, Width: 1.3, Colour: black}, o)
		},
		"falling": func(c drawing.Canvas, o orb.Point) {
			c.Hatch(all, drawing.Hatch{Spacing: 6, Width: 1.3, Falling: true, Colour: black}, o)
		},
		"dots": func(c drawing.Canvas, o orb.Point) {
			c.Dots(all, drawing.Dots{Spacing: 7, Diameter: 2, Colour: black}, o)
		},
	} {
		t.Run(name, func(t *testing.T) {
			at := func(o orb.Point) *image.RGBA {
				img := image.NewRGBA(image.Rect(0, 0, 100, 100))
				put(New().On(img, 1), o)
				return img
			}
			a, b := at(orb.Point{-321, 77}), at(orb.Point{-321 + 5, 77 - 3})
			if covered(a) < 300 {
				t.Fatalf("covers only %.0f pixels", covered(a))
			}
			for y := 10; y < 90; y++ {
				for x := 10; x < 90; x++ {
					if a.Pix[y*a.Stride+4*x+3] != b.Pix[(y-3)*b.Stride+4*(x+5)+3] {
						t.Fatalf("pixel %d,%d did not move with the ground", x, y)
					}
				}
			}
		})
	}
}

func TestHatchCoversItsShare(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 400, 400))
	New().On(img, 1).Hatch([]orb.Ring{{{0, 0}, {400, 0}, {400, 400}, {0, 400}}}, drawing.Hatch{Spacing: 10 / math.Sqrt2, Width: 2, Colour: black}, orb.Point{})
	if got, want := covered(img)/160000, 2/(10/math.Sqrt2); math.Abs(got-want) > 0.02 {
		t.Errorf("a share of %.3f is covered, want %.3f", got, want)
	}
}

func TestBlendingIsThatOfPremultipliedColour(t *testing.T) {
	rng := rand.New(rand.NewSource(1))
	for k := 0; k < 2000; k++ {
		under := color.NRGBA{uint8(rng.Intn(256)), uint8(rng.Intn(256)), uint8(rng.Intn(256)), uint8(rng.Intn(256))}
		over := color.NRGBA{uint8(rng.Intn(256)), uint8(rng.Intn(256)), uint8(rng.Intn(256)), uint8(rng.Intn(256))}
		a, b := image.NewRGBA(image.Rect(0, 0, 2, 1)), image.NewRGBA(image.Rect(0, 0, 2, 1))
		draw.Draw(a, a.Rect, image.NewUniform(under), image.Point{}, draw.Src)
		draw.Draw(b, b.Rect, image.NewUniform(under), image.Point{}, draw.Src)
		New().On(a, 1).Fill([]orb.Ring{{{0, 0}, {2, 0}, {2, 1}, {0, 1}}}, over)
		draw.Draw(b, b.Rect, image.NewUniform(over), image.Point{}, draw.Over)
		for i := range a.Pix {
			if d := int(a.Pix[i]) - int(b.Pix[i]); d > 2 || d < -2 {
				t.Fatalf("%v over %v: got %v, image/draw has %v", over, under, a.Pix[:4], b.Pix[:4])
			}
		}
	}
}
