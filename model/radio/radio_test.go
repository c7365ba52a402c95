package radio

import (
	"math"
	"testing"
)

// A check is an outside value for a figure worked out here.
type check struct {
	name      string
	got, want float64
	tolerance float64
	source    string
}

func run(t *testing.T, checks []check) {
	t.Helper()
	for _, c := range checks {
		t.Run(c.name, func(t *testing.T) { closeTo(t, c.name, c.got, c.want, c.tolerance, c.source) })
	}
}

func TestOutsideFreeSpaceLoss(t *testing.T) {
	const source = "ITU-R P.525 section 2, its constant 32.4 rounded: up to 0.05 dB"
	run(t, []check{
		{"433.92 MHz 1 km", FreeSpaceLoss(1000, 433.92), 32.4 + 20*math.Log10(433.92), 0.05, source},
		{"868.3 MHz 500 m", FreeSpaceLoss(500, 868.3), 32.4 + 20*math.Log10(868.3*0.5), 0.05, source},
		{"915 MHz 2 km", FreeSpaceLoss(2000, 915), 32.4 + 20*math.Log10(915*2), 0.05, source},
		{"95.3 MHz 1.0193 km slant", FreeSpaceLoss(math.Hypot(1000, 814.4-617.3), 95.3), 72.14738, 0.06,
			"eeveetza/Py1812 b2iseac_rural_land_1km_2_log.csv (constant 92.4)"},
	})
}

func TestFreeSpaceLossIsNeverNegative(t *testing.T) {
	for _, d := range []float64{0, 1e-300, 1e-6, 0.02} {
		if got := FreeSpaceLoss(d, 868.3); got != 0 {
			t.Errorf("FreeSpaceLoss(%v m) = %v dB, want 0", d, got)
		}
	}
	if got := FreeSpaceLoss(0.03, 868.3); got <= 0 {
		t.Errorf("FreeSpaceLoss(0.03 m) = %v dB, want it above 0", got)
	}
}

func TestOutsideFresnelRadius(t *testing.T) {
	const source = "ITU-R P.526 section 2, worked out with the unrounded wavelength"
	run(t, []check{
		{"868.3 MHz middle of 1 km", FresnelRadius(1, 500, 500, 868.3), 9.29064, 0.005, source},
		{"868.3 MHz middle of 2 km", FresnelRadius(1, 1000, 1000, 868.3), 13.13894, 0.005, source},
		{"433.92 MHz middle of 1 km", FresnelRadius(1, 500, 500, 433.92), 13.1, 0.06, source},
		{"rounded form of the same", FresnelRadius(2, 300, 700, 868.3), 550 * math.Sqrt(2*0.3*0.7/868.3), 0.1,
			"ITU-R P.526 equation (2), constant 550, 0.5 % high"},
		{"at the antenna", FresnelRadius(1, 0, 700, 868.3), 0, 0, "definition"},
		{"at both antennas", FresnelRadius(1, 0, 0, 868.3), 0, 0, "definition"},
	})
}

func TestOutsideEarthBulge(t *testing.T) {
	const source = "d1·d2/(2a), the curvature term of ITU-R P.526-15 section 4.5"
	run(t, []check{
		{"middle of 1 km", EarthBulge(500, 500, 8500), 0.015, 0.0005, source},
		{"middle of 2 km", EarthBulge(1000, 1000, 8500), 0.05882, 0.00001, source},
	})
}

func TestOutsideRadiatedPower(t *testing.T) {
	const source = "ERP to EIRP, 2.15 dB for a half-wave dipole"
	run(t, []check{
		{"10 mW", ERPToEIRP(DBm(10)), 12.15, 0.005, source},
		{"25 mW", ERPToEIRP(DBm(25)), 16.13, 0.005, source},
		{"500 mW", ERPToEIRP(DBm(500)), 29.14, 0.005, source},
	})
}

func TestOutsideNormalDistribution(t *testing.T) {
	const source = "tables of the standard normal distribution"
	run(t, []check{
		{"quantile of 0.9", NormalQuantile(0.9), 1.281552, 1e-6, source},
		{"quantile of 0.95", NormalQuantile(0.95), 1.644854, 1e-6, source},
		{"quantile of 0.99", NormalQuantile(0.99), 2.326348, 1e-6, source},
		{"quantile of 0.999", NormalQuantile(0.999), 3.090232, 1e-6, source},
		{"quantile of 0.9999", NormalQuantile(0.9999), 3.719016, 1e-6, source},
		{"quantile of 0.5", NormalQuantile(0.5), 0, 0, source},
		{"share below 1", NormalCDF(1), 0.841345, 1e-6, source},
		{"share below -2", NormalCDF(-2), 0.0227501, 1e-7, source},
		{"share below 0", NormalCDF(0), 0.5, 0, source},
	})
}

func TestTheQuantileUndoesTheDistribution(t *testing.T) {
	for z := -6.0; z <= 6; z += 0.25 {
		if got := NormalQuantile(NormalCDF(z)); math.Abs(got-z) > 1e-6 {
			t.Errorf("NormalQuantile(NormalCDF(%v)) = %v", z, got)
		}
	}
}
