package radio

import (
	"fmt"
	"math"
)

// Polarisation is that of both antennas. The zero value is vertical.
type Polarisation int

// The two linear polarisations.
const (
	Vertical Polarisation = iota
	Horizontal
)

// DefaultRadiusKm is the effective Earth radius where [Conditions] states none,
// in kilometres: 4/3 of 6371, rounded.
const DefaultRadiusKm = 8500.0

// Conditions are what the losses depend on besides the profile.
type Conditions struct {
	FreqMHz           float64 // above 0; made for 30 to 6000
	Polarisation      Polarisation
	EffectiveRadiusKm float64 // 0 is DefaultRadiusKm
	SeaFraction       float64 // share of the path over sea, 0 to 1
}

// Diffraction is what the ground and what stands on it do to a link. Losses are
// decibels over free space, never negative; everything in it is finite.
type Diffraction struct {
	// DeltaBullingtonDB is the planning value:
	// BullingtonDB + max(SphericalDB-BullingtonSmoothDB, 0).
	DeltaBullingtonDB float64
	// BullingtonDB is the Bullington loss of the ground with its obstacles.
	BullingtonDB float64
	// BullingtonSmoothDB is the Bullington loss of a smooth Earth, with the
	// antennas' heights above a surface fitted to the bare ground.
	BullingtonSmoothDB float64
	// SphericalDB is the loss over a smooth Earth with those heights.
	SphericalDB float64

	// SingleEdgeDB is J(ν) of the main edge alone, the point that stands highest
	// in the first Fresnel zone: an optimistic figure, to be shown beside the
	// planning value.
	SingleEdgeDB float64

	// Clearance is the smallest clearance of the direct line above the ground
	// and its obstacles, as a fraction of the first Fresnel radius at that
	// point; negative where the line is blocked. ClearanceAt is that point's
	// distance from the first antenna in metres: where the main edge stands.
	// Both count the Earth's curvature. It is at most MaxClearance.
	Clearance, ClearanceAt float64

	// ObstacleClearance and ObstacleClearanceAt are the same over those points
	// alone where an obstacle stands on the ground; MaxClearance and 0 where
	// none does.
	ObstacleClearance, ObstacleClearanceAt float64
}

// MaxClearance is the largest clearance [Diffract] reports, in first Fresnel
// radii. Chosen: near an antenna the ratio grows without limit and means
// nothing, and a report cannot hold infinity.
const MaxClearance = 1000.0

// enoughClearance is the share of the first Fresnel radius that has to be free
// for a line to count as clear: the usual rule, ITU-R P.530 (from memory).
const enoughClearance = 0.6

// Obstructed reports whether an obstacle, as against bare ground, cuts 0.6 of
// the first Fresnel zone.
func (d Diffraction) Obstructed() bool { return d.ObstacleClearance < enoughClearance }

// Cut reports whether an obstacle or bare ground cuts 0.6 of the first Fresnel
// zone.
func (d Diffraction) Cut() bool { return d.Clearance < enoughClearance }

// Diffract returns the diffraction losses and the clearance of the link over p
// between antennas htg and hrg metres (above 0) above the ground of its first
// and last point. It is the same from either end.
//
// Points nearer than 1 mm to an end are left out. A profile with no points
// between its ends is taken to run straight. A link shorter than one
// wavelength has no diffraction loss.
//
// Source of the losses: the delta-Bullington method of ITU-R P.526-15 section
// 4.5, the same in P.452 section 4.2 and P.1812 section 4.3; see [Extrapolated].
//
// Diffract panics on what no caller may pass: fewer than two points, columns of
// unequal length, an antenna below the ground, a frequency or radius that is
// not above 0, a share of sea outside 0 to 1. A profile read from a file goes
// through [Profile.Check] first.
func Diffract(p Profile, htg, hrg float64, c Conditions) Diffraction {
	return diffract(p, htg, hrg, c, true)
}

// DiffractBriefly is Diffract without BullingtonSmoothDB where nothing else
// depends on it, which saves a walk along the profile: for rating many links.
func DiffractBriefly(p Profile, htg, hrg float64, c Conditions) Diffraction {
	return diffract(p, htg, hrg, c, false)
}

func diffract(p Profile, htg, hrg float64, c Conditions, whole bool) Diffraction {
	demand(p, htg, hrg, &c)
	n := len(p.D)
	d := p.D[n-1]
	s := scan(p, htg, hrg, c.EffectiveRadiusKm)
	var r Diffraction
	r.Clearance, r.ClearanceAt = s.ground.clearance(d, c.FreqMHz)
	r.ObstacleClearance, r.ObstacleClearanceAt = s.obstacle.clearance(d, c.FreqMHz)
	if !s.ground.found {
		mid := edge{found: true, at: d / 2}
		mid.q = cut(EarthBulge(d/2, d/2, c.EffectiveRadiusKm)-(htg+hrg)/2, d*d/4)
		r.Clearance, r.ClearanceAt = mid.clearance(d, c.FreqMHz)
	}
	if d < Wavelength(c.FreqMHz) {
		return r
	}

	lambda := waveP526(c.FreqMHz)
	if s.ground.found {
		r.SingleEdgeDB = KnifeEdge(s.ground.nu(d, lambda))
	}
	r.BullingtonDB = bullington(s.ground, s.slopes, d, lambda)

	hte, hre := s.smoothHeights(p, htg, hrg)
	r.SphericalDB = spherical(d/1000, hte, hre, lambda, c)
	if whole || r.SphericalDB > 0 {
		ground, slopes := scanSmooth(p, hte, hre, c.EffectiveRadiusKm)
		r.BullingtonSmoothDB = bullington(ground, slopes, d, lambda)
	}
	r.DeltaBullingtonDB = r.BullingtonDB + math.Max(0, r.SphericalDB-r.BullingtonSmoothDB)
	return r
}

// LeastDiffraction returns a loss that the planning value of [Diffract] is never
// under, as far as the points of p tell: the Bullington loss over them. More
// points and taller ones only add to it, so that a few points of a profile are
// enough to rule a hopeless link out. Over bare ground it holds for the ways past
// obstacles as well. It panics as Diffract does.
func LeastDiffraction(p Profile, htg, hrg float64, c Conditions) float64 {
	demand(p, htg, hrg, &c)
	d := p.D[len(p.D)-1]
	if d < Wavelength(c.FreqMHz) {
		return 0
	}
	s := scan(p, htg, hrg, c.EffectiveRadiusKm)
	return bullington(s.ground, s.slopes, d, waveP526(c.FreqMHz))
}

// demand panics on what no caller may pass to Diffract, and fills in the default
// of the radius.
func demand(p Profile, htg, hrg float64, c *Conditions) {
	n := len(p.D)
	if n < 2 || len(p.H) != n || len(p.G) != n {
		panic(fmt.Sprintf("radio: profile with %d distances, %d ground heights, %d heights with obstacles", n, len(p.H), len(p.G)))
	}
	if c.EffectiveRadiusKm == 0 {
		c.EffectiveRadiusKm = DefaultRadiusKm
	}
	if !(c.FreqMHz > 0) || !(c.EffectiveRadiusKm > 0) || !(c.SeaFraction >= 0 && c.SeaFraction <= 1) {
		panic(fmt.Sprintf("radio: frequency %v MHz, effective radius %v km, sea fraction %v", c.FreqMHz, c.EffectiveRadiusKm, c.SeaFraction))
	}
	if !(htg >= 0) || !(hrg >= 0) {
		panic(fmt.Sprintf("radio: antennas %v m and %v m above ground", htg, hrg))
	}
}

// Extrapolated reports whether a link of distance metres between antennas htg
// and hrg metres above ground lies outside what the diffraction loss was made
// for: shorter than 250 m or longer than 3000 km, or an antenna lower than 1 m
// or higher than 3000 m. The loss is still the best estimate there is.
//
// Source: the limits ITU-R P.1812 states, as eeveetza/Py1812 gives them.
func Extrapolated(distance, htg, hrg float64) bool {
	return distance < 250 || distance > 3e6 || min(htg, hrg) < 1 || max(htg, hrg) > 3000
}

// waveP526 returns the wavelength in metres as the Recommendations' reference
// implementations round it: 0.2998/f, f in GHz.
func waveP526(freqMHz float64) float64 { return 299.8 / freqMHz }

// An edge is the point that stands highest in the first Fresnel zone. Its q is
// H·|H|/(d1·d2), with H its height above the direct line and d1, d2 its
// distances from the ends: ν and the clearance in first Fresnel radii both
// follow from q, so that the largest ν is found without a square root a point.
type edge struct {
	found bool
	q, at float64
}

// cut returns q of a point h metres above the line, where d1·d2 is dd.
func cut(h, dd float64) float64 { return h * math.Abs(h) / dd }

// nu returns ν = H·√(2D/(λ·d1·d2)) on a path of d metres.
func (e edge) nu(d, lambda float64) float64 {
	return math.Copysign(math.Sqrt(math.Abs(e.q)*2*d/lambda), e.q)
}

// clearance returns -H over the first Fresnel radius, and where.
func (e edge) clearance(d, freqMHz float64) (share, at float64) {
	if !e.found || d < mergeWithin {
		return MaxClearance, 0
	}
	share = -math.Copysign(math.Sqrt(math.Abs(e.q)*d/Wavelength(freqMHz)), e.q)
	return math.Min(share, MaxClearance), e.at
}

// slopes are the steepest rises above the direct line, as seen from the first
// antenna (t) and from the last (r): max H/d1 and max H/d2.
type slopes struct{ t, r float64 }

// bullington returns the Bullington loss in decibels of a path of d metres;
// 0 where there is no point between the ends.
//
// Where the direct line is clear the highest point in the Fresnel zone counts.
// Where it is blocked the two horizon lines meet at height D·t·r/(t+r) above
// the direct line, D·r/(t+r) from the first antenna, and ν of that point
// comes to √(2D·t·r/λ): the Recommendation's formula with its slopes taken
// against the direct line, which has no pole at grazing.
//
// Source: ITU-R P.526-15 section 4.5.1.
func bullington(e edge, s slopes, d, lambda float64) float64 {
	if !e.found {
		return 0
	}
	nu := e.nu(d, lambda)
	if s.t > 0 && s.r > 0 {
		nu = math.Sqrt(2 * d / lambda * s.t * s.r)
	}
	j := KnifeEdge(nu)
	return j + (1-math.Exp(-j/6))*(10+0.02*d/1000)
}

// scanned is what one walk along a profile finds.
type scanned struct {
	ground   edge   // highest of all points
	obstacle edge   // highest of the points with an obstacle
	slopes   slopes // over all points

	v1, v2     float64 // area and moment of the bare ground above its first point
	hobs       float64 // greatest height of the bare ground above the direct line
	bareSlopes slopes  // of the bare ground, without curvature
}

// scan walks along the profile between antennas htg and hrg metres above its
// ends: one division a point.
func scan(p Profile, htg, hrg, radiusKm float64) scanned {
	n := len(p.D)
	d, h, g := p.D, p.H[:len(p.D)], p.G[:len(p.D)]
	total := d[n-1]
	base := h[0]
	hts, hrs := htg, h[n-1]-base+hrg
	s := scanned{slopes: slopes{math.Inf(-1), math.Inf(-1)}}
	if total <= 0 {
		return s
	}
	s.ground.q, s.obstacle.q = math.Inf(-1), math.Inf(-1)
	curve, perTotal := 1/(2000*radiusKm), 1/total
	dPrev, hPrev := 0.0, 0.0
	for i := 1; i < n; i++ {
		d1, hi := d[i], h[i]-base
		dd := d1 - dPrev
		s.v1 += dd * (hi + hPrev)
		s.v2 += dd * (hi*(2*d1+dPrev) + hPrev*(d1+2*dPrev))
		dPrev, hPrev = d1, hi

		d2 := total - d1
		if d1 < mergeWithin || d2 < mergeWithin {
			continue
		}
		line := (hts*d2 + hrs*d1) * perTotal
		product := d1 * d2
		inv := 1 / product
		gi := g[i] - base
		top := gi - line + product*curve
		s.slopes.t = max(s.slopes.t, top*d2*inv)
		s.slopes.r = max(s.slopes.r, top*d1*inv)
		q := top * math.Abs(top) * inv
		if q > s.ground.q {
			s.ground = edge{true, q, d1}
		}
		if g[i] > h[i] && q > s.obstacle.q {
			s.obstacle = edge{true, q, d1}
		}
		if bare := hi - line; bare > 0 {
			s.hobs = max(s.hobs, bare)
			s.bareSlopes.t = max(s.bareSlopes.t, bare*d2*inv)
			s.bareSlopes.r = max(s.bareSlopes.r, bare*d1*inv)
		}
	}
	return s
}

// smoothHeights returns the antennas' heights above the smooth surface fitted
// to the bare ground, never less than those above the ground itself.
//
// Source: ITU-R P.526-15 section 4.5, P.1812 attachment 1 section 5.6.
func (s scanned) smoothHeights(p Profile, htg, hrg float64) (hte, hre float64) {
	n := len(p.D)
	d, last := p.D[n-1], p.H[n-1]-p.H[0]
	hst := (2*s.v1*d - s.v2) / (d * d)
	hsr := (s.v2 - s.v1*d) / (d * d)
	if s.hobs > 0 {
		sum := s.bareSlopes.t + s.bareSlopes.r
		hst -= s.hobs * s.bareSlopes.t / sum
		hsr -= s.hobs * s.bareSlopes.r / sum
	}
	return htg - math.Min(hst, 0), last + hrg - math.Min(hsr, last)
}

// scanSmooth is scan over the points of p with every height 0, between antennas
// hte and hre metres high.
func scanSmooth(p Profile, hte, hre, radiusKm float64) (edge, slopes) {
	e := edge{q: math.Inf(-1)}
	s := slopes{math.Inf(-1), math.Inf(-1)}
	total := p.D[len(p.D)-1]
	curve, perTotal := 1/(2000*radiusKm), 1/total
	for _, d1 := range p.D[1:] {
		d2 := total - d1
		if d1 < mergeWithin || d2 < mergeWithin {
			continue
		}
		product := d1 * d2
		inv := 1 / product
		top := product*curve - (hte*d2+hre*d1)*perTotal
		s.t = max(s.t, top*d2*inv)
		s.r = max(s.r, top*d1*inv)
		if q := top * math.Abs(top) * inv; q > e.q {
			e = edge{true, q, d1}
		}
	}
	return e, s
}
