package main

import (
	"math"
	"math/rand/v2"
)

// A crown is a heap of rounded boughs. Light and shadow come from its shape
// (light.go), colour from its kind, its bough and its leaves.
type tree struct {
	c      pt
	r, h   float64 // radius of the crown and height of its top, metres
	leaf   rgb
	loose  float64 // 0 a tight crown, 1 a ragged one
	pointy bool
}

// Leaf colours as a picture shows them in full sun.
var leaves = []rgb{
	col(0x74805A), col(0x6A7854), col(0x82895F), col(0x667352), col(0x838660), col(0x6C7B5C), col(0x7F8359), col(0x5C6B50), col(0x76845F),
}

func pickLeaf(r *rand.Rand) rgb {
	c := leaves[r.IntN(len(leaves))]
	k := 0.86 + 0.28*r.Float64()
	t := 0.026 * r.NormFloat64()
	return rgb{c[0] * k * (1 + t), c[1] * k, c[2] * k * (1 - t)}
}

// plant draws one tree into the canvas.
func (c *canvas) plant(t tree, r *rand.Rand) {
	type bough struct {
		x, y, z, r, tone float64
	}
	n := int(clamp(5+t.r*t.r*1.7, 6, 90))
	bs := make([]bough, 0, n+1)
	stretch, lean := 0.8+0.4*r.Float64(), r.Float64()*math.Pi
	for i := range n {
		// Spread evenly over the crown, smaller and lower toward its rim.
		d := math.Sqrt((float64(i)+0.5)/float64(n)) * (0.92 + 0.25*t.loose*r.NormFloat64())
		a := float64(i)*2.39996 + 0.5*r.NormFloat64()
		p := pt{d * t.r * math.Cos(a), d * t.r * math.Sin(a) * stretch}.turn(lean)
		br := t.r * (0.36 - 0.12*d) * (0.65 + 0.7*r.Float64())
		if t.r > 3 {
			br *= 0.9
		}
		if t.r < 1.6 {
			br = t.r * (0.7 - 0.25*d) * (0.8 + 0.4*r.Float64())
		}
		dome := math.Sqrt(math.Max(0.04, 1-d*d*0.92))
		if t.pointy {
			dome = math.Max(0.15, 1-0.85*d)
			br *= 0.75
		}
		top := t.h * (0.36 + 0.64*dome) * (0.93 + 0.12*r.NormFloat64()*(0.5+t.loose))
		bs = append(bs, bough{p.x, p.y, math.Max(top-br, 0.2), br, 1 + 0.09*r.NormFloat64()})
	}
	seed := r.Uint32()
	reach := t.r*1.5 + 0.6
	c.each(box{t.c.x - reach, t.c.y - reach, t.c.x + reach, t.c.y + reach}, func(k int, q pt) {
		d := q.sub(t.c)
		d.x += 0.45 * noise(q.x/1.5, q.y/1.5, seed)
		d.y += 0.45 * noise(q.x/1.5, q.y/1.5, seed+1)
		best, tone := -1.0, 1.0
		for i := range bs {
			b := &bs[i]
			x, y := d.x-b.x, d.y-b.y
			if s := b.r*b.r - x*x - y*y; s > 0 {
				if z := b.z + math.Sqrt(s); z > best {
					best, tone = z, b.tone
				}
			}
		}
		if best < 0 {
			return
		}
		n1, n2 := noise(q.x/0.9, q.y/0.9, seed+2), noise(q.x/0.45, q.y/0.45, seed+3)
		best += math.Min(0.40, 0.13*t.r) * (n1 + 0.8*n2)
		if best <= float64(c.height[k]) {
			return
		}
		c.height[k] = float32(best)
		c.facing[k] = -1
		low := 0.74 + 0.26*smooth(0.25, 0.95, best/t.h)
		v := t.leaf.times(tone * low * (1 + 0.10*n1 + 0.07*n2))
		c.set(k, v)
	})
}

// plantAll puts every tree and shrub of the picture in its place.
func (c *canvas) plantAll() {
	r := rand.New(rand.NewPCG(71, 7))

	// The wood: crowns of all ages, laid where there is room.
	type spot struct {
		pt
		r float64
	}
	var stand []spot
	b := boxOf(wood, 9)
	for range 16000 {
		q := pt{lerp(b.x0, b.x1, r.Float64()), lerp(b.y0, b.y1, r.Float64())}
		d := wood.inside(pt{q.x + 8*noise(q.x/22, q.y/22, 201) + 3*noise(q.x/8, q.y/8, 208), q.y + 8*noise(q.x/22, q.y/22, 202) + 3*noise(q.x/8, q.y/8, 209)})
		open := fbm(q.x/45, q.y/45, 3, 203)
		rad := 2.6 + 4.6*math.Pow(r.Float64(), 1.8) + 2.4*clamp(fbm(q.x/60, q.y/60, 2, 204), -0.7, 1)
		if d < 0 || open > 0.44 && r.Float64() < 0.93 {
			continue
		}
		if ride, _, _ := woodRide.near(pt{q.x + 4*noise(q.x/30, q.y/30, 207), q.y}); ride < 2.2+0.5*rad {
			continue
		}
		if d < 8 {
			rad = math.Max(1.6, rad*(0.5+0.4*r.Float64()))
		}
		room := true
		for _, s := range stand {
			if s.sub(q).len() < 0.62*(s.r+rad) {
				room = false
				break
			}
		}
		if room {
			stand = append(stand, spot{q, rad})
		}
	}
	for _, s := range stand {
		t := tree{c: s.pt, r: s.r, h: 8 + 1.1*s.r + 1.5*r.NormFloat64() + 2.4*noise(s.x/35, s.y/35, 205), leaf: pickLeaf(r), loose: r.Float64()}
		if fbm(s.x/55, s.y/55, 2, 206) > 0.28 { // a compartment of conifers
			t.pointy, t.leaf, t.r, t.h = true, col(0x56644F).times(0.85+0.3*r.Float64()), math.Min(s.r*0.8, 3.2), t.h+1
		}
		c.plant(t, r)
	}

	// Hedges: shrubs shoulder to shoulder, thin places, trees here and there.
	for hi, h := range hedges {
		n := h.length()
		for s := 0.0; s < n; s += h.width * 0.36 * (0.7 + 0.6*r.Float64()) {
			if noise(s/17, float64(hi)*9, 210) > 0.75-h.gaps*3 && h.gaps > 0 {
				continue
			}
			p, dir := h.at(s)
			full := clamp(0.9+0.35*noise(s/23, float64(hi)*5, 211)+0.16*r.NormFloat64(), 0.45, 1.5)
			if h.gaps == 0 {
				full = clamp(full, 0.8, 1.05)
			}
			off := 0.17 * h.width * r.NormFloat64()
			if h.gaps > 0 {
				off += 0.5 * noise(s/14, float64(hi)*3, 212)
			}
			p = p.add(dir.left().mul(off))
			if h.gaps > 0 {
				full *= 1.25
			}
			c.plant(tree{c: p, r: h.width * 0.44 * full, h: h.height * full, leaf: mix(pickLeaf(r), col(0x6E7A58), 0.4), loose: 0.6}, r)
		}
		for range int(h.trees * n / 100) {
			p, dir := h.at(r.Float64() * n)
			rad := 2.4 + 4.2*r.Float64()*r.Float64() + 1.2*r.Float64()
			c.plant(tree{c: p.add(dir.left().mul(0.8 * r.NormFloat64())), r: rad, h: 4.5 + 1.3*rad + r.NormFloat64(), leaf: pickLeaf(r), loose: r.Float64()}, r)
		}
	}

	// Alders and sallows down the stream.
	for s := 0.0; s < stream.length(); s += 1.4 + 3*r.Float64() {
		if noise(s/40, 3, 220) < -0.12 {
			continue
		}
		p, dir := stream.at(s)
		p = p.add(dir.left().mul(3.1 * r.NormFloat64()))
		if fence.inside(p) > -11 {
			continue
		}
		if d, _, _ := lane.near(p); d < 6 {
			continue
		}
		if d, _, _ := rails.near(p); d < 4.5 {
			continue
		}
		rad := 1 + 1.8*r.Float64() + 3.2*math.Pow(r.Float64(), 4)
		c.plant(tree{c: p, r: rad, h: 2 + 1.5*rad, leaf: mix(pickLeaf(r), col(0x7C8868), 0.4), loose: 0.9}, r)
	}

	clear := func(q pt) bool { // of fence, lane, rails and water
		if in := fence.inside(q); in > -6.5 {
			return false
		}
		d, _, _ := lane.near(q)
		e, _, _ := rails.near(q)
		return d > 5.5 && e > 4 && pond.inside(q) < -1
	}
	// Brambles and saplings where nothing is cut: the railway bank, the strip
	// between yard and wood, the lagoon's edge, corners of the yard.
	scrub := func(n int, b box, keep func(q pt) float64) {
		for range n {
			q := pt{lerp(b.x0, b.x1, r.Float64()), lerp(b.y0, b.y1, r.Float64())}
			if fbm(q.x/26, q.y/26, 3, 230) < 0.12 || r.Float64() > keep(q) {
				continue
			}
			rad := 0.5 + 0.9*r.Float64() + 1.5*math.Pow(r.Float64(), 6)
			c.plant(tree{c: q, r: rad, h: 0.6 + 1.3*rad, leaf: pickLeaf(r), loose: 1}, r)
		}
	}
	for range 150 { // thorns and birches before the wood's edge
		q := pt{lerp(-210, 250, r.Float64()), lerp(120, 420, r.Float64())}
		d := wood.inside(q)
		if d > -2 || r.Float64() > smooth(-38, -4, d) || !clear(q) || fields[7].inside(q) > -3 || fields[8].inside(q) > -3 || fields[6].inside(q) > -3 {
			continue
		}
		rad := 1.1 + 2.4*r.Float64()*r.Float64()
		c.plant(tree{c: q, r: rad, h: 1.6 + 1.7*rad, leaf: pickLeaf(r), loose: 0.9}, r)
	}
	scrub(1500, box{-200, 96, 240, 200}, func(q pt) float64 {
		if !clear(q) || wood.inside(q) > 0 || neighbour.inside(q) > 0 {
			return 0
		}
		return 0.75 * smooth(-60, -5, wood.inside(q))
	})
	scrub(900, box{208, -136, 290, 260}, func(q pt) float64 {
		d, _, _ := stream.near(q)
		if !clear(q) {
			return 0
		}
		return smooth(45, 8, d)
	})
	scrub(800, box{225, -30, 700, 90}, func(q pt) float64 {
		d, _, _ := rails.near(q)
		if !clear(q) {
			return 0
		}
		return smooth(9, 5, d)
	})
	scrub(260, box{-180, -20, -62, 75}, func(q pt) float64 { // rough ground in the yard
		if fence.inside(q) < 13 || near(q, 4) {
			return 0
		}
		return smooth(-96, -125, q.x) * 0.5
	})

	// Trees standing alone in grass, the farm's shelter belt and orchard, the
	// office's few.
	for i := range fields {
		if fields[i].crop != pasture {
			continue
		}
		b := boxOf(fields[i].ring, 0)
		n := int((b.x1 - b.x0) * (b.y1 - b.y0) / 26000)
		for range n {
			q := pt{lerp(b.x0, b.x1, r.Float64()), lerp(b.y0, b.y1, r.Float64())}
			if fields[i].inside(q) < 14 || near(q, 12) || fence.inside(q) > -25 {
				continue
			}
			rad := 3 + 3.4*r.Float64()
			c.plant(tree{c: q, r: rad, h: 5 + 1.4*rad, leaf: pickLeaf(r), loose: 0.5}, r)
		}
	}
	belt := line{{-414, 52}, {-398, 62}, {-362, 84}, {-322, 98}, {-300, 96}}
	for s := 0.0; s < belt.length(); s += 2.5 + 4*r.Float64() {
		p, dir := belt.at(s)
		rad := 2.4 + 3.4*r.Float64()
		c.plant(tree{c: p.add(dir.left().mul(3.4 * r.NormFloat64())), r: rad, h: 5 + 1.2*rad, leaf: pickLeaf(r), loose: 0.7}, r)
	}
	for i := range 5 {
		for j := range 4 {
			if r.Float64() < 0.2 {
				continue
			}
			q := pt{-436 + 7.5*float64(i) + 0.6*r.NormFloat64(), -18 + 8*float64(j) + 0.6*r.NormFloat64()}
			rad := 1.5 + 0.9*r.Float64()
			c.plant(tree{c: q, r: rad, h: 2.2 + rad, leaf: mix(pickLeaf(r), col(0x828C68), 0.5), loose: 0.5}, r)
		}
	}
	for _, q := range []pt{{-390, 34}, {-352, 36}, {-398, 12}, {-360, -18}, {-379, -4}, {-2, -86}, {3, -74}, {-4, -69}, {-256, -70}, {-236, 62}, {-176, -82}, {-168, -83}} {
		rad := 1.6 + 2.2*r.Float64()
		c.plant(tree{c: q, r: rad, h: 2.5 + 1.5*rad, leaf: pickLeaf(r), loose: 0.5}, r)
	}
}

// near tells whether q lies within reach metres of a building.
func near(q pt, reach float64) bool {
	for _, set := range [][]building{buildings, sheds} {
		for i := range set {
			d := set[i].local(q)
			if math.Abs(d.x) < set[i].l/2+reach && math.Abs(d.y) < set[i].w/2+reach {
				return true
			}
		}
	}
	return false
}
