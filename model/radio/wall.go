package radio

import (
	"math"
	"math/cmplx"
	"strings"
)

// A Material is what a wall is to a radio wave. Its relative permittivity is
// A·f^B and its conductivity C·f^D S/m, f in gigahertz.
type Material struct {
	Name       string
	A, B, C, D float64
	FromGHz    float64 // the frequencies the figures were measured at
	ToGHz      float64
	Thickness  float64 // of a usual wall, metres; chosen
	ExtraDB    float64 // a wall, beside the plain slab; from memory
	Opaque     bool    // nothing goes through: cladding, containers, vehicles
}

// Materials returns the materials of walls, in a fixed order.
//
// Source of A to D and of the frequencies: ITU-R P.2040-3 table 3, as
// NVlabs/sionna-rt gives it. A reinforced wall has the figures of concrete and
// a loss of its own for the mesh: published measurements scatter over 10 to 30
// dB (from memory), of which 15 is chosen. Thicknesses are chosen.
func Materials() []Material {
	return []Material{
		{Name: "concrete", A: 5.24, C: 0.0462, D: 0.7822, FromGHz: 1, ToGHz: 100, Thickness: 0.2},
		{Name: "reinforced concrete", A: 5.24, C: 0.0462, D: 0.7822, FromGHz: 1, ToGHz: 100, Thickness: 0.2, ExtraDB: 15},
		{Name: "brick", A: 3.91, C: 0.0238, D: 0.16, FromGHz: 1, ToGHz: 40, Thickness: 0.215},
		{Name: "wood", A: 1.99, C: 0.0047, D: 1.0718, FromGHz: 0.001, ToGHz: 100, Thickness: 0.03},
		{Name: "plasterboard", A: 2.73, C: 0.0085, D: 0.9395, FromGHz: 1, ToGHz: 100, Thickness: 0.0125},
		{Name: "chipboard", A: 2.58, C: 0.0217, D: 0.78, FromGHz: 1, ToGHz: 100, Thickness: 0.018},
		{Name: "plywood", A: 2.71, C: 0.33, FromGHz: 1, ToGHz: 40, Thickness: 0.018},
		{Name: "glass", A: 6.31, C: 0.0036, D: 1.3394, FromGHz: 0.1, ToGHz: 100, Thickness: 0.006},
		{Name: "marble", A: 7.074, C: 0.0055, D: 0.9262, FromGHz: 1, ToGHz: 60, Thickness: 0.03},
		{Name: "metal", A: 1, C: 1e7, FromGHz: 1, ToGHz: 100, Thickness: 0.001, Opaque: true},
	}
}

// sameMaterial is what else the materials are called.
var sameMaterial = map[string]string{
	"bricks": "brick", "timber": "wood", "steel": "metal", "metal cladding": "metal", "steel cladding": "metal",
	"container": "metal", "cement": "concrete", "block": "concrete", "concrete block": "concrete", "cement block": "concrete",
}

// MaterialNamed returns the material of that name, whatever its case, with
// underscores for spaces as in OpenStreetMap. It reports false for any other
// word: of such a wall no loss is known and it is taken as opaque.
func MaterialNamed(name string) (Material, bool) {
	name = strings.ToLower(strings.TrimSpace(strings.ReplaceAll(name, "_", " ")))
	if same, ok := sameMaterial[name]; ok {
		name = same
	}
	for _, m := range Materials() {
		if m.Name == name {
			return m, true
		}
	}
	return Material{}, false
}

// Permittivity returns the relative permittivity at freqMHz megahertz.
func (m Material) Permittivity(freqMHz float64) float64 { return m.A * math.Pow(freqMHz/1000, m.B) }

// Conductivity returns the conductivity in S/m at freqMHz megahertz.
func (m Material) Conductivity(freqMHz float64) float64 { return m.C * math.Pow(freqMHz/1000, m.D) }

// Extrapolated reports whether freqMHz lies outside the frequencies the
// material was measured at: concrete and brick are below 1 GHz.
func (m Material) Extrapolated(freqMHz float64) bool {
	return freqMHz < 1000*m.FromGHz || freqMHz > 1000*m.ToGHz
}

// Slab returns the loss in decibels of a plane wave that meets a flat slab of
// thickness metres head-on; +Inf where the material is opaque. Within the slab
// the wave goes to and fro, so that a thicker slab of a clear material may lose
// less.
//
// Source: ITU-R P.2040-3 sections 2.1.4 and 2.2.2.
func (m Material) Slab(thickness, freqMHz float64) float64 {
	if m.Opaque {
		return math.Inf(1)
	}
	eta := complex(m.Permittivity(freqMHz), -17.98*m.Conductivity(freqMHz)/(freqMHz/1000))
	root := cmplx.Sqrt(eta)
	r := (1 - root) / (1 + root)
	q := complex(2*math.Pi*thickness/Wavelength(freqMHz), 0) * root
	once := cmplx.Exp(-1i * q)
	return -20 * math.Log10(cmplx.Abs((1-r*r)*once/(1-r*r*once*once)))
}

// Walls are alike walls one behind the other.
type Walls struct {
	Material  Material
	Thickness float64 // of each, metres; 0 is that of a usual wall
	Count     int
}

// Loss returns what the walls lose together in decibels at freqMHz megahertz,
// +Inf through opaque ones. Each is met head-on; what comes back between two
// walls is left out, so that losses add. Real walls lose more: see
// [Material.ExtraDB].
func (w Walls) Loss(freqMHz float64) float64 {
	if w.Count <= 0 {
		return 0
	}
	t := w.Thickness
	if t == 0 {
		t = w.Material.Thickness
	}
	return float64(w.Count) * (w.Material.Slab(t, freqMHz) + w.Material.ExtraDB)
}
