package contrast

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

const kelvin = -zeroCelsius // a temperature in kelvin plus this is in Celsius

// combined is the example of O20: 60 m, 30 degrees behind, 0.3 m/s against 30 m, 0
// degrees, 1 m/s.
func combined() (now, tested Condition) {
	tested = Person()
	tested.Distance, tested.Height, tested.Background = 30, 0, 0
	now = tested
	now.Distance, now.Background, now.Speed = 60, 30, 0.3
	return now, tested
}

func TestOutsidePhysics(t *testing.T) {
	z := Typical()
	ratio := func(a, b float64) float64 {
		return Thermal.Difference(1, 33, a) / Thermal.Difference(1, 33, b)
	}
	sign := func(x float64) float64 { return math.Copysign(1, x) }
	now, tested := combined()
	s, err := Relative(now, tested, z)
	if err != nil {
		t.Fatal(err)
	}
	amplitude := math.Pow(10, s.DB/20)
	const (
		planck  = "Planck's law with the CODATA 2018 constants, worked by series and by Simpson's rule outside the program"
		closed  = "closed form, worked outside the program"
		perCent = 0.01
	)
	for _, r := range []struct {
		name           string
		got, want, tol float64
		source         string
	}{
		{"O9 exitance at 300 K, 8-14 µm", Thermal.Exitance(300 + kelvin), 172.579, 0.05, planck},
		{"O10 exitance at 310 K, 8-14 µm", Thermal.Exitance(310 + kelvin), 200.102, 0.05, planck},
		{"O11 slope at 300 K, 8-14 µm", Thermal.Slope(300 + kelvin), 2.632, 0.003, planck},
		{"O12 contrast of 33 over 30 against 33 over 0 degrees", ratio(30, 0), 0.10448, 0.5 * perCent * 0.10448, planck},
		{"O12 in decibels", decibels(ratio(30, 0)), -19.62, 0.05, planck},
		{"O13 sign of 33 over 34 degrees", sign(Thermal.Difference(Emissivity, 33, 34)), -1, 0, planck},
		{"O14 peak at 300 K, µm", PeakWavelength(300 + kelvin), 9.659, 0.002, "Wien's law, CODATA 2018"},
		{"O15 filling at 60 against 120 m", z.Filling(0.5, 1.7, 60) / z.Filling(0.5, 1.7, 120), 4, 0.1 * perCent * 4, closed},
		{"O16 filling at 60 m", z.Filling(0.5, 1.7, 60), 0.25837, 0.1 * perCent * 0.25837, closed},
		{"O17 frequency at 100 m, 1 m/s, 2 degrees", z.Frequency(AngularRate(1, 100, 0, 90)), 0.2865, 0.1 * perCent * 0.2865, closed},
		{"O18 band-pass 0.1-10 Hz at 0.02865 Hz", z.Response(0.02865), 0.2754, 0.2 * perCent * 0.2754, closed},
		{"O19 towards against across, 3 m up, 30 m off", AngularRate(1, 30, 3, 0) / AngularRate(1, 30, 3, 90), 0.09901, 0.1 * perCent * 0.09901, closed},
		{"O20 all together", amplitude, 0.02341, 1 * perCent * 0.02341, closed},
		{"O20 in decibels", s.DB, -32.61, 0.09, closed},
		{"O20 by distance alone", s.Filling + decibels(1), -11.5, 0.15, closed},
		{"O21 fog of 1 km over 100 m", FogTransmission(100, 1000), 0.6762, 0.1 * perCent * 0.6762, "Koschmieder's law; closed form"},

		{"exitance at 288.15 K, 8-14 µm", Thermal.Exitance(15), 143.063, 0.05, planck},
		{"exitance at 33 degrees, 8-14 µm", Thermal.Exitance(33), 189.220, 0.05, planck},
		{"33 over 0 degrees, emissivity 0.95", Thermal.Difference(0.95, 33, 0), 74.8, 0.06, planck},
		{"33 over 20 degrees", Thermal.Difference(0.95, 33, 20), 32.4, 0.06, planck},
		{"33 over 40 degrees", Thermal.Difference(0.95, 33, 40), -19.0, 0.06, planck},
		{"clothed a quarter of the way, over 0 degrees", Thermal.Difference(0.95, Surface(33, 0, 0.75), 0), 16.4, 0.06, planck},
		{"clothed a quarter of the way, over 30 degrees", Thermal.Difference(0.95, Surface(33, 30, 0.75), 30), 1.9, 0.06, planck},
		{"W/sr of 0.6 m², 25 over 20 degrees, emissivity 0.95", Thermal.Difference(0.95, 25, 20) / math.Pi * 0.6, 2.293, 0.002, planck},
		{"all wavelengths at 300 K", Band{0.1, 1e5}.Exitance(300 + kelvin), 459.30, 0.01, "Stefan-Boltzmann law, CODATA 2018"},
		{"band-pass at 28.65 Hz", z.Response(28.65), 0.330, 0.001, closed},
		{"fog of 200 m over 100 m", FogTransmission(100, 200), 0.141, 0.001, "Koschmieder's law; closed form"},
		{"rain of 25 mm/h over 100 m", RainTransmission(100, 25), 0.807, 0.001, "Carbonneau's law, coefficients from memory"},
	} {
		t.Run(r.name, func(t *testing.T) {
			if !(math.Abs(r.got-r.want) <= r.tol) {
				t.Errorf("got %.6g, want %g within %g (%s)", r.got, r.want, r.tol, r.source)
			}
		})
	}
}

func TestOutsideBlackBodyFractions(t *testing.T) {
	// With older constants the table's shares add up to 1.00005.
	const tol = 6e-5
	const source = "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, table 12.1, from memory"
	for _, r := range []struct{ lambdaT, want float64 }{
		{1000, 0.000321}, {2000, 0.066728}, {2898, 0.250108}, {4000, 0.480877},
		{6000, 0.737818}, {8000, 0.856288}, {10000, 0.914199}, {20000, 0.985602},
	} {
		if got := belowFraction(secondRadiation * 1e6 / r.lambdaT); math.Abs(got-r.want) > tol {
			t.Errorf("fraction below %g µm K is %.6f, want %.6f within %g (%s)", r.lambdaT, got, r.want, tol, source)
		}
	}
}

func TestTheTwoSeriesMeet(t *testing.T) {
	a, b := belowFraction(0.5-1e-12), belowFraction(0.5)
	if math.Abs(a-b) > 1e-11 {
		t.Errorf("fractions %.15f and %.15f on either side", a, b)
	}
}

func TestExitanceGrowsWithTemperatureByItsSlope(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := rapid.Float64Range(1, 50).Draw(t, "from")
		b := Band{from, from + rapid.Float64Range(0.1, 50).Draw(t, "width")}
		c := rapid.Float64Range(-80, 120).Draw(t, "celsius")
		want := (b.Exitance(c+0.01) - b.Exitance(c-0.01)) / 0.02
		got := b.Slope(c)
		if !(got > 0) || math.Abs(got-want) > 1e-5*got+1e-9 {
			t.Fatalf("slope %g, by differences %g", got, want)
		}
		middle := (b.From + b.To) / 2
		if sum := (Band{b.From, middle}).Exitance(c) + (Band{middle, b.To}).Exitance(c); math.Abs(sum-b.Exitance(c)) > 1e-9 {
			t.Fatalf("halves make %g, the whole %g", sum, b.Exitance(c))
		}
	})
}

func drawCondition(t *rapid.T) Condition {
	f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	return Condition{
		Distance: f("distance", 1, 500), Height: f("height", -5, 20), Speed: f("speed", 0.01, 20),
		Heading: f("heading", 0, 180), Air: f("air", -40, 50), Background: f("background", -40, 90),
		Body: Skin, Clothing: f("clothing", 0, 1), Width: f("width", 0.1, 10), Tall: f("tall", 0.1, 5),
		Visibility: f("visibility", 10, 10000), Rain: f("rain", 0, 100),
	}
}

func TestRelativeSignalsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := drawCondition(t), drawCondition(t), drawCondition(t)
		for _, c := range []*Condition{&a, &b, &c} {
			c.Visibility, c.Rain = 0, 0
			if math.Abs(c.Warmer()) < LeastTested || math.Abs(c.Height) < 0.1 {
				t.Skip()
			}
		}
		z := Typical()
		get := func(x, y Condition) Signal {
			s, err := Relative(x, y, z)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(s.Contrast+s.Filling+s.Movement+s.Air-s.DB) > 1e-9 {
				t.Fatalf("parts of %+v do not add up", s)
			}
			if s.Uncertainty < 3 {
				t.Fatalf("uncertainty of %g dB", s.Uncertainty)
			}
			return s
		}
		if s := get(a, a); s.DB != 0 || s.Reversed {
			t.Fatalf("against itself: %+v", s)
		}
		if d := get(a, b).DB + get(b, c).DB - get(a, c).DB; math.Abs(d) > 1e-9 {
			t.Fatalf("by way of another condition %g dB more", d)
		}
		if get(a, b).Reversed != get(b, a).Reversed {
			t.Fatal("reversed one way only")
		}
	})
}

func TestFogAndRainNeverHelp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCondition(t)
		tested := Person()
		tested.Distance = 30
		clear := c
		clear.Visibility, clear.Rain = 0, 0
		a, err := Relative(c, tested, Typical())
		b, err2 := Relative(clear, tested, Typical())
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		if a.DB > b.DB || b.Air != 0 {
			t.Fatalf("%g dB in fog and rain, %g without", a.DB, b.DB)
		}
		tested.Visibility = 50
		if again, _ := Relative(c, tested, Typical()); again != a {
			t.Fatalf("a walk test in fog makes %+v of %+v", again, a)
		}
	})
}

func TestFartherIsNeverStrongerByFilling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z := Typical()
		d := rapid.Float64Range(1, 400).Draw(t, "distance")
		far := d * rapid.Float64Range(1, 4).Draw(t, "times")
		a, b := z.Filling(0.5, 1.7, d), z.Filling(0.5, 1.7, far)
		if b > a || b < a*(d/far)*(d/far)*(1-1e-12) {
			t.Fatalf("filling %g at %g m, %g at %g m", a, d, b, far)
		}
	})
}

func TestAHotDayIsWeakerThanAColdOneAndAnEqualOneACeiling(t *testing.T) {
	tested := Person()
	tested.Distance, tested.Background = 40, 5
	now := tested
	last := math.Inf(1)
	for _, b := range []float64{5, 15, 25, 30, 32, 32.95} {
		now.Background = b
		s, err := Relative(now, tested, Typical())
		if err != nil {
			t.Fatal(err)
		}
		if s.DB > last || s.Reversed || s.Faded != (b == 32.95) {
			t.Errorf("background %g: %+v", b, s)
		}
		last = s.DB
	}
	now.Background = Skin
	if s, _ := Relative(now, tested, Typical()); !s.Faded || math.IsInf(s.DB, 0) || s.Uncertainty < 15 {
		t.Errorf("without any contrast: %+v", s)
	}
	now.Background = 50
	if s, _ := Relative(now, tested, Typical()); !s.Reversed || s.Faded {
		t.Errorf("over a hotter ground: %+v", s)
	}
}

func TestStraightAtTheSensorIsWeakerThanAcross(t *testing.T) {
	tested := Person()
	tested.Distance = 30
	for _, height := range []float64{0, 2.15, 10} {
		last := 0.0
		for _, heading := range []float64{90, 60, 30, 10, 1, 0} {
			now := tested
			now.Heading, now.Height, now.Speed = heading, height, 0.3
			s, err := Relative(now, tested, Typical())
			if err != nil || math.IsInf(s.DB, 0) || s.DB > last {
				t.Errorf("%g m up, heading %g: %+v %v", height, heading, s, err)
			}
			last = s.DB
			now.Heading = 180 - heading
			if back, _ := Relative(now, tested, Typical()); math.Abs(back.DB-s.DB) > 1e-9 {
				t.Errorf("%g m up: %g dB towards, %g dB away", height, s.DB, back.DB)
			}
		}
	}
}

func TestWhatIsOutOfRangeIsNamed(t *testing.T) {
	good := Person()
	good.Distance = 30
	with := func(f func(c *Condition)) Condition { c := good; f(&c); return c }
	zone := func(f func(z *Zone)) Zone { z := Typical(); f(&z); return z }
	for _, r := range []struct {
		now, tested Condition
		zone        Zone
		want        []string
	}{
		{with(func(c *Condition) { c.Distance = 0 }), good, Typical(), []string{"now", "distance", " 0 ", "between 1 and 500"}},
		{good, with(func(c *Condition) { c.Speed = math.NaN() }), Typical(), []string{"tested", "speed", "NaN", "between"}},
		{good, with(func(c *Condition) { c.Background = 33.4 }), Typical(), []string{"tested", "33.0", "33.4", "1 K apart", "walk it again"}},
		{with(func(c *Condition) { c.Air = math.Inf(1); c.Clothing = 2 }), good, Typical(), []string{"air temperature", "+Inf", "clothing 2"}},
		{with(func(c *Condition) { c.Visibility = 1e-300 }), good, Typical(), []string{"visibility", "1e-300", "between 10 and"}},
		{good, good, zone(func(z *Zone) { z.Period = 0 }), []string{"zone", "period", "above 0"}},
		{good, good, zone(func(z *Zone) { z.Slow = 20 }), []string{"zone", "20 Hz", "10 Hz"}},
		{good, good, zone(func(z *Zone) { z.Band = Band{14, 8} }), []string{"zone", "14", "8"}},
	} {
		_, err := Relative(r.now, r.tested, r.zone)
		if err == nil {
			t.Errorf("no error, want one with %q", r.want)
			continue
		}
		for _, w := range r.want {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("error %q lacks %q", err, w)
			}
		}
	}
}

func TestEveryConditionInRangeHasAFiniteSignal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tested := Person()
		tested.Distance = 20
		s, err := Relative(drawCondition(t), tested, Typical())
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range []float64{s.DB, s.Uncertainty, s.Contrast, s.Filling, s.Movement, s.Air} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("%+v", s)
			}
		}
	})
}
