package radio

import "math"

// BuildingClass is how a building lets radio waves in. The zero value is
// traditional.
type BuildingClass int

// The classes. A thermally efficient building has metallised glass or
// foil-backed panels.
const (
	Traditional BuildingClass = iota
	ThermallyEfficient
)

// entry holds the coefficients of one class, by the letters of the source; z is
// that of σ2.
type entry struct{ r, s, t, u, v, w, x, y, z float64 }

// Source: ITU-R P.2109-1 table 1, as eeveetza/p2109 gives it.
var entries = map[BuildingClass]entry{
	Traditional:        {12.64, 3.72, 0.96, 9.6, 2.0, 9.1, -3.0, 4.5, -2.0},
	ThermallyEfficient: {28.19, -3.00, 8.48, 13.5, 3.8, 27.8, -2.9, 9.4, -2.1},
}

// EntryLoss returns the loss in decibels into a building that is not exceeded
// at the share probability of places inside it (above 0, below 1; 0.5 is the
// median), for a wave that comes down at elevationDeg degrees, at freqMHz
// megahertz. It was made for 80 MHz to 100 GHz. Which wall and which room is not
// known to it: it holds for an antenna anywhere inside.
//
// Source: ITU-R P.2109-1 section 3.
func EntryLoss(class BuildingClass, freqMHz, elevationDeg, probability float64) float64 {
	k := entries[class]
	lg := math.Log10(freqMHz / 1000)
	q := NormalQuantile(probability)
	a := k.r + k.s*lg + k.t*lg*lg + 0.212*math.Abs(elevationDeg) + (k.u+k.v*lg)*q
	b := k.w + k.x*lg + (k.y+k.z*lg)*q
	const c = -3
	return 10 * math.Log10(math.Pow(10, a/10)+math.Pow(10, b/10)+math.Pow(10, c/10.0))
}

// EntryClass returns the class a building of walls of m is taken for: thermally
// efficient where they are opaque, else traditional. Chosen: metal walls let in
// no more than metallised glass does, and a wall of which nothing is known (the
// zero Material) is taken for an old one. Insulated walls are not told from
// others by their material: where they are known to be there, state the class.
func EntryClass(m Material) BuildingClass {
	if m.Opaque {
		return ThermallyEfficient
	}
	return Traditional
}
