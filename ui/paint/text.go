package paint

import (
	"image"
	"image/color"
	"math"

	"github.com/paulmach/orb"
	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"pleach/assets/fonts"
	"pleach/ui/drawing"
)

// maxTexts is the number of texts kept as masks: chosen, several screens full.
const maxTexts = 4096

type faceKey struct {
	size   int // hundredths of a pixel
	medium bool
}

type textKey struct {
	faceKey
	text string
}

type face struct{ font.Face }

// textMask is a text as coverage, its dot at (dx, dy) from the upper left.
type textMask struct {
	img    *image.Alpha
	dx, dy int
}

type texts struct {
	parsed [2]*opentype.Font
	faces  map[faceKey]*face
	masks  map[textKey]*textMask
}

func (t *texts) face(k faceKey) *face {
	if f, ok := t.faces[k]; ok {
		return f
	}
	weight, ttf := 0, fonts.Regular
	if k.medium {
		weight, ttf = 1, fonts.Medium
	}
	if t.parsed[weight] == nil {
		f, err := opentype.Parse(ttf())
		if err != nil {
			panic("paint: an embedded typeface cannot be read: " + err.Error())
		}
		t.parsed[weight] = f
	}
	ff, err := opentype.NewFace(t.parsed[weight], &opentype.FaceOptions{Size: float64(k.size) / 100, DPI: 72, Hinting: font.HintingNone})
	if err != nil {
		panic("paint: an embedded typeface cannot be sized: " + err.Error())
	}
	if len(t.faces) > 64 {
		clear(t.faces)
	}
	f := &face{ff}
	t.faces[k] = f
	return f
}

// mask returns a text as coverage. Characters stand at the sum of the
// unrounded advances, as fonts.Advance measures.
func (t *texts) mask(k textKey) *textMask {
	if m, ok := t.masks[k]; ok {
		return m
	}
	f := t.face(k.faceKey)
	size := float64(k.size) / 100
	width := fonts.Advance(k.medium, k.text) * size
	pad := 2 + int(size/4)
	m := &textMask{dx: pad, dy: int(math.Ceil(size)) + 1}
	m.img = image.NewAlpha(image.Rect(0, 0, int(math.Ceil(width))+2*pad, m.dy+int(math.Ceil(size*0.35))+1))
	d := font.Drawer{Dst: m.img, Src: image.Opaque, Face: f, Dot: fixed.P(m.dx, m.dy)}
	at := 0.0
	for _, r := range k.text {
		d.Dot.X = fixed.I(m.dx) + fixed.Int26_6(math.Round(at*64))
		d.DrawString(string(r))
		at += fonts.Advance(k.medium, string(r)) * size
	}
	if len(t.masks) >= maxTexts {
		clear(t.masks)
	}
	t.masks[k] = m
	return m
}

// Text is part of drawing.Canvas. The text stands on whole pixels.
func (p *Painter) Text(at orb.Point, s string, f drawing.Font, c color.NRGBA) {
	m := p.texts.mask(textKey{faceKey{int(math.Round(f.Size * p.scale * 100)), f.Medium}, s})
	x0 := int(math.Round(within(at[0]*p.scale))) - m.dx
	y0 := int(math.Round(within(at[1]*p.scale))) - m.dy
	b := m.img.Rect.Add(image.Pt(x0, y0)).Intersect(image.Rect(0, 0, p.dst.Rect.Dx(), p.dst.Rect.Dy()))
	if b.Empty() {
		return
	}
	k := newInk(p.dst, c)
	for y := b.Min.Y; y < b.Max.Y; y++ {
		row := m.img.Pix[(y-y0)*m.img.Stride+b.Min.X-x0:]
		k.mask(y, b.Min.X, row[:b.Dx()])
	}
}
