package radio

import (
	"fmt"
	"math"
	"testing"
)

func TestOutsideFlatGround(t *testing.T) {
	const source = "direct plus specular ray, worked outside the program"
	run(t, []check{
		{"breakpoint 433.92 MHz, 1 m and 3 m", Breakpoint(1, 3, 433.92), 17.36882, 0.0001, "ITU-R P.1411-12 section 4.1.2"},
		{"breakpoint 868.3 MHz, 0.5 m each", Breakpoint(0.5, 0.5, 868.3), 2.9, 0.05, "ITU-R P.1411-12 section 4.1.2"},
		{"plane earth 1 km, 1 m and 3 m", PlaneEarthLoss(1000, 1, 3, 868.3), 110.45757, 0.0001, "40·log10 d - 20·log10 h1h2"},
		{"plane earth 200 m, 2.5 m and 4 m is free space", PlaneEarthLoss(200, 2.5, 4, 868.3), FreeSpaceLoss(math.Hypot(200, 1.5), 868.3), 0, "no loss is less than that of free space"},
		{"433.92 MHz, 1000 m, 1 m and 3 m", TwoRayExcess(1000, 1, 3, 433.92, Vertical, Soil{15, 0.005}), 24.13669, 0.001, source},
		{"433.92 MHz, 50 m, 2 m and 4 m", TwoRayExcess(50, 2, 4, 433.92, Vertical, Soil{}), -2.56357, 0.001, source},
		{"868.3 MHz, 200 m, 1 m and 3 m", TwoRayExcess(200, 1, 3, 868.3, Vertical, Soil{}), 5.70103, 0.001, source},
	})
}

func TestOutsideTwoRaysGoOverIntoPlaneEarth(t *testing.T) {
	for _, freq := range []float64{433.92, 868.3, 915} {
		for _, pol := range []Polarisation{Vertical, Horizontal} {
			const d, h1, h2 = 50000, 4, 6 // vertically the surface must be met at far less than Brewster's angle
			got := FreeSpaceLoss(math.Hypot(d, h2-h1), freq) + TwoRayExcess(d, h1, h2, freq, pol, Soil{})
			closeTo(t, fmt.Sprintf("%v MHz, polarisation %d", freq, pol), got, 40*math.Log10(d)-20*math.Log10(h1*h2), 0.5, "limit of grazing incidence, by hand")
		}
	}
}

func TestTheDiffractionLossContainsTheGround(t *testing.T) {
	// Why no two-ray loss is added to it: over flat ground the rated loss is already
	// that of the two rays, to within 2.5 dB.
	for _, d := range []float64{200, 500, 1000} {
		rated := Diffract(shaped(d, 5, level(0)), 1, 3, Conditions{FreqMHz: 868.3}).DeltaBullingtonDB
		if two := TwoRayExcess(d, 1, 3, 868.3, Vertical, Soil{}); math.Abs(rated-two) > 2.5 {
			t.Errorf("%v m: diffraction %v dB, two rays %v", d, rated, two)
		}
	}
}
