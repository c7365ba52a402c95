package paper

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"math"
	"math/rand"
	"os"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"pleach/model/analysis"
	"pleach/model/picture"
	"pleach/ui/drawing"
)

// photograph is a JPEG of w by h pixels, waves with some noise.
func photograph(t testing.TB, w, h int) []byte {
	t.Helper()
	r := rand.New(rand.NewSource(5))
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			v := 128 + 60*math.Sin(float64(y)*5/97)*math.Cos(float64(x)*10/3/131)
			for c := range 3 {
				img.Pix[img.PixOffset(x, y)+c] = uint8(math.Max(0, math.Min(255, v+3*r.NormFloat64()+8*float64(c))))
			}
			img.Pix[img.PixOffset(x, y)+3] = 255
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 75}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// laid is a JPEG file and the picture read from it, on the ground by at, which
// does not turn it.
func laid(t testing.TB, data []byte, at picture.Affine) (*picture.Picture, *picture.File) {
	t.Helper()
	f, err := picture.NewFile(data, at)
	if err != nil {
		t.Fatal(err)
	}
	src, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	img := image.NewRGBA(src.Bounds())
	draw.Draw(img, img.Bounds(), src, image.Point{}, draw.Src)
	return picture.New(img, orb.Point{at[0], at[3]}, at[1]), f
}

// quarters is a JPEG of four colours, one in each quarter.
func quarters(t testing.TB) []byte {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, 160, 120))
	for y := range 120 {
		for x := range 160 {
			c := [4]color.RGBA{{220, 30, 30, 255}, {30, 160, 30, 255}, {30, 30, 220, 255}, {20, 20, 20, 255}}[x/80+2*(y/60)]
			img.SetRGBA(x, y, c)
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestAPictureLiesOnPaperAsItDoesOnTheGround(t *testing.T) {
	data := quarters(t)
	sin, cos := math.Sincos(0.4)
	in := site(t, rectangle(300, 200), 0)
	for name, at := range map[string]picture.Affine{
		"north up": {-150, 2, 0, 110, 0, -2},
		"turned":   {-150, 2 * cos, -2 * sin, 110, -2 * sin, -2 * cos},
	} {
		t.Run(name, func(t *testing.T) {
			f, err := picture.NewFile(data, at)
			if err != nil {
				t.Fatal(err)
			}
			in := in
			in.Original = f
			in.Picture = picture.New(image.NewRGBA(image.Rect(0, 0, 300, 220)), orb.Point{-150, 110}, 1)
			var b bytes.Buffer
			info, err := Print(&b, in, Options{Veil: -1})
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Contains(b.Bytes(), data) {
				t.Error("the file is not in the PDF as it stands")
			}
			const dpi = 60
			page := rendered(t, b.Bytes(), 1, dpi)
			for _, p := range []orb.Point{{20, 15}, {140, 20}, {30, 100}, {130, 100}, {75, 55}, {85, 65}} {
				u := info.View.ToUnit(at.At(p))
				x, y := int((info.Map.Min[0]+u[0])/25.4*dpi), int((info.Map.Min[1]+u[1])/25.4*dpi)
				if !info.Map.Pad(-2).Contains(orb.Point{info.Map.Min[0] + u[0], info.Map.Min[1] + u[1]}) {
					continue
				}
				want := [4][3]uint32{{220, 30, 30}, {30, 160, 30}, {30, 30, 220}, {20, 20, 20}}[int(p[0])/80+2*(int(p[1])/60)]
				r, g, bl, _ := page.At(x, y).RGBA()
				for c, v := range []uint32{r >> 8, g >> 8, bl >> 8} {
					if math.Abs(float64(v)-float64(want[c])) > 24 {
						t.Errorf("pixel %v lies at %d, %d of the page, which is %d %d %d, want %v", p, x, y, r>>8, g>>8, bl>>8, want)
						break
					}
				}
			}
		})
	}
}

func TestAPicturesOwnFileIsTakenWhereItServes(t *testing.T) {
	in := site(t, rectangle(300, 200), 0)
	data := photograph(t, 1600, 1200)
	for _, row := range []struct {
		name string
		at   picture.Affine
		opt  Options
		want bool
	}{
		{"as large as the map", picture.Affine{-200, 0.25, 0, 150, 0, -0.25}, Options{}, true},
		{"without colour", picture.Affine{-200, 0.25, 0, 150, 0, -0.25}, Options{Mono: true}, false},
		{"elsewhere", picture.Affine{5000, 0.25, 0, 150, 0, -0.25}, Options{}, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			in := in
			in.Picture, in.Original = laid(t, data, row.at)
			var b bytes.Buffer
			if _, err := Print(&b, in, row.opt); err != nil {
				t.Fatal(err)
			}
			if got := bytes.Contains(b.Bytes(), data); got != row.want {
				t.Errorf("the file is in the PDF: %v, want %v", got, row.want)
			}
		})
	}
	// One of more pixels than a map has dots at 600 dots an inch is drawn anew.
	sheet := newSheet(in, Options{})
	sheet.doc = newDocument(210, 297, time.Time{})
	view, p := drawing.View{MetresPerUnit: 1, Width: 150, Height: 100}, box{0, 0, 150, 100}
	for side, want := range map[int]bool{2000: true, 3600: false} {
		m := 100 / float64(side)
		sheet.in.Original = &picture.File{Width: side, Height: side, At: picture.Affine{-50, m, 0, 50, 0, -m}}
		if got := sheet.asItStands(view, p); got != want {
			t.Errorf("a file of %d pixels a side is taken: %v, want %v", side, got, want)
		}
	}
	// A large file of which the map shows next to nothing is drawn anew.
	big := make([]byte, len(data), len(data)+2<<20)
	copy(big, data)
	big = append(big, make([]byte, 2<<20)...)
	in.Picture, in.Original = laid(t, big, picture.Affine{-20000, 25, 0, 15000, 0, -25})
	var b bytes.Buffer
	if _, err := Print(&b, in, Options{}); err != nil {
		t.Fatal(err)
	}
	if b.Len() > 1<<20 {
		t.Errorf("%d bytes for a map that shows a hundredth of the picture", b.Len())
	}
}

// BenchmarkA3WithAPicture prints the layout of 200 sensors, their patterns and
// names over a picture of 3000 by 2000 pixels, as the file it was read from and
// drawn anew. PLEACH_BENCH_JPEG names a file to take instead of one made here.
func BenchmarkA3WithAPicture(b *testing.B) {
	data := []byte(nil)
	if name := os.Getenv("PLEACH_BENCH_JPEG"); name != "" {
		var err error
		if data, err = os.ReadFile(name); err != nil {
			b.Fatal(err)
		}
	} else {
		data = photograph(b, 3000, 2000)
	}
	in := site(b, oval(760, 480), 200)
	r, err := analysis.Run(context.Background(), in.Plan, nil)
	if err != nil {
		b.Fatal(err)
	}
	p, f := laid(b, data, picture.Affine{-450, 0.3, 0, 300, 0, -0.3})
	for _, way := range []struct {
		name string
		in   Input
	}{
		{"its own file", Input{Plan: in.Plan, Scene: r.Scene, Result: r, Picture: p, Original: f}},
		{"drawn anew", Input{Plan: in.Plan, Scene: r.Scene, Result: r, Picture: p}},
		{"none", Input{Plan: in.Plan, Scene: r.Scene, Result: r}},
	} {
		b.Run(way.name, func(b *testing.B) {
			size := 0
			for b.Loop() {
				var out bytes.Buffer
				if _, err := Print(&out, way.in, Options{Paper: A3}); err != nil {
					b.Fatal(err)
				}
				size = out.Len()
			}
			b.ReportMetric(float64(size), "file_bytes")
		})
	}
}

func TestMapsOfOneSheetHaveEachItsPartOfThePicture(t *testing.T) {
	in := site(t, rectangle(300, 200), 0)
	in.Picture, _ = laid(t, quarters(t), picture.Affine{-160, 2, 0, 120, 0, -2})
	s := newSheet(in, Options{Veil: -1})
	s.doc = newDocument(210, 297, time.Time{})
	p := box{10, 10, 50, 50}
	for _, at := range []orb.Point{{-80, 60}, {80, -60}} { // red, then black
		s.doc.pageOf(210, 297)
		if _, err := s.drawMap(mapping{list: &drawing.List{}, view: drawing.View{Centre: at, MetresPerUnit: 1, Width: p.w, Height: p.h}, at: p, name: "part"}); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if err := s.doc.write(&b); err != nil {
		t.Fatal(err)
	}
	for page, want := range []uint32{220, 20} {
		const dpi = 30
		red, _, _, _ := rendered(t, b.Bytes(), page+1, dpi).At(35*dpi*10/254, 35*dpi*10/254).RGBA()
		if got := red >> 8; math.Abs(float64(got)-float64(want)) > 20 {
			t.Errorf("page %d: red is %d, want %d", page+1, got, want)
		}
	}
}
