package pattern

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model/terrain"
)

// shade is a stand of foliage along a ray: the ray runs through it from d0 to
// d1, and the sight line to the middle of a target at distance d is below its
// top beyond d·k (or, for a target taller than the eye, before d·k).
type shade struct {
	d0, d1 float64
	k      float64
	before bool
	class  int
	owner  int32
}

// castLeaves lists the foliage along a ray for sight lines to height m above
// the ground.
func (lk *Looker) castLeaves(az, sin, cos, m float64) []shade {
	lk.shades = lk.shades[:0]
	z := lk.e.Z - lk.e.Ground
	add := func(d0, d1 float64, owner int32) {
		s := lk.stands[owner]
		h := shade{d0: d0, d1: d1, class: s.class, owner: owner}
		switch {
		case z == m:
			if s.height <= z {
				return
			}
		case z > m:
			h.k = math.Max(0, (z-s.height)/(z-m))
			if h.k >= 1 {
				return
			}
		default:
			h.k, h.before = math.Min(1, (s.height-z)/(m-z)), true
			if h.k <= 0 {
				return
			}
		}
		lk.shades = append(lk.shades, h)
	}
	lk.eachLeaf(az, sin, cos, add)
	return lk.shades
}

// eachLeaf calls add with the stretches of a ray that run through foliage.
func (lk *Looker) eachLeaf(az, sin, cos float64, add func(d0, d1 float64, owner int32)) {
	lk.open = lk.open[:0]
	for o, in := range lk.leaves.inside {
		if in {
			lk.open = append(lk.open, block{owner: int32(o)})
		}
	}
	lk.hits = lk.leaves.cast(az, sin, cos, lk.hits[:0])
next:
	for _, h := range lk.hits {
		for i := range lk.open {
			if lk.open[i].owner == h.owner {
				add(lk.open[i].d0, h.d, h.owner)
				lk.open = append(lk.open[:i], lk.open[i+1:]...)
				continue next
			}
		}
		lk.open = append(lk.open, block{d0: h.d, owner: h.owner})
	}
	for _, k := range lk.open {
		add(k.d0, math.Inf(1), k.owner)
	}
}

// through returns the length of the sight line to distance d that runs below
// the top of foliage of at least the given class; foliage that overlaps counts
// once.
func (lk *Looker) through(shades []shade, class int, d float64) float64 {
	lk.cuts = lk.cuts[:0]
	for _, s := range shades {
		if s.class < class {
			continue
		}
		lo, hi := s.d0, math.Min(s.d1, d)
		if s.before {
			hi = math.Min(hi, d*s.k)
		} else {
			lo = math.Max(lo, d*s.k)
		}
		if lo < hi {
			lk.cuts = append(lk.cuts, cut{lo, hi})
		}
	}
	return unionLength(lk.cuts)
}

// cut is a stretch of a ray.
type cut struct{ lo, hi float64 }

func unionLength(cs []cut) float64 {
	slices.SortFunc(cs, func(a, b cut) int {
		switch {
		case a.lo < b.lo:
			return -1
		case a.lo > b.lo:
			return 1
		}
		return 0
	})
	sum, end := 0.0, math.Inf(-1)
	for _, c := range cs {
		if c.lo > end {
			sum += c.hi - c.lo
			end = c.hi
		} else if c.hi > end {
			sum += c.hi - end
			end = c.hi
		}
	}
	return sum
}

// excess is how far the worse class is beyond its limit at distance d: positive
// where the sight line is screened.
func (lk *Looker) excess(shades []shade, d float64) float64 {
	return math.Max(lk.through(shades, 2, d)-screenDense, lk.through(shades, 1, d)-screenMedium)
}

// clear takes the screened ground out of out[start:].
func (lk *Looker) clear(az float64, t Target, out []interval, start int) []interval {
	if len(out) == start {
		return out
	}
	if lk.sc.Terrain != nil {
		return lk.clearTerrain(az, t, out, start)
	}
	sin, cos := math.Sincos(az)
	shades := lk.castLeaves(az, sin, cos, t.Height/2)
	if len(shades) == 0 {
		return out
	}
	// Between these distances the runs through foliage are linear in d.
	br := lk.breaks[:0]
	for _, s := range shades {
		br = append(br, s.d0, s.d1)
		for _, o := range shades {
			if s.k > 0 {
				br = append(br, o.d0/s.k, o.d1/s.k)
			}
		}
	}
	slices.Sort(br)
	lk.breaks = br
	seen := append([]interval(nil), out[start:]...)
	out = out[:start]
	for _, v := range seen {
		lo, lt := v.lo, v.lt // the beginning of what is clear
		a := v.lo
		if lk.excess(shades, a) > 0 {
			lo = math.NaN()
		}
		cross := func(d float64, now float64) {
			if now > 0 { // screened from here
				if !math.IsNaN(lo) && d > lo {
					p := v
					p.lo, p.lt, p.hi, p.ht = lo, lt, d, tagScreen
					out = append(out, p)
				}
				lo = math.NaN()
			} else if math.IsNaN(lo) {
				lo, lt = d, tagScreen|1
			}
		}
		for i := 0; i <= len(br); i++ {
			b := v.hi
			if i < len(br) {
				if br[i] <= a || math.IsNaN(br[i]) {
					continue
				}
				b = math.Min(b, br[i])
			}
			if b <= a {
				break
			}
			// Two classes, each linear: the greater of them may bend once.
			lk.screenSteps(shades, a, b, cross)
			a = b
		}
		if !math.IsNaN(lo) && v.hi > lo {
			p := v
			p.lo, p.lt = lo, lt
			out = append(out, p)
		}
	}
	return out
}

// screenSteps calls cross where the excess changes sign between a and b, where
// both classes' runs are linear.
func (lk *Looker) screenSteps(shades []shade, a, b float64, cross func(d, now float64)) {
	type line struct{ fa, fb float64 }
	var ls [2]line
	ls[0] = line{lk.through(shades, 2, a) - screenDense, lk.through(shades, 2, b) - screenDense}
	ls[1] = line{lk.through(shades, 1, a) - screenMedium, lk.through(shades, 1, b) - screenMedium}
	var at [4]float64
	n := 0
	for _, l := range ls {
		if (l.fa > 0) != (l.fb > 0) {
			at[n] = a + (b-a)*l.fa/(l.fa-l.fb)
			n++
		}
	}
	cuts := at[:n]
	slices.Sort(cuts)
	value := func(d float64) float64 {
		s := (d - a) / (b - a)
		return math.Max(ls[0].fa+s*(ls[0].fb-ls[0].fa), ls[1].fa+s*(ls[1].fb-ls[1].fa))
	}
	prev := a
	for i := 0; i <= n; i++ {
		end := b
		if i < n {
			end = cuts[i]
		}
		if end > prev {
			cross(prev, value((prev+end)/2))
		}
		prev = end
	}
}

// ScreenedBy returns the ids of the foliage through which the sight line to the
// middle of a target at p runs below the top, nearest first.
func (lk *Looker) ScreenedBy(p orb.Point, t Target) []string {
	dx, dy := p[0]-lk.e.At[0], p[1]-lk.e.At[1]
	d := math.Hypot(dx, dy)
	if d == 0 {
		return nil
	}
	var ids []string
	if g := lk.sc.Terrain; g != nil {
		g.Profile(lk.e.At, dx/d, dy/d, d, &lk.ray)
		lk.eachLeaf(turn(math.Atan2(dx, dy)), dx/d, dy/d, func(d0, d1 float64, owner int32) {
			s := lk.stands[owner]
			if s.class > 0 && lk.below(d0, math.Min(d1, d), d, t.Height/2, s.height) > 0 && !slices.Contains(ids, s.id) {
				ids = append(ids, s.id)
			}
		})
		return ids
	}
	shades := lk.castLeaves(turn(math.Atan2(dx, dy)), dx/d, dy/d, t.Height/2)
	for _, s := range shades {
		lo, hi := s.d0, math.Min(s.d1, d)
		if s.before {
			hi = math.Min(hi, d*s.k)
		} else {
			lo = math.Max(lo, d*s.k)
		}
		if id := lk.stands[s.owner].id; s.class > 0 && lo < hi && !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	return ids
}

// below returns the length between distances a and b along the marched ray over
// which the sight line to height m above the ground at distance d runs below
// foliage of the given height.
func (lk *Looker) below(a, b, d, m, height float64) float64 {
	sum := 0.0
	lk.belowParts(a, b, d, m, height, func(lo, hi float64) { sum += hi - lo })
	return sum
}

// belowParts calls add with the parts between a and b over which the sight line
// runs below the foliage.
func (lk *Looker) belowParts(a, b, d, m, height float64, add func(lo, hi float64)) {
	knots := lk.ray.Knots
	if b <= a || d <= 0 {
		return
	}
	rise := (groundAt(knots, d) + m - lk.e.Z) / d
	over := func(q, g float64) float64 { return lk.e.Z + rise*q - g - height } // above the top
	i, _ := slices.BinarySearchFunc(knots, a, func(k terrain.Knot, a float64) int { return cmp.Compare(k.D, a) })
	pos := a
	f := over(a, groundAt(knots, a))
	for pos < b {
		for i < len(knots) && knots[i].D <= pos {
			i++
		}
		end, ge := b, 0.0
		if i < len(knots) && knots[i].D < b {
			end, ge = knots[i].D, knots[i].H
		} else {
			ge = groundAt(knots, b)
		}
		h := over(end, ge)
		switch {
		case f < 0 && h < 0:
			add(pos, end)
		case f < 0:
			add(pos, pos+(end-pos)*f/(f-h))
		case h < 0:
			add(pos+(end-pos)*f/(f-h), end)
		}
		pos, f = end, h
	}
}

// screenStep is the farthest in metres that two sight lines are apart at which a
// run through foliage on terrain is worked out. Chosen.
const screenStep = 0.5

// clearTerrain takes the screened ground out of out[start:]: the run through
// foliage is worked out at every knot of the ground, every edge of foliage and in
// steps between them, and where it passes the limit by halving.
func (lk *Looker) clearTerrain(az float64, t Target, out []interval, start int) []interval {
	sin, cos := math.Sincos(az)
	type wood struct {
		d0, d1 float64
		leaf
	}
	var stretches []wood
	first, far := math.Inf(1), out[len(out)-1].hi
	var most [3]float64 // the longest run there may be, by class
	lk.eachLeaf(az, sin, cos, func(d0, d1 float64, owner int32) {
		if s := lk.stands[owner]; s.class > 0 && d0 < far {
			stretches = append(stretches, wood{d0, d1, s})
			first = math.Min(first, d0)
			for c := 1; c <= s.class; c++ {
				most[c] += math.Min(d1, far) - d0
			}
		}
	})
	if most[1] <= screenMedium && most[2] <= screenDense {
		return out
	}
	lk.sc.Terrain.Profile(lk.e.At, sin, cos, far, &lk.ray)
	excess := func(d float64) float64 {
		worst := math.Inf(-1)
		for class, limit := range [...]float64{1: screenMedium, 2: screenDense} {
			if class == 0 {
				continue
			}
			lk.cuts = lk.cuts[:0]
			for _, s := range stretches {
				if s.class >= class {
					lk.belowParts(s.d0, math.Min(s.d1, d), d, t.Height/2, s.height, func(lo, hi float64) { lk.cuts = append(lk.cuts, cut{lo, hi}) })
				}
			}
			worst = math.Max(worst, unionLength(lk.cuts)-limit)
		}
		return worst
	}
	br := lk.breaks[:0]
	for _, k := range lk.ray.Knots {
		br = append(br, k.D)
	}
	for _, s := range stretches {
		br = append(br, s.d0, s.d1)
	}
	slices.Sort(br)
	lk.breaks = br
	seen := append([]interval(nil), out[start:]...)
	out = out[:start]
	for _, v := range seen {
		if v.hi <= first {
			out = append(out, v)
			continue
		}
		p := v
		pos := math.Max(v.lo, first)
		f := excess(pos)
		clear := f <= 0
		step := func(d float64) {
			h := excess(d)
			if (f > 0) != (h > 0) {
				lo, hi := pos, d
				for hi-lo > 1e-3 {
					if m := (lo + hi) / 2; (excess(m) > 0) == (f > 0) {
						lo = m
					} else {
						hi = m
					}
				}
				c := (lo + hi) / 2
				if clear {
					p.hi, p.ht = c, tagScreen
					out = append(out, p)
				} else {
					p = v
					p.lo, p.lt = c, tagScreen|1
				}
				clear = !clear
			}
			f, pos = h, d
		}
		walk := func(to float64) {
			from := pos
			n := math.Ceil((to - from) / screenStep)
			for k := 1.0; k <= n; k++ {
				step(from + (to-from)*k/n)
			}
		}
		for _, d := range br {
			if d > pos && d < v.hi {
				walk(d)
			}
		}
		walk(v.hi)
		if clear {
			p.hi, p.ht = v.hi, v.ht
			out = append(out, p)
		}
	}
	return out
}
