package main

import (
	"math"
	"math/rand/v2"
)

// A crown is a dome of rounded boughs of one hue. Its shape alone makes light
// side, dark side and shadow (light.go); leaves are hardly seen.
type tree struct {
	c      pt
	r, h   float64 // radius of the crown and height of its top, metres
	leaf   rgb
	loose  float64 // 0 a tight crown, 1 a ragged one
	pointy bool
}

// Leaf colours as a picture shows them in full sun.
var leaves = []rgb{
	col(0x5E6B47), col(0x57664A), col(0x676E49), col(0x516049), col(0x696F4F), col(0x58664D), col(0x636B45), col(0x4E5D46), col(0x5C6A4C),
}

func pickLeaf(r *rand.Rand) rgb {
	c := leaves[r.IntN(len(leaves))]
	k := 0.86 + 0.28*r.Float64()
	t := 0.025 * r.NormFloat64()
	return rgb{c[0] * k * (1 + t), c[1] * k, c[2] * k * (1 - t)}
}

// sunIn is the direction to the sun in the site's frame, and up.
var sunIn, sunUp = func() (pt, float64) {
	sa, ca := math.Sincos(sunAzimuth * math.Pi / 180)
	se, ce := math.Sincos(sunElevation * math.Pi / 180)
	return pt{sa * ce, ca * ce}.turn(-turn), se
}()

// leafLight is how bright leaves look that face along n (up is the third), not
// of unit length, against level ground.
func leafLight(nx, ny, nz float64) float64 {
	f := (nx*sunIn.x + ny*sunIn.y + nz*sunUp) / (sunUp * math.Sqrt(nx*nx+ny*ny+nz*nz))
	return clamp(0.22+0.80*f, 0.10, 1.35)
}

// leafOn puts leaves on a cell, unless something stands higher there.
func (c *canvas) leafOn(k int, z, light float64, v rgb) {
	if z <= float64(c.height[k]) {
		return
	}
	c.height[k], c.facing[k], c.leafy[k] = float32(z), float32(light), true
	c.set(k, v)
}

// plant draws one tree into the canvas.
func (c *canvas) plant(t tree, r *rand.Rand) {
	type bough struct {
		x, y, z, r, tone float64
	}
	n := int(clamp(4+t.r*t.r*0.9, 4, 44))
	bs := make([]bough, 0, n+1)
	stretch, lean := 0.8+0.35*r.Float64(), r.Float64()*math.Pi
	for i := range n {
		// Spread evenly over the crown, smaller and lower toward its rim.
		d := math.Sqrt((float64(i)+0.5)/float64(n)) * (0.86 + 0.2*t.loose*r.NormFloat64())
		a := float64(i)*2.39996 + 0.6*r.NormFloat64()
		p := pt{d * t.r * math.Cos(a), d * t.r * math.Sin(a) * stretch}.turn(lean)
		br := t.r * (0.42 - 0.14*d) * (0.55 + 0.9*r.Float64())
		if t.r < 2 {
			br = t.r * (0.72 - 0.25*d) * (0.8 + 0.4*r.Float64())
		}
		dome := math.Sqrt(math.Max(0.05, 1-d*d*0.9))
		if t.pointy {
			dome = math.Max(0.15, 1-0.85*d)
			br *= 0.75
		}
		top := t.h * (0.40 + 0.60*dome) * (0.96 + 0.07*r.NormFloat64()*(0.4+t.loose))
		bs = append(bs, bough{p.x, p.y, math.Max(top-br, 0.2), br, 1 + 0.035*r.NormFloat64()})
	}
	seed := r.Uint32()
	reach := t.r*1.5 + 0.6
	c.each(box{t.c.x - reach, t.c.y - reach, t.c.x + reach, t.c.y + reach}, func(k int, q pt) {
		d := q.sub(t.c)
		wide := 0.22 * t.r
		d.x += wide*noise(q.x/(t.r+1), q.y/(t.r+1), seed+4) + 0.45*noise(q.x/1.7, q.y/1.7, seed)
		d.y += wide*noise(q.x/(t.r+1), q.y/(t.r+1), seed+5) + 0.45*noise(q.x/1.7, q.y/1.7, seed+1)
		best, tone, nx, ny := -1.0, 1.0, 0.0, 0.0
		for i := range bs {
			b := &bs[i]
			x, y := d.x-b.x, d.y-b.y
			if s := b.r*b.r - x*x - y*y; s > 0 {
				if z := b.z + math.Sqrt(s); z > best {
					best, tone, nx, ny = z, b.tone, x/b.r, y/b.r
				}
			}
		}
		if best < 0 {
			return
		}
		whole := d.mul(1 / (1.08 * t.r))
		nx, ny = 0.60*nx+0.52*whole.x, 0.60*ny+0.52*whole.y
		up := math.Sqrt(math.Max(0.12, 1.1-nx*nx-ny*ny))
		fine := noise(q.x/0.9, q.y/0.9, seed+2)
		low := 0.82 + 0.18*smooth(0.25, 0.95, best/t.h)
		c.leafOn(k, best+0.10*fine, leafLight(nx, ny, up), t.leaf.times(tone*low*(1+0.05*fine)))
	})
}

// row draws a hedge as one body: its width jumps from length to length and its
// top is uneven, but nothing repeats. Where gaps is above 0 it may break off.
func (c *canvas) row(h hedge, seed uint32) {
	s0 := 0.0
	for i := 1; i < len(h.line); i++ {
		a, b := h.line[i-1], h.line[i]
		n := b.sub(a).len()
		along := b.sub(a).unit()
		c.each(boxOf([]pt{a, b}, 4), func(k int, q pt) {
			across := dot(q.sub(a), along.left())
			if math.Abs(across) > 4 {
				return
			}
			t := dot(q.sub(a), along)
			if t < 0 || t > n {
				if d2, _ := segDist2(q, a, b); d2 > 1.2 {
					return
				}
			}
			s := s0 + t
			half, high := 0.5*h.width, h.height
			if h.gaps > 0 {
				at := s + 5*noise(s/9, 0, seed+1) // where one length ends and the next begins
				piece := int(math.Floor(at/27 + 0.35*noise(at/60, 3, seed+2)))
				half *= 0.6 + 1.5*math.Pow(rand01(piece, 0, seed), 1.7)
				high *= 0.5 + 0.5*rand01(piece, 1, seed)
				if rand01(int(math.Floor(at/11)), 2, seed) < h.gaps*0.7 {
					half *= clamp(1.4*noise(s/6, 1, seed+3), 0, 0.8)
				}
				across -= 0.5 * noise(s/14, 2, seed+4)
			}
			half *= 1 + 0.38*noise(q.x/3.7, q.y/3.7, seed+5) + 0.25*noise(q.x/1.2, q.y/1.2, seed+6)
			e := across / math.Max(half, 0.05)
			if math.Abs(e) >= 1 || half < 0.4 {
				return
			}
			lump, bush := noise(q.x/2.6, q.y/2.6, seed+7), noise(s/7, across/4, seed+8)
			z := high * math.Pow(1-e*e, 0.3) * (0.88 + 0.20*lump + 0.25*bush)
			side := along.left().mul(0.8 * e)
			side.x += 0.35 * noise(q.x/2.2, q.y/2.2, seed+9)
			side.y += 0.35 * noise(q.x/2.2, q.y/2.2, seed+10)
			hue := mix(leaves[int(rand01(int(math.Floor(s/9+noise(s/5, 4, seed))), 3, seed)*float64(len(leaves)))], col(0x5E6E48), 0.45)
			c.leafOn(k, z, leafLight(side.x, side.y, 0.75), hue.times(1+0.10*bush+0.04*lump))
		})
		s0 += n
	}
}

// plantAll puts every tree and shrub of the picture in its place.
func (c *canvas) plantAll() {
	r := rand.New(rand.NewPCG(71, 7))

	// The wood: an understorey without a gap, and over it crowns of all ages, laid
	// where there is room.
	type spot struct {
		pt
		r float64
	}
	var stand []spot
	edge := func(q pt) float64 {
		return wood.inside(pt{q.x + 7*noise(q.x/26, q.y/26, 201) + 2*noise(q.x/9, q.y/9, 208), q.y + 7*noise(q.x/26, q.y/26, 202) + 2*noise(q.x/9, q.y/9, 209)})
	}
	ride := func(q pt) float64 {
		d, _, _ := woodRide.near(pt{q.x + 4*noise(q.x/30, q.y/30, 207), q.y})
		return d
	}
	b := boxOf(wood, 9)
	for x := b.x0; x < b.x1; x += 3.6 {
		for y := b.y0; y < b.y1; y += 3.6 {
			q := pt{x + 3*r.Float64(), y + 3*r.Float64()}
			if d := edge(q); d < 1.5 || ride(q) < 2.6+1.5*noise(q.x/12, q.y/12, 215) {
				continue
			}
			rad := 2.4 + 1.2*r.Float64()
			c.plant(tree{c: q, r: rad, h: 5 + 2*r.Float64(), leaf: pickLeaf(r).times(0.8), loose: 0.5}, r)
		}
	}
	for range 16000 {
		q := pt{lerp(b.x0, b.x1, r.Float64()), lerp(b.y0, b.y1, r.Float64())}
		d := edge(q)
		open := fbm(q.x/45, q.y/45, 3, 203)
		rad := 2.8 + 3.8*math.Pow(r.Float64(), 2) + 2.6*clamp(fbm(q.x/60, q.y/60, 2, 204), -0.7, 1)
		if d < 0 || open > 0.44 && r.Float64() < 0.93 {
			continue
		}
		if ride(q) < 0.8+0.55*rad {
			continue
		}
		if d < 7 {
			rad = math.Max(2, rad*(0.5+0.5*r.Float64()))
		}
		room := true
		for _, s := range stand {
			if s.sub(q).len() < 0.66*(s.r+rad) {
				room = false
				break
			}
		}
		if room {
			stand = append(stand, spot{q, rad})
		}
	}
	// Neighbours are mostly of one kind.
	kinds := func(q pt) rgb {
		return mix(mix(col(0x53644A), col(0x6A7049), smooth(-0.3, 0.3, noise(q.x/42, q.y/42, 216))), col(0x4A5A48), smooth(0.1, 0.4, noise(q.x/27, q.y/27, 217)))
	}
	for _, s := range stand {
		t := tree{c: s.pt, r: s.r, h: 8 + 1.1*s.r + 1.5*r.NormFloat64() + 3.6*noise(s.x/30, s.y/30, 205), leaf: mix(pickLeaf(r), kinds(s.pt), 0.55).times(1 + 0.18*noise(s.x/48, s.y/48, 214)), loose: 0.2 + 0.7*r.Float64()}
		if edge(s.pt) < 4 {
			t.h *= 0.75
		}
		if fbm(s.x/55, s.y/55, 2, 206) > 0.28 { // a compartment of conifers
			t.pointy, t.leaf, t.r, t.h = true, col(0x465645).times(0.85+0.3*r.Float64()), math.Min(s.r*0.8, 3.2), t.h+1
		}
		c.plant(t, r)
	}

	// Hedges, with trees here and there, some of them in company.
	for hi, h := range hedges {
		c.row(h, 1000+50*uint32(hi))
		n := h.length()
		for range int(h.trees * n / 100) {
			s := r.Float64() * n
			for range 1 + r.IntN(3)*r.IntN(2) {
				p, dir := h.at(clamp(s, 0, n))
				rad := 1.6 + 4.4*r.Float64()*r.Float64() + 1.2*r.Float64()
				c.plant(tree{c: p.add(dir.left().mul(0.8 * r.NormFloat64())), r: rad, h: 3.5 + 1.2*rad + r.NormFloat64(), leaf: pickLeaf(r), loose: r.Float64()}, r)
				s += rad * (1.2 + r.Float64())
			}
		}
	}

	// Alders and sallows down the stream.
	for s := 0.0; s < stream.length(); s += 0.9 + 2.2*r.Float64() {
		if noise(s/40, 3, 220) < -0.25 {
			continue
		}
		p, dir := stream.at(s)
		p = p.add(dir.left().mul(2.4 * r.NormFloat64()))
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
		c.plant(tree{c: p, r: rad, h: 2 + 1.5*rad, leaf: mix(pickLeaf(r), col(0x66764F), 0.3), loose: 0.8}, r)
	}

	clear := func(q pt) bool { // of fence, lane, rails and water
		if in := fence.inside(q); in > -6.5 {
			return false
		}
		d, _, _ := lane.near(q)
		e, _, _ := rails.near(q)
		for i := range fields {
			if fields[i].crop != pasture && fields[i].inside(q) > -1 {
				return false
			}
		}
		return d > 5.5 && e > 4 && pond.inside(q) < -1
	}
	// Thickets where nothing is cut: the railway bank, the strip between yard and
	// wood, the lagoon's edge, corners of the yard. Low, wide and close together.
	scrub := func(n int, b box, keep func(q pt) float64) {
		for range n {
			q := pt{lerp(b.x0, b.x1, r.Float64()), lerp(b.y0, b.y1, r.Float64())}
			if fbm(q.x/30, q.y/30, 2, 230) < 0.16 || r.Float64() > keep(q) {
				continue
			}
			hue, size := pickLeaf(r), 1+5*math.Pow(r.Float64(), 2.5)
			for range 1 + int(size*size*0.5) {
				p := q.add(pt{size * 0.6 * r.NormFloat64(), size * 0.4 * r.NormFloat64()}.turn(size))
				if keep(p) == 0 {
					continue
				}
				rad := 1 + 1.1*r.Float64() + 0.9*math.Pow(r.Float64(), 5)
				c.plant(tree{c: p, r: rad, h: 0.35 + 0.65*rad, leaf: mix(mix(hue, pickLeaf(r), 0.3), midGrass, 0.2), loose: 0.8}, r)
			}
		}
	}
	for range 260 { // thorns and birches before the wood's edge
		q := pt{lerp(-210, 250, r.Float64()), lerp(120, 420, r.Float64())}
		d := wood.inside(q)
		if d > -2 || r.Float64() > smooth(-30, -3, d) || !clear(q) || fields[7].inside(q) > -3 || fields[8].inside(q) > -3 || fields[6].inside(q) > -3 {
			continue
		}
		rad := 1.3 + 2.6*r.Float64()*r.Float64()
		c.plant(tree{c: q, r: rad, h: 0.8 + 1.1*rad, leaf: pickLeaf(r), loose: 0.9}, r)
	}
	scrub(420, box{-200, 96, 240, 200}, func(q pt) float64 {
		if !clear(q) || wood.inside(q) > 0 || neighbour.inside(q) > 0 {
			return 0
		}
		return 0.75 * smooth(-60, -5, wood.inside(q))
	})
	scrub(260, box{208, -136, 290, 260}, func(q pt) float64 {
		d, _, _ := stream.near(q)
		if !clear(q) {
			return 0
		}
		return smooth(45, 8, d)
	})
	scrub(230, box{225, -30, 700, 90}, func(q pt) float64 {
		d, _, _ := rails.near(q)
		if !clear(q) {
			return 0
		}
		return smooth(9, 5, d)
	})
	scrub(90, box{-180, -20, -62, 75}, func(q pt) float64 { // rough ground in the yard
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
			c.plant(tree{c: q, r: rad, h: 2.2 + rad, leaf: mix(pickLeaf(r), col(0x66774C), 0.5), loose: 0.5}, r)
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
