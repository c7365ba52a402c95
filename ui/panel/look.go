package panel

import (
	"encoding/binary"
	"image/color"
	"math"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"pleach/assets/fonts"
	"pleach/ui/drawing"
)

// Look is the theme of the window: ink on paper, the typeface of the drawing.
// Colour is left to the map.
type Look struct {
	Variant *fyne.ThemeVariant // nil: as the system has it
	Text    float32            // size of text, 1 as designed
}

// Colours of our own, beside those every Fyne theme has.
const (
	ColorSoft  fyne.ThemeColorName = "pleachSoft"  // second-rank text: units, limits, remedies
	ColorSheet fyne.ThemeColorName = "pleachSheet" // the ground of the panels
	ColorRule  fyne.ThemeColorName = "pleachRule"  // hairlines
)

// SizeNameSmall is the size of second-rank text.
const SizeNameSmall fyne.ThemeSizeName = "pleachSmall"

var (
	regular = fyne.NewStaticResource("Go-Regular.ttf", onWholeRows(fonts.Regular()))
	medium  = fyne.NewStaticResource("Go-Medium.ttf", onWholeRows(fonts.Medium()))
)

// How far a line of type reaches above and below its base line, in em: chosen so
// that letters have their feet at every usual size. Fyne v2.7.1 sets the base line
// on the first whole pixel below the ascent and gives a line the nearest whole
// number of pixels in all, which with the typeface's own figures leaves two rows
// at 13 pixels where a g needs three.
const lineAscent, lineDescent = 0.916, 0.26

// onWholeRows returns a copy of a TrueType file with these in place of the figures
// of its horizontal header (table hhea of ISO/IEC 14496-22).
func onWholeRows(ttf []byte) []byte {
	out := slices.Clone(ttf)
	u32 := func(at int) int { return int(binary.BigEndian.Uint32(out[at:])) }
	place := map[string]int{}
	for i := range int(binary.BigEndian.Uint16(out[4:])) {
		at := 12 + 16*i
		place[string(out[at:at+4])] = u32(at + 8)
	}
	em := float64(binary.BigEndian.Uint16(out[place["head"]+18:]))
	binary.BigEndian.PutUint16(out[place["hhea"]+4:], uint16(lineAscent*em))
	binary.BigEndian.PutUint16(out[place["hhea"]+6:], uint16(-int16(lineDescent*em)))
	binary.BigEndian.PutUint16(out[place["hhea"]+8:], 0)
	return out
}

// Dark reports whether the look is dark where the system has the variant v.
func (l *Look) Dark(v fyne.ThemeVariant) bool {
	if l.Variant != nil {
		v = *l.Variant
	}
	return v == theme.VariantDark
}

// Color is part of fyne.Theme.
func (l *Look) Color(name fyne.ThemeColorName, v fyne.ThemeVariant) color.Color {
	dark := l.Dark(v)
	t := drawingThemes[0]
	if dark {
		t = drawingThemes[1]
	}
	ink, paper := t.Ink, t.Paper
	share := func(a float64) color.Color { return blend(paper, ink, a) }
	switch name {
	case theme.ColorNameBackground, ColorSheet:
		return paper
	case theme.ColorNameForeground:
		return solid(ink)
	case theme.ColorNamePrimary, theme.ColorNameHyperlink, theme.ColorNameSuccess, theme.ColorNameWarning:
		return ink
	case theme.ColorNameForegroundOnPrimary, theme.ColorNameForegroundOnSuccess, theme.ColorNameForegroundOnWarning, theme.ColorNameForegroundOnError:
		return paper
	case theme.ColorNameError:
		return t.Style(drawing.Gap).Pen.Colour
	case ColorSoft, theme.ColorNamePlaceHolder:
		return share(0.66)
	case theme.ColorNameDisabled:
		return share(0.42)
	case theme.ColorNameButton:
		if dark {
			return share(0.18)
		}
		return share(0.07)
	case theme.ColorNameDisabledButton:
		return share(0.03)
	case theme.ColorNameInputBackground:
		if dark {
			return blend(paper, color.NRGBA{0, 0, 0, 255}, 0.22)
		}
		return blend(paper, color.NRGBA{255, 255, 255, 255}, 0.8)
	case theme.ColorNameInputBorder:
		return share(0.22)
	case ColorRule, theme.ColorNameSeparator:
		return share(0.14)
	case theme.ColorNameMenuBackground: // stands out from the dialog it opens over
		if dark {
			return blend(paper, ink, 0.15)
		}
		return color.NRGBA{255, 255, 255, 255}
	case theme.ColorNameOverlayBackground:
		if dark {
			return blend(paper, ink, 0.06)
		}
		return blend(paper, color.NRGBA{255, 255, 255, 255}, 0.55)
	case theme.ColorNameHeaderBackground:
		return share(0.04)
	case theme.ColorNameHover:
		return alpha(ink, 0.07)
	case theme.ColorNamePressed:
		return alpha(ink, 0.14)
	case theme.ColorNameSelection:
		return alpha(ink, 0.16)
	case theme.ColorNameFocus:
		return alpha(ink, 0.14)
	case theme.ColorNameScrollBar:
		return alpha(ink, 0.35)
	case theme.ColorNameScrollBarBackground:
		return color.Transparent
	case theme.ColorNameShadow:
		return color.NRGBA{0, 0, 0, 14}
	}
	return theme.DefaultTheme().Color(name, v)
}

// Font is part of fyne.Theme.
func (l *Look) Font(s fyne.TextStyle) fyne.Resource {
	switch {
	case s.Monospace, s.Symbol:
		return theme.DefaultTheme().Font(s)
	case s.Bold:
		return medium
	}
	return regular
}

// Icon is part of fyne.Theme.
func (l *Look) Icon(n fyne.ThemeIconName) fyne.Resource { return theme.DefaultTheme().Icon(n) }

// Scale is the size of text, 1 as designed.
func (l *Look) Scale() float32 {
	if l.Text <= 0 {
		return 1
	}
	return l.Text
}

// sizes are in device-independent units at text size 1, on a grid of 4 where
// they are distances. The inner padding stays whole at every size of text: a menu sets
// its labels so far into their rows, and the toolkit stretches type by a pixel that
// begins between two.
var sizes = map[fyne.ThemeSizeName]float32{
	theme.SizeNameText: 13, SizeNameSmall: 12, theme.SizeNameCaptionText: 12, theme.SizeNameHeadingText: 18, theme.SizeNameSubHeadingText: 14,
	theme.SizeNamePadding: 4, theme.SizeNameInnerPadding: 6, theme.SizeNameLineSpacing: 4, theme.SizeNameInlineIcon: 16,
	theme.SizeNameInputBorder: 1, theme.SizeNameInputRadius: 2, theme.SizeNameSelectionRadius: 2,
	theme.SizeNameScrollBar: 10, theme.SizeNameScrollBarSmall: 4, theme.SizeNameScrollBarRadius: 2, theme.SizeNameSeparatorThickness: 1,
}

// Size is part of fyne.Theme.
func (l *Look) Size(n fyne.ThemeSizeName) float32 {
	s, ok := sizes[n]
	if !ok {
		return theme.DefaultTheme().Size(n)
	}
	switch n {
	case theme.SizeNameText, SizeNameSmall, theme.SizeNameCaptionText, theme.SizeNameHeadingText, theme.SizeNameSubHeadingText, theme.SizeNameInlineIcon:
		s = float32(math.Round(float64(s * l.Scale()))) // the toolkit sets type in whole sizes
	}
	return s
}

var drawingThemes = [2]*drawing.Theme{drawing.NewTheme(drawing.Medium{}), drawing.NewTheme(drawing.Medium{Dark: true})}

// Theme returns the table of styles that goes with the look.
func (l *Look) Theme(v fyne.ThemeVariant) *drawing.Theme {
	if l.Dark(v) {
		return drawingThemes[1]
	}
	return drawingThemes[0]
}

func blend(a, b color.NRGBA, t float64) color.NRGBA {
	m := func(x, y uint8) uint8 { return uint8(float64(x)*(1-t) + float64(y)*t + 0.5) }
	return color.NRGBA{m(a.R, b.R), m(a.G, b.G), m(a.B, b.B), 255}
}

// solid is an opaque colour. Fyne v2.7.1 takes the low byte of 0.95 times the
// 16-bit alpha of the foreground for the keys in its menus: 50 of 255 for a
// colour that is quite opaque, too pale to be read. An alpha a thousandth lower
// makes that 240 and changes nothing else.
type solid color.NRGBA

// RGBA is part of color.Color.
func (c solid) RGBA() (r, g, b, a uint32) {
	const nearly = 0xFFBA
	return uint32(c.R) * 0x101, uint32(c.G) * 0x101, uint32(c.B) * 0x101, nearly
}

func alpha(c color.NRGBA, a float64) color.NRGBA {
	c.A = uint8(255*a + 0.5)
	return c
}
