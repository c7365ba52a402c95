package drawing

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"pleach/model/aim"
	"pleach/model/pattern"
)

// just is how far before and behind a wall the section is sampled, metres.
const just = 1e-6

// barely is the depth in metres up to which a hollow behind a rise is not drawn
// as hidden. Chosen: what the terrain is known to.
const barely = 0.03

// samples returns distances close enough together that what is straight between
// them looks as it is, with both sides of every wall.
func (c *cutter) samples(to float64) []float64 {
	const pieces = 200
	var out []float64
	for i := range pieces + 1 {
		out = append(out, to*float64(i)/pieces)
	}
	for _, k := range c.line.Ground {
		out = append(out, k.D)
	}
	for i := range c.line.Things {
		if t := &c.line.Things[i]; t.Hides() {
			out = append(out, t.From-just, t.From, t.From+just, t.To-just, t.To, t.To+just)
		}
	}
	slices.Sort(out)
	return slices.DeleteFunc(slices.Compact(out), func(d float64) bool { return d < 0 || d > to })
}

// shade is the height below which something hides at each sample: the horizon of
// the contract, section 3.
func (c *cutter) shade(at []float64) []float64 {
	z, slope := c.a.Eye.Z, math.Inf(-1)
	out := make([]float64, len(at))
	for i, d := range at {
		h := c.line.Height(d)
		for k := range c.line.Things {
			if t := &c.line.Things[k]; t.Hides() && t.From <= d && d <= t.To {
				h = math.Max(h, c.line.TopAt(t, d))
			}
		}
		if d > 0 {
			slope = math.Max(slope, (h-z)/d)
		}
		out[i] = math.Inf(-1)
		if d > 0 {
			out[i] = z + slope*d
		}
	}
	return out
}

// between appends the areas in which upper lies above lower, both given at each
// sample and straight between.
func (c *cutter) between(at, upper, lower []float64, f func(ring orb.Ring)) {
	var above, below []orb.Point
	end := func() {
		if len(above) > 1 {
			slices.Reverse(below)
			f(append(orb.Ring(above), below...))
		}
		above, below = nil, nil
	}
	for i, d := range at {
		over := upper[i] - lower[i]
		if i > 0 {
			before := upper[i-1] - lower[i-1]
			if (before > 0) != (over > 0) && !math.IsInf(before, 0) && !math.IsInf(over, 0) {
				t := before / (before - over)
				p := c.pt(at[i-1]+t*(d-at[i-1]), upper[i-1]+t*(upper[i]-upper[i-1]))
				above, below = append(above, p), append(below, p)
			}
		}
		if over > 0 {
			above, below = append(above, c.pt(d, upper[i])), append(below, c.pt(d, lower[i]))
		} else {
			end()
		}
	}
	end()
}

// lobes draws what each lobe sees of the air, and its limits.
func (c *cutter) lobes() {
	for _, l := range c.a.Eye.Limits(c.a.Azimuth()) {
		c.lobe(l)
	}
}

func (c *cutter) lobe(l pattern.Limits) {
	if c.a.Eye.Buried != "" {
		return
	}
	z := c.a.Eye.Z
	to := math.Min(l.Range, c.far)
	at := c.samples(to)
	// Where the reach ends in an arc, as finely as it bends.
	for i := range 41 {
		a := math.Atan(l.Up) + (math.Atan(l.Down)-math.Atan(l.Up))*float64(i)/40
		if d := l.Range * math.Cos(a); d >= 0 && d <= to {
			at = append(at, d)
		}
	}
	slices.Sort(at)
	at = slices.Compact(at)
	shade := c.shade(at)
	upper, lower := make([]float64, len(at)), make([]float64, len(at))
	for i, d := range at {
		arc := math.Sqrt(math.Max(0, l.Range*l.Range-d*d))
		upper[i] = min(z-d*l.Up, z+arc, c.s.top)
		lower[i] = max(z-d*l.Down, z-arc, c.line.Height(d), shade[i])
		if c.inside(d) {
			upper[i] = lower[i]
		}
	}
	fill, edge := SectionLobe, SectionEdge
	if l.LookDown {
		fill, edge = SectionLookDown, SectionEdgeDown
	}
	c.between(at, upper, lower, func(r orb.Ring) { c.area(PatternLayer, fill, r) })
	for _, fall := range []float64{l.Up, l.Down} {
		end := math.Min(l.Range/math.Hypot(1, fall), c.far)
		if what, _, d, _ := c.line.Meets(z, fall, 0); what != aim.Nothing {
			end = math.Min(end, d)
		}
		if fall < 0 {
			end = math.Min(end, (c.s.top-z)/-fall)
		}
		c.stroke(PatternLayer, edge, c.pt(0, z), c.pt(end, z-end*fall))
	}
}

// horizon draws what lies hidden, and the line above it.
func (c *cutter) horizon() {
	if c.a.Eye.Buried != "" {
		return
	}
	at := c.samples(c.far)
	shade := c.shade(at)
	lower := make([]float64, len(at))
	for i, d := range at {
		lower[i] = c.line.Height(d)
		shade[i] = math.Min(shade[i], c.s.top)
		if c.inside(d) {
			shade[i] = lower[i]
		}
	}
	c.between(at, shade, lower, func(r orb.Ring) {
		n := len(r) / 2
		deep, deepest := 0.0, 0
		for i := range n {
			if d := r[i][1] - r[len(r)-1-i][1]; d > deep {
				deep, deepest = d, i
			}
		}
		if deep < barely*c.ex {
			return
		}
		if w, h := c.theme.LabelSize(FeatureName, "hidden"); deep > 1.6*h*c.mpu && r[n-1][0]-r[0][0] > 2*w*c.mpu {
			at := (r[deepest][0] + (r[0][0]+r[n-1][0])/2) / 2
			c.text(FeatureName, "hidden", at, c.line.Height(at)+h*0.8*c.mpu/c.ex, Neither)
		}
		top := slices.Clone(r[:n])
		c.area(PatternLayer, SectionHidden, r)
		// Not along the upper edge of the drawing.
		top = slices.DeleteFunc(top, func(p orb.Point) bool { return p[1] >= c.s.top*c.ex-1e-9 })
		slices.SortStableFunc(top, func(a, b orb.Point) int { return cmp.Compare(a[0], b[0]) })
		c.stroke(BoundaryLayer, SectionHorizon, top...)
	})
}
