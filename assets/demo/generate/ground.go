package main

import "math"

// Colours of the ground as a picture shows them in full sun.
var (
	straw    = col(0xA79A76)
	lush     = col(0x707E54)
	midGrass = col(0x7E8259)
	dryGrass = col(0x918A67)
	deepWeed = col(0x5B6A47)
	soil     = col(0x9A866C)
	damp     = col(0x74675A)
	concrete = col(0xC6BFB0)
	asphalt  = col(0x8B8781)
	gravel   = col(0xA69D8D)
	ballast  = col(0x857A6F)
	laneTop  = col(0x97928A)
	oil      = col(0x55534F)
	waterCol = col(0x45504A)
)

// patchwork is the mixed grass of verges, banks and corners nobody mows.
func patchwork(q pt, seed uint32) rgb {
	w := pt{q.x + 5*noise(q.x/21, q.y/21, seed+30), q.y + 5*noise(q.x/21, q.y/21, seed+31)}
	wide := fbm(w.x/85, w.y/85, 3, seed+21)
	a := fbm(w.x/19, w.y/26, 4, seed)
	b := fbm(w.x/4.5, w.y/4.5, 3, seed+9)
	c := mix(dryGrass, midGrass, smooth(-0.35, 0.4, a+0.5*b+0.8*wide))
	c = mix(c, lush, 0.7*smooth(0.0, 0.7, 0.7*a+0.9*wide+0.1*b))
	c = mix(c, straw, 0.55*smooth(0.02, 0.6, 0.6*b-0.4*a-0.8*wide))
	c = mix(c, deepWeed, 0.45*smooth(0.12, 0.4, fbm(q.x/2.6, q.y/2.6, 3, seed+17)+0.3*a))
	c = mix(c, col(0xA08F76), 0.25*smooth(0.28, 0.5, fbm(q.x/7, q.y/7, 3, seed+18)-0.3*a)) // bare scrapes
	return c.times(1 + 0.05*noise(q.x/1.6, q.y/1.6, seed+5))
}

// wheels is the mark of a pair of wheels, track metres apart, d from their middle line.
func wheels(d, track, width float64) float64 {
	return math.Max(ridge(d-track/2, width), ridge(d+track/2, width))
}

// grow returns the colour of a field at q, edge metres inside its edge.
func (f *field) grow(q pt, edge float64) rgb {
	s := f.seed * 131
	// The driver's own axes: along the rows and across them, not quite straight.
	sn, cs := math.Sincos(f.dir)
	along, across := q.x*cs+q.y*sn, -q.x*sn+q.y*cs
	across += 0.5*noise(along/90, across/200, s+8) + 0.15*noise(along/14, across/60, s+9)
	// Ground under the crop: moisture and soil at three scales. Machines draw it
	// out along the rows, and what one pass did differs from the next.
	w := pt{q.x + 14*fbm(q.x/70, q.y/70, 2, s+1), q.y + 14*fbm(q.x/70, q.y/70, 2, s+2)}
	big := fbm(w.x/130, w.y/130, 4, s+3)
	mid := fbm(w.x/28, w.y/28, 4, s+4)
	if f.crop != pasture {
		tram := int(math.Round(across / 24))
		shift := 34 * (rand01(tram, 4, s) - 0.5)
		mid = 0.5*mid + 0.6*fbm((along+shift)/85, across/13, 3, s+24) + 0.10*(rand01(tram, 5, s)-0.5)
		big = 0.8*big + 0.25*fbm((along+shift)/190, across/48, 2, s+25)
	}
	small := fbm(q.x/5, q.y/5, 3, s+5)
	grain := 0.45 * noise(q.x/1.3, q.y/1.3, s+6)
	a, b := col(f.a), col(f.b)
	var c rgb
	switch f.crop {
	case wheat, barley:
		c = mix(a, b, smooth(-0.42, 0.42, big+0.6*mid))
		c = mix(c, mix(a, col(0xACA283), 0.6), 0.6*smooth(0.05, 0.6, mid*0.7-big+0.3*small))
		// Bands of the drill and the spreader.
		pass := math.Floor(across/4 + 0.05*noise(along/20, across/4, s+10))
		reach := smooth(-0.5, 0.5, noise(along/120, pass*5.3, s+26))
		c = c.times(1 + 0.06*(rand01(int(pass), 0, s)-0.5)*(0.4+0.6*reach) + 0.035*noise(along/30, across/1.6, s+11) + 0.04*noise(across/12, along/260, s+12) + 0.055*noise(along/4.5, across/0.55, s+23))
		// Where two passes overlap it stands thicker, where they part it is thin.
		join := ridge(across-4*math.Round(across/4), 0.75)
		switch p := rand01(int(math.Round(across/4)), 1, s); {
		case p > 0.86:
			c = c.times(1 - 0.11*join*reach)
		case p < 0.07:
			c = mix(c, soil, 0.40*join*smooth(0.55, 0.75, reach))
		}
		// Beaten down by wind and rain.
		l := 0.0
		if f.crop == barley {
			l = smooth(0.24, 0.50, fbm(w.x/17, w.y/17, 4, s+13)+0.5*big-0.10)
		}
		swirl := noise(q.x/2.1+2*small, q.y/4.5, s+14)
		c = mix(c, col(0xBBAE8E).times(1+0.10*swirl), 0.35*l)
		// Old ditches and wet hollows show as ranker growth.
		mark := noise(w.x/120, w.y/120, s+18) + 0.1*noise(w.x/30, w.y/30, s+22)
		c = mix(c, b.times(0.86), 0.55*ridge(mark, 0.045)*clamp(0.5+mid*2, 0, 1))
		c = c.times(1 + 0.10*mid + 0.10*small + 0.09*grain)
		// Tramlines, one pair every 24 m, and a loop round the headland.
		heart := smooth(15, 20, edge+2*noise(q.x/9, q.y/9, s+15))
		if edge < 24 && edge > 8 {
			// The wheels turn out of the tramline into the headland's loop, the
			// tighter the more squarely they meet it.
			u := pt{cs, sn}
			if square := math.Abs(f.inside(q.add(u))-f.inside(q.sub(u))) / 2; square > 0.5 {
				heart = smooth(10.5, 12, edge)
				if t := clamp((21-edge)/10.5, 0, 1); t > 0 {
					across -= 10 * (1 - math.Sqrt(1-t*t)) * math.Copysign(1, rand01(int(math.Round(across/24)), 6, s)-0.5)
				}
			}
		}
		m := across - 24*math.Round(across/24)
		strength := clamp(0.62+0.55*noise(along/26, math.Round(across/24)*7, s+16)+0.35*noise(along/4, across, s+19), 0.12, 1)
		t := heart * wheels(m, 1.9, 0.7)
		e := edge
		if e < 24 {
			e = f.within(q, 3) + 0.4*noise(q.x/30, q.y/30, s+17)
		}
		t = math.Max(t, 0.85*(1-heart)*wheels(e-11, 1.9, 0.62))
		track := mix(damp, deepWeed, clamp(0.3+0.5*big, 0, 0.6)).times(0.92)
		c = mix(c, c.times(1.07), 0.6*heart*ridge(m, 2.6))
		c = mix(c, track, 0.9*strength*t)
	case mown:
		c = mix(a, b, smooth(-0.45, 0.45, big+0.6*mid))
		c = mix(c, straw, 0.55*smooth(0, 0.45, mid+0.3*small-0.4*big))
		// Round the headland twice, then up and down.
		heart := smooth(17, 21, edge+1.5*noise(q.x/12, q.y/12, s+15))
		k := lerp(edge+0.8*noise(q.x/17, q.y/17, s+10), across, math.Round(heart)) / 7.2
		row := math.Floor(k)
		ph := k - row
		lay := 1.0
		if int(row)&1 == 0 {
			lay = -1
		}
		c = c.times(1 + 0.045*lay*clamp(0.8+1.4*mid, 0.1, 1.3) + 0.03*(rand01(int(row), 3, s)-0.5))
		swath := ridge((ph-0.5)*7.2+0.5*noise(along/3, across/3, s+11), 1.15) * clamp(0.7+0.8*noise(along/11, row*3.7, s+12)+0.5*small, 0.05, 1.15)
		c = mix(c, col(0xB0A787).times(1+0.12*grain), 0.50*swath)
		c = mix(c, b.times(0.82), 0.25*ridge((ph-0.5)*7.2-1.4, 0.8)*swath)
		c = mix(c, soil, 0.10*wheels((ph-0.02)*7.2, 1.8, 0.6))
		c = c.times(1 + 0.10*small + 0.10*grain + 0.05*noise(along/5, across/0.7, s+23))
	case pasture:
		c = mix(a, b, smooth(-0.4, 0.4, big+0.7*mid))
		c = mix(c, straw, 0.45*smooth(0.0, 0.6, mid-0.6*big+0.3*small))
		c = mix(c, lush, 0.45*smooth(0.05, 0.5, fbm(q.x/9, q.y/9, 3, s+10)-0.2*mid))
		c = mix(c, deepWeed, 0.4*smooth(0.20, 0.5, small+0.3*mid+0.12*grain)) // tussocks, thistles
		c = mix(c, straw, 0.25*smooth(0.1, 0.45, fbm(q.x/2.2, q.y/2.2, 3, s+13)+0.3*mid))
		// Old ridges and cattle paths.
		c = c.times(1 + 0.022*math.Sin(2*math.Pi*(across+1.5*mid*4)/8.5)*smooth(-0.1, 0.4, big+0.2))
		path := noise(w.x/46, w.y/46, s+11)
		c = mix(c, soil, 0.38*ridge(path, 0.018)*clamp(0.6+1.5*small, 0, 1))
		path = noise(w.x/75+9, w.y/75, s+12)
		c = mix(c, soil, 0.30*ridge(path, 0.012)*clamp(0.5+1.5*small, 0, 1))
		c = c.times(1 + 0.10*small + 0.10*grain)
	case bare:
		c = mix(a, b, smooth(-0.4, 0.4, big+0.55*mid))
		c = mix(c, col(0xB6A68E), 0.6*smooth(0.1, 0.5, mid-big))
		c = mix(c, damp, 0.45*smooth(0.12, 0.5, big+0.5*mid-0.1))
		pass := math.Floor(across / 4.8)
		c = c.times(1 + 0.035*(rand01(int(pass), 1, s)-0.5) + 0.05*noise(along/45, across/0.9, s+10) + 0.04*noise(along/150, across/3.1, s+11))
		c = mix(c, lush, 0.38*smooth(0.15, 0.5, fbm(q.x/7, q.y/11, 3, s+12)+0.4*big)) // self-sown green
		head := smooth(16, 13, edge+noise(q.x/9, q.y/9, s+13))
		c = c.times(1 + 0.04*head*noise(edge/1.1, along/50, s+14))
		m := across - 19.2*math.Round(across/19.2)
		c = mix(c, damp, 0.30*(1-head)*wheels(m, 1.9, 0.7)*clamp(0.6+noise(along/30, across, s+15), 0, 1))
		c = c.times(1 + 0.09*small + 0.10*grain)
	}
	// A grass margin, of uneven width, and thin crop next to it.
	verge := 2.6 + 1.6*noise(q.x/13, q.y/13, s+20) + 0.8*noise(q.x/3, q.y/3, s+21)
	if f.crop != pasture {
		c = mix(c, c.times(1.06), smooth(verge+6, verge+1, edge))
		c = mix(c, patchwork(q, 77), smooth(verge+0.8, verge-0.8, edge))
	} else {
		c = mix(c, patchwork(q, 77), 0.7*smooth(verge+3, verge-1, edge))
	}
	return c
}

// zone is part of the yard's surface.
type zone struct {
	ring
	kind int
}

const (
	onConcrete = iota
	onAsphalt
	onGravel
)

var zones = []zone{
	{ring{{-56, 55}, {-52, 82}, {40, 100}, {160, 88}, {180, 66}, {176, 52}}, onGravel},
	{ring{{-182, -76}, {-182, -34}, {-96, -30}, {-92, -78}}, onAsphalt},
	{ring{{-104, -96}, {-104, -60}, {6, -60}, {6, -97}}, onAsphalt},
	{ring{{-108, -40}, {-100, 6}, {-58, 12}, {-58, 56}, {180, 58}, {182, 8}, {204, -2}, {200, -54}, {146, -77}, {8, -92}, {4, -62}, {-90, -58}}, onConcrete},
	{ring{{-150, 20}, {-112, 8}, {-98, 34}, {-110, 58}, {-142, 52}}, onGravel},
}

// Boxes about zones and fields, so that most pixels pass them by.
var (
	yardBoxes = func() (out []box) {
		for _, z := range zones {
			out = append(out, boxOf(z.ring, 4))
		}
		return
	}()
	fieldBoxes = func() (out []box) {
		for _, f := range fields {
			out = append(out, boxOf(f.ring, 3))
		}
		return
	}()
)

// dirt is where wheels and work make dirt on the yard: dock fronts, gates, the
// fuel island, the drains and what runs toward them. 0 clean to 1.
func dirt(q pt) float64 {
	within := func(x0, x1, y0, y1 float64) float64 {
		d := math.Min(math.Min(q.x-x0, x1-q.x), math.Min(q.y-y0, y1-q.y))
		return smooth(-3, 4, d+3*noise(q.x/9, q.y/9, 15))
	}
	k := math.Max(within(-38, 64, 49, 60), within(103, 142, 5, 17))
	k = math.Max(k, 0.8*within(56, 112, -50, -44))
	for _, g := range []struct {
		pt
		r float64
	}{{pt{-57, -66}, 26}, {pt{208, -6}, 14}, {pt{180, -48}, 9}, {pt{-60, -30}, 18}, {pt{-174, -46}, 12}} {
		k = math.Max(k, 0.9*smooth(g.r, 0.3*g.r, q.sub(g.pt).len()+4*noise(q.x/8, q.y/8, 16)))
	}
	for _, y := range []float64{-38, 1.5} {
		run := math.Abs(q.y-y) / (0.7 + 1.6*math.Abs(noise(q.x/4.2, y, 17)))
		k = math.Max(k, 0.8*smooth(2.2, 0.2, run))
	}
	return k
}

// slabs is worn concrete: bays of differing pours, joints, repairs, stains.
func slabs(q pt) rgb {
	u, v := q.x/6+0.02*noise(q.x/9, q.y/9, 1), q.y/4.5+0.02*noise(q.x/9, q.y/9, 2)
	i, j := math.Floor(u), math.Floor(v)
	pour := rand01(int(math.Floor(i/4)), int(math.Floor(j/3)), 5)
	tone := 0.98 + 0.15*(pour-0.5) + 0.11*(rand01(int(i), int(j), 6)-0.5)
	switch p := rand01(int(i), int(j), 7); { // a bay broken out and relaid, or sunk
	case p > 0.965:
		tone *= 1.15
	case p < 0.03:
		tone *= 0.86
	}
	soiled := dirt(q)
	c := concrete.times(tone)
	c = mix(c, mix(c, col(0xB5AFA4), 0.7), smooth(0.3, 0.8, rand01(int(math.Floor(i/4)), int(math.Floor(j/3)), 18)))
	du, dv := math.Min(u-i, i+1-u)*6, math.Min(v-j, j+1-v)*4.5
	joint := ridge(math.Min(du, dv), 0.34) * clamp(0.45+1.1*noise(q.x/7, q.y/7, 8), 0.05, 1)
	big := fbm(q.x/42, q.y/42, 4, 9)
	mid := fbm(q.x/9, q.y/9, 4, 10)
	c = c.times(1 + 0.12*big + (0.05+0.12*soiled)*mid + 0.02*noise(q.x/1.1, q.y/1.1, 11))
	// Made good in tarmac or newer concrete, square to the bays.
	ci, cj := math.Floor(q.x/13), math.Floor(q.y/11)
	if rand01(int(ci), int(cj), 19) > 0.84 {
		x := q.x - 13*ci - 3 - 7*rand01(int(ci), int(cj), 20)
		y := q.y - 11*cj - 2 - 6*rand01(int(ci), int(cj), 21)
		w, h := 0.8+2.2*rand01(int(ci), int(cj), 22), 0.6+1.5*rand01(int(ci), int(cj), 23)
		d := math.Min(w-math.Abs(x), h-math.Abs(y)) + 0.12*noise(q.x/1.5, q.y/1.5, 24)
		fill := asphalt.times(0.9)
		if rand01(int(ci), int(cj), 25) > 0.5 {
			fill = concrete.times(1.12)
		}
		c = mix(c, fill, 0.8*smooth(-0.1, 0.2, d))
	}
	c = mix(c, oil, 0.30*joint)
	c = mix(c, oil, (0.10+0.45*soiled)*smooth(0.12, 0.45, mid+0.3*big+0.12*soiled))
	c = mix(c, oil.times(1.25), 0.34*soiled)
	c = mix(c, col(0x9C8D78), (0.12+0.25*soiled)*smooth(0.1, 0.5, fbm(q.x/16, q.y/16, 3, 12))) // silt
	crack := noise(q.x/13+noise(q.x/3, q.y/3, 14), q.y/13, 13)
	return mix(c, oil, 0.35*ridge(crack, 0.014))
}

func tarmac(q pt) rgb {
	big := fbm(q.x/35, q.y/35, 4, 20)
	mid := fbm(q.x/8, q.y/8, 4, 21)
	c := asphalt.times(1 + 0.12*big + 0.06*mid + 0.02*noise(q.x/1.1, q.y/1.1, 22))
	i, j := math.Floor((q.x+0.3*q.y)/17), math.Floor(q.y/11)
	if r := rand01(int(i), int(j), 23); r > 0.8 { // patched
		c = c.times(0.80 + 0.1*r)
	}
	crack := noise(q.x/11+noise(q.x/3, q.y/3, 26), q.y/11, 27)
	c = mix(c, oil.times(0.8), 0.4*ridge(crack, 0.016))
	return mix(c, oil, 0.35*smooth(0.25, 0.5, mid+0.3*big))
}

func stones(q pt) rgb {
	big := fbm(q.x/30, q.y/30, 4, 30)
	mid := fbm(q.x/6, q.y/6, 4, 31)
	c := mix(gravel, col(0x8F8473), smooth(-0.3, 0.4, big+0.4*mid))
	c = mix(c, damp, 0.55*smooth(0.15, 0.42, fbm(q.x/11, q.y/11, 3, 32)+0.4*mid)) // puddled
	return c.times(1 + 0.10*mid + 0.05*noise(q.x/1.2, q.y/1.2, 33))
}

// at returns the colour of the ground at q; cell is its paint pixel.
func (c *canvas) at(q pt, cell int) rgb {
	// Edges of everything that grows or wears wander a little.
	w := pt{q.x + 1.1*noise(q.x/6, q.y/6, 41) + 0.5*noise(q.x/1.7, q.y/1.7, 42), q.y + 1.1*noise(q.x/6, q.y/6, 43) + 0.5*noise(q.x/1.7, q.y/1.7, 44)}
	worn, dark := float64(c.worn[cell]), float64(c.dark[cell])
	out := patchwork(q, 50)
	grass := true

	for i := range fields {
		if !fieldBoxes[i].has(w) {
			continue
		}
		if d := fields[i].inside(w); d > 0 {
			out = fields[i].grow(q, d)
			break
		}
	}
	if d := wood.inside(w); d > -3 {
		floor := mix(col(0x57573F), deepWeed, smooth(-0.3, 0.3, fbm(q.x/8, q.y/8, 3, 45)))
		if ride, _, _ := woodRide.near(w); ride < 5 {
			floor = mix(floor, patchwork(q, 36), smooth(5, 4, ride))
			floor = mix(floor, soil, 0.4*wheels(ride-0.1, 1.9, 0.6))
		}
		out = mix(out, floor, smooth(-1.5, 1.5, d))
	}
	// The farm: trampled yard, garden.
	if farmBox.has(q) {
		d := farmyard.inside(w)
		t, _, _ := farmTrack.near(w)
		d = math.Max(d, 2.2-t)
		s := mix(stones(q), col(0x8C7A63), 0.65*smooth(-0.1, 0.25, fbm(q.x/14, q.y/14, 4, 47)))
		out = mix(out, s, smooth(-2, 1.6, d+3*fbm(q.x/9, q.y/9, 4, 48)))
		if a := apron.inside(q); a > -1 {
			s = mix(slabs(q), col(0x8C7A63), 0.5*smooth(0, 0.35, fbm(q.x/8, q.y/8, 4, 38)))
			out = mix(out, s, smooth(-0.4, 0.3, a))
		}
		if g := garden.inside(q); g > 0 {
			lawn := mix(col(0x859066), col(0x768459), smooth(-0.3, 0.3, fbm(q.x/7, q.y/7, 3, 49)+0.06*math.Sin(q.y*2.6)))
			beds := smooth(0.12, 0.2, fbm(q.x/5, q.y/5, 2, 39))
			out = mix(mix(lawn, mix(soil, deepWeed, 0.5), 0.7*beds), out, smooth(1, 0, g))
		}
	}

	// The yard.
	in := fence.inside(q)
	if in > -9 {
		corridor := mix(patchwork(q, 60), col(0x98966F), 0.35)
		out = mix(out, corridor, smooth(-4, -1, in))
	}
	if in > 0 {
		ground := patchwork(pt{q.x + 300, q.y}, 61)
		waste := mix(stones(q), soil, 0.4)
		ground = mix(ground, waste, smooth(-0.15, 0.25, fbm(q.x/24, q.y/24, 4, 62)-0.10)*smooth(4, 12, in))
		out = mix(out, ground, smooth(3, 7, in+fbm(q.x/5, q.y/5, 3, 63)))
		for i := range zones {
			if !yardBoxes[i].has(q) {
				continue
			}
			z := &zones[i]
			d := z.inside(q)
			if d < -4 {
				continue
			}
			switch z.kind {
			case onConcrete:
				// The edge has broken away here and there, and silt and weeds lie over it.
				fray := 1.5*fbm(q.x/5, q.y/5, 3, 64) + 0.35*noise(q.x/1.3, q.y/1.3, 64)
				k := smooth(-0.25, 0.25, d+math.Min(fray, 0.1)-0.15)
				fringe := smooth(-3.5, -0.3, d+3*fbm(q.x/8, q.y/8, 3, 37))
				out = mix(out, stones(q), 0.7*fringe)
				if k > 0 {
					over := smooth(4.5, 0, d+3.5*fbm(q.x/9, q.y/9, 3, 66))
					top := mix(slabs(q), col(0xA08F76), 0.65*over*smooth(-0.3, 0.3, noise(q.x/12, q.y/12, 65)))
					top = mix(top, patchwork(q, 65), 0.8*smooth(0.1, 0.4, fbm(q.x/3, q.y/3, 3, 66)+0.8*over-0.55))
					out = mix(out, top, k)
				}
			case onAsphalt:
				out = mix(out, patchwork(q, 34).times(0.95), 0.5*smooth(-4, -1, d))
				out = mix(out, tarmac(q), smooth(-0.3, 0.3, d+math.Min(0.2, 1.1*fbm(q.x/5, q.y/5, 3, 67))))
				out = mix(out, col(0xB9B3A6), 0.4*ridge(d, 0.45)*smooth(-0.2, 0.2, noise(q.x/11, q.y/11, 33))) // kerb
			case onGravel:
				k := smooth(-1.5, 1.5, d+2.4*fbm(q.x/7, q.y/7, 4, 68))
				g := stones(q)
				g = mix(g, patchwork(q, 69), 0.65*smooth(0.1, 0.45, fbm(q.x/9, q.y/9, 4, 70))*(1-worn))
				out = mix(out, g, k)
			}
			grass = grass && d < 0.5
		}
	}
	if in > 8 {
		out = paintLines(out, q)
	}
	// Along the fence: a strip kept bare, rank grass under the mesh, the mesh
	// itself and its shadow as thin lines that come and go.
	if in > -5 && in < 3 {
		out = mix(out, straw, 0.4*ridge(in, 1.1)*clamp(0.4+noise(q.x/13, q.y/13, 35), 0, 1))
		out = mix(out, deepWeed.times(0.8), 0.75*ridge(in+0.12*noise(q.x/2, q.y/2, 71), 0.5)*clamp(0.55+1.2*noise(q.x/7, q.y/7, 72), 0.1, 1))
		out = mix(out, col(0xB4B1A6), 0.5*ridge(in-0.4, 0.3)*smooth(-0.1, 0.5, noise(q.x/6, q.y/6, 110)))
		cast := fence.inside(q.add(sunIn.mul(2.3 / sunUp)))
		out = out.times(1 - 0.22*ridge(cast, 0.45)*clamp(0.5+noise(q.x/8, q.y/8, 111), 0.1, 1))
	}
	if fuelBox.has(q) {
		d, s, _ := fuelFence.near(q)
		out = mix(out, oil, 0.55*ridge(d, 0.4)*clamp(0.6+noise(s/4, 0, 112), 0.15, 1))
		d, _, _ = fuelFence.near(q.add(sunIn.mul(2.3 / sunUp)))
		out = out.times(1 - 0.2*ridge(d, 0.45))
	}

	// Bare wheel tracks.
	if worn > 0 {
		t := mix(soil, col(0xB2A58E), smooth(-0.3, 0.3, fbm(q.x/10, q.y/10, 3, 73)))
		out = mix(out, t.times(1+0.08*noise(q.x/0.9, q.y/0.9, 74)), clamp(worn*0.85, 0, 0.92))
	}

	// Water.
	if streamBox.has(q) {
		d, _, _ := stream.near(w)
		if d < 7 {
			bank := mix(deepWeed, lush, smooth(-0.3, 0.3, fbm(q.x/4, q.y/4, 3, 75)))
			out = mix(out, bank, smooth(6.5, 3, d+2*noise(q.x/9, q.y/9, 76)))
			half := 0.95 + 0.75*noise(q.x/22, q.y/22, 113) // open water, 1 to 4 m of it
			out = mix(out, waterCol.times(0.8), 0.9*smooth(half+0.3, half-0.3, d+0.4*fbm(q.x/3, q.y/3, 2, 76)))
		}
	}
	if pondBox.has(q) {
		d := pond.inside(pt{q.x + 1.8*noise(q.x/16, q.y/16, 77), q.y + 1.8*noise(q.x/16, q.y/16, 78)})
		d += 0.5*noise(q.x/6, q.y/6, 79) + 0.25*noise(q.x/1.8, q.y/1.8, 31)
		if d > -5 {
			out = mix(out, mix(lush, deepWeed, smooth(-0.3, 0.3, fbm(q.x/5, q.y/5, 3, 32))), 0.75*smooth(-4.5, -1, d+2*noise(q.x/7, q.y/7, 32)))
			mud := smooth(0.05, 0.5, noise(q.x/15, q.y/15, 114))
			out = mix(out, damp, 0.8*mud*smooth(-1.6, -0.4, d))
			// Dark to within a step of the bank, and smooth.
			water := mix(col(0x565A48), waterCol, smooth(0, 2.2, d)).times(1 + 0.10*noise(q.x/40, q.y/40, 81))
			scum := smooth(26, 8, q.sub(pt{149, 112}).len()+9*fbm(q.x/9, q.y/9, 3, 83)) * smooth(-0.15, 0.1, fbm(q.x/5, q.y/3, 3, 80))
			water = mix(water, col(0x77824F), 0.75*scum)
			out = mix(out, water, smooth(-0.2, 0.2, d))
			wide := 2.6*noise(q.x/13, q.y/13, 30) + 0.8 // reeds, in a fringe of uneven width
			reeds := smooth(-1.2, -0.6, d) * smooth(wide+0.3, wide-0.3, d+0.7*noise(q.x/1.7, q.y/1.7, 82))
			out = mix(out, mix(deepWeed, col(0x8D8A5E), smooth(-0.4, 0.4, noise(q.x/2.2, q.y/2.2, 115))), 0.85*reeds)
		}
	}

	// The lane and its verges.
	if d, s, side := lane.near(q); d < 13 {
		e := d + 0.35*noise(q.x/5, q.y/5, 84) + 0.25*noise(q.x/1.3, q.y/1.3, 85)
		mow := mix(patchwork(q, 86), col(0x9A9672), 0.3)
		if in < -1 && !(side > 0 && d > 9) {
			out = mix(out, mow, smooth(9, 5, e))
		}
		out = mix(out, col(0xA59A86), 0.75*smooth(laneW/2+1.3, laneW/2+0.1, e)) // dust at the edge
		lat := side * d
		top := laneTop.times(1 + 0.14*fbm(s/30, lat/4, 4, 87) + 0.08*fbm(q.x/3, q.y/3, 3, 88) + 0.05*noise(q.x/0.7, q.y/0.7, 89))
		top = top.times(1 + 0.07*wheels(math.Abs(lat)-1.35, 1.5, 0.7) - 0.10*ridge(lat, 0.6) - 0.06*ridge(math.Abs(lat)-1.35, 0.5))
		if r := rand01(int(math.Floor(s/9+2.5*noise(s/70, side, 118))), int(side), 90); r > 0.9 {
			top = top.times(0.84) // a trench made good
		}
		out = mix(out, top, smooth(laneW/2+0.25, laneW/2-0.25, e))
		grass = grass && d > laneW/2
	}
	// The entrance and the yard road.
	if d, s, side := yardRoad.near(q); d < 10 {
		flare := 4.5 * smooth(9, 0, math.Abs(q.y+124))
		if in < 1 {
			k := smooth(yardW/2+flare+0.4, yardW/2+flare-0.4, d+0.5*noise(q.x/4, q.y/4, 91))
			out = mix(out, tarmac(q), k)
		} else {
			out = mix(out, tarmac(q), 0.55*smooth(4.2, 3.8, d+0.2*noise(q.x/5, q.y/5, 92))*smooth(170, 110, q.x+9*noise(q.x/9, q.y/9, 27)))
			out = mix(out, out.times(0.90), smooth(2.6, 1.6, d+0.6*noise(q.x/5, q.y/5, 93))*clamp(0.7+0.6*noise(s/9, side, 93), 0.2, 1))
		}
	}
	// The footpath.
	if q.y < -137 && pathBox.has(q) {
		d, s, side := footway.near(q)
		d = math.Abs(side*d + 0.9*noise(s/31, 1, 94) + 0.25*noise(s/6, 2, 94))
		k := smooth(1.2, 0.3, d) * clamp(0.55+0.7*noise(s/12, 0, 94)+0.2*noise(q.x/2, q.y/2, 95), 0.1, 1)
		out = mix(out, mix(soil, lush, 0.25+0.3*noise(s/25, 3, 94)), 0.75*k)
	}
	// The siding.
	if d, s, side := rails.near(q); d < 9 {
		e := d + 0.5*noise(q.x/4, q.y/4, 96) + 0.35*noise(q.x/1.2, q.y/1.2, 97)
		outside := smooth(6, -6, in)
		out = mix(out, mix(patchwork(q, 98), deepWeed, 0.4), outside*smooth(7.5, 5, e))
		bal := ballast.times(1 + 0.14*fbm(s/14, d/3, 3, 99) + 0.09*noise(q.x/0.6, q.y/0.6, 100))
		bal = mix(bal, patchwork(q, 98), 0.55*smooth(0.15, 0.4, fbm(s/9, side*d/2, 3, 107)))
		lat := side * d
		sleepers := 0.5 + 0.5*math.Cos(2*math.Pi*s/0.7)
		bal = mix(bal, col(0x6B5F55), (0.28+0.08*sleepers)*smooth(1.35, 1.05, d))
		bal = mix(bal, col(0x5B4C42), 0.75*ridge(math.Abs(lat)-0.76, 0.3))
		bal = mix(bal, col(0xC9C1B6), 0.30*ridge(math.Abs(lat)-0.72, 0.16))
		set := lerp(smooth(2.1, 1.5, e), smooth(1.7, 1.4, e), 1-outside)
		if in > 4 { // let into the concrete: two grooves and a dirty strip
			out = mix(out, oil.times(1.2), 0.42*smooth(1.7, 0.9, d)*clamp(0.75+0.6*noise(s/9, lat/3, 117), 0.2, 1))
			out = mix(out, col(0x5B4C42), 0.6*ridge(math.Abs(lat)-0.74, 0.34))
			set = 0
		}
		out = mix(out, bal, set)
		grass = grass && d > 2
	}

	if dark > 0 {
		k := 0.34
		if grass {
			k = 0.15
		}
		out = mix(out, oil.times(0.9), clamp(dark, 0, 1)*k)
	}
	return out
}

var (
	farmBox   = boxOf(neighbour, 5)
	fuelBox   = boxOf(fuelFence, 4)
	streamBox = boxOf(stream, 9)
	pondBox   = boxOf(pond, 9)
	pathBox   = boxOf(footway, 4)
)

// paintLines adds what is painted or cast into the yard's surface: bays before
// the docks, parking bays, drains.
func paintLines(out rgb, q pt) rgb {
	bays := func(x, first, step float64, n int, y, y0, y1 float64) {
		if y < y0 || y > y1 || x < first-1 || x > first+step*float64(n)+1 {
			return
		}
		d := x - first - step*math.Round((x-first)/step)
		k := ridge(d, 0.3) * clamp(0.5+0.9*noise(q.x/7, q.y/7, 28)+0.4*noise(q.x/1.4, q.y/1.4, 116), 0, 1)
		out = mix(out, col(0xE8E5DA), 0.75*k)
	}
	bays(q.x, -35.6, 3.6, 26, q.y, 50, 66)
	bays(q.x, 103.15, 3.3, 11, q.y, 1, 13)
	bays(q.x, -41.4, 2.7, 14, q.y, -69, -64)
	bays(q.x, -97.4, 2.7, 10, q.y, -69.5, -64.5)
	bays(q.x, -175.4, 2.8, 11, q.y, -76, -71.5)
	bays(q.y, -46.5, 3.2, 5, q.x, -174, -163)
	drain := ridge(q.y+38+0.1*noise(q.x/20, 0, 29), 0.35)*smooth(-98, -96, q.x)*smooth(190, 186, q.x) + ridge(q.y-1.5, 0.35)*smooth(-54, -52, q.x)*smooth(176, 174, q.x)
	return mix(out, oil, 0.5*drain)
}

// paintGround fills the canvas with the ground.
func (c *canvas) paintGround() {
	rows(gridH, func(j int) {
		for i := range gridW {
			k := j*gridW + i
			c.set(k, c.at(c.frame.at(float64(i), float64(j)), k))
		}
	})
}
