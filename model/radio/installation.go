package radio

import "math"

// A Term is one loss at one end of a link, in both directions, that no map
// shows.
type Term struct {
	Name   string
	DB     float64
	Source string
}

// TermSum returns what the terms lose together in decibels: the installation
// loss of a device.
func TermSum(terms []Term) float64 {
	var sum float64
	for _, t := range terms {
		sum += t.DB
	}
	return sum
}

const (
	memory = "from memory"
	chosen = "chosen"
)

// Topic is one question about how a device is installed, and the answers.
type Topic struct {
	Name    string
	Choices []Term
}

// Topics returns what can be said about the installation of a device, in a
// fixed order, each answer with its loss.
func Topics() []Topic {
	return []Topic{
		{"mount", []Term{
			{"clear of metal by half a wavelength", 0, chosen},
			{"a quarter of a wavelength off a steel post", 3, "the least of 3 to 15 dB for a box on a steel post, " + memory},
			{"flat on a steel post or fence", 9, "the middle of 3 to 15 dB for a box on a steel post, " + memory},
			{"flat on a steel wall or cabinet", 15, "the most of 3 to 15 dB for a box on steel, " + memory},
		}},
		{"antenna", []Term{
			{"upright as the others", 0, chosen},
			{"within 25 degrees of the others", 1, "20·log10(cos 25°) is 0.9 dB, rounded up"},
			{"at 45 degrees to the others", 3, "20·log10(cos 45°) is 3.0 dB"},
			{"across the others", MaxMismatchDB, "scatter lets 15 to 20 dB be the most, " + memory},
		}},
		{"supply", []Term{
			{"mains or a fresh battery in the warm", 0, chosen},
			{"end of battery life or cold", 2, "1 to 3 dB at low voltage or in the cold, " + memory},
		}},
	}
}

// usual holds for a kind of device which choice of each topic its default is.
var usual = map[Kind][3]int{
	Sensor:   {1, 1, 1},
	Repeater: {1, 1, 1},
	Receiver: {0, 0, 0},
}

// DefaultTerms returns the terms of a device of which nothing is stated. They
// add up to the installation loss the plan file's defaults give it: 6 dB for a
// sensor or a repeater, 0 for a receiver.
func DefaultTerms(k Kind) []Term {
	var out []Term
	for i, t := range Topics() {
		c := t.Choices[usual[k][i]]
		c.Name = t.Name + ": " + c.Name
		out = append(out, c)
	}
	return out
}

// MaxMismatchDB is the most that two antennas across each other lose: what is
// scattered arrives all the same (from memory: 15 to 20 dB).
const MaxMismatchDB = 15.0

// Mismatch returns the loss in decibels between two antennas of linear
// polarisation angleDeg degrees apart: -20·log10|cos|, at most [MaxMismatchDB].
//
// Source: Malus's law.
func Mismatch(angleDeg float64) float64 {
	c := math.Abs(math.Cos(angleDeg * math.Pi / 180))
	return math.Min(MaxMismatchDB, -20*math.Log10(c))
}

// MeshLoss returns the loss in decibels through a fence of wires radius metres
// thick, spacing metres apart from centre to centre, the field along the wires,
// met head-on at freqMHz megahertz. The lower frequency loses more. Wires so
// close that the formula means nothing (spacing under 2π·radius) are a wall:
// +Inf.
//
// Source: the inductive wire grid (from memory):
// X = (a/λ)·ln(a/(2πr)), transmission 4X²/(1+4X²).
func MeshLoss(spacing, radius, freqMHz float64) float64 {
	x := spacing / Wavelength(freqMHz) * math.Log(spacing/(2*math.Pi*radius))
	if !(x > 0) {
		return math.Inf(1)
	}
	return 10 * math.Log10(1+1/(4*x*x))
}
