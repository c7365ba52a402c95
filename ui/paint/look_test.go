package paint

import (
	"image"
	"image/jpeg"
	"image/png"
	"os"
	"testing"

	"github.com/paulmach/orb"

	"pleach/ui/drawing"
)

func TestLook(t *testing.T) {
	dir := os.Getenv("LOOK")
	if dir == "" {
		t.Skip()
	}
	f, err := os.Open("/work/shared/data/ortho/autzen/autzen.jpg")
	if err != nil {
		t.Fatal(err)
	}
	img, err := jpeg.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	t.Log(img.Bounds())
	w, h := float64(img.Bounds().Dx())*0.3, float64(img.Bounds().Dy())*0.3
	pic := NewPicture(img, orb.Bound{Min: orb.Point{-w / 2, -h / 2}, Max: orb.Point{w / 2, h / 2}})
	l := sample()
	save := func(name string, im image.Image) {
		o, _ := os.Create(dir + "/" + name + ".png")
		png.Encode(o, im)
		o.Close()
	}
	for _, c := range []struct {
		name string
		m    drawing.Medium
		k    float64
		veil float64
		pic  *Picture
		zoom float64
	}{
		{"light", drawing.Medium{}, 1, 0.55, pic, 1}, {"lightfull", drawing.Medium{}, 1, 0.15, pic, 1}, {"light2x", drawing.Medium{}, 2, 0.55, pic, 1},
		{"dark", drawing.Medium{Dark: true}, 1, 0.55, pic, 1}, {"bare", drawing.Medium{}, 1, 1, nil, 1}, {"darkbare", drawing.Medium{Dark: true}, 1, 1, nil, 1},
		{"zoom", drawing.Medium{}, 1, 0.45, pic, 4}, {"far", drawing.Medium{}, 1, 0.55, pic, 0.3},
		{"sheet", drawing.Medium{Paper: true}, 0, 0.6, pic, 1}, {"mono", drawing.Medium{Paper: true, Mono: true}, 0, 0.75, pic, 1}, {"installer", drawing.Medium{Paper: true, Installer: true}, 0, 0.75, pic, 1},
	} {
		v := drawing.View{Width: 1200, Height: 750, Scale: c.k, MetresPerUnit: 0.40 / c.zoom}
		if c.m.Paper {
			v = drawing.View{Width: 240, Height: 160, Scale: 150 / 25.4, MetresPerUnit: 2}
		}
		if c.zoom == 4 {
			v.Centre = orb.Point{-30, -80}
		}
		k := v.PixelsPerUnit()
		dst := image.NewRGBA(image.Rect(0, 0, int(v.Width*k), int(v.Height*k)))
		th := drawing.NewTheme(c.m)
		c.pic.Draw(dst, v, th, c.veil, true)
		New().Paint(dst, l, v, th, nil, drawing.AllLayers)
		save(c.name, dst)
	}
}
