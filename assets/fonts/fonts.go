// Package fonts holds the one typeface of window and paper, in two weights,
// and its measure, so that whoever places text needs no back end to do it.
//
// The typeface is Go (Bigelow & Holmes for the Go project, 2016; licence in
// the file LICENSE beside this one): a sans of open counters that stays
// legible unhinted at 11 pixels, with WGL4 coverage (Latin, Greek, Cyrillic),
// figures of one width, a true minus, and I, l, 1, O, 0 told apart.
package fonts

import (
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gomedium"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Heights in em, to a thousandth the same in both weights.
const (
	CapHeight = 0.723
	XHeight   = 0.531
	Ascent    = 0.945
	Descent   = 0.211
)

// Regular is the lighter weight, as a TrueType file. It is not to be changed.
func Regular() []byte { return goregular.TTF }

// Medium is the heavier weight, as a TrueType file. It is not to be changed.
func Medium() []byte { return gomedium.TTF }

var measures = [2]func() *measure{
	sync.OnceValue(func() *measure { return newMeasure(goregular.TTF) }),
	sync.OnceValue(func() *measure { return newMeasure(gomedium.TTF) }),
}

// Advance returns the width of s in em, without kerning: the sum of its
// advances. A character the typeface lacks has the width of its substitute.
func Advance(medium bool, s string) float64 {
	m := measures[0]
	if medium {
		m = measures[1]
	}
	t := m()
	var sum float64
	for _, r := range s {
		if w := t.of(r); w >= 0 {
			sum += w
		} else {
			sum += t.missing
		}
	}
	return sum
}

// Has reports whether the typeface has a shape for r.
func Has(r rune) bool { return measures[0]().of(r) >= 0 }

// A measure is the advances of a weight in em by character, -1 for one it lacks.
type measure struct {
	width   []float64
	missing float64
}

func (m *measure) of(r rune) float64 {
	if int(r) < len(m.width) {
		return m.width[r]
	}
	return -1
}

// newMeasure reads the advances of all characters of the basic plane.
func newMeasure(ttf []byte) *measure {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		panic("fonts: an embedded typeface cannot be read: " + err.Error())
	}
	var buf sfnt.Buffer
	const em = 2048
	advance := func(g sfnt.GlyphIndex) float64 {
		a, err := f.GlyphAdvance(&buf, g, fixed.I(em), font.HintingNone)
		if err != nil {
			panic("fonts: an embedded typeface has a glyph without width: " + err.Error())
		}
		return float64(a) / 64 / em
	}
	m := &measure{width: make([]float64, 0x10000), missing: advance(0)}
	last := rune(0)
	for r := range rune(len(m.width)) {
		m.width[r] = -1
		if r < ' ' {
			continue
		}
		if g, err := f.GlyphIndex(&buf, r); err == nil && g != 0 {
			m.width[r], last = advance(g), r
		}
	}
	m.width = m.width[:last+1]
	return m
}
