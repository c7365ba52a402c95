package pattern

import "math"

// Bound is what ends a stretch of an azimuth in which a target is seen.
type Bound uint8

// The bounds.
const (
	NoBound     Bound = iota // the foot of the mount, or the end of what is known
	RangeBound               // the lobe's slant reach
	BottomBound              // too much of the target stands below the lower limit
	TopBound                 // too much of it stands above the upper limit
	ThinBound                // the lobe is not yet as thick as what must be seen
	HiddenBound              // the horizon
	WallBound                // the outline of a building or an opaque obstacle
)

// bound reads a tag.
func bound(tag uint32) Bound {
	switch tag & tagMask {
	case tagEdge:
		return WallBound
	case tagShadow:
		return HiddenBound
	case tagCurve:
		if tag&(1<<20) != 0 {
			return HiddenBound
		}
		switch tag & 0xff {
		case 1, 7:
			return RangeBound
		case 2, 3:
			return BottomBound
		case 4:
			return ThinBound
		case 5, 6:
			return TopBound
		case 8, 9:
			return HiddenBound
		}
	}
	return NoBound
}

// Stretch is a stretch of an azimuth in which a target is seen: horizontal
// distances from the eye in metres, and what ends it on either side.
type Stretch struct {
	From, To   float64
	Start, End Bound
}

// Seen returns the stretches along azimuth az, in radians clockwise from north,
// in which the target is seen, in order of distance.
func (lk *Looker) Seen(az float64, t Target, way Way) (out []Stretch) {
	if lk.e.Buried != "" {
		return nil
	}
	for _, v := range lk.seen(turn(az), t, way.ignore(), nil, nil) {
		out = append(out, Stretch{v.lo, v.hi, bound(v.lt), bound(v.ht)})
	}
	return out
}

// Limits are a lobe's limits along one azimuth.
type Limits struct {
	Lobe     int     // index in the sensor model
	Up, Down float64 // fall of the upper and the lower limit, metres a metre; below 0 they rise
	Range    float64 // slant reach, metres
	LookDown bool
}

// Limits returns the limits of the lobes that hold azimuth az, in the sensor
// model's order; none where it is masked.
func (e *Eye) Limits(az float64) (out []Limits) {
	az = turn(az)
	if e.masked(az) {
		return nil
	}
	for i := range e.lobes {
		if l := &e.lobes[i]; l.holds(az) {
			lim := e.limitsAt(l, az)
			out = append(out, Limits{i, lim.up, lim.down, l.reach, l.lookDown})
		}
	}
	return out
}

// Fall returns how far the axis plane falls along azimuth az, metres a metre;
// below 0 it rises.
func (e *Eye) Fall(az float64) float64 { return e.tanTilt * math.Cos(az-e.Bearing) }

// Middles returns the azimuths of the middles of the lobes that reach farthest,
// in radians clockwise from north, in the sensor model's order.
func (e *Eye) Middles() (out []float64) {
	far := e.Reach()
	for _, l := range e.lobes {
		if l.reach == far {
			out = append(out, turn(l.start+l.width/2))
		}
	}
	return out
}
