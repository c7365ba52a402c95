package aim

import (
	"fmt"
	"math"

	"pleach/model/pattern"
)

// Range of tilt in degrees (contract, section 2).
const (
	MinTilt = -45.0
	MaxTilt = 89.0
)

// Search for a tilt. Chosen: the step is finer than a bracket is set, and a reach
// within rangeSlack of the farthest counts as the farthest, as a slant range of
// 63 m is 62.96 m on the ground.
const (
	tiltStep   = 0.25 // degrees
	rangeSlack = 0.1  // metres
	jumpSlack  = 0.1  // metres
)

// TiltFor returns the tilt in degrees that puts the far edge of the footprint
// along the axis at reach metres, for the plan's target, with bearing, mount and
// masks as they are: of all tilts that reach so far the steepest, as any other
// would see more beyond. On terrain and behind what stands there the far edge
// jumps, and on any ground it cannot lie beyond the range; where the reach cannot
// be had the error says why and what can.
func (a *Aim) TiltFor(reach float64) (tilt float64, err error) {
	if a.Target.Why != "" && (a.Eye.Buried != "" || len(a.Eye.Limits(a.Azimuth())) == 0) {
		return 0, fmt.Errorf("%s sees nothing at any tilt: %s", a.Sensor.Who(), a.Target.Why)
	}
	defer a.lk.Aim(&a.Eye)
	last := func(tilt float64) (pattern.Stretch, bool) {
		e := a.Eye.Tilted(tilt - a.Tilt)
		a.lk.Aim(&e)
		seen := a.lk.Seen(a.Azimuth(), a.Target.Target, pattern.AsItIs)
		if len(seen) == 0 {
			return pattern.Stretch{}, false
		}
		return seen[len(seen)-1], true
	}
	far := func(tilt float64) float64 {
		s, _ := last(tilt)
		return s.To
	}
	// From the steepest up until the far edge is at the reach or beyond.
	most, mostAt := 0.0, MaxTilt
	at := math.Inf(1)
	steps := int((MaxTilt - MinTilt) / tiltStep)
	for i := 0; i <= steps && math.IsInf(at, 1); i++ {
		t := MaxTilt - tiltStep*float64(i)
		switch f := far(t); {
		case f >= reach:
			at = t
		case f > most:
			most, mostAt = f, t
		}
	}
	if math.IsInf(at, 1) {
		if most == 0 {
			return 0, fmt.Errorf("%s sees nothing of a target %s m tall at any tilt", a.Sensor.Who(), short(a.Target.Target.Height))
		}
		if reach > most+rangeSlack {
			s, _ := last(mostAt)
			return 0, fmt.Errorf("%s cannot reach %s m at any tilt: %s m is the farthest, where %s", a.Sensor.Who(), short(reach), metres(most), a.because(s))
		}
		reach = most - 1e-6
		at = mostAt
	}
	// steep falls short of the reach, at does not.
	steep := math.Min(at+tiltStep, MaxTilt)
	if at == MaxTilt {
		if f := far(at); f > reach+jumpSlack {
			return 0, fmt.Errorf("%s cannot reach as little as %s m: at the steepest tilt, %s°, it reaches %s m", a.Sensor.Who(), short(reach), short(MaxTilt), metres(f))
		}
		return at, nil
	}
	for range 60 {
		m := (at + steep) / 2
		if far(m) >= reach {
			at = m
		} else {
			steep = m
		}
	}
	beyond, before := far(at), far(steep)
	switch {
	case beyond-reach <= jumpSlack:
		return at, nil
	case before > 0 && reach-before <= jumpSlack:
		return steep, nil
	case before == 0:
		return 0, fmt.Errorf("%s cannot have its far edge at %s m: %s m at %.2f° of tilt is the nearest", a.Sensor.Who(), short(reach), metres(beyond), at)
	}
	return 0, fmt.Errorf("%s cannot have its far edge at %s m: about %.2f° of tilt it jumps from %s m to %s m, as %s", a.Sensor.Who(), short(reach), at,
		metres(before), metres(beyond), a.between(reach))
}

// TiltSetting is what a bracket can be set to, in degrees. Chosen.
const TiltSetting = 0.1

// NearestSetting returns, of the two settings of a bracket about the tilt exact
// that TiltFor gave, the one whose far edge comes nearer to reach, and that far
// edge in metres; exact itself and 0 where at neither anything is seen.
func (a *Aim) NearestSetting(exact, reach float64) (tilt, far float64) {
	tilt = exact
	miss := math.Inf(1)
	for _, n := range []float64{math.Floor(exact / TiltSetting), math.Ceil(exact / TiltSetting)} {
		t := math.Round(n) / math.Round(1/TiltSetting)
		if f, ok := a.Tilted(t).Target.Far(); ok && t >= MinTilt && t <= MaxTilt && math.Abs(f-reach) < miss {
			tilt, miss, far = t, math.Abs(f-reach), f
		}
	}
	return tilt, far
}

// because says what ends a stretch.
func (a *Aim) because(s pattern.Stretch) string {
	switch s.End {
	case pattern.RangeBound, pattern.NoBound:
		reach := 0.0
		for _, l := range a.Eye.Limits(a.Azimuth()) {
			reach = math.Max(reach, l.Range)
		}
		return fmt.Sprintf("the range of %s ends (%s m, slant)", a.Model.ID, short(reach))
	case pattern.WallBound, pattern.HiddenBound:
		line := Along(a.sc, a.Eye.At, a.Azimuth(), s.To+1)
		if id := a.lk.Hider(line.At(s.To + 0.01)); id != "" {
			return a.title(id) + " hides what is behind"
		}
		return "the ground hides what is behind"
	case pattern.BottomBound:
		return "the lower limit leaves the target"
	}
	return "the upper limit comes down"
}

// between says why no far edge lies at a distance the pattern jumps over.
func (a *Aim) between(d float64) string {
	line := Along(a.sc, a.Eye.At, a.Azimuth(), d+1)
	for i := range line.Things {
		if t := &line.Things[i]; t.Hides() && t.From <= d && d <= t.To+1e-6 {
			return a.title(t.ID) + " stands there"
		}
	}
	if id := a.lk.Hider(line.At(d)); id != "" {
		return a.title(id) + " hides the ground there"
	}
	if a.sc.Terrain != nil {
		return "the ground there is hidden, or no lobe ends on it"
	}
	return "no lobe ends there"
}

// metres prints a distance as one says it.
func metres(v float64) string {
	if v < 100 {
		return fmt.Sprintf("%.1f", v)
	}
	return fmt.Sprintf("%.0f", v)
}

func short(v float64) string { return fmt.Sprintf("%g", v) }
