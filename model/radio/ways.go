package radio

import "math"

// A Corner is a point of the outline of something the direct line runs into, in
// plan.
type Corner struct {
	Along float64 // metres along the direct line from the first antenna; may lie beyond either
	Aside float64 // metres to the left of it, negative to the right
}

// Round returns the losses in decibels of the ways round the left and the right
// end of all that stands in the way of a link distance metres long, in plan and
// over the loss of the bare ground. corners are the outlines' points, of every
// thing to be gone round. A way that would have to turn by half a circle or
// more loses +Inf: it is none. So does every way where the antennas stand in
// one place. Corners nearer than 1 mm to an antenna are left out.
//
// Each way is a single edge where the two lines meet that just pass the
// corners, one from either antenna, and ν = 2·√(Δ/λ) with Δ how much longer the
// way by that point is than the direct line. For small angles that is the
// knife edge of ITU-R P.526-15 section 4.1 with the offset to the side in place
// of the height, and the construction of section 4.5.1; unlike these it stays
// right where the way turns sharply, close behind an antenna.
func Round(distance float64, corners []Corner, freqMHz float64) (leftDB, rightDB float64) {
	return roundSide(distance, corners, freqMHz, 1), roundSide(distance, corners, freqMHz, -1)
}

// roundSide returns the loss of the way on one side: side is 1 for the left, -1
// for the right.
func roundSide(distance float64, corners []Corner, freqMHz, side float64) float64 {
	var first, last float64 // how far each line turns off the direct one
	for _, c := range corners {
		y := side * c.Aside
		if y <= 0 || math.Hypot(y, c.Along) < mergeWithin || math.Hypot(y, distance-c.Along) < mergeWithin {
			continue
		}
		first = math.Max(first, math.Atan2(y, c.Along))
		last = math.Max(last, math.Atan2(y, distance-c.Along))
	}
	if first+last >= math.Pi || distance <= 0 {
		return math.Inf(1)
	}
	// By the law of sines the two lines are together
	// cos((first-last)/2)/cos((first+last)/2) times the direct one; less one,
	// without losing the digits of small angles:
	longer := distance * 2 * math.Sin(first/2) * math.Sin(last/2) / math.Cos((first+last)/2)
	return KnifeEdge(2 * math.Sqrt(longer/Wavelength(freqMHz)))
}

// Ways are the losses in decibels over free space of the ways past what stands
// between two antennas, the ground's own loss in each. +Inf is a way that is
// none.
type Ways struct {
	BareDB    float64 // of the bare ground, as if nothing stood on it
	OverDB    float64 // over the tops: the delta-Bullington loss of the profile with obstacles
	LeftDB    float64 // round the left end, as seen from the first antenna
	RightDB   float64 // round the right end
	ThroughDB float64 // through walls
}

// Past returns the ways past obstacles over which a link loses overDB, and
// bareDB without them; leftDB, rightDB and throughDB are what the ways round and
// through lose over the bare ground.
func Past(bareDB, overDB, leftDB, rightDB, throughDB float64) Ways {
	return Ways{bareDB, overDB, bareDB + leftDB, bareDB + rightDB, bareDB + throughDB}
}

// DB returns the loss of all ways together: their powers add, but no obstacle
// lets a link lose less than the bare ground alone.
//
// Source: addition of powers of unrelated phase, common practice.
func (w Ways) DB() float64 {
	var power float64
	for _, l := range [...]float64{w.OverDB, w.LeftDB, w.RightDB, w.ThroughDB} {
		power += math.Pow(10, -l/10)
	}
	return math.Max(w.BareDB, -10*math.Log10(power))
}

// A Way is one way past an obstacle.
type Way string

// The ways. Clear is that of a link which loses no more than over bare ground.
const (
	Clear   Way = "clear"
	Over    Way = "over"
	Left    Way = "round the left end"
	Right   Way = "round the right end"
	Through Way = "through"
)

// Main returns the way by which most of the power comes, the first in the order
// of the constants where several bring the same.
func (w Ways) Main() Way {
	if w.DB() <= w.BareDB {
		return Clear
	}
	way, least := Over, w.OverDB
	for _, o := range [...]struct {
		way  Way
		loss float64
	}{{Left, w.LeftDB}, {Right, w.RightDB}, {Through, w.ThroughDB}} {
		if o.loss < least {
			way, least = o.way, o.loss
		}
	}
	return way
}
