package radio

import (
	"fmt"
	"math"
	"testing"
)

func TestOutsideSlabsAtTheAlarmBand(t *testing.T) {
	const source = "ITU-R P.2040-3 sections 2.1.4 and 2.2.2, worked outside the program"
	for _, row := range []struct {
		material       string
		thickness, mhz float64
		want, tol      float64
	}{
		{"concrete", 0.2, 868.3, 7.49267, 0.001},
		{"brick", 0.1, 868.3, 2.6, 0.05},
		{"brick", 0.1, 433.92, 3.19602, 0.001},
		{"wood", 0.03, 868.3, 0.42139, 0.001},
		{"glass", 0.006, 868.3, 0.4, 0.05},
		{"glass", 0.006, 2000, 1.48660, 0.001},
		{"plasterboard", 0.0125, 868.3, 0.29903, 0.001},
		{"chipboard", 0.018, 2000, 1.53301, 0.001},
	} {
		t.Run(fmt.Sprintf("%v m of %s at %v MHz", row.thickness, row.material, row.mhz), func(t *testing.T) {
			m, known := MaterialNamed(row.material)
			if !known {
				t.Fatal("not known")
			}
			closeTo(t, "Slab", m.Slab(row.thickness, row.mhz), row.want, row.tol, source)
		})
	}
}

// Between two half-spaces the wave is only reflected: of a thin slab without
// losses the loss is that of two faces at a quarter of a wavelength, and none at
// a half.
func TestOutsideAClearSlabLosesNothingAtHalfAWave(t *testing.T) {
	m := Material{A: 4} // refractive index 2
	wave := Wavelength(1000) / 2
	const source = "optics of thin layers: T = 4n/(n²+1)² at a quarter of a wave, squared over itself; 1 at a half"
	closeTo(t, "half a wave", m.Slab(wave/2, 1000), 0, 1e-9, source)
	closeTo(t, "a quarter of a wave", m.Slab(wave/4, 1000), 20*math.Log10((4+1.0)/(2*2)), 1e-9, source)
	closeTo(t, "no slab", m.Slab(0, 1000), 0, 1e-9, source)
}

func TestMetalIsOpaqueAndUnknownWordsAreUnknown(t *testing.T) {
	for _, word := range []string{"metal", "Steel", " metal_cladding ", "container"} {
		m, known := MaterialNamed(word)
		if !known || !math.IsInf(Walls{Material: m, Count: 1}.Loss(868.3), 1) {
			t.Errorf("%q: known %v, %+v, want an opaque material", word, known, m)
		}
	}
	for _, word := range []string{"", "straw", "brick or so"} {
		if m, known := MaterialNamed(word); known {
			t.Errorf("%q is taken for %s", word, m.Name)
		}
	}
}

func TestWallsLoseTogetherWhatEachLoses(t *testing.T) {
	for _, m := range Materials() {
		if m.Opaque {
			continue
		}
		one := m.Slab(m.Thickness, 868.3) + m.ExtraDB
		if got := (Walls{Material: m, Count: 3}).Loss(868.3); math.Abs(got-3*one) > 1e-9 {
			t.Errorf("three walls of %s lose %v dB, want %v", m.Name, got, 3*one)
		}
		if got := (Walls{Material: m}).Loss(868.3); got != 0 {
			t.Errorf("no wall of %s loses %v dB", m.Name, got)
		}
		if m.Slab(0.4, 868.3) == (Walls{Material: m, Count: 1}).Loss(868.3) || (Walls{Material: m, Thickness: 0.4, Count: 1}).Loss(868.3) != m.Slab(0.4, 868.3)+m.ExtraDB {
			t.Errorf("a stated thickness of %s does not count", m.Name)
		}
	}
}

func TestBrickAndConcreteAreExtrapolatedBelow1GHz(t *testing.T) {
	for _, row := range []struct {
		material string
		mhz      float64
		want     bool
	}{{"brick", 868.3, true}, {"concrete", 868.3, true}, {"concrete", 1000, false}, {"wood", 433.92, false}, {"glass", 433.92, false}, {"glass", 50, true}} {
		if m, _ := MaterialNamed(row.material); m.Extrapolated(row.mhz) != row.want {
			t.Errorf("%s at %v MHz: extrapolated %v, want %v", row.material, row.mhz, !row.want, row.want)
		}
	}
}
