package contrast

import (
	"errors"
	"fmt"
	"math"
)

// Zone is what is known of a sensor's fan of zones and of its amplifier. It is
// data the user enters; Typical stands in for what he does not know.
type Zone struct {
	Wide, High float64 // degrees, of one zone
	Period     float64 // degrees from one positive zone to the next, across
	Slow, Fast float64 // Hz, the corners of the band-pass
	Band       Band
}

// Typical is a zone of 1 by 3 degrees, repeated every 2 degrees, read from 0.1 to
// 10 Hz at 8 to 14 micrometres. From memory: no published source.
func Typical() Zone {
	return Zone{Wide: 1, High: 3, Period: 2, Slow: 0.1, Fast: 10, Band: Thermal}
}

// Condition is one crossing: who, where, how and in what weather.
type Condition struct {
	Distance   float64 // metres, horizontal, from the sensor to the crossing
	Height     float64 // metres of the optical centre above the target's middle
	Speed      float64 // metres a second
	Heading    float64 // degrees between the path and the line of sight: 90 across, 0 or 180 along it
	Air        float64 // degrees Celsius
	Background float64 // degrees Celsius, of the surface behind the target
	Body       float64 // degrees Celsius, of bare skin: Skin
	Clothing   float64 // 0 bare to 1 as warm as the air, see Surface
	Width      float64 // metres, of the target
	Tall       float64 // metres, of the target
	Visibility float64 // metres in fog, 10 or more; 0 for clear air
	Rain       float64 // millimetres an hour
}

// Person is an upright person, bare skin taken throughout, crossing at 1 m/s at
// right angles, seen from 3 m up, in still dry air of 10 degrees over ground as
// warm. The distance is left to the caller. Chosen, but for the mean walking size.
func Person() Condition {
	return Condition{Height: 3 - 1.7/2, Speed: 1, Heading: 90, Air: 10, Background: 10, Body: Skin, Width: 0.5, Tall: 1.7}
}

// Surface returns the temperature of the target's surface, in degrees Celsius.
func (c Condition) Surface() float64 { return Surface(c.Body, c.Air, c.Clothing) }

// Warmer returns by how many kelvin the target is warmer than its background.
func (c Condition) Warmer() float64 { return c.Surface() - c.Background }

// Filling returns the share of a zone that the target fills: constant while it
// fills the zone both ways, falling with distance while it fills it one way, with
// its square once it fills it neither way.
func (z Zone) Filling(width, tall, distance float64) float64 {
	return math.Min(1, width/(z.Wide*degree*distance)) * math.Min(1, tall/(z.High*degree*distance))
}

const degree = math.Pi / 180

// AngularRate returns how fast a target moves across the view, in radians a second,
// at a speed in m/s, a horizontal distance and a height of the eye above it in
// metres, and a heading in degrees to the line of sight. Across, the azimuth turns
// by v/x; along the line of sight only the depression changes, by v·h/(x²+h²). In
// between the two are added as they stand at right angles.
func AngularRate(speed, distance, height, heading float64) float64 {
	sin, cos := math.Sincos(heading * degree)
	across := speed * sin / distance
	along := speed * cos * height / (distance*distance + height*height)
	return math.Hypot(across, along)
}

// Frequency returns the fundamental, in Hz, of a target that moves across the fan
// at an angular rate in radians a second. Zones above each other are taken to
// repeat as those side by side do; chosen.
func (z Zone) Frequency(rate float64) float64 { return rate / (z.Period * degree) }

// Response returns the amplitude of a first-order band-pass with the zone's corners
// at a frequency in Hz, at most 1.
func (z Zone) Response(hz float64) float64 {
	lo, hi := hz/z.Slow, hz/z.Fast
	return lo / math.Sqrt(1+lo*lo) / math.Sqrt(1+hi*hi)
}

// FogTransmission returns the share of the radiation that comes through distance
// metres of fog with a visual range in metres. It bounds the loss from above:
// light haze is far clearer at 8 to 14 micrometres than to the eye, and only dense
// fog of large drops comes near it.
//
// Source: Koschmieder's law at 2 per cent contrast, exp(-3.912 R/V), the same in the
// thermal band.
func FogTransmission(distance, visibility float64) float64 {
	return math.Exp(-3.912 * distance / visibility)
}

// RainTransmission returns the share of the radiation that comes through distance
// metres of rain of so many millimetres an hour. The wetting of window, target and
// ground, which may well cost more, is not in it.
//
// Source: Carbonneau's 1.076 R^0.67 dB/km, given in Recommendation ITU-R P.1814;
// from memory.
func RainTransmission(distance, mmPerHour float64) float64 {
	return math.Pow(10, -1.076*math.Pow(mmPerHour, 0.67)*distance/1000/10)
}

// Signal is the signal of one crossing against that of another, in decibels of
// amplitude (20 log₁₀). Its parts add up to DB.
type Signal struct {
	DB          float64
	Uncertainty float64 // dB, either way; see Relative

	Contrast float64 // dB, by the temperatures of target and background
	Filling  float64 // dB, by distance and size
	Movement float64 // dB, by speed, direction and distance
	Air      float64 // dB, by fog and rain, at worst

	Reversed bool // one target is warmer than its background, the other colder
	Faded    bool // now target and background are within Least of each other: DB is a ceiling
}

// Least is the difference of temperature, in kelvin, below which a contrast is no
// longer told apart from none; chosen. The ceiling named Faded is that of Least.
const Least = 0.1

// LeastTested is the difference in kelvin between target and background below which
// a walk test is no reference for another day; chosen.
const LeastTested = 1.0

// Relative returns the signal of now against that of tested, the condition of the
// walk test. The reference is taken as made in clear air, which is the cautious
// side: fog and rain are counted only as they weaken now.
//
// The uncertainty is judgement, no published source: 3 dB near the tested condition,
// growing to 6 dB for a signal 20 dB away from it; on top of it (as a root of squares)
// what one kelvin does to the contrast of either. It says how well the ratio is
// known, and nothing about detection.
//
// An error names the condition, the value, its range and, where it helps, the remedy.
func Relative(now, tested Condition, z Zone) (Signal, error) {
	err := errors.Join(z.check(), now.check("now"), tested.check("tested"))
	if err != nil {
		return Signal{}, err
	}
	if d := tested.Warmer(); math.Abs(d) < LeastTested {
		return Signal{}, fmt.Errorf("tested: the target at %.1f and the background at %.1f degrees are less than %g K apart: such a walk test tells nothing about other weather; walk it again when they differ",
			tested.Surface(), tested.Background, LeastTested)
	}
	var s Signal
	warmer := now.Warmer()
	s.Faded = math.Abs(warmer) < Least
	s.Reversed = !s.Faded && (warmer > 0) != (tested.Warmer() > 0)
	s.Contrast = decibels(z.difference(now) / z.difference(tested))
	s.Filling = decibels(z.Filling(now.Width, now.Tall, now.Distance) / z.Filling(tested.Width, tested.Tall, tested.Distance))
	s.Movement = decibels(z.response(now) / z.response(tested))
	s.Air = decibels(now.transmission())
	s.DB = s.Contrast + s.Filling + s.Movement + s.Air
	base := 3 + 3*math.Min(1, math.Abs(s.DB)/20)
	s.Uncertainty = math.Sqrt(base*base + kelvinDB(warmer)*kelvinDB(warmer) + kelvinDB(tested.Warmer())*kelvinDB(tested.Warmer()))
	return s, nil
}

// difference returns the size of the contrast in W/m², that of Least where it is
// smaller.
func (z Zone) difference(c Condition) float64 {
	target := c.Surface()
	if math.Abs(target-c.Background) < Least {
		target = c.Background + Least
	}
	return math.Abs(z.Band.Difference(Emissivity, target, c.Background))
}

// response returns that of the band-pass to the crossing. No one walks straighter at
// the sensor than to a degree, chosen, so there is always some movement across.
func (z Zone) response(c Condition) float64 {
	rate := AngularRate(c.Speed, c.Distance, c.Height, c.Heading)
	return z.Response(z.Frequency(math.Max(rate, AngularRate(c.Speed, c.Distance, c.Height, straight))))
}

const straight = 1.0 // degrees

func (c Condition) transmission() float64 {
	t := 1.0
	if c.Visibility > 0 {
		t = FogTransmission(c.Distance, c.Visibility)
	}
	return t * RainTransmission(c.Distance, c.Rain)
}

// kelvinDB returns what one kelvin more does to a contrast of that many.
func kelvinDB(kelvin float64) float64 {
	d := math.Max(math.Abs(kelvin), Least)
	return decibels((d + 1) / d)
}

// decibels returns an amplitude ratio in decibels.
func decibels(ratio float64) float64 { return 20 * math.Log10(ratio) }

// limit is a value with its name and range; above says that lo itself is excluded.
type limit struct {
	name   string
	value  float64
	lo, hi float64
	above  bool
}

func check(of string, limits ...limit) error {
	var errs []error
	for _, l := range limits {
		if l.value <= l.hi && (l.value > l.lo || l.value == l.lo && !l.above) {
			continue
		}
		from := "between"
		to := "and"
		if l.above {
			from, to = "above", "up to"
		}
		errs = append(errs, fmt.Errorf("%s: %s %g is not %s %g %s %g", of, l.name, l.value, from, l.lo, to, l.hi))
	}
	return errors.Join(errs...)
}

func (c Condition) check(of string) error {
	visibility := c.Visibility
	if visibility == 0 { // clear air
		visibility = MinVisibility
	}
	return check(of,
		limit{"distance in metres", c.Distance, MinDistance, MaxDistance, false},
		limit{"height above the target's middle in metres", c.Height, -60, 60, false},
		limit{"speed in metres a second", c.Speed, MinSpeed, MaxSpeed, false},
		limit{"heading in degrees", c.Heading, 0, 180, false},
		limit{"air temperature in degrees Celsius", c.Air, MinAir, MaxAir, false},
		limit{"background temperature in degrees Celsius", c.Background, MinBackground, MaxBackground, false},
		limit{"body temperature in degrees Celsius", c.Body, MinBackground, MaxBackground, false},
		limit{"clothing", c.Clothing, 0, 1, false},
		limit{"width in metres", c.Width, 0, 30, true},
		limit{"height of the target in metres", c.Tall, 0, 30, true},
		limit{"visibility in metres (0 for clear air)", visibility, MinVisibility, 1e6, false},
		limit{"rain in millimetres an hour", c.Rain, 0, MaxRain, false},
	)
}

func (z Zone) check() error {
	err := check("zone",
		limit{"width in degrees", z.Wide, 0, 90, true},
		limit{"height in degrees", z.High, 0, 90, true},
		limit{"period in degrees", z.Period, 0, 180, true},
		limit{"lower corner in Hz", z.Slow, 0, 1000, true},
		limit{"upper corner in Hz", z.Fast, 0, 1000, true},
		limit{"shortest wavelength in micrometres", z.Band.From, 1, 100, false},
		limit{"longest wavelength in micrometres", z.Band.To, 1, 100, false},
	)
	if err == nil && z.Slow >= z.Fast {
		err = fmt.Errorf("zone: the lower corner of %g Hz is not below the upper corner of %g Hz", z.Slow, z.Fast)
	}
	if err == nil && z.Band.From >= z.Band.To {
		err = fmt.Errorf("zone: the shortest wavelength of %g micrometres is not below the longest of %g", z.Band.From, z.Band.To)
	}
	return err
}

// Ranges of a Condition, chosen: metres, metres a second, degrees Celsius for weather
// on the ground and for surfaces under the night sky or the sun, metres in the
// thickest fog, millimetres an hour.
const (
	MinDistance, MaxDistance     = 1.0, 500.0
	MinSpeed, MaxSpeed           = 0.01, 60.0
	MinAir, MaxAir               = -60.0, 60.0
	MinBackground, MaxBackground = -80.0, 120.0
	MinVisibility                = 10.0
	MaxRain                      = 500.0
)
