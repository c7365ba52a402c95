package picture

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"math/rand"
	"testing"

	"github.com/paulmach/orb"
)

// noise is an image of random premultiplied colours, some of them translucent.
func noise(r *rand.Rand, w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for i := 0; i < len(img.Pix); i += 4 {
		a := []uint8{255, 255, 0, 100}[r.Intn(4)]
		for k := range 3 {
			img.Pix[i+k] = uint8(r.Intn(int(a) + 1))
		}
		img.Pix[i+3] = a
	}
	return img
}

func TestSmallerCopiesKeepTheSumOfColourAndAlpha(t *testing.T) {
	r := rand.New(rand.NewSource(2))
	for _, size := range [][2]int{{600, 400}, {601, 403}, {257, 1}, {1, 999}, {256, 256}, {7, 3}} {
		p := New(noise(r, size[0], size[1]), orb.Point{}, 1)
		last := p.levels[len(p.levels)-1].Rect
		if max(last.Dx(), last.Dy()) > smallest || len(p.levels) > 1 && max(last.Dx(), last.Dy()) <= smallest/2 {
			t.Errorf("%v: the smallest copy is %v", size, last)
		}
		var first [4]float64
		rounding := 0.0 // half a level a pixel at worst, each copy on top of the one before
		for l, img := range p.levels {
			var sum [4]float64
			for i, v := range img.Pix {
				sum[i%4] += float64(v) * math.Pow(4, float64(l))
			}
			if l == 0 {
				first = sum
			}
			if l > 0 {
				rounding += 0.5 * float64(len(img.Pix)/4) * math.Pow(4, float64(l))
			}
			for k := range sum {
				if off := math.Abs(sum[k] - first[k]); off > rounding {
					t.Errorf("%v, copy %d, channel %d: sum %v, want %v", size, l, k, sum[k], first[k])
				}
			}
			for i := 0; i < len(img.Pix); i += 4 {
				if a := img.Pix[i+3]; img.Pix[i] > a || img.Pix[i+1] > a || img.Pix[i+2] > a {
					t.Fatalf("%v, copy %d: colour %v is not premultiplied", size, l, img.Pix[i:i+4])
				}
			}
		}
	}
}

func TestABrightBlockIsDrawnWhereItLies(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 900, 700))
	for i := 3; i < len(img.Pix); i += 4 {
		img.Pix[i] = 255
	}
	for y := 300; y < 364; y++ {
		for x := 500; x < 564; x++ {
			img.SetRGBA(x, y, color.RGBA{255, 255, 255, 255})
		}
	}
	p := New(img, orb.Point{-130, 410}, 0.4)
	want := orb.Point{-130 + 532*0.4, 410 - 332*0.4} // its middle
	for _, q := range []Quality{Fast, Smooth} {
		for _, size := range []float64{0.05, 0.13, 0.4, 0.55, 0.57, 0.9, 1.7, 3, 6.3} {
			f := Frame{orb.Point{want[0] - 200.3*size, want[1] + 150.7*size}, size}
			dst := image.NewRGBA(image.Rect(0, 0, 400, 300))
			p.Draw(dst, f, q)
			var sum, sx, sy float64
			for y := range 300 {
				for x := range 400 {
					v := float64(dst.RGBAAt(x, y).R)
					sum, sx, sy = sum+v, sx+v*(float64(x)+0.5), sy+v*(float64(y)+0.5)
				}
			}
			if sum == 0 {
				t.Fatalf("%v m a pixel: the block is not there", size)
			}
			got := orb.Point{f.Corner[0] + sx/sum*size, f.Corner[1] - sy/sum*size}
			// A block larger than the view fills it: its middle is then the view's.
			if 64*0.4/size > 300 {
				continue
			}
			tolerance := 0.5 * size
			if q == Smooth {
				tolerance = 0.25 * size
			}
			if d := dist(got, want); d > tolerance {
				t.Errorf("quality %v, %v m a pixel: block at %v, want %v within %v", q, size, got, want, tolerance)
			}
		}
	}
}

// Draw is compared with the plain definition, pixel by pixel.
func TestDrawAgreesWithItsDefinition(t *testing.T) {
	r := rand.New(rand.NewSource(3))
	for round := range 60 {
		p := New(noise(r, 1+r.Intn(400), 1+r.Intn(400)), orb.Point{r.NormFloat64() * 50, r.NormFloat64() * 50}, 0.1+r.Float64())
		b := p.Bound()
		f := Frame{orb.Point{b.Min[0] + (b.Max[0]-b.Min[0])*(r.Float64()*1.5-0.5), b.Max[1] - (b.Max[1]-b.Min[1])*(r.Float64()*1.5-0.5)},
			p.pixel * math.Exp(r.NormFloat64()*1.2)}
		q := Quality(round % 2)
		// A destination with a margin that must stay as it is.
		whole := noise(r, 110, 90)
		before := append([]uint8(nil), whole.Pix...)
		dst := whole.SubImage(image.Rect(5, 7, 105, 80)).(*image.RGBA)
		p.Draw(dst, f, q)

		level := min(max(int(math.Floor(math.Log2(f.MetresPerPixel/p.pixel)+0.5)), 0), len(p.levels)-1)
		src, size := p.levels[level], p.pixel*math.Pow(2, float64(level))
		for y := range 90 {
			for x := range 110 {
				got := whole.RGBAAt(x, y)
				old := color.RGBA{before[4*(110*y+x)], before[4*(110*y+x)+1], before[4*(110*y+x)+2], before[4*(110*y+x)+3]}
				at := orb.Point{f.Corner[0] + (float64(x-5)+0.5)*f.MetresPerPixel, f.Corner[1] - (float64(y-7)+0.5)*f.MetresPerPixel}
				const edge = 1e-9
				if !(image.Point{x, y}).In(dst.Rect) || at[0] < b.Min[0]-edge || at[0] > b.Max[0]+edge || at[1] < b.Min[1]-edge || at[1] > b.Max[1]+edge {
					if got != old {
						t.Fatalf("round %d: pixel %d,%d outside the picture changed from %v to %v", round, x, y, old, got)
					}
					continue
				}
				u, v := (at[0]-p.origin[0])/size, (p.origin[1]-at[1])/size
				var want [4]float64
				if q == Fast {
					if nearWhole(u) || nearWhole(v) {
						continue
					}
					c := src.RGBAAt(min(int(u), src.Rect.Dx()-1), min(int(v), src.Rect.Dy()-1))
					want = [4]float64{float64(c.R), float64(c.G), float64(c.B), float64(c.A)}
				} else {
					want = plainBilinear(src, u-0.5, v-0.5)
				}
				rest := 1 - want[3]/255
				for k, under := range []uint8{old.R, old.G, old.B, old.A} {
					want[k] += float64(under) * rest
				}
				for k, c := range []uint8{got.R, got.G, got.B, got.A} {
					tolerance := 1.0
					if q == Smooth {
						tolerance = 4 // shares in 256ths, two roundings
					}
					if math.Abs(float64(c)-want[k]) > tolerance {
						t.Fatalf("round %d, quality %v, pixel %d,%d, channel %d: %d, want %.1f", round, q, x, y, k, c, want[k])
					}
				}
			}
		}
	}
}

func nearWhole(v float64) bool { return math.Abs(v-math.Round(v)) < 1e-9 }

func plainBilinear(img *image.RGBA, x, y float64) (out [4]float64) {
	x = math.Min(math.Max(x, 0), float64(img.Rect.Dx()-1))
	y = math.Min(math.Max(y, 0), float64(img.Rect.Dy()-1))
	for dy := range 2 {
		for dx := range 2 {
			px, py := int(x)+dx, int(y)+dy
			share := (1 - math.Abs(x-float64(px))) * (1 - math.Abs(y-float64(py)))
			c := img.RGBAAt(min(px, img.Rect.Dx()-1), min(py, img.Rect.Dy()-1))
			for k, v := range []uint8{c.R, c.G, c.B, c.A} {
				out[k] += share * float64(v)
			}
		}
	}
	return out
}

func TestAPartIsWrittenAsJPEGWithTheGroundItShows(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 200, 100))
	for y := range 100 {
		for x := range 200 {
			if x < 100 {
				img.SetRGBA(x, y, color.RGBA{200, 40, 40, 255})
			} // right half transparent
		}
	}
	p := New(img, orb.Point{0, 50}, 0.5) // 0..100 m by 0..50 m
	data, area, err := p.JPEG(orb.Bound{Min: orb.Point{-1000, 10}, Max: orb.Point{1000, 30.1}}, JPEGOptions{MaxPixels: 2000, Quality: 95})
	if err != nil {
		t.Fatal(err)
	}
	got, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	size := (area.Max[0] - area.Min[0]) / float64(got.Bounds().Dx())
	if area.Min[0] != 0 || area.Max[1] != 30.1 || area.Max[0] < 100 || area.Max[0] > 100+size || area.Min[1] > 10 || area.Min[1] < 10-size {
		t.Errorf("shows %v, want 0..100 by 10..30.1 and at most a pixel more", area)
	}
	if n := got.Bounds().Dx() * got.Bounds().Dy(); n > 2200 || n < 1500 {
		t.Errorf("%d pixels, want about 2000", n)
	}
	near := func(x float64, want color.RGBA) {
		t.Helper()
		r, g, b, _ := got.At(int((x-area.Min[0])/size), got.Bounds().Dy()/2).RGBA()
		for k, v := range []uint32{r >> 8, g >> 8, b >> 8} {
			if math.Abs(float64(v)-float64([]uint8{want.R, want.G, want.B}[k])) > 6 {
				t.Errorf("at x %v: colour %d %d %d, want %v", x, r>>8, g>>8, b>>8, want)
				return
			}
		}
	}
	near(20, color.RGBA{200, 40, 40, 255})
	near(80, color.RGBA{255, 255, 255, 255})

	data, _, err = p.JPEG(p.Bound(), JPEGOptions{Veil: 0.5, Grey: true, Paper: color.RGBA{100, 100, 100, 255}})
	if err != nil {
		t.Fatal(err)
	}
	grey, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	if _, ok := grey.(*image.Gray); !ok {
		t.Errorf("grey is written as %T", grey)
	}
	got, area, size = grey, p.Bound(), 0.5
	near(80, color.RGBA{100, 100, 100, 255})
	const y = 94 // half of 100 and half of 0.299·200 + 0.587·40 + 0.114·40
	near(20, color.RGBA{y, y, y, 255})

	if _, _, err := p.JPEG(orb.Bound{Min: orb.Point{200, 0}, Max: orb.Point{300, 50}}, JPEGOptions{}); !errors.Is(err, ErrOutside) {
		t.Errorf("a crop beside the picture: error %v", err)
	}
	if _, _, err := p.JPEG(p.Bound(), JPEGOptions{Quality: 101}); err == nil {
		t.Error("a quality of 101 is no error")
	}
}

func BenchmarkDraw(b *testing.B) {
	p := New(noise(rand.New(rand.NewSource(4)), 4096, 4096), orb.Point{0, 0}, 0.25)
	opaque := image.NewRGBA(p.levels[0].Rect)
	for i := range opaque.Pix {
		opaque.Pix[i] = 255 - uint8(i%4)*uint8(i/4%2)
		if i%4 == 3 {
			opaque.Pix[i] = 255
		}
	}
	solid := New(opaque, orb.Point{0, 0}, 0.25)
	dst := image.NewRGBA(image.Rect(0, 0, 1600, 1000))
	for _, c := range []struct {
		name string
		p    *Picture
		size float64
	}{{"opaque", solid, 0.1}, {"opaque", solid, 0.37}, {"opaque", solid, 0.9}, {"translucent", p, 0.37}} {
		for q, name := range []string{"fast", "smooth"} {
			b.Run(fmt.Sprintf("%s/%s/%vm", name, c.name, c.size), func(b *testing.B) {
				for range b.N {
					c.p.Draw(dst, Frame{orb.Point{10.3, -20.7}, c.size}, Quality(q))
				}
			})
		}
	}
}

func BenchmarkNew(b *testing.B) {
	img := image.NewRGBA(image.Rect(0, 0, 4096, 4096))
	for range b.N {
		New(img, orb.Point{}, 1)
	}
}

func BenchmarkJPEG(b *testing.B) {
	p := New(noise(rand.New(rand.NewSource(4)), 4096, 4096), orb.Point{0, 0}, 0.25)
	for range b.N {
		if _, _, err := p.JPEG(p.Bound(), JPEGOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}
