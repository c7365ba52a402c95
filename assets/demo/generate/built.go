package main

import (
	"math"
	"math/rand/v2"
)

// sunward is how squarely a plane meets the sun, against level ground; rise is
// the direction (site's frame) in which it climbs, pitch its slope in degrees.
func sunward(rise pt, pitch float64) float64 {
	r := rise.turn(turn) // onto the site grid
	sp, cp := math.Sincos(pitch * math.Pi / 180)
	se, ce := math.Sincos(sunElevation * math.Pi / 180)
	sa, ca := math.Sincos(sunAzimuth * math.Pi / 180)
	return clamp((-sp*r.x*ce*sa-sp*r.y*ce*ca+cp*se)/se, 0, 1.35)
}

// roofOver draws one building.
func (c *canvas) roofOver(b building) {
	along := pt{1, 0}.turn(b.rad)
	across := along.left()
	sides := [2]float64{sunward(across.mul(-1), b.pitch), sunward(across, b.pitch)} // the side at +y climbs toward -y
	drop := math.Tan(b.pitch * math.Pi / 180)
	base, s := col(b.tint), b.seed
	r := boxOf(b.ring(), 1)
	c.each(r, func(k int, q pt) {
		d := b.local(q)
		x, y := d.x, d.y
		if math.Abs(x) > b.l/2 || math.Abs(y) > b.w/2 {
			return
		}
		side := 0
		if y < 0 {
			side = 1
		}
		h := b.height - math.Abs(y)*drop
		face := sides[side]
		v := base
		big := fbm(x/14+float64(s), y/9, 4, s)
		mid := fbm(x/4, y/3+float64(s), 3, s+1)
		ends := math.Min(b.l/2-math.Abs(x), b.w/2-math.Abs(y))
		switch b.roof {
		case steel:
			sheet := math.Floor(x / 1.05)
			course := math.Floor(math.Abs(y) / 6.3)
			v = v.times(1 + 0.055*(rand01(int(sheet), int(course)*2+side, s)-0.5) + 0.035*math.Sin(2*math.Pi*x/1.05))
			// Rain draws dirt down the slope.
			streak := fbm(x/1.3, y/14, 3, s+2)
			v = v.times(1 + 0.10*big + 0.08*streak)
			v = mix(v, col(0x7E6A58), 0.35*smooth(0.22, 0.5, streak+0.5*big))
			v = mix(v, col(0x77796F), 0.35*smooth(0.1, 0.5, big)*smooth(0, b.w/2, math.Abs(y)))
			if rand01(int(math.Floor(sheet/3)), int(course)*2+side, s+3) > 0.975 { // a sheet renewed
				v = mix(v, col(0xC9C8C1), 0.6)
			}
			// Rust runs from fixings and laps down to the eaves.
			down := math.Abs(y) / (b.w / 2)
			line := int(math.Floor(x/0.7 + 0.15*noise(x, y/3, s+8)))
			if from := rand01(line, 6+side, s); rand01(line, 4+side, s) > 0.88 && down > from {
				v = mix(v, col(0x8A6A52), 0.42*smooth(from, from+0.05, down)*smooth(from+0.2+rand01(line, 8, s), from, down))
			}
			// Rooflights in every sixth bay: some blanked off, some gone green.
			slot := int(math.Round(x / 6.3))
			bay := x - 6.3*float64(slot)
			if age := rand01(slot, 10+side, s); b.w > 15 && age > 0.14 && math.Abs(bay) < 0.6 && down > 0.22+0.1*rand01(slot, 12+side, s) && down < 0.78 && b.l/2-math.Abs(x) > 3 {
				light := col(0xCDD1C9).times(0.9 + 0.16*rand01(slot, side, s+4))
				if age < 0.32 {
					light = mix(light, col(0x7F826E), 0.75)
				}
				v = mix(v, light, 0.7-0.3*smooth(0, 0.4, fbm(x, y/5, 3, s+9)))
			}
			v = mix(v, col(0xCFCCC3), 0.6*ridge(y, 0.5))                  // ridge cap
			v = mix(v, col(0x6F716C), 0.55*ridge(math.Abs(y)-b.w/2, 0.7)) // gutter
			v = mix(v, col(0x83857F), 0.4*ridge(math.Abs(x)-b.l/2, 0.5))
		case slate, tile:
			course := math.Floor(math.Abs(y) / 0.9)
			v = v.times(1 + 0.06*(rand01(int(course), side, s)-0.5) + 0.10*big + 0.12*mid + 0.08*noise(x/0.7, y/0.7, s+5))
			v = mix(v, col(0x77795A), 0.45*smooth(0.05, 0.4, fbm(x/3, y/3, 3, s+6)+0.3*big)) // moss
			v = mix(v, v.times(1.25), 0.8*ridge(y, 0.45))
			if b.roof == slate && b.l > 30 && math.Abs(x-5.5*math.Round(x/5.5)) < 0.5 && math.Abs(y) > 2.4 && math.Abs(y) < 4.4 {
				v = mix(v, col(0x9AA09F), 0.7)
			}
		case flat:
			face = 1
			v = v.times(1 + 0.14*big + 0.10*mid + 0.04*noise(x/0.7, y/0.7, s+5))
			v = mix(v, col(0x6C6B66), 0.5*smooth(0.1, 0.4, fbm(x/5, y/5, 3, s+6))) // standing water dried out
			v = v.times(1 - 0.06*ridge(x-5*math.Round(x/5), 0.3))
			if ends < 0.5 {
				h += 0.4
				v = mix(v, col(0xBDB8AD), 0.7)
			}
			for i := range int(b.l / 5) { // plant on the roof
				cx := (rand01(i, 0, s+7) - 0.5) * (b.l - 4)
				cy := (rand01(i, 1, s+7) - 0.5) * (b.w - 4)
				if math.Abs(x-cx) < 0.6+0.9*rand01(i, 2, s+7) && math.Abs(y-cy) < 0.6+0.5*rand01(i, 3, s+7) {
					h += 1 + rand01(i, 4, s+7)
					v = mix(col(0xA8A8A2), col(0x7B7C79), rand01(i, 5, s+7))
				}
			}
		case barn:
			t := math.Abs(y) / (b.w / 2)
			h = b.height - 2.4*t*t
			face = sunward(across.mul(math.Copysign(-1, y)), 38*t)
			v = v.times(1 + 0.12*big + 0.1*mid + 0.05*math.Sin(2*math.Pi*x/1.05))
			v = mix(v, col(0x7A5745), 0.55*smooth(-0.05, 0.4, fbm(x/2, y/9, 3, s+6)+0.3*big))
		}
		c.height[k], c.facing[k] = float32(h), float32(face)
		c.set(k, v)
	})
	// Ventilators along the ridge, a stack on a house.
	if b.roof == steel && b.l > 40 {
		for x := -b.l/2 + 9; x < b.l/2-5; x += 12.6 {
			c.slab(rect{b.c.add(along.mul(x)), 1.5, 1.3, b.rad}, b.height+0.7, col(0x9A9A94), s)
		}
	}
	if b.roof == tile && b.l > 12 {
		for _, x := range []float64{-b.l/2 + 1, b.l/2 - 3.4} {
			c.slab(rect{b.c.add(along.mul(x)), 0.9, 1.6, b.rad}, b.height+1.3, col(0x8C6B5C), s)
		}
	}
}

// slab draws a box with a level top, h metres high, its colour a little uneven.
func (c *canvas) slab(r rect, h float64, v rgb, seed uint32) {
	c.each(boxOf(r.ring(), 0.5), func(k int, q pt) {
		d := r.local(q)
		if math.Abs(d.x) > r.l/2 || math.Abs(d.y) > r.w/2 || float64(c.height[k]) > h {
			return
		}
		c.height[k], c.facing[k] = float32(h), 1
		c.set(k, v.times(1+0.10*fbm(d.x/2+float64(seed&63), d.y/2, 3, seed)))
	})
}

// container draws a steel box with the shadowed ribs of its roof.
func (c *canvas) container(at pt, rad, length float64, tiers int, v rgb, seed uint32) {
	r := rect{at, length, 2.44, rad}
	h := 2.6 * float64(tiers)
	c.each(boxOf(r.ring(), 0.5), func(k int, q pt) {
		d := r.local(q)
		if math.Abs(d.x) > r.l/2 || math.Abs(d.y) > r.w/2 {
			return
		}
		t := v.times(1 + 0.05*math.Sin(2*math.Pi*d.x/0.9) + 0.16*fbm(d.x/4, d.y/2, 3, seed))
		t = mix(t, col(0x7A5A48), 0.5*smooth(0.15, 0.45, fbm(d.x/3, d.y/2, 3, seed+1)))
		c.height[k], c.facing[k] = float32(h), 1
		c.set(k, t)
	})
}

// lorry draws a trailer, with its tractor in front (toward +x) if cab is set.
func (c *canvas) lorry(at pt, rad float64, v rgb, cab bool, seed uint32) {
	dir := pt{1, 0}.turn(rad)
	c.slab(rect{at, 13.2, 2.5, rad}, 3.9, v, seed)
	c.slab(rect{at.sub(dir.mul(0.2)), 12.4, 0.25, rad}, 3.95, v.times(0.9), seed)
	if cab {
		paint := cabs[seed%uint32(len(cabs))]
		c.slab(rect{at.add(dir.mul(8.2)), 2.1, 2.4, rad}, 3.4, paint, seed+1)
		c.slab(rect{at.add(dir.mul(9.35)), 0.5, 2.2, rad}, 2.2, col(0x3E4244), seed+2)
		c.slab(rect{at.add(dir.mul(6.9)), 0.7, 1.1, rad}, 1.2, col(0x4A4946), seed+3)
	}
}

func (c *canvas) car(at pt, rad float64, v rgb, seed uint32) {
	dir := pt{1, 0}.turn(rad)
	c.slab(rect{at, 4.3, 1.75, rad}, 0.9, v, seed)
	c.slab(rect{at.sub(dir.mul(0.25)), 2.6, 1.55, rad}, 1.25, col(0x4A4F52), seed+1)
	c.slab(rect{at.sub(dir.mul(0.35)), 1.6, 1.4, rad}, 1.45, v, seed+2)
}

// Paints of what stands about, as a picture shows them.
var (
	cabs     = []rgb{col(0xC9C9C5), col(0x8E5A50), col(0x66748A), col(0xB9B6AC), col(0x5F7A68), col(0xA8A29A)}
	trailers = []rgb{col(0xF2F1EC), col(0xDFE0DD), col(0xB7B8B4), col(0xCFCBBE), col(0x6E7F96), col(0xA05F50), col(0x6C8478), col(0xF6F6F3), col(0x8C8F90), col(0xC9A96A), col(0xA8A29A)}
	boxes    = []rgb{col(0x856054), col(0x66737F), col(0x94805F), col(0x6F7A6E), col(0x8E8B84), col(0x9A7360), col(0x586872), col(0x775149), col(0xB7B3A8), col(0x7C7F83)}
	carPaint = []rgb{col(0xF4F4F2), col(0x6D7175), col(0x44474B), col(0xA9ABAC), col(0x7D4A46), col(0x4F5F78), col(0xF0EFEB), col(0x5B6A5D), col(0x8D8A84)}
)

// heap draws a tipped pile: some loads side by side, run together.
func (c *canvas) heap(at pt, r, h float64, v rgb, seed uint32) {
	var tops [4]pt
	for i := range tops {
		tops[i] = pt{0.45 * r * (2*rand01(i, 0, seed) - 1), 0.45 * r * (2*rand01(i, 1, seed) - 1)}
	}
	c.each(box{at.x - 1.6*r, at.y - 1.6*r, at.x + 1.6*r, at.y + 1.6*r}, func(k int, q pt) {
		d := q.sub(at)
		d.x += 0.16 * r * noise(q.x/3.5, q.y/3.5, seed)
		d.y += 0.16 * r * noise(q.x/3.5, q.y/3.5, seed+4)
		z := 0.0
		for i, top := range tops {
			e := d.sub(top).len() / (r * (0.55 + 0.35*rand01(i, 2, seed)))
			z = math.Max(z, h*(0.6+0.4*rand01(i, 3, seed))*(1-math.Sqrt(e*e+0.06)))
		}
		if z < 0.05 || z < float64(c.height[k]) {
			return
		}
		c.height[k] = float32(z + 0.04*noise(q.x/0.9, q.y/0.9, seed+2))
		c.facing[k] = -1
		c.set(k, v.times(1+0.10*fbm(q.x/2.5, q.y/2.5, 3, seed+3)))
	})
}

// wearTracks lays the marks of wheels before the ground is painted.
func (c *canvas) wearTracks() {
	r := rand.New(rand.NewPCG(5, 55))
	var seed uint32 = 400
	pair := func(on []float32, l line, track, width, strength float64) {
		l = l.smoothed(3)
		var a, b line
		for i := range l {
			d := l[min(i+1, len(l)-1)].sub(l[max(i-1, 0)]).unit().left().mul(track / 2)
			a, b = append(a, l[i].add(d)), append(b, l[i].sub(d))
		}
		seed += 10
		c.stroke(on, a, width, strength, seed)
		c.stroke(on, b, width, strength, seed+5)
	}
	jit := func(q pt, d float64) pt { return pt{q.x + d*r.NormFloat64(), q.y + d*r.NormFloat64()} }

	// Lorries in the yard: from the gate to docks, stacks and trailer park.
	gate := []pt{{-57, -118}, {-57, -96}, {-58, -72}}
	ends := [][]pt{
		{{-58, -40}, {-20, -30}, {60, -28}, {150, -27}, {190, -24}},
		{{-60, -40}, {-30, -20}, {10, 4}, {40, 12}},
		{{-60, -38}, {-60, -8}, {-54, 30}, {-50, 62}, {0, 74}, {80, 76}},
		{{-60, -44}, {-90, -50}, {-120, -38}, {-170, -40}},
		{{-58, -46}, {-10, -40}, {50, -44}, {84, -46}, {130, -44}},
		{{-60, -36}, {0, -18}, {60, -2}, {118, 12}},
	}
	for range 34 {
		e := ends[r.IntN(len(ends))]
		var l line
		for _, q := range append(append([]pt{}, gate...), e...) {
			l = append(l, jit(q, 2.0))
		}
		l[0], l[1] = jit(gate[0], 0.7), jit(gate[1], 0.9)
		pair(c.dark, l, 2.0, 0.6, 0.35+0.5*r.Float64())
	}
	for range 26 { // turning circles before the docks
		at := pt{-40 + 220*r.Float64(), -44 + 50*r.Float64()}
		rad, a0 := 7+9*r.Float64(), 2*math.Pi*r.Float64()
		var l line
		for k := range 7 {
			s, co := math.Sincos(a0 + float64(k)*0.32)
			l = append(l, at.add(pt{co * rad, s * rad}))
		}
		pair(c.dark, l, 2.0, 0.5, 0.3+0.6*r.Float64())
	}
	for range 160 { // drips
		at := pt{-100 + 280*r.Float64(), -60 + 150*r.Float64()}
		c.stroke(c.dark, line{at, at.add(pt{0.2 + 1.5*r.Float64(), 0.3})}, 0.5+1.1*r.Float64(), 0.5+0.5*r.Float64(), uint32(r.IntN(1<<20)))
	}
	// Bare ground worn by wheels: trailer park, rough corner, round the pump house.
	for range 9 {
		pair(c.worn, line{jit(pt{-56, 50}, 1), jit(pt{-52, 68}, 2), jit(pt{0, 76}, 2), jit(pt{70, 78}, 2), jit(pt{150, 72}, 2)}, 1.9, 0.7, 0.5)
	}
	for _, l := range []line{
		{{-104, -34}, {-112, -10}, {-122, 22}, {-128, 48}, {-118, 62}},
		{{-112, -12}, {-138, 0}, {-164, 18}, {-178, 24}},
		{{-124, 30}, {-106, 30}, {-82, 24}, {-58, 22}},
		{{-164, 18}, {-172, -10}, {-176, -34}},
		{{-130, 46}, {-146, 34}, {-150, 14}, {-134, 2}},
	} {
		for range 3 {
			var m line
			for _, q := range l {
				m = append(m, jit(q, 0.6))
			}
			pair(c.worn, m, 1.8, 0.75, 0.75)
		}
	}
	// Round the inside of the fence goes the patrol's path.
	var walk line
	for i := range fence {
		walk = append(walk, fenceInset(i, 4, 5.2))
	}
	walk = append(walk, walk[0])
	c.stroke(c.worn, walk, 0.55, 0.42, 391)

	// Farm tracks and gateways: wheels fan out into the field.
	farm := []line{
		{{-296, -30}, {-300, -80}, {-301, -114}},
		{{-346, 56}, {-400, 70}, {-452, 92}, {-560, 120}, {-800, 170}},
		{{-268, 78}, {-250, 120}, {-246, 160}, {-270, 210}, {-330, 300}, {-350, 480}},
		{{-246, 30}, {-226, 70}, {-214, 120}},
	}
	for _, l := range farm {
		pair(c.worn, l, 2, 0.8, 0.85)
		var m line
		for _, q := range l {
			m = append(m, jit(q, 0.8))
		}
		pair(c.worn, m, 2, 0.5, 0.4)
	}
	gateway := func(at, into pt, n int) {
		for range n {
			// In through the gap, then round to one side or the other, or straight on.
			turn := []float64{-1.35, -1.2, 0.1, 1.2, 1.4}[r.IntN(5)] + 0.12*r.NormFloat64()
			l := line{jit(at, 0.4)}
			for k, far := 0, 14+8*r.Float64(); k < 6; k++ {
				step := into.turn(turn * math.Min(1, float64(k)/3))
				l = append(l, l[k].add(step.mul(far*(0.35+0.2*float64(k)))))
			}
			pair(c.worn, l, 2, 0.6, 0.25+0.35*r.Float64())
		}
	}
	gateway(pt{-150, -125}, pt{0.1, -1}, 8)
	gateway(pt{-300, -125}, pt{-0.3, -1}, 7)
	gateway(pt{160, -141}, pt{0.1, -1}, 6)
	gateway(pt{420, -150}, pt{-0.2, 1}, 7)
	gateway(pt{-448, 40}, pt{-1, 0.1}, 6)
	gateway(pt{-246, 160}, pt{-0.2, 1}, 5)
	gateway(pt{450, 34}, pt{-0.1, 1}, 5)
	// A truck's way along the railway.
	pair(c.worn, line{{232, 2}, {330, 12.5}, {450, 29}, {600, 60}, {800, 120}}, 1.7, 0.6, 0.5)
	// Feed ring and trough.
	for _, q := range []pt{{-360, -80}, {-236, -30}, {-560, 330}, {420, -240}} {
		c.stroke(c.worn, line{q, q.add(pt{2, 1})}, 7, 0.8, 397)
		c.stroke(c.dark, line{q, q.add(pt{0.8, 0})}, 2, 0.8, 398)
	}
}

// furnish stands everything built or parked on the canvas.
func (c *canvas) furnish() {
	r := rand.New(rand.NewPCG(9, 99))
	seed := func() uint32 { return r.Uint32() & 0xffff }
	for _, b := range append(append([]building{}, buildings...), sheds...) {
		c.roofOver(b)
	}
	// Lean-to and canopy of the transit shed, loading dock toward the rails.
	c.slab(rect{pt{12, 10.8}, 96, 4.4, 0}, 5.2, col(0x9C9B94), 21)
	c.slab(rect{pt{12, 7}, 104, 3.2, 0}, 1.1, col(0xB0AA9D), 22)
	c.slab(rect{pt{122, 16.6}, 40, 3.8, 0}, 4.6, col(0xA9A9A4), 23)

	// Wall, mesh and the fence itself: hardly wider than a pixel.
	wallAlong := func(l line, width, h float64, v rgb) {
		for i := 1; i < len(l); i++ {
			e := l[i].sub(l[i-1])
			c.slab(rect{l[i-1].add(e.mul(0.5)), e.len() + width, width, math.Atan2(e.y, e.x)}, h, v, 24)
		}
	}
	wallAlong(yardWall, 0.42, wallH, col(0x94765F))
	// Of the mesh fences only strainers show, with their shadows (the lines are
	// painted with the ground).
	posts := func(l line) {
		for s := 0.0; s < l.length(); s += 9 + 38*r.Float64() {
			at, dir := l.at(s)
			c.slab(rect{at, 0.34, 0.34, math.Atan2(dir.y, dir.x)}, 2.2, col(0x9A9A93), 25)
		}
	}
	posts(append(append(line{}, fence...), fence[0]))
	posts(fuelFence)

	// The fuel store: two tanks in a bund, a pump island.
	wallAlong(line{{162, -54.5}, {176, -54.5}, {176, -42}, {162, -42}, {162, -54.5}}, 0.4, 1, col(0xADA699))
	for _, at := range []pt{{166, -48.3}, {172, -48.3}} {
		c.each(box{at.x - 4, at.y - 6, at.x + 4, at.y + 6}, func(k int, q pt) {
			d := q.sub(at)
			if e := d.len(); e < 2.5 {
				c.height[k], c.facing[k] = float32(4.6-0.1*e*e), float32(1+0.05*d.x/2.5-0.05*d.y/2.5)
				c.set(k, col(0xC4C5BF).times(1+0.10*fbm(q.x, q.y, 3, 26)))
			}
		})
	}
	c.slab(rect{pt{179.4, -48}, 1.4, 5, 0}, 2.2, col(0x9C9C96), 27)

	// Container stack: the whole of it stands in the plan as an obstacle.
	for row := range 6 {
		at := pt{stacks.c.x, stacks.c.y + (float64(row)-2.5)*2.56}
		for slot := range 4 {
			x := at.x + (float64(slot)-1.5)*12.4
			if r.Float64() < 0.22 {
				c.container(pt{x - 3.1, at.y}, 0, 6.06, 2, boxes[r.IntN(len(boxes))], seed())
				c.container(pt{x + 3.05, at.y}, 0, 6.06, 1+r.IntN(2), boxes[r.IntN(len(boxes))], seed())
				continue
			}
			c.container(pt{x + 0.1*r.NormFloat64(), at.y}, 0.004*r.NormFloat64(), 12.19, 2-r.IntN(8)/7, boxes[r.IntN(len(boxes))], seed())
		}
	}
	for _, q := range []pt{{-128, -14}, {-121, -13.6}, {-160, 52}, {126, -34}} {
		c.container(q, 0.3*r.NormFloat64(), 6.06, 1, boxes[r.IntN(len(boxes))], seed())
	}

	// Trailer park, docks, queue.
	// Left as they came: close together, askew, with gaps where one has gone.
	tilt := func() float64 { return 0.026 * r.NormFloat64() }
	for x := -31.0; x < 54; x += 3.0 + 0.3*math.Abs(r.NormFloat64()) {
		if r.Float64() < 0.16 {
			x += 2.9 * float64(1+r.IntN(3))
			continue
		}
		at := pt{x, 84 + 0.10*x + 0.9*r.NormFloat64()}
		if short := 13.5 - fence.inside(at); short > 0 {
			at.y -= short
		}
		c.lorry(at, -math.Pi/2+0.10+tilt(), trailers[r.IntN(len(trailers))], r.Float64() < 0.25, seed())
	}
	for i := range 26 {
		if r.Float64() < 0.5 {
			continue
		}
		c.lorry(pt{-33.8 + 3.6*float64(i) + 0.25*r.NormFloat64(), 56.1 + 0.35*r.NormFloat64()}, math.Pi/2+0.6*tilt(), trailers[r.IntN(len(trailers))], r.Float64() < 0.45, seed())
	}
	for i := range 11 {
		if r.Float64() < 0.35 {
			continue
		}
		c.lorry(pt{104.8 + 3.3*float64(i), 7.6 + 0.5*r.NormFloat64()}, -math.Pi/2+0.6*tilt(), trailers[r.IntN(len(trailers))], r.Float64() < 0.5, seed())
	}
	c.lorry(pt{-61.5, -52}, math.Pi/2+0.1, trailers[1], true, 3)
	c.lorry(pt{-54.2, -84}, -math.Pi/2-0.02, trailers[0], true, 4)
	c.lorry(pt{96, -22.5}, math.Pi+0.02, trailers[3], true, 2)
	c.lorry(pt{-80, -6}, 1.1, trailers[6], true, 0)
	for i := range 8 { // skeletal trailers and flats at rest along the south side
		if r.Float64() < 0.25 {
			continue
		}
		at := pt{22 + 4.4*float64(i) + 0.3*r.NormFloat64(), -72 + 0.1*4.4*float64(i) + 0.4*r.NormFloat64()}
		if r.Float64() < 0.5 {
			c.slab(rect{at, 2.4, 12.2, 0.08 + 0.02*r.NormFloat64()}, 1.2, col(0x6B6863), seed())
		} else {
			c.container(at, math.Pi/2+0.08+0.02*r.NormFloat64(), 12.19, 1, boxes[r.IntN(len(boxes))], seed())
		}
	}
	for i := range 6 { // plant and skips by the workshop
		q := pt{-176 + 0.5*r.NormFloat64(), -45 + 3.2*float64(i)}
		if r.Float64() < 0.7 {
			c.slab(rect{q, 4 + 2.5*r.Float64(), 1.9, 0.06 * r.NormFloat64()}, 1.2+1.2*r.Float64(), boxes[r.IntN(len(boxes))], seed())
		}
	}
	c.slab(rect{pt{20, -51.4}, 3.4, 2.3, 0.4}, 2, col(0xB59A55), 41) // loading shovel
	c.slab(rect{pt{-118, 35}, 4.6, 2.4, 0.9}, 2.6, col(0xB0934F), 42)
	c.slab(rect{pt{96, 33}, 6, 3, 0}, 2.2, col(0x9FA09C), 43) // chiller sets
	c.slab(rect{pt{-82.5, 33}, 14, 9, 0.2}, 0.25, col(0xAFA797), 44)
	c.lorry(pt{20, -31}, 0.03, trailers[5], true, 5)
	c.lorry(pt{-150, -36}, 0.08, trailers[2], false, 7)
	// A van and a car on the lane.
	for _, v := range []struct {
		along float64
		paint rgb
	}{{540, col(0xC9CAC8)}, {930, col(0x5A6270)}} {
		at, dir := lane.at(v.along)
		c.car(at.add(dir.left().mul(1.3)), math.Atan2(dir.y, dir.x), v.paint, 31)
	}

	// Cars: office, workshop, farm.
	park := func(n int, at, step pt, rad, full float64) {
		for i := range n {
			q := at.add(step.mul(float64(i)))
			if r.Float64() < full {
				c.car(pt{q.x + 0.2*r.NormFloat64(), q.y + 0.35*r.NormFloat64()}, rad+0.04*r.NormFloat64()+math.Pi*float64(r.IntN(2)), carPaint[r.IntN(len(carPaint))], seed())
			}
		}
	}
	park(13, pt{-40, -66.5}, pt{2.7, -0.05}, math.Pi/2, 0.7)
	park(9, pt{-96, -67}, pt{2.7, 0}, math.Pi/2, 0.55)
	park(10, pt{-174, -74}, pt{2.8, 0.04}, math.Pi/2, 0.5)
	park(3, pt{-352, -6}, pt{3.2, 1}, 1.2, 0.8)

	// Wagons on the siding.
	for i, s := range []float64{606, 620.5, 635, 671} {
		at, dir := rails.at(s + 80)
		c.container(at, math.Atan2(dir.y, dir.x), 12.8, 1, []rgb{col(0x7A6252), col(0x6F625A), col(0x80695A), col(0x8E8A80)}[i], uint32(500+i))
	}
	at, dir := rails.at(rails.length())
	c.slab(rect{at, 1, 2.6, math.Atan2(dir.y, dir.x)}, 1.2, col(0xA05B4A), 28)

	// Tips and stores of the rough corner.
	c.heap(pt{-128, 40}, 8, 4.2, col(0xA89D8B), 601)
	c.heap(pt{-116, 47}, 5.5, 2.6, col(0x9A8C78), 602)
	c.heap(pt{-141, 28}, 5, 2.2, col(0x8B7A66), 603)
	c.heap(pt{-120, 27}, 4, 1.6, col(0xB7AFA0), 604)
	// Odds and ends lie in clusters, many small ones to a large one.
	clutter := func(n int, b box, size float64) {
		for n > 0 {
			at := pt{lerp(b.x0, b.x1, r.Float64()), lerp(b.y0, b.y1, r.Float64())}
			rad, skew := 0.8+2.4*r.Float64(), 2*math.Pi*r.Float64()
			for range 2 + r.IntN(9) {
				n--
				q := at.add(pt{rad * r.NormFloat64(), 0.6 * rad * r.NormFloat64()}.turn(skew))
				v := mix(col(0x8D8576), boxes[r.IntN(len(boxes))], 0.5*r.Float64())
				if r.Float64() < 0.12 {
					v = col(0xD5D2C8)
				}
				if near(q, 1.5) || fence.inside(q) < 9 && fence.inside(q) > -30 {
					continue
				}
				k := size * math.Min(0.32*math.Pow(1-r.Float64(), -0.55), 2.2)
				c.slab(rect{q, k * (1 + 1.5*r.Float64()), k, skew + math.Floor(2*r.Float64())*math.Pi/2 + 0.2*r.NormFloat64()}, 0.2+0.6*k, v, seed())
			}
		}
	}
	clutter(46, box{-168, 44, -108, 66}, 1.3)
	clutter(26, box{-110, 12, -72, 40}, 1.2)
	clutter(30, box{-158, -40, -118, -28}, 1.2)
	clutter(22, box{64, 20, 88, 56}, 1.1)
	clutter(16, box{-50, -56, 40, -50}, 1.1)
	clutter(14, box{110, -40, 150, -30}, 1.2)
	clutter(30, box{-352, -6, -262, 80}, 1.3)
	// Bales in the mown fields, a heap of silage under sheet.
	for range 60 {
		q := pt{-240 + 360*r.Float64(), -352 + 205*r.Float64()}
		if fields[1].inside(q) < 20 {
			continue
		}
		c.slab(rect{q, 1.5, 1.3, 0.06 + 0.3*r.NormFloat64()}, 1.25, col(0xBCB08C), seed())
	}
	c.slab(rect{pt{-276, -12}, 24, 8, 0.08}, 1.8, col(0x565752), 29)
	for range 70 {
		q := pt{-276 + 23*(r.Float64()-0.5), -12 + 7.4*(r.Float64()-0.5)}
		c.slab(rect{q, 0.7, 0.7, r.Float64()}, 2.0, col(0x3A3A38), seed())
	}
	// Poles of the overhead line, lamp columns, the receiver's mast.
	for s := 30.0; s < powerLine.length(); s += 84 {
		at, _ := powerLine.at(s)
		if wood.inside(at) > 0 || near(at, 3) {
			continue
		}
		c.slab(rect{at, 0.36, 0.36, 0}, 9.5, col(0x8A8074), 30)
	}
	for _, q := range []pt{{-48, -50}, {0, -46}, {40, -22}, {140, -22}, {190, -16}, {-102, -56}, {-30, 66}, {60, 66}} {
		c.slab(rect{q, 0.34, 0.34, 0}, 10, col(0xB0B0AA), 30)
	}
	c.slab(rect{gatehouse, 0.34, 0.34, 0}, mastH, col(0xB8B8B2), 30)
	c.slab(rect{roofRepeat, 0.34, 0.34, 0}, repeaterH, col(0xB8B8B2), 30)
}
