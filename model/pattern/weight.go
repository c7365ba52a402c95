package pattern

import "math"

// Weighing foliage: see Foliage.
const (
	leafAt   = 25.0 // metres, chosen: the distance foliage is compared at
	leafNear = 1.0  // metres, chosen: nearer foliage counts as if it stood here
)

// weigh returns the integral of 1/max(R, leafNear)² over the strips, R being the
// horizontal distance from the eye. Along a ray dA/R² is dR/R dφ, so a ray has
// G(hi) - G(lo) with G(R) = 1/2 + ln(R/leafNear) from leafNear on and
// (R/leafNear)²/2 before. Over a strip 1/R of a straight bound is all but linear
// in φ, and G of what is linear has a closed form. So bounds that are straight
// between rays are exact to 0.1 %, and the arcs are taken for their chords.
func weigh(stations []station) float64 {
	sum := 0.0
	for k := 0; k+1 < len(stations); k++ {
		l, r := stations[k].right, stations[k+1].left
		if len(l) == 0 || len(l) != len(r) {
			continue
		}
		w := stations[k+1].az - stations[k].az
		for i := range l {
			sum += spread(l[i].hi, r[i].hi, w) - spread(l[i].lo, r[i].lo, w)
		}
	}
	return sum
}

// widePiece is the angle in radians beyond which a strip is cut before 1/R is
// taken for linear: a straight bound is then off by at most its square over 8.
const widePiece = 0.05

// spread returns the integral of G over the angle w, from a bound at distance a
// on one side to one at distance b on the other, straight between them.
func spread(a, b, w float64) float64 {
	u, v := leafNear/a, leafNear/b // infinite at the eye itself
	if w <= widePiece || w >= math.Pi || math.IsInf(u+v, 1) {
		return w * meanG(u, v)
	}
	n := math.Ceil(w / widePiece)
	sum, whole, from := 0.0, math.Sin(w), u
	for i := 1.0; i <= n; i++ {
		to := (math.Sin(w*(1-i/n))*u + math.Sin(w*i/n)*v) / whole // of a straight line
		sum += meanG(from, to)
		from = to
	}
	return sum * w / n
}

// meanG returns the mean of G where leafNear/R runs evenly from u to v.
func meanG(u, v float64) float64 {
	switch {
	case math.IsInf(u, 1) || math.IsInf(v, 1):
		return 0
	case math.Abs(u-v) < 0.01*(u+v): // the mean is that in the middle, to 2e-5
		m := (u + v) / 2
		if m > 1 {
			return 1 / (2 * m * m)
		}
		return 0.5 - math.Log(m)
	}
	return (intG(v) - intG(u)) / (v - u)
}

// intG is an antiderivative of G as a function of leafNear/R.
func intG(u float64) float64 {
	switch {
	case u == 0:
		return 0
	case u > 1:
		return 2 - 1/(2*u)
	}
	return u * (1.5 - math.Log(u))
}
