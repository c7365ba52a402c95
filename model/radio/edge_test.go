package radio

import (
	"fmt"
	"math"
	"testing"
)

func TestOutsideKnifeEdge(t *testing.T) {
	const (
		approxSource = "ITU-R P.526-15 section 4.1 equation (31)"
		exactSource  = "ITU-R P.526-15 section 4.1 equation (30), Fresnel integrals by Simpson's rule"
	)
	for _, row := range []struct{ nu, approx, exact, approxTol, exactTol float64 }{
		{-2, 0, 0.73659, 0, 0.001},
		{-1, 0, -1.00, 0, 0.005},
		{-0.78, 0, -0.01114, 0, 0.001},
		{-0.5, 1.95925, 1.86, 0.0001, 0.005},
		{0, 6.03285, 6.02060, 0.0001, 0.001},
		{0.5, 10.29, 10.23, 0.005, 0.005},
		{1, 13.92573, 13.86411, 0.0001, 0.001},
		{1.5, 16.78, 16.78, 0.005, 0.005},
		{2, 19.04, 19.09096, 0.005, 0.001},
		{2.4, 20.53927, 20.62, 0.0001, 0.005},
		{3, 22.42, 22.52181, 0.005, 0.001},
		{5, 26.81358, 26.94, 0.0001, 0.005},
	} {
		t.Run(fmt.Sprint("nu ", row.nu), func(t *testing.T) {
			closeTo(t, "KnifeEdge", KnifeEdge(row.nu), row.approx, row.approxTol, approxSource)
			closeTo(t, "KnifeEdgeExact", KnifeEdgeExact(row.nu), row.exact, row.exactTol, exactSource)
		})
	}
}

func TestKnifeEdgeLiesWithin0_13DBOfTheExactLoss(t *testing.T) {
	for nu := -0.7; nu <= 5; nu += 0.01 {
		if a, e := KnifeEdge(nu), KnifeEdgeExact(nu); math.Abs(a-e) > 0.135 {
			t.Errorf("nu %.2f: approximately %.3f dB, exactly %.3f dB", nu, a, e)
		}
	}
}

func TestTheTwoFormsOfTheFresnelIntegralsMeet(t *testing.T) {
	c0, s0 := fresnel(3.5 - 1e-12)
	c1, s1 := fresnel(3.5)
	if math.Abs(c0-c1) > 1e-7 || math.Abs(s0-s1) > 1e-7 {
		t.Errorf("at 3.5 the series gives %v, %v, the asymptotic form %v, %v", c0, s0, c1, s1)
	}
}

func TestOutsideFresnelIntegrals(t *testing.T) {
	const source = "Abramowitz and Stegun table 7.7 (values from memory)"
	for _, row := range []struct{ x, c, s float64 }{
		{0.5, 0.4923442, 0.0647324},
		{1, 0.7798934, 0.4382591},
		{2, 0.4882534, 0.3434157},
		{5, 0.5636312, 0.4991914},
	} {
		t.Run(fmt.Sprint("x ", row.x), func(t *testing.T) {
			c, s := fresnel(row.x)
			closeTo(t, "C", c, row.c, 1e-6, source)
			closeTo(t, "S", s, row.s, 1e-6, source)
			c, s = fresnel(-row.x)
			closeTo(t, "C", c, -row.c, 1e-6, source)
			closeTo(t, "S", s, -row.s, 1e-6, source)
		})
	}
}
