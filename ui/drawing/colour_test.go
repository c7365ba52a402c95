package drawing

import (
	"fmt"
	"image/color"
	"math"
	"testing"
)

// The published table has 256 entries; Cividis keeps seventeen and runs
// straight between them. Most of these lie between the seventeen.
func TestOutsideCividisFollowsThePublishedTable(t *testing.T) {
	const source = "matplotlib 3, lib/matplotlib/_cm_listed.py, _cividis_data; after Nunez, Anderton and Renslow 2018, PLoS ONE 13(7) e0199239"
	for _, c := range []struct {
		entry   int
		r, g, b float64
		tol     float64 // largest error in a channel, of 1
	}{
		{0, 0.000000, 0.135112, 0.304751, 0.002},
		{8, 0.000000, 0.157932, 0.357521, 0.004},
		{20, 0.000000, 0.188769, 0.439563, 0.030}, // the table has a knee here
		{24, 0.017852, 0.198528, 0.441248, 0.036},
		{40, 0.154261, 0.242475, 0.430120, 0.008},
		{72, 0.294669, 0.329531, 0.423716, 0.004},
		{104, 0.408226, 0.417357, 0.442570, 0.004},
		{136, 0.517920, 0.508454, 0.472707, 0.004},
		{168, 0.640352, 0.604354, 0.456791, 0.004},
		{200, 0.769353, 0.707035, 0.408516, 0.004},
		{232, 0.905589, 0.818257, 0.312889, 0.006},
		{248, 0.977780, 0.877281, 0.227954, 0.020}, // and another at 253
		{255, 0.995737, 0.909344, 0.217772, 0.002},
	} {
		t.Run(fmt.Sprint(c.entry), func(t *testing.T) {
			got := Cividis(float64(c.entry) / 255)
			for i, ch := range [3][2]float64{{float64(got.R) / 255, c.r}, {float64(got.G) / 255, c.g}, {float64(got.B) / 255, c.b}} {
				if math.Abs(ch[0]-ch[1]) > c.tol {
					t.Errorf("channel %d: got %.3f, want %.3f within %.3f (%s)", i, ch[0], ch[1], c.tol, source)
				}
			}
		})
	}
}

func TestOutsideColoursAreThoseOfTheUniversalSet(t *testing.T) {
	const source = "Okabe and Ito 2008, Color universal design, figure 16; the RGB values from memory"
	for _, c := range []struct {
		name    string
		got     color.NRGBA
		r, g, b uint8
	}{
		{"sky blue", skyBlue, 86, 180, 233},
		{"blue", blue, 0, 114, 178},
		{"bluish green", bluishGreen, 0, 158, 115},
		{"vermilion", vermilion, 213, 94, 0},
		{"reddish purple", reddishPurple, 204, 121, 167},
	} {
		t.Run(c.name, func(t *testing.T) {
			if want := (color.NRGBA{c.r, c.g, c.b, 255}); c.got != want {
				t.Errorf("got %v, want %v (%s)", c.got, want, source)
			}
		})
	}
}

func TestLighterMarginsAreLighterInGreyToo(t *testing.T) {
	last := -1
	for i := 0; i <= 100; i++ {
		y := int(grey(Cividis(float64(i) / 100)).R)
		if y < last {
			t.Errorf("grey at %d %% is %d, under %d before it", i, y, last)
		}
		last = y
	}
}

// contrast is the ratio of relative luminances of two opaque colours.
func contrast(a, b color.NRGBA) float64 {
	lum := func(c color.NRGBA) float64 {
		f := func(v uint8) float64 {
			s := float64(v) / 255
			if s <= 0.04045 {
				return s / 12.92
			}
			return math.Pow((s+0.055)/1.055, 2.4)
		}
		return 0.2126*f(c.R) + 0.7152*f(c.G) + 0.0722*f(c.B)
	}
	x, y := lum(a), lum(b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

func TestOutsideTextStandsOffItsTag(t *testing.T) {
	const source = "W3C, Web Content Accessibility Guidelines 2.1, success criterion 1.4.3: 4.5 to 1 for text"
	for name, m := range map[string]Medium{"light": {}, "dark": {Dark: true}, "sheet": {Paper: true}, "mono": {Paper: true, Mono: true}} {
		th := NewTheme(m)
		for _, k := range []Meaning{DeviceName, GapNumber, MarginFigure, ChainageFigure, FeatureName, BarName, Note} {
			t.Run(name+"/"+k.String(), func(t *testing.T) {
				st := th.Style(k)
				under := th.Paper
				if st.Tag.Fill.A > 0 {
					under = mix(th.Paper, color.NRGBA{st.Tag.Fill.R, st.Tag.Fill.G, st.Tag.Fill.B, 255}, float64(st.Tag.Fill.A)/255)
				}
				if r := contrast(st.Ink, under); r < 4.5 {
					t.Errorf("contrast %.2f of %v on %v is under 4.5 (%s)", r, st.Ink, under, source)
				}
			})
		}
	}
}
