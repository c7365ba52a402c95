package drawing

import (
	"image/color"
	"math"
)

// The colour-universal set of Okabe and Ito (2008), "Color universal design:
// how to make figures and presentations that are friendly to colorblind
// people", J*FLY data depository. Each has one meaning in the table of styles.
var (
	skyBlue       = color.NRGBA{0x56, 0xB4, 0xE9, 0xFF}
	blue          = color.NRGBA{0x00, 0x72, 0xB2, 0xFF}
	bluishGreen   = color.NRGBA{0x00, 0x9E, 0x73, 0xFF}
	vermilion     = color.NRGBA{0xD5, 0x5E, 0x00, 0xFF}
	reddishPurple = color.NRGBA{0xCC, 0x79, 0xA7, 0xFF}
)

// Colours of our own: the ink and the paper of a survey drawing, and the
// olive-brown of vegetation.
var (
	ink        = color.NRGBA{0x1F, 0x2A, 0x30, 0xFF}
	paper      = color.NRGBA{0xF7, 0xF5, 0xEF, 0xFF}
	darkInk    = color.NRGBA{0xF3, 0xEE, 0xE2, 0xFF}
	darkPaper  = color.NRGBA{0x22, 0x28, 0x2B, 0xFF}
	white      = color.NRGBA{0xFF, 0xFF, 0xFF, 0xFF}
	olive      = color.NRGBA{0x6B, 0x64, 0x2C, 0xFF}
	olivePale  = color.NRGBA{0xB9, 0xB0, 0x74, 0xFF}
	purpleDark = color.NRGBA{0x8F, 0x3F, 0x6B, 0xFF} // reddish purple, darkened for outlines on paper
)

// cividis at every sixteenth of its 256 entries, and the last.
//
// Source: Nunez, Anderton and Renslow (2018), "Optimizing colormaps with
// consideration for color vision deficiency to enable accurate interpretation
// of scientific data", PLoS ONE 13(7): e0199239; the values are those of the
// table matplotlib publishes.
var cividis = [17][3]float64{
	{0.000000, 0.135112, 0.304751}, // 0
	{0.000000, 0.178802, 0.414764}, // 16
	{0.103401, 0.220406, 0.435790}, // 32
	{0.195057, 0.264372, 0.425924}, // 48
	{0.263738, 0.307831, 0.422789}, // 64
	{0.324250, 0.351289, 0.426250}, // 80
	{0.380830, 0.395164, 0.435653}, // 96
	{0.435168, 0.439763, 0.451134}, // 112
	{0.488697, 0.485318, 0.471008}, // 128
	{0.547840, 0.531895, 0.471704}, // 144
	{0.609105, 0.579816, 0.463638}, // 160
	{0.671991, 0.629316, 0.448018}, // 176
	{0.736488, 0.680629, 0.424028}, // 192
	{0.802667, 0.733978, 0.390153}, // 208
	{0.870717, 0.789572, 0.343333}, // 224
	{0.941147, 0.847530, 0.275815}, // 240
	{0.995737, 0.909344, 0.217772}, // 255
}

// Cividis returns the colour at t of the cividis sequence, from 0 (dark blue)
// to 1 (yellow); t beyond is held to the ends. Between the anchors it runs
// straight.
func Cividis(t float64) color.NRGBA {
	i := 255 * clamp(t, 0, 1)
	k := min(int(i/16), 15)
	span := 16.0
	if k == 15 {
		span = 15
	}
	f := (i - 16*float64(k)) / span
	var c [3]uint8
	for j := range c {
		c[j] = uint8(math.Round(255 * (cividis[k][j]*(1-f) + cividis[k+1][j]*f)))
	}
	return color.NRGBA{c[0], c[1], c[2], 0xFF}
}

// fade returns c with its opacity multiplied by share (0 to 1).
func fade(c color.NRGBA, share float64) color.NRGBA {
	c.A = uint8(math.Round(float64(c.A) * clamp(share, 0, 1)))
	return c
}

// mix returns the colour a share t of the way from a to b, opaque if both are.
func mix(a, b color.NRGBA, t float64) color.NRGBA {
	m := func(x, y uint8) uint8 { return uint8(math.Round(float64(x)*(1-t) + float64(y)*t)) }
	return color.NRGBA{m(a.R, b.R), m(a.G, b.G), m(a.B, b.B), m(a.A, b.A)}
}

// grey returns c without colour, by its luma.
//
// Source of the weights: Recommendation ITU-R BT.709, section 3.
func grey(c color.NRGBA) color.NRGBA {
	y := uint8(math.Round(0.2126*float64(c.R) + 0.7152*float64(c.G) + 0.0722*float64(c.B)))
	return color.NRGBA{y, y, y, c.A}
}

func clamp(v, lo, hi float64) float64 { return math.Min(math.Max(v, lo), hi) }
